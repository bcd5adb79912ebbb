//! Who is present, from the log; and who is, after what was said of people.

use super::super::event::{What, Who};
use super::super::hear::{PersonChange, PersonSaid};
use super::{Dialogue, Said};
use crate::model::practice::{BitSet, Practice};

impl Dialogue {
    /// Those present, in the order in which they came.
    pub(super) fn present(&self) -> Vec<Who> {
        let mut present: Vec<Who> = Vec::new();
        for (_, what) in self.session.entries() {
            match what {
                What::Started { who, .. } => present = vec![who.clone()],
                What::Resumed { who: Some(who) } | What::Person { who, others_stay: false } => {
                    present = vec![who.clone()];
                }
                What::Person { who, others_stay: true } => present.push(who.clone()),
                _ => {}
            }
        }
        present
    }

    /// Who confirms: the name, or else the competence, of the one who came last.
    pub(super) fn by(&self) -> String {
        let practice = &self.session.model().practice;
        let Some(who) = self.present().pop() else { return String::new() };
        if !who.name.is_empty() {
            return who.name;
        }
        let names = who.competences.iter().filter_map(|id| practice.competence(id));
        names.map(|at| practice.competences[at.at()].name.clone()).collect::<Vec<_>>().join(", ")
    }

    /// Who is here now, by name.
    pub(super) fn who_is_here(&self, who: &Who) -> Said {
        let practice = &self.session.model().practice;
        let competences = who.competences.iter().filter_map(|id| practice.competence(id));
        let at_hand = who.instruments.as_ref().map_or_else(
            || {
                let each = competences.clone().map(|at| practice.competences[at.at()].carries);
                each.fold(BitSet::default(), BitSet::union)
            },
            |ids| set(practice, ids),
        );
        Said::Here {
            name: who.name.clone(),
            competences: competences.clone().map(|at| practice.competences[at.at()].name.clone()).collect(),
            instruments: at_hand.iter().map(|at| practice.instruments[at].name.clone()).collect(),
        }
    }

    /// The event that what was said of a person comes to.
    pub(super) fn person(&self, said: &PersonSaid) -> Option<What> {
        let practice = &self.session.model().practice;
        let mut present = self.present();
        let named: Vec<String> =
            said.competences.iter().map(|at| practice.competences[at.at()].id.clone()).collect();
        match said.change {
            PersonChange::Comes => {
                let who = updated(
                    practice,
                    &Who { name: String::new(), competences: vec![], instruments: None },
                    said,
                    named,
                );
                Some(What::Person { who, others_stay: true })
            }
            PersonChange::Speaks => {
                let nothing = said.name.is_none() && named.is_empty();
                if nothing && said.instruments.is_empty() && said.without.is_empty() {
                    return None;
                }
                let others_stay = present.len() > 1;
                let speaker = present.pop()?;
                Some(What::Person { who: updated(practice, &speaker, said, named), others_stay })
            }
            PersonChange::Leaves => {
                let goes = |who: &Who| {
                    said.name.as_ref().is_some_and(|name| name.eq_ignore_ascii_case(&who.name))
                        || who.competences.iter().any(|id| named.contains(id))
                };
                present.retain(|who| !goes(who));
                Some(What::Person { who: joined(present), others_stay: false })
            }
        }
    }
}

/// The person after what was said: newly named competences replace the old ones and bring what such people carry.
fn updated(practice: &Practice, before: &Who, said: &PersonSaid, named: Vec<String>) -> Who {
    let fresh = !named.is_empty();
    let competences = if fresh { named } else { before.competences.clone() };
    let carried = || {
        let carried = competences.iter().filter_map(|id| practice.competence(id));
        let carried = carried.map(|at| practice.competences[at.at()].carries);
        carried.fold(BitSet::default(), BitSet::union)
    };
    let had = match (&before.instruments, fresh) {
        (Some(ids), false) => set(practice, ids),
        (Some(ids), true) => carried().union(set(practice, ids)),
        (None, _) => carried(),
    };
    let told = |all: &[crate::model::index::InstrumentIx]| {
        all.iter().fold(BitSet::default(), |set, i| set.with(i.at()))
    };
    let now = had.union(told(&said.instruments)).minus(told(&said.without));
    let unsaid = said.instruments.is_empty() && said.without.is_empty() && before.instruments.is_none();
    let instruments = (!unsaid).then(|| now.iter().map(|at| practice.instruments[at].id.clone()).collect());
    let name = said.name.clone().unwrap_or_else(|| before.name.clone());
    Who { name, competences, instruments }
}

fn set(practice: &Practice, ids: &[String]) -> BitSet {
    ids.iter().filter_map(|id| practice.instrument(id)).fold(BitSet::default(), |set, at| set.with(at.at()))
}

/// Several people as one.
fn joined(people: Vec<Who>) -> Who {
    let mut all = Who { name: String::new(), competences: vec![], instruments: Some(vec![]) };
    for who in people {
        if all.name.is_empty() {
            all.name = who.name;
        }
        all.competences.extend(who.competences);
        all.instruments = all.instruments.zip(who.instruments).map(|(mut all, more)| {
            all.extend(more);
            all
        });
    }
    all.competences.sort();
    all.competences.dedup();
    all
}
