//! Who is present, and how far their answers are believed.

use super::event::Who;
use crate::model::index::{CompetenceIx, InstrumentIx};
use crate::model::practice::{BitSet, Person, Practice};

/// Those present, as one: all their competences and instruments, and the trust of the most competent.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Present {
    pub(crate) person: Person,
    /// How far a plain answer is believed, 0..1.
    pub(crate) trust: f64,
    /// Nobody present is more than one of the public.
    pub(crate) lay: bool,
}

impl Present {
    /// The people of `practice` that `people` names. Ids that it does not know are passed over.
    pub(crate) fn new(people: &[Who], practice: &Practice) -> Self {
        let (mut competences, mut instruments, mut trust, mut own) =
            (BitSet::default(), BitSet::default(), 0.0f64, 0);
        for who in people {
            let mut carried = BitSet::default();
            for id in &who.competences {
                let Some(competence) = practice.competence(id) else { continue };
                let competence = &practice.competences[competence.at()];
                competences = competences.union(competence.covers);
                carried = carried.union(competence.carries);
                trust = trust.max(competence.trust);
                own = own.max(competence.covers.iter().count());
            }
            instruments = instruments.union(match &who.instruments {
                None => carried,
                Some(ids) => ids
                    .iter()
                    .filter_map(|id| practice.instrument(id))
                    .fold(BitSet::default(), |set, at: InstrumentIx| set.with(at.at())),
            });
        }
        Self { person: Person { competences, instruments }, trust, lay: own <= 1 && instruments.is_empty() }
    }
}

/// The names of a person's own competences.
pub(crate) fn described(who: &Who, practice: &Practice) -> String {
    let competences: Vec<&str> = who
        .competences
        .iter()
        .map(|id| {
            practice
                .competence(id)
                .map_or(id.as_str(), |at: CompetenceIx| &*practice.competences[at.at()].name)
        })
        .collect();
    match (who.name.is_empty(), competences.is_empty()) {
        (true, _) => competences.join(", "),
        (false, true) => who.name.clone(),
        (false, false) => format!("{} ({})", who.name, competences.join(", ")),
    }
}
