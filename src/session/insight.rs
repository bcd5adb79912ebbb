//! What follows from a state: belief and advice, worked out when first asked for and once per state.

use std::cell::OnceCell;
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::belief::{Belief, Disagreeing};
use super::state::State;
use super::work::{START, Standing};
use crate::inference::{self, Bounds, Evidence, InferenceError, Limits, Posterior, Workspace};
use crate::model::Model;
use crate::planner::decision_graph::Course;
use crate::planner::{self, Advice, Effort, PlanError, Situation, Step};

/// Caches of one state. Two sessions that differ only in what was worked out so far are equal.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cells {
    belief: OnceCell<Belief>,
    advice: OnceCell<Option<Advice>>,
    walked: OnceCell<Option<(usize, Step)>>,
    reasons: OnceCell<Option<Advice>>,
    disagreeing: OnceCell<Option<Disagreeing>>,
    candidates: OnceCell<Vec<inference::Candidate>>,
    bounds: OnceCell<Option<Bounds>>,
}

/// A model with the tables that inference keeps for it from one answer to the next.
#[derive(Debug)]
pub(crate) struct Bench {
    pub(crate) model: Model,
    tables: Mutex<Workspace>,
}

impl Bench {
    pub(crate) fn new(model: Model) -> Self {
        let tables = Mutex::new(Workspace::new(&model.network));
        Self { model, tables }
    }

    fn tables(&self) -> MutexGuard<'_, Workspace> {
        // Tables that a panic left half filled are filled anew by every query.
        self.tables.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What the evidence says of every cause (not of the conditions). One sweep, and one more for each cause that others
    /// lead to and no evidence touches.
    pub(crate) fn posterior(&self, evidence: &Evidence) -> Result<Posterior, InferenceError> {
        self.tables().causes(&self.model.network, evidence, &Limits::default())
    }

    /// Per cause, the probabilities that it is there now and that it is not, neither taken from the other.
    pub(crate) fn odds(&self, evidence: &Evidence) -> Result<Vec<(f64, f64)>, InferenceError> {
        self.tables().odds_now(&self.model.network, evidence, &Limits::default())
    }

    /// The logarithm of the probability of the evidence. One sweep, forward only.
    pub(crate) fn ln_evidence(&self, evidence: &Evidence) -> Result<f64, InferenceError> {
        self.tables().ln_evidence(&self.model.network, evidence, &Limits::default())
    }
}

/// A state with all that follows from it.
#[derive(Clone, Copy)]
pub(crate) struct Insight<'a> {
    pub(crate) bench: &'a Bench,
    pub(crate) model: &'a Model,
    pub(crate) state: &'a State,
    pub(crate) cells: &'a Cells,
    pub(crate) effort: Effort,
    /// A plan to walk along.
    pub(crate) course: Option<&'a Course>,
}

/// Candidates on a slip.
const CANDIDATES: usize = 5;

impl<'a> Insight<'a> {
    /// Posterior of all that counts. One sweep.
    pub(crate) fn belief(self) -> &'a Belief {
        self.cells.belief.get_or_init(|| Belief::new(self.bench, self.state))
    }

    /// The answer to check, where one disagrees much.
    pub(crate) fn disagreeing(self) -> Option<Disagreeing> {
        *self.cells.disagreeing.get_or_init(|| self.belief().disagreeing(self.bench, self.state))
    }

    /// What is to be done: what the plan to walk along says, else what the planner advises; `None` where it cannot plan,
    /// so that handing over is what is left.
    pub(crate) fn step(self) -> Option<&'a Step> {
        match self.walked() {
            Some((_, step)) => Some(step),
            None => self.advice().map(|advice| &advice.step),
        }
    }

    /// Number and step of the node of the plan at which it stands; `None` without a plan, and where it was left.
    pub(crate) fn walked(self) -> Option<&'a (usize, Step)> {
        let look = || {
            let position = self.position();
            let (set_aside, declined) =
                (position.situation.set_aside.clone(), position.situation.declined.clone());
            let (number, step) = self.course?.at(position)?;
            // A plan from a file may say anything.
            let refused = match step {
                Step::Test(test) => set_aside.contains(test),
                Step::Fix(fix) => declined.contains(fix),
                _ => false,
            };
            (!refused).then(|| (number, step.clone()))
        };
        self.cells.walked.get_or_init(look).as_ref()
    }

    /// What the planner advises. Evidence too entangled for exact samples is planned for without the answers that the
    /// bounds leave out.
    pub(crate) fn advice(self) -> Option<&'a Advice> {
        self.planned(self.effort.budget(), Insight::situation, &self.cells.advice)
    }

    /// The advice with its reasons: at a node of a plan, that from which its step comes, worked out when asked for.
    pub(crate) fn reasoned(self) -> Option<&'a Advice> {
        match self.course.filter(|_| self.walked().is_some()) {
            None => self.advice(),
            Some(course) => {
                let budget = planner::Budget { explain: true, ..course.budget };
                self.planned(budget, |insight| course.taken(insight.position()), &self.cells.reasons)
            }
        }
    }

    fn planned(
        self,
        budget: planner::Budget,
        situation: impl Fn(Self) -> Situation,
        cell: &'a OnceCell<Option<Advice>>,
    ) -> Option<&'a Advice> {
        let plan = || {
            let mut situation = situation(self);
            match planner::advise(self.model, &situation, &budget) {
                Err(PlanError::Inference(InferenceError::TooWide(_))) => {
                    let left_out = &self.bounds()?.left_out;
                    let told = std::mem::take(&mut situation.evidence.told).into_iter().enumerate();
                    situation.evidence.told =
                        told.filter(|(at, _)| !left_out.contains(at)).map(|(_, told)| told).collect();
                    planner::advise(self.model, &situation, &budget).ok()
                }
                advice => advice.ok(),
            }
        };
        cell.get_or_init(plan).as_ref()
    }

    /// Bounds on every posterior, for evidence too entangled for an exact answer within the limits.
    pub(crate) fn bounds(self) -> Option<&'a Bounds> {
        let evidence = &self.belief().assembled.evidence;
        let bounds = || inference::bounds(&self.model.network, evidence, &Limits::default()).ok();
        self.cells.bounds.get_or_init(bounds).as_ref()
    }

    /// The most probable candidates.
    pub(crate) fn candidates(self) -> &'a [inference::Candidate] {
        self.cells.candidates.get_or_init(|| {
            let evidence = &self.belief().assembled.evidence;
            inference::candidates(&self.model.network, evidence, &Limits::default(), CANDIDATES)
                .unwrap_or_default()
        })
    }

    pub(crate) fn situation(self) -> Situation {
        let state = self.state;
        let standing = match state.work.standing {
            Standing::Known(at)
            | Standing::Said(at)
            | Standing::Entering(at, _)
            | Standing::Leaving(at, _) => at,
            // What it was at last; it is asked before any step that depends on it.
            Standing::Unknown => state.work.last,
        };
        let mut situation = Situation::new(state.present.person, state.place);
        situation.work_state = Some(standing);
        situation.came_from = state.came_from.filter(|&from| from != standing);
        situation.complaints = state.complaints.clone();
        situation.evidence = self.belief().assembled.evidence.clone();
        situation.answered = state
            .records
            .now
            .iter()
            .map(|(&finding, &at)| (finding, state.records.reports[at].outcome))
            .collect();
        situation.set_aside = state.set_aside.clone();
        for (at, test) in self.model.tests.iter().enumerate() {
            let unreadable = test.gives.iter().filter_map(|gives| gives.scale.as_ref()).any(|scale| {
                scale.unknown.iter().any(|(unit, key)| {
                    let id = self.model.units[unit.at()].id.clone();
                    state.unknown_plates.contains(&(id, key.clone()))
                })
            });
            if unreadable || test.terms.recloses && self.is_against(&test.needs) {
                situation.set_aside.insert(crate::model::index::TestIx::new(at));
            }
        }
        situation.declined = state.declined.clone();
        for (at, fix) in self.model.fixes.iter().enumerate() {
            if self.is_against(&fix.needs) {
                situation.declined.insert(crate::model::index::FixIx::new(at));
            }
        }
        situation.done_fixes = state.records.fixes.iter().map(|&(_, fix)| fix).collect();
        situation.to_put_back = state.open().len();
        situation
    }

    /// Whether something is known, in this epoch, to be other than these needs ask.
    fn is_against(self, needs: &[(crate::model::index::FindingIx, usize)]) -> bool {
        needs.iter().any(|&(finding, _)| {
            let known = self.state.records.latest(finding);
            known.is_some_and(|report| !needs.contains(&(finding, report.outcome)))
        })
    }

    /// Whether it may be in another work state than that at the start.
    pub(crate) fn may_be_locked_out(self) -> bool {
        self.state.work.last != START
    }
}
