//! Why the present step is advised, and what else was weighed.

/// The reason for the present step.
#[derive(Clone, PartialEq, Debug)]
pub struct WhyNow {
    /// What is advised, in a sentence of the package.
    pub step: String,
    /// Expected minutes to done, following this advice.
    pub expected_minutes: f64,
    /// No plan can do better than this many minutes.
    pub bound_minutes: f64,
    /// What it separates: (outcome, how probable it is, the most probable cause then, its chance then).
    pub separates: Vec<(String, f64, String, f64)>,
    /// Parallel to it: the event that would say so; emptied once each was tried.
    pub(crate) answers: Vec<super::event::What>,
    /// Parallel to it: the step that would follow, and the minutes to done from there. Where it is another than the
    /// others', that answer is what would change the advice.
    pub follows: Vec<(String, f64)>,
    /// Minutes of the best plan that asks nothing more, and of handing over at once: what the step is better than.
    pub instead: (f64, f64),
    /// Minutes of the act itself, travel and change of work state included.
    pub costs: f64,
    /// Other steps with their expected minutes to done, the best first.
    pub others: Vec<(String, f64)>,
    /// Steps worth much that the person present may not or cannot do: sentence, competence by name.
    pub withheld: Vec<(String, String)>,
}
