//! The pure problem: weighted candidates, tests, fixes, a proof, stop acts, and the ways between them.
//!
//! It knows no package, no names and no sessions, so a textbook problem is an input like any other: one fault with the
//! order of checks, oil drilling, a used car, coins. `super::compose` makes it from a model and a situation.
//!
//! Terms. A **candidate** is one way in which things may stand: causes that are there, those of them that keep a
//! complaint alive (**culprits**), and whether something unlisted keeps one alive. It is **cured** when no culprit is
//! left and nothing unlisted holds. Causes are numbered within the problem, at most 128: only those that need curing in
//! some candidate. An opaque state (oil in the ground) is a candidate with `unlisted` set, which only a stop act ends.
//!
//! Costs are in minutes' worth. They may be negative for stop acts (a gain), never for tests, fixes, proof and ways.

use super::travel::{Mode, Travel};
use crate::model::practice::BitSet;

/// So many draws of one test are followed from one taking to the next.
pub const DRAWS: usize = 15;
/// So many tests can be taken again.
pub const RETAKEN: usize = 8;

/// A problem of what to do next.
#[derive(Clone, PartialEq, Debug)]
pub struct Problem {
    /// The candidates; weights need not sum to 1.
    pub candidates: Vec<Candidate>,
    /// The tests; each can be taken once, or once between two fixes.
    pub tests: Vec<TestForm>,
    /// The fixes.
    pub fixes: Vec<FixForm>,
    /// How it is found out whether the trouble is over.
    pub proof: Proof,
    /// Acts that end everything.
    pub stops: Vec<Stop>,
    /// The ways between modes.
    pub travel: Travel,
    /// The mode at the start.
    pub start: Mode,
    /// Whether a fix was done after which the complaints have not been taken again: then cured candidates have weight too.
    pub unproven: bool,
    /// A test has to save this much, per unit of weight, to be taken; 0: whatever is cheaper.
    pub least_saving: f64,
}

/// One way in which things may stand.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Candidate {
    /// Its weight.
    pub weight: f64,
    /// The causes that are there.
    pub causes: BitSet,
    /// Those of them that keep a complaint alive.
    pub culprits: BitSet,
    /// Something that no fix removes keeps a complaint alive.
    pub unlisted: bool,
    /// Causes that break again while one of the given others is there: (cause, those others).
    pub held: Vec<(u8, BitSet)>,
}

/// A test.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct TestForm {
    /// Minutes of the act.
    pub cost: f64,
    /// Modes in which it can be taken; empty: any.
    pub at: Vec<Mode>,
    /// What it shows. Given the candidate, the findings of a test are independent.
    pub shows: Vec<Shown>,
    /// Findings that must have been answered so before it can be taken.
    pub needs: Vec<Need>,
    /// It can be taken once more after each fix. Its draws persist: what was shown once, a candidate goes on showing until
    /// the fix that ends it. Counts for a test of one finding with two outcomes and at most [`DRAWS`] factors.
    pub again: bool,
}

/// A finding of another test that has to have a certain outcome.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Need {
    /// The test.
    pub test: usize,
    /// Which of its findings.
    pub finding: usize,
    /// The outcomes of which it must have one.
    pub outcomes: BitSet,
}

/// What a finding shows, candidate by candidate.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Shown {
    /// How many outcomes.
    pub outcomes: usize,
    /// For each candidate, which of `responses` is its own.
    pub of: Vec<u32>,
    /// The different responses.
    pub responses: Vec<Response>,
    /// The chance that what is there is also what is reported; the rest goes evenly to the other outcomes.
    pub trust: f64,
}

/// A noisy-MAX: the finding is the highest of independent draws. P(finding ≤ v) = Π over live factors of P(draw ≤ v)
/// (Pearl 1988; Díez 1993).
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Response(pub Vec<Factor>);

/// The draws of one source, which counts while one of its roots is there.
#[derive(Clone, PartialEq, Debug)]
pub struct Factor {
    /// The factor is live while one of these causes is there; empty: always.
    pub roots: BitSet,
    /// P(draw ≤ v) for each outcome v; the last is 1.
    pub at_most: Vec<f64>,
    /// The other way round: live while none of these causes is there.
    pub absent: bool,
}

/// A fix. Each pair of a fix and a cause has one success draw, so a fix is done once.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct FixForm {
    /// Minutes' worth of the act, parts included.
    pub cost: f64,
    /// Modes in which it can be done; empty: any.
    pub at: Vec<Mode>,
    /// The causes that it removes, each with its chance.
    pub removes: Vec<(u8, f64)>,
    /// Whether it needs parts that somebody who is sent has to bring.
    pub parts: bool,
}

/// How it is found out whether the trouble is over: taking all complaints again.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Proof {
    /// It is seen at once after every fix, for nothing.
    AtOnce,
    /// It takes an act of its own.
    Takes {
        /// Minutes of it, ways within it included.
        cost: f64,
        /// The mode in which it begins.
        from: Mode,
        /// The mode in which it ends.
        to: Mode,
    },
    /// This person cannot take the complaints again, so no fix of theirs ends the work.
    Never,
}

/// An act that ends the work of the person present.
#[derive(Clone, PartialEq, Debug)]
pub enum Stop {
    /// A cost per candidate.
    Costs(Vec<f64>),
    /// The same cost for all.
    Flat(f64),
    /// Somebody else takes over.
    Sent(Helper),
}

/// Somebody who can be sent: costs `minutes`, then the base plan with these fixes, ending at `last`.
#[derive(Clone, PartialEq, Debug)]
pub struct Helper {
    /// Minutes until such a person is there; also what a second trip costs.
    pub minutes: f64,
    /// Their fixes, parallel to the problem's; `None`: they may not do it.
    pub fixes: Vec<Option<FixForm>>,
    /// Their proof.
    pub proof: Proof,
    /// Their ways.
    pub travel: Travel,
    /// Where they begin for each mode of the problem.
    pub arrive: Vec<Mode>,
    /// What giving up costs them: handing over to somebody unlisted.
    pub last: f64,
}

impl Problem {
    /// The number of a test among those whose draws are followed.
    #[must_use]
    pub fn slot(&self, test: usize) -> Option<usize> {
        if !self.tests[test].persists() {
            return None;
        }
        let before = self.tests[..test].iter().filter(|form| form.persists()).count();
        (before < RETAKEN).then_some(before)
    }
}

impl Candidate {
    /// An opaque state of that weight.
    #[must_use]
    pub fn state(weight: f64) -> Self {
        Self { weight, unlisted: true, ..Self::default() }
    }

    /// One cause, alone, as the culprit.
    #[must_use]
    pub fn fault(weight: f64, cause: u8) -> Self {
        let set = BitSet::default().with(cause.into());
        Self { weight, causes: set, culprits: set, ..Self::default() }
    }

    /// Whether nothing keeps a complaint alive once the causes in `gone` are removed.
    #[inline]
    #[must_use]
    pub fn cured(&self, gone: BitSet) -> bool {
        !self.unlisted && self.culprits.within(gone)
    }

    /// Whether `cause` breaks again while those not in `gone` stand.
    #[inline]
    #[must_use]
    pub fn blocked(&self, cause: u8, gone: BitSet) -> bool {
        self.held.iter().any(|(held, by)| *held == cause && !by.minus(gone).is_empty())
    }

    /// The causes that matter for the cure: culprits, and what has to be removed before them.
    #[must_use]
    pub fn wanted(&self) -> BitSet {
        let mut wanted = self.culprits;
        loop {
            let wider = (self.held.iter())
                .filter(|(held, _)| wanted.has((*held).into()))
                .fold(wanted, |all, (_, by)| all.union(*by));
            if wider == wanted {
                return wanted;
            }
            wanted = wider;
        }
    }
}

impl Factor {
    /// Whether it counts once the causes in `gone` are removed.
    #[inline]
    #[must_use]
    pub fn live(&self, gone: BitSet) -> bool {
        self.roots.is_empty() || self.roots.minus(gone).is_empty() == self.absent
    }
}

impl TestForm {
    /// Whether its draws are followed from one taking to the next.
    #[must_use]
    pub fn persists(&self) -> bool {
        self.again
            && self.shows.len() == 1
            && self.shows[0].outcomes == 2
            && self.shows[0].responses.iter().all(|response| response.0.len() <= DRAWS)
    }
}

impl Shown {
    /// A finding given as a plain table, one row of outcome probabilities per candidate.
    ///
    /// The rows are taken as they are, whatever is fixed afterwards.
    #[must_use]
    pub fn table(rows: &[Vec<f64>]) -> Self {
        let responses: Vec<Response> = rows
            .iter()
            .map(|row| {
                let mut sum = 0.0;
                let mut at_most: Vec<f64> = (row.iter())
                    .map(|chance| {
                        sum += chance;
                        sum
                    })
                    .collect();
                if let Some(last) = at_most.last_mut() {
                    *last = 1.0;
                }
                Response(vec![Factor { roots: BitSet::default(), at_most, absent: false }])
            })
            .collect();
        Self {
            outcomes: rows.first().map_or(1, Vec::len),
            of: (0..rows.len() as u32).collect(),
            responses,
            trust: 1.0,
        }
    }

    /// P(reported outcome | candidate, causes in `gone` removed) into `out`, one entry per outcome.
    pub fn chances(&self, candidate: usize, gone: BitSet, out: &mut [f64]) {
        let response = &self.responses[self.of[candidate] as usize];
        out.fill(1.0);
        for factor in &response.0 {
            if factor.live(gone) {
                for (chance, at_most) in out.iter_mut().zip(&factor.at_most) {
                    *chance *= at_most;
                }
            }
        }
        for outcome in (1..out.len()).rev() {
            out[outcome] = (out[outcome] - out[outcome - 1]).max(0.0);
        }
        if self.trust < 1.0 && out.len() > 1 {
            let else_where = (1.0 - self.trust) / (out.len() - 1) as f64;
            for chance in out {
                *chance = *chance * self.trust + (1.0 - *chance) * else_where;
            }
        }
    }
}
