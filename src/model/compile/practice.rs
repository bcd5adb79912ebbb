//! How the firm works, from names to indices.

use crate::knowledge::{self, Name, Text};
use crate::model::index::{CompetenceIx, EnclosureIx, HazardIx, PlaceIx, WorkStateIx};
use crate::model::practice::{
    BitSet, Competence, Emergency, Enclosure, Ground, HandOver, Hazard, Instrument, Meanwhile, OnTheSpot,
    Place, Practice, Terms, WorkState,
};

/// The competence that a step asks for where the package says none.
const ANYONE: &str = "anyone";
/// The name of the enclosure that a unit is in where the sheet says none.
const PANEL: &str = "panel";

fn texts(texts: &[Text]) -> Vec<String> {
    texts.iter().map(|text| text.value.clone()).collect()
}

fn optional(text: Option<&Text>) -> String {
    text.map_or_else(String::new, |text| text.value.clone())
}

fn place_of<T>(items: &[T], id: impl Fn(&T) -> &str, name: &str) -> Option<usize> {
    items.iter().position(|item| id(item) == name)
}

/// The practice of a model. Everything that a checked package names exists; a package without competences or places
/// gets `anyone` and `panel`, so that the first of each is always there.
pub(super) fn practice(from: &knowledge::Practice) -> Practice {
    let mut practice = Practice {
        notice: texts(&from.notice),
        instruments: from
            .instruments
            .iter()
            .map(|i| Instrument { id: i.id.value.clone(), name: i.name.value.clone(), also: texts(&i.also) })
            .collect(),
        places: from
            .places
            .iter()
            .map(|p| Place {
                id: p.id.value.clone(),
                name: p.name.value.clone(),
                minutes: p.minutes,
                also: texts(&p.also),
            })
            .collect(),
        hazards: from
            .hazards
            .iter()
            .map(|h| Hazard { id: h.id.value.clone(), signal: h.signal, caution: h.caution.value.clone() })
            .collect(),
        meanwhile: from
            .meanwhile
            .iter()
            .map(|m| Meanwhile {
                id: m.id.value.clone(),
                act: m.act.value.clone(),
                put_back: optional(m.put_back.as_ref()),
            })
            .collect(),
        on_the_spot: from
            .on_the_spot
            .iter()
            .map(|question| OnTheSpot {
                id: question.id.value.clone(),
                words: texts(&question.words),
                not: texts(&question.not),
                say: texts(&question.say),
                slip: question.slip,
            })
            .collect(),
        emergencies: from
            .emergencies
            .iter()
            .map(|e| Emergency {
                id: e.id.value.clone(),
                words: texts(&e.words),
                not: texts(&e.not),
                ask: optional(e.ask.as_ref()),
                act: texts(&e.act),
                all_clear: optional(e.all_clear.as_ref()),
                shown_by: e.shown_by.iter().map(|(c, f)| (c.value.clone(), f.value.clone())).collect(),
                cleared_with: e.cleared_with.iter().map(|id| id.value.clone()).collect(),
            })
            .collect(),
        labour_per_hour: from.labour_per_hour.unwrap_or(0.0),
        currency: from.currency.clone().unwrap_or_default(),
        unlisted: from.unlisted.as_ref().map(hand_over).unwrap_or_default(),
        ..Practice::default()
    };
    if practice.places.is_empty() {
        practice.places.push(Place {
            id: PANEL.to_owned(),
            name: PANEL.to_owned(),
            minutes: 0.0,
            also: Vec::new(),
        });
    }
    practice.competences = competences(from, &practice);
    practice.grounds = from.places.iter().map(|place| ground(place, &practice)).collect();
    practice.enclosures = from.enclosures.iter().map(|e| enclosure(e, &practice)).collect();
    practice.work_states = from.work_states.iter().map(|w| work_state(w, &practice)).collect();
    if practice.work_states.is_empty() {
        let nothing = knowledge::Terms::default();
        let nothing = terms(&nothing, &practice, Whereabouts::PANEL, &texts);
        practice.work_states.push(WorkState {
            id: "energised".to_owned(),
            name: "energised".to_owned(),
            steps: Vec::new(),
            enter: nothing.clone(),
            back_steps: Vec::new(),
            back: nothing,
            also: Vec::new(),
        });
    }
    practice
}

fn hand_over(from: &knowledge::HandOver) -> HandOver {
    HandOver {
        minutes: from.minutes,
        say: optional(from.say.as_ref()),
        not_meanwhile: texts(&from.not_meanwhile),
    }
}

fn competences(from: &knowledge::Practice, practice: &Practice) -> Vec<Competence> {
    let index = |name: &Name| place_of(&from.competences, |c| &c.id, name);
    // `covers` closed: what somebody covers whom I cover, I cover.
    let mut covers: Vec<BitSet> = from
        .competences
        .iter()
        .enumerate()
        .map(|(own, c)| c.covers.iter().filter_map(index).fold(BitSet::default().with(own), BitSet::with))
        .collect();
    for _ in 0..covers.len() {
        for own in 0..covers.len() {
            covers[own] = covers[own].iter().fold(covers[own], |all, other| all.union(covers[other]));
        }
    }
    let mut competences: Vec<Competence> = from
        .competences
        .iter()
        .zip(covers)
        .map(|(c, covers)| Competence {
            id: c.id.value.clone(),
            name: c.name.value.clone(),
            covers,
            carries: instruments(&c.carries, practice),
            also: texts(&c.also),
            trust: c.trust.unwrap_or(1.0),
            hand_over: c.hand_over.as_ref().map(hand_over),
        })
        .collect();
    if competences.is_empty() {
        competences.push(Competence {
            id: ANYONE.to_owned(),
            name: ANYONE.to_owned(),
            covers: BitSet::default().with(0),
            carries: BitSet::default(),
            also: Vec::new(),
            trust: 1.0,
            hand_over: None,
        });
    }
    competences
}

fn instruments(names: &[Name], practice: &Practice) -> BitSet {
    let known = names.iter().filter_map(|n| place_of(&practice.instruments, |i| &i.id, n));
    known.fold(BitSet::default(), BitSet::with)
}

fn hazards(names: &[Name], practice: &Practice) -> Vec<HazardIx> {
    names.iter().filter_map(|n| place_of(&practice.hazards, |h| &h.id, n)).map(HazardIx::new).collect()
}

/// Sorted by signal word, worst first, each once.
fn worst_first(mut hazards: Vec<HazardIx>, practice: &Practice) -> Vec<HazardIx> {
    hazards.sort_by_key(|&h| (practice.hazards[h.at()].signal, h));
    hazards.dedup();
    hazards
}

fn ground(from: &knowledge::Place, practice: &Practice) -> Ground {
    let competence = from.competence.as_ref();
    let competence = competence.and_then(|n| place_of(&practice.competences, |c| &c.id, n));
    Ground { competence: competence.map(CompetenceIx::new), hazards: hazards(&from.hazards, practice) }
}

fn enclosure(from: &knowledge::Enclosure, practice: &Practice) -> Enclosure {
    let opened_by = from.opened_by.iter().filter_map(|n| place_of(&practice.competences, |c| &c.id, n));
    Enclosure {
        id: from.id.value.clone(),
        name: from.name.value.clone(),
        opened_by: opened_by.fold(BitSet::default(), BitSet::with),
        hazards: worst_first(hazards(&from.hazards, practice), practice),
    }
}

fn work_state(from: &knowledge::WorkState, practice: &Practice) -> WorkState {
    let plain = |way: &knowledge::Way| terms(&way.terms, practice, Whereabouts::PANEL, &texts);
    WorkState {
        id: from.id.value.clone(),
        name: from.name.value.clone(),
        steps: texts(&from.enter.steps),
        enter: plain(&from.enter),
        back_steps: texts(&from.back.steps),
        back: plain(&from.back),
        also: texts(&from.also),
    }
}

/// Where a unit is, and behind which door.
#[derive(Clone, Copy)]
pub(super) struct Whereabouts<'a> {
    pub place: Option<&'a str>,
    pub inside: Option<&'a str>,
    /// Where a step is done that names no place: at another unit than its own, where it is read there.
    pub read_at: Option<&'a str>,
}

impl Whereabouts<'_> {
    /// At the panel, in it.
    pub(super) const PANEL: Self = Self { place: None, inside: None, read_at: None };
}

/// `unit` as a place or an enclosure: that of the unit.
const UNIT: &str = "unit";

/// What a step costs and asks for. `fill` makes texts for people of the package's.
pub(super) fn terms(
    from: &knowledge::Terms,
    practice: &Practice,
    whereabouts: Whereabouts<'_>,
    fill: &dyn Fn(&[Text]) -> Vec<String>,
) -> Terms {
    let place = match from.place.as_ref().map(|place| &*place.value) {
        Some(UNIT) => whereabouts.place,
        Some(place) => Some(place),
        None => whereabouts.read_at,
    };
    let inside = from.inside.as_ref().and_then(|inside| match &*inside.value {
        UNIT => whereabouts.inside.or(Some(PANEL)),
        other => Some(other),
    });
    let inside = inside.and_then(|e| place_of(&practice.enclosures, |i| &i.id, e)).map(EnclosureIx::new);
    let mut all = hazards(&from.hazards, practice);
    if let Some(door) = inside.and_then(|door| practice.enclosures.get(door.at())) {
        all.extend(&door.hazards);
    }
    let place = PlaceIx::new(place.and_then(|p| place_of(&practice.places, |i| &i.id, p)).unwrap_or(0));
    let competence = from.competence.as_ref().map_or(ANYONE, |name| &name.value);
    let mut competence =
        CompetenceIx::new(place_of(&practice.competences, |c| &c.id, competence).unwrap_or(0));
    if let Some(ground) = practice.grounds.get(place.at()) {
        all.extend(&ground.hazards);
        // Who may go there replaces who may do it where the former may do what the latter may.
        let stronger = |there: &CompetenceIx| {
            practice.competences.get(there.at()).is_some_and(|c| c.covers.has(competence.at()))
        };
        competence = ground.competence.filter(stronger).unwrap_or(competence);
    }
    let state = |name: &Name| place_of(&practice.work_states, |w| &w.id, name).map(WorkStateIx::new);
    Terms {
        minutes: from.minutes.map(|minutes| minutes.value),
        place,
        work_state: from.work_state.as_ref().and_then(state),
        inside,
        competence,
        instruments: from
            .instruments
            .iter()
            .filter_map(|n| place_of(&practice.instruments, |i| &i.id, n))
            .fold(BitSet::default(), BitSet::with),
        hazards: worst_first(all, practice),
        leaves: fill(&from.leaves),
        recloses: from.recloses,
    }
}

/// The same with the door shut: no enclosure, and of its hazards only those that the step has of its own.
pub(super) fn with_door_shut(terms: Terms, own: &[Name], practice: &Practice) -> Terms {
    let mut own = hazards(own, practice);
    own.extend(practice.grounds.get(terms.place.at()).iter().flat_map(|ground| &ground.hazards));
    Terms { inside: None, hazards: worst_first(own, practice), ..terms }
}
