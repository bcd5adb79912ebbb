//! How the firm works: competences, instruments, places, work states, enclosures, hazards, emergencies, rates.

use super::index::{CompetenceIx, EnclosureIx, HazardIx, InstrumentIx, PlaceIx, WorkStateIx};
pub use crate::knowledge::Signal;

/// A small set of dense indices, as bits: at most 128 members, which the loader checks.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, PartialOrd, Ord)]
pub struct BitSet(pub u128);

impl BitSet {
    /// The set with the member at position `at` added.
    #[inline]
    #[must_use]
    pub const fn with(self, at: usize) -> Self {
        Self(self.0 | 1 << at)
    }

    /// Whether the member at position `at` is in the set.
    #[inline]
    #[must_use]
    pub const fn has(self, at: usize) -> bool {
        self.0 >> at & 1 == 1
    }

    /// Whether every member of `self` is in `other`.
    #[inline]
    #[must_use]
    pub const fn within(self, other: Self) -> bool {
        self.0 & !other.0 == 0
    }

    /// The members of either.
    #[inline]
    #[must_use]
    pub const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// The members of `self` that `other` has not.
    #[inline]
    #[must_use]
    pub const fn minus(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// Whether there is no member.
    #[inline]
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The positions of the members, ascending.
    #[inline]
    pub fn iter(self) -> impl Iterator<Item = usize> {
        let mut left = self.0;
        std::iter::from_fn(move || {
            let at = left.trailing_zeros();
            left &= left.wrapping_sub(1);
            (at < 128).then_some(at as usize)
        })
    }
}

/// The person at the panel (or on the phone): what they may do, and with what.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Person {
    /// Competences, closed under `covers`.
    pub competences: BitSet,
    /// Instruments at hand.
    pub instruments: BitSet,
}

/// What every step costs and asks for.
#[derive(Clone, PartialEq, Debug)]
pub struct Terms {
    /// Minutes that the act itself takes; `None` where the package does not say, so that no plan uses it.
    pub minutes: Option<f64>,
    /// Where it is done.
    pub place: PlaceIx,
    /// The work state that it needs; `None`: any.
    pub work_state: Option<WorkStateIx>,
    /// The enclosure whose door is open during it.
    pub inside: Option<EnclosureIx>,
    /// The competence that it asks for.
    pub competence: CompetenceIx,
    /// The instruments that it asks for.
    pub instruments: BitSet,
    /// Its hazards, worst signal word first, those of its enclosure included.
    pub hazards: Vec<HazardIx>,
    /// What has to be put back after it.
    pub leaves: Vec<String>,
    /// It closes a protective device again (29 CFR 1910.334(b)(2)), or resets a fire or gas device: offered
    /// only once each of its `needs` has been found so, not merely taken to be so.
    pub recloses: bool,
}

/// A competence.
#[derive(Clone, PartialEq, Debug)]
pub struct Competence {
    /// Its id in the package.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// Itself and all that it covers.
    pub covers: BitSet,
    /// Instruments that such a person brings unless something else is said.
    pub carries: BitSet,
    /// Words by which such a person is announced.
    pub also: Vec<String>,
    /// How far a plain answer of such a person is believed, 0..1.
    pub trust: f64,
    /// What handing over to such a person costs; `None`: no hand-over to them.
    pub hand_over: Option<HandOver>,
}

/// Handing over to a person of some competence.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct HandOver {
    /// Minutes until such a person is there.
    pub minutes: f64,
    /// What to say when sending them.
    pub say: String,
    /// What must not be done meanwhile.
    pub not_meanwhile: Vec<String>,
}

/// An instrument.
#[derive(Clone, PartialEq, Debug)]
pub struct Instrument {
    /// Its id in the package.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// Further words for it.
    pub also: Vec<String>,
}

/// A place.
#[derive(Clone, PartialEq, Debug)]
pub struct Place {
    /// Its id in the package.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// Minutes from the panel and back; the star's centre, the panel, has 0.
    pub minutes: f64,
    /// Further words for it.
    pub also: Vec<String>,
}

/// What being at a place asks for. It is part of the [`Terms`] of every step there.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Ground {
    /// Who may go there; `None`: anyone.
    pub competence: Option<CompetenceIx>,
    /// Hazards of being there.
    pub hazards: Vec<HazardIx>,
}

/// A work state, and the way into it and back.
#[derive(Clone, PartialEq, Debug)]
pub struct WorkState {
    /// Its id in the package.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// The acts that lead into it, in order; empty for the state at the start.
    pub steps: Vec<String>,
    /// What getting into it costs and asks for.
    pub enter: Terms,
    /// The acts that lead back to the state at the start.
    pub back_steps: Vec<String>,
    /// What getting back costs and asks for.
    pub back: Terms,
    /// Further words for it.
    pub also: Vec<String>,
}

/// An enclosure with a door that stays shut for the unqualified.
#[derive(Clone, PartialEq, Debug)]
pub struct Enclosure {
    /// Its id in the package.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// Who may open it: any one of these competences.
    pub opened_by: BitSet,
    /// What is behind the door.
    pub hazards: Vec<HazardIx>,
}

/// A hazard and its caution.
#[derive(Clone, PartialEq, Debug)]
pub struct Hazard {
    /// Its id in the package.
    pub id: String,
    /// The signal word.
    pub signal: Signal,
    /// The caution in words.
    pub caution: String,
}

/// Something that stops diagnosis until all is clear.
#[derive(Clone, PartialEq, Debug)]
pub struct Emergency {
    /// Its id in the package.
    pub id: String,
    /// Words that announce it.
    pub words: Vec<String>,
    /// Phrases that hold such words without being the emergency.
    pub not: Vec<String>,
    /// The question asked at the start.
    pub ask: String,
    /// What to do, in order.
    pub act: Vec<String>,
    /// The question that ends it.
    pub all_clear: String,
    /// Kinds of findings, (component, name), that announce it when they are not normal: a screen that says
    /// fire is a fire until somebody on site has ruled it out. Such an entry is not asked at the start.
    pub shown_by: Vec<(String, String)>,
    /// Emergencies whose all-clear ends this one as well, where one line announced both: who has ruled out a fire has
    /// ruled out the one on the screen.
    pub cleared_with: Vec<String>,
}

/// A measure for the meantime.
#[derive(Clone, PartialEq, Debug)]
pub struct Meanwhile {
    /// Its id in the package.
    pub id: String,
    /// What is done.
    pub act: String,
    /// How it is put back.
    pub put_back: String,
}

/// A question that puts one on the spot.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OnTheSpot {
    /// Its id in the package.
    pub id: String,
    /// Words by which it is asked.
    pub words: Vec<String>,
    /// Phrases that hold these words without asking it.
    pub not: Vec<String>,
    /// The answer.
    pub say: Vec<String>,
    /// Whether the present slip's "not meanwhile" belongs to the answer.
    pub slip: bool,
}

/// How the firm works, dense.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Practice {
    /// The standing notice, line by line.
    pub notice: Vec<String>,
    /// Competences; index [`CompetenceIx`].
    pub competences: Vec<Competence>,
    /// Instruments; index [`InstrumentIx`].
    pub instruments: Vec<Instrument>,
    /// Places; index [`PlaceIx`]; the first is the panel.
    pub places: Vec<Place>,
    /// What being at a place asks for; index [`PlaceIx`]; a place beyond the end asks for nothing.
    pub grounds: Vec<Ground>,
    /// Work states; index [`WorkStateIx`]; the first is the state at the start, energised.
    pub work_states: Vec<WorkState>,
    /// Enclosures; index [`EnclosureIx`].
    pub enclosures: Vec<Enclosure>,
    /// Hazards; index [`HazardIx`].
    pub hazards: Vec<Hazard>,
    /// Emergencies, in the order of the packages.
    pub emergencies: Vec<Emergency>,
    /// Measures for the meantime.
    pub meanwhile: Vec<Meanwhile>,
    /// Questions that can come at any time.
    pub on_the_spot: Vec<OnTheSpot>,
    /// Labour per hour, in `currency`.
    pub labour_per_hour: f64,
    /// The currency of prices and rates.
    pub currency: String,
    /// Handing over to somebody whom the package does not list: the end of every plan.
    pub unlisted: HandOver,
}

impl Practice {
    /// The competence of that id.
    #[must_use]
    pub fn competence(&self, id: &str) -> Option<CompetenceIx> {
        self.competences.iter().position(|c| c.id == id).map(CompetenceIx::new)
    }

    /// The instrument of that id.
    #[must_use]
    pub fn instrument(&self, id: &str) -> Option<InstrumentIx> {
        self.instruments.iter().position(|i| i.id == id).map(InstrumentIx::new)
    }

    /// A person of that competence, with the instruments that such a person carries.
    #[must_use]
    pub fn person(&self, competence: CompetenceIx) -> Person {
        let competence = &self.competences[competence.at()];
        Person { competences: competence.covers, instruments: competence.carries }
    }

    /// Whether `person` may do a step of these terms: competence, instruments, door.
    #[must_use]
    pub fn allows(&self, person: &Person, terms: &Terms) -> bool {
        person.competences.has(terms.competence.at())
            && terms.instruments.within(person.instruments)
            && terms
                .inside
                .is_none_or(|door| person.competences.0 & self.enclosures[door.at()].opened_by.0 != 0)
    }
}
