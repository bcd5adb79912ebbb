//! The graph of work state × place, and the shortest ways through it.
//!
//! A **mode** is a pair of work state and place, numbered densely. An edge costs minutes. The ways are shortest paths
//! over all pairs (Floyd 1962, Warshall 1962; from memory), computed once per person, because which edges exist depends
//! on what that person may do. Ties go to the smaller index, so that ways repeat.

/// A mode: position in the graph of work state × place.
pub type Mode = u16;

/// Shortest ways between modes.
#[derive(Clone, PartialEq, Debug)]
pub struct Travel {
    modes: usize,
    cost: Vec<f64>,
    next: Vec<Mode>,
}

impl Travel {
    /// One mode only, as in problems without work states and places.
    #[must_use]
    pub fn nowhere() -> Self {
        Self::new(1, &[])
    }

    /// Shortest ways over `modes` modes with the given directed edges (from, to, minutes). O(modes³).
    ///
    /// Edges with a negative or unknown cost are left out.
    #[must_use]
    pub fn new(modes: usize, edges: &[(Mode, Mode, f64)]) -> Self {
        let modes = modes.max(1);
        let mut cost = vec![f64::INFINITY; modes * modes];
        let mut next: Vec<Mode> = (0..modes * modes).map(|at| (at % modes) as Mode).collect();
        for mode in 0..modes {
            cost[mode * modes + mode] = 0.0;
        }
        for &(from, to, minutes) in edges {
            let at = from as usize * modes + to as usize;
            if (from as usize) < modes && (to as usize) < modes && minutes >= 0.0 && minutes < cost[at] {
                cost[at] = minutes;
                next[at] = to;
            }
        }
        for via in 0..modes {
            for from in 0..modes {
                let first = cost[from * modes + via];
                if !first.is_finite() || from == via {
                    continue;
                }
                for to in 0..modes {
                    let through = first + cost[via * modes + to];
                    if through < cost[from * modes + to] {
                        cost[from * modes + to] = through;
                        next[from * modes + to] = next[from * modes + via];
                    }
                }
            }
        }
        Self { modes, cost, next }
    }

    /// How many modes there are.
    #[must_use]
    pub fn modes(&self) -> usize {
        self.modes
    }

    /// Minutes from one mode to another; infinite where there is no way.
    #[inline]
    #[must_use]
    pub fn minutes(&self, from: Mode, to: Mode) -> f64 {
        self.cost[from as usize * self.modes + to as usize]
    }

    /// The nearest of the modes in `at`, with its minutes; the first of equals. An empty `at` means any mode: no way.
    #[inline]
    #[must_use]
    pub fn nearest(&self, from: Mode, at: &[Mode]) -> (f64, Mode) {
        if at.is_empty() {
            return (0.0, from);
        }
        let mut best = (f64::INFINITY, at[0]);
        for &to in at {
            let minutes = self.minutes(from, to);
            if minutes < best.0 {
                best = (minutes, to);
            }
        }
        best
    }

    /// The modes on the way from one to another, the first left out, the last included; `None` where there is no way.
    #[must_use]
    pub fn way(&self, from: Mode, to: Mode) -> Option<Vec<Mode>> {
        if !self.minutes(from, to).is_finite() {
            return None;
        }
        let mut way = Vec::new();
        let mut here = from;
        while here != to {
            here = self.next[here as usize * self.modes + to as usize];
            way.push(here);
            if way.len() > self.modes {
                return None;
            }
        }
        Some(way)
    }
}
