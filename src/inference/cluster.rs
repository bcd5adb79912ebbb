//! What reports need to remember about the draws for the findings that they speak of.
//!
//! In: the reports about a *cluster* (findings tied together by reports that name several of them; mostly one finding).
//! Out: a small automaton. Its state says all that the reports made so far need to know about the draws folded in so
//! far; a draw moves it upwards (a draw is joined by taking the higher outcome in every report of an epoch that the
//! draw's owner lived in); at the end each state has a weight.
//!
//! The automaton is minimal: states that no further draw could tell apart are one, states from which every way ends at
//! weight zero are left out ([`DEAD`]). So the compressions known for special reports come by themselves: a finding
//! reported abnormal needs one bit ("has it been drawn?"), also over several epochs; a finding only ever normal needs
//! nothing at all; a report that fits all outcomes equally needs nothing; a soft report needs a state per run of equal
//! weights.
//!
//! States are numbered so that every move goes to the same or a higher number: matrices over them are lower triangular.
//! Minimisation is Moore's (1956), by refining a partition until it is stable.

use std::collections::BTreeMap;

use super::InferenceError;
use crate::model::index::FindingIx;

/// A move to no state: the draw contradicts a report.
pub(crate) const DEAD: u8 = u8::MAX;

/// Most states before minimisation, so that a strange pile of joint reports is refused and not worked on for minutes.
const MOST_RAW: usize = 1 << 14;

/// One report, or several merged, of the same epoch about the same findings.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Report<'a> {
    pub epoch: usize,
    pub among: &'a [FindingIx],
    pub weights: &'a [f64],
}

/// The automaton of a cluster.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Cluster {
    /// The findings, in the order of first mention.
    pub members: Vec<FindingIx>,
    /// Outcomes of each member.
    pub outcomes: usize,
    /// Number of states, 1 or more.
    pub states: usize,
    /// Epochs with a report, ascending.
    pub epochs: Vec<u32>,
    /// Weight of each state at the end.
    pub end: Vec<f64>,
    /// Where a finding's value *now* is tracked as well: that value in each state.
    pub read: Vec<u8>,
    /// Moves: `moves[((member * epochs + lived - 1) * outcomes + outcome) * states + state]`, `lived` being the number
    /// of report epochs that the draw's owner lived in, 1 or more.
    moves: Vec<u8>,
}

impl Cluster {
    /// In how many of the reported epochs a source lives that lives in all epochs before `until`.
    #[inline]
    pub(crate) fn lived(&self, until: usize) -> usize {
        self.epochs.iter().filter(|&&e| (e as usize) < until).count()
    }

    /// Where the draws of `member` lead from each state, by outcome; `lived` is at least 1.
    #[inline]
    pub(crate) fn moves(&self, member: usize, lived: usize, outcome: usize) -> &[u8] {
        let row = ((member * self.epochs.len() + lived - 1) * self.outcomes + outcome) * self.states;
        &self.moves[row..row + self.states]
    }

    /// Builds the automaton from scratch. `read`: track the value of that member over draws that count in the last
    /// epoch `now` as well.
    ///
    /// The result is `None` where every way ends at weight zero.
    pub(crate) fn new(
        reports: &[Report<'_>],
        outcomes: usize,
        read: Option<(FindingIx, usize)>,
    ) -> Result<Option<Self>, InferenceError> {
        let mut members: Vec<FindingIx> = Vec::new();
        for &finding in reports.iter().flat_map(|r| r.among).chain(read.iter().map(|(f, _)| f)) {
            if !members.contains(&finding) {
                members.push(finding);
            }
        }
        let mut epochs: Vec<u32> = reports.iter().map(|r| r.epoch as u32).collect();
        epochs.extend(read.map(|(_, now)| now as u32));
        epochs.sort_unstable();
        epochs.dedup();

        if let ([report], [_], None) = (reports, &members[..], read) {
            return Ok(Self::chain(report, members.clone(), epochs));
        }
        Automaton::explore(reports, &members, &epochs, outcomes, read)?.minimal(members, epochs, outcomes)
    }

    /// One report about one finding: a state per run of equal weights, the zeros at the upper end dead.
    fn chain(report: &Report<'_>, members: Vec<FindingIx>, epochs: Vec<u32>) -> Option<Self> {
        let weights = report.weights;
        let last = weights.iter().rposition(|&w| w > 0.0)?;
        let (mut class, mut end) = (vec![DEAD; weights.len()], Vec::new());
        for at in 0..=last {
            if at == 0 || weights[at].to_bits() != weights[at - 1].to_bits() {
                end.push(weights[at]);
            }
            class[at] = (end.len() - 1) as u8;
        }
        let states = end.len();
        let moves = class.iter().flat_map(|&to| (0..states as u8).map(move |from| from.max(to))).collect();
        Some(Self { members, outcomes: weights.len(), states, epochs, end, read: Vec::new(), moves })
    }
}

/// Every reachable state before minimisation: the highest outcome so far in every report.
struct Automaton {
    /// Weight at the end, and the value read.
    end: Vec<(f64, u8)>,
    /// The sum of a state's outcomes: joins only raise it.
    height: Vec<usize>,
    /// Per state, where each effect (member, lived, outcome) leads.
    next: Vec<Vec<usize>>,
}

impl Automaton {
    fn explore(
        reports: &[Report<'_>],
        members: &[FindingIx],
        epochs: &[u32],
        outcomes: usize,
        read: Option<(FindingIx, usize)>,
    ) -> Result<Self, InferenceError> {
        let width = reports.len() + usize::from(read.is_some());
        let mut effects = Vec::new();
        for &member in members {
            for lived in 1..=epochs.len() {
                for outcome in 0..outcomes {
                    let counts = |among: &[FindingIx], epoch: usize| {
                        if among.contains(&member) && epoch as u32 <= epochs[lived - 1] {
                            outcome as u8
                        } else {
                            0
                        }
                    };
                    let mut effect: Vec<u8> = reports.iter().map(|r| counts(r.among, r.epoch)).collect();
                    effect.extend(read.map(|(finding, now)| counts(&[finding], now)));
                    effects.push(effect);
                }
            }
        }
        let start = vec![0_u8; width];
        let mut number = BTreeMap::from([(start.clone(), 0_usize)]);
        let mut states = vec![start];
        let mut next = Vec::new();
        let mut at = 0;
        while at < states.len() {
            let mut row = Vec::with_capacity(effects.len());
            for effect in &effects {
                let joined: Vec<u8> = states[at].iter().zip(effect).map(|(&a, &b)| a.max(b)).collect();
                let fresh = states.len();
                let to = *number.entry(joined.clone()).or_insert(fresh);
                if to == fresh {
                    states.push(joined);
                }
                row.push(to);
            }
            next.push(row);
            if states.len() > MOST_RAW {
                let effort = super::Effort { width, states: states.len() as u64, steps: u64::MAX };
                return Err(InferenceError::TooWide(effort));
            }
            at += 1;
        }
        let end = states
            .iter()
            .map(|s| {
                let weight = reports.iter().zip(s).map(|(r, &v)| r.weights[v as usize]).product();
                (weight, if read.is_some() { s[width - 1] } else { 0 })
            })
            .collect();
        let height = states.iter().map(|s| s.iter().map(|&v| v as usize).sum()).collect();
        Ok(Self { end, height, next })
    }

    /// Leaves dead states out, makes one of those that nothing tells apart, and numbers upwards.
    fn minimal(
        &self,
        members: Vec<FindingIx>,
        epochs: Vec<u32>,
        outcomes: usize,
    ) -> Result<Option<Cluster>, InferenceError> {
        let count = self.end.len();
        let mut down: Vec<usize> = (0..count).collect();
        down.sort_by_key(|&s| std::cmp::Reverse(self.height[s]));
        let mut alive = vec![false; count];
        for &s in &down {
            alive[s] = self.end[s].0 > 0.0 || self.next[s].iter().any(|&t| alive[t]);
        }
        if !alive[0] {
            return Ok(None);
        }
        // Moore: begin with what shows at the end, refine by where the moves lead.
        let mut class = vec![usize::MAX; count];
        let mut classes = 0;
        loop {
            let mut seen = BTreeMap::new();
            let mut refined = vec![usize::MAX; count];
            for s in (0..count).filter(|&s| alive[s]) {
                let moves: Vec<usize> = self.next[s].iter().map(|&t| class[t]).collect();
                let (weight, read) = self.end[s];
                let fresh = seen.len();
                refined[s] = *seen.entry((weight.to_bits(), read, class[s], moves)).or_insert(fresh);
            }
            let stable = seen.len() == classes;
            classes = seen.len();
            class = refined;
            if stable {
                break;
            }
        }
        if classes >= DEAD as usize {
            let effort = super::Effort { width: 1, states: classes as u64, steps: u64::MAX };
            return Err(InferenceError::TooWide(effort));
        }
        // Upwards: by the greatest height in a class; a move out of a class leads to one that reaches higher.
        let mut top = vec![(0, usize::MAX); classes];
        for s in (0..count).filter(|&s| alive[s]) {
            let entry = &mut top[class[s]];
            entry.0 = entry.0.max(self.height[s]);
            entry.1 = entry.1.min(s);
        }
        let mut order: Vec<usize> = (0..classes).collect();
        order.sort_by_key(|&c| (class[0] != c, top[c]));
        let mut number = vec![DEAD; classes];
        for (new, &old) in order.iter().enumerate() {
            number[old] = new as u8;
        }
        let effects = self.next[0].len();
        let mut moves = vec![DEAD; effects * classes];
        let (mut end, mut read) = (vec![0.0; classes], vec![0; classes]);
        for (new, &old) in order.iter().enumerate() {
            let s = top[old].1;
            (end[new], read[new]) = self.end[s];
            for (effect, &t) in self.next[s].iter().enumerate() {
                moves[effect * classes + new] = if alive[t] { number[class[t]] } else { DEAD };
            }
        }
        Ok(Some(Cluster { members, outcomes, states: classes, epochs, end, read, moves }))
    }
}
