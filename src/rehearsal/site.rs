//! A simulated site: a truth and a person who looks at it.
//!
//! In: a test, a complaint to be taken again, a fix. Out: what the person says. What they cannot tell and where they err
//! is drawn like everything else: asked the same in the same epoch, they say the same.

use super::caller::Caller;
use super::chance::{bits, named, unit};
use super::truth::Truth;
use crate::model::Model;
use crate::model::index::{FindingIx, FixIx, TestIx};

/// What a person says to a test.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Told {
    /// What it shows: outcome per finding.
    Shows(Vec<(FindingIx, usize)>),
    /// It makes no sense here, because this is so instead.
    NotSo(FindingIx, usize),
    /// They cannot tell.
    CannotTell,
}

/// A simulated site.
#[derive(Clone, Debug)]
pub struct Site {
    /// What is really so.
    pub truth: Truth,
    /// Who tells of it.
    pub caller: Caller,
    /// The number of fixes done.
    epoch: u64,
}

const CANNOT: u64 = 11;
const ERRS: u64 = 12;
const WRONG: u64 = 13;
const CHOICE: u64 = 14;

impl Site {
    /// A site as it is when the call begins.
    #[must_use]
    pub const fn new(truth: Truth, caller: Caller) -> Self {
        Self { truth, caller, epoch: 0 }
    }

    /// The model of the site.
    #[must_use]
    pub fn model(&self) -> &Model {
        &self.truth.story().model
    }

    /// Symptoms that the causes show and that this person can see, in the model's order; where they can see none of them,
    /// all that show.
    #[must_use]
    pub fn complaints(&self) -> Vec<FindingIx> {
        let all: Vec<FindingIx> = self.truth.story().symptoms().filter(|&at| self.truth.owed(at)).collect();
        let model = self.model();
        let sees = |at: &FindingIx| {
            let terms = &model.tests[model.findings[at.at()].test.at()].terms;
            model.practice.allows(&self.caller.person, terms)
        };
        let seen: Vec<FindingIx> = all.iter().copied().filter(sees).collect();
        if seen.is_empty() { all } else { seen }
    }

    /// One of these complaints, by the site's draw.
    #[must_use]
    pub fn one_of(&self, complaints: &[FindingIx]) -> Option<FindingIx> {
        let at = bits(self.truth.seed(), &[CHOICE]) % complaints.len().max(1) as u64;
        complaints.get(at as usize).copied()
    }

    /// Takes a test.
    #[must_use]
    pub fn test(&self, test: TestIx) -> Told {
        let model = self.model();
        let form = &model.tests[test.at()];
        if let Some((finding, outcome)) = self.against(&form.needs) {
            return Told::NotSo(finding, outcome);
        }
        let about = named(&form.id);
        if unit(self.truth.seed(), &[CANNOT, about]) < self.caller.cannot_tell {
            return Told::CannotTell;
        }
        Told::Shows(form.gives.iter().map(|gives| (gives.finding, self.says(gives.finding))).collect())
    }

    /// Takes a complaint again.
    #[must_use]
    pub fn again(&self, complaint: FindingIx) -> usize {
        self.says(complaint)
    }

    /// What stands against these needs, if anything: the finding, and what it shows.
    #[must_use]
    pub fn against(&self, needs: &[(FindingIx, usize)]) -> Option<(FindingIx, usize)> {
        let shows = |finding| self.truth.outcome(finding);
        let odd = needs.iter().find(|(finding, _)| !needs.contains(&(*finding, shows(*finding))));
        odd.map(|&(finding, _)| (finding, shows(finding)))
    }

    /// Does a fix.
    pub fn fix(&mut self, fix: FixIx) {
        self.truth.fix(fix);
        self.epoch += 1;
    }

    /// What the person says of a finding.
    fn says(&self, finding: FindingIx) -> usize {
        let so = self.truth.outcome(finding);
        let form = &self.model().findings[finding.at()];
        let about = named(&form.id);
        if unit(self.truth.seed(), &[ERRS, about, self.epoch]) >= self.caller.errs {
            return so;
        }
        let others = form.outcomes.len().saturating_sub(1).max(1) as u64;
        let other = (bits(self.truth.seed(), &[WRONG, about, self.epoch]) % others) as usize;
        if other < so { other } else { (other + 1).min(form.outcomes.len() - 1) }
    }
}
