//! How the firm works: the parts of `package.yaml` of all packages in use, put together.

use super::{Citation, Name, Terms, Text};

/// How the firm works. Lists keep the order in which the packages, the used ones first, declare them.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Practice {
    /// The standing notice, line by line.
    pub notice: Vec<Text>,
    /// Competences; `anyone` is the first where a package declares it.
    pub competences: Vec<Competence>,
    /// Instruments.
    pub instruments: Vec<Instrument>,
    /// Places; `panel`, with 0 minutes, is always the first.
    pub places: Vec<Place>,
    /// Where units of a kind usually are, in a session without a sheet.
    pub usual_places: Vec<(Name, Name)>,
    /// Work states; `energised` is always the first.
    pub work_states: Vec<WorkState>,
    /// Enclosures.
    pub enclosures: Vec<Enclosure>,
    /// Hazards.
    pub hazards: Vec<Hazard>,
    /// Emergencies.
    pub emergencies: Vec<Emergency>,
    /// Measures for the meantime.
    pub meanwhile: Vec<Meanwhile>,
    /// Questions of people at the site that can come at any time, with what to say.
    pub on_the_spot: Vec<OnTheSpot>,
    /// Groups of causes that nothing tells apart, with the reason why that may be.
    pub ambiguous: Vec<Ambiguous>,
    /// Labour per hour, in `currency`; `None`: no package says.
    pub labour_per_hour: Option<f64>,
    /// The currency of prices and rates.
    pub currency: Option<String>,
    /// Handing over to somebody whom no package lists; `None`: no package says.
    pub unlisted: Option<HandOver>,
}

/// A competence.
#[derive(Clone, PartialEq, Debug)]
pub struct Competence {
    /// Its id.
    pub id: Name,
    /// Its name for people.
    pub name: Text,
    /// What such a person may also do, as written (not yet closed).
    pub covers: Vec<Name>,
    /// Instruments that such a person brings.
    pub carries: Vec<Name>,
    /// Words by which such a person is announced.
    pub also: Vec<Text>,
    /// How far a plain answer of such a person is believed; `None`: not said.
    pub trust: Option<f64>,
    /// What handing over costs; `None`: no hand-over to them.
    pub hand_over: Option<HandOver>,
}

/// Handing over to a person.
#[derive(Clone, PartialEq, Debug)]
pub struct HandOver {
    /// Minutes until such a person is there.
    pub minutes: f64,
    /// What to say when sending them.
    pub say: Option<Text>,
    /// What must not be done meanwhile.
    pub not_meanwhile: Vec<Text>,
}

/// An instrument.
#[derive(Clone, PartialEq, Debug)]
pub struct Instrument {
    /// Its id.
    pub id: Name,
    /// Its name for people.
    pub name: Text,
    /// Further words for it.
    pub also: Vec<Text>,
}

/// A place.
#[derive(Clone, PartialEq, Debug)]
pub struct Place {
    /// Its id.
    pub id: Name,
    /// Its name for people.
    pub name: Text,
    /// Minutes from the panel and back.
    pub minutes: f64,
    /// Further words for it.
    pub also: Vec<Text>,
    /// Who may go there: for a step that asks for less, this competence instead; `None`: anyone.
    pub competence: Option<Name>,
    /// Hazards of being there.
    pub hazards: Vec<Name>,
}

/// A work state, with the way into it and back.
#[derive(Clone, PartialEq, Debug)]
pub struct WorkState {
    /// Its id.
    pub id: Name,
    /// Its name for people.
    pub name: Text,
    /// The way into it.
    pub enter: Way,
    /// The way back to the state at the start.
    pub back: Way,
    /// Further words for it.
    pub also: Vec<Text>,
}

/// A way from one work state to another.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Way {
    /// The acts, in order.
    pub steps: Vec<Text>,
    /// Cost and limits.
    pub terms: Terms,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// An enclosure with a door.
#[derive(Clone, PartialEq, Debug)]
pub struct Enclosure {
    /// Its id.
    pub id: Name,
    /// Its name for people.
    pub name: Text,
    /// Who may open it: any one of these competences.
    pub opened_by: Vec<Name>,
    /// What is behind the door.
    pub hazards: Vec<Name>,
    /// Where it is.
    pub place: Option<Name>,
    /// Every unit that is in one has one of its own.
    pub own: bool,
}

/// Signal words of ANSI Z535, worst first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Signal {
    /// Will cause death or serious injury if not avoided.
    Danger,
    /// Could cause death or serious injury.
    Warning,
    /// Could cause minor or moderate injury.
    Caution,
    /// Not about injury.
    Notice,
}

/// A hazard and its caution.
#[derive(Clone, PartialEq, Debug)]
pub struct Hazard {
    /// Its id.
    pub id: Name,
    /// The signal word.
    pub signal: Signal,
    /// The caution in words.
    pub caution: Text,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// Something that stops diagnosis until all is clear.
#[derive(Clone, PartialEq, Debug)]
pub struct Emergency {
    /// Its id.
    pub id: Name,
    /// Words that announce it.
    pub words: Vec<Text>,
    /// Phrases that hold such words without being the emergency.
    pub not: Vec<Text>,
    /// The question asked at the start.
    pub ask: Option<Text>,
    /// What to do, in order.
    pub act: Vec<Text>,
    /// The question that ends it.
    pub all_clear: Option<Text>,
    /// Findings that announce it when not normal: component and name.
    pub shown_by: Vec<(Name, Name)>,
    /// Emergencies whose all-clear ends this one as well, where one line announced both.
    pub cleared_with: Vec<Name>,
}

/// A measure for the meantime.
#[derive(Clone, PartialEq, Debug)]
pub struct Meanwhile {
    /// Its id.
    pub id: Name,
    /// What is done.
    pub act: Text,
    /// How it is put back.
    pub put_back: Option<Text>,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// A question that puts one on the spot: "can they keep cooking?".
#[derive(Clone, PartialEq, Debug)]
pub struct OnTheSpot {
    /// Its id.
    pub id: Name,
    /// Words by which it is asked.
    pub words: Vec<Text>,
    /// Phrases that hold these words without asking it.
    pub not: Vec<Text>,
    /// The answer.
    pub say: Vec<Text>,
    /// Whether the present slip's "not meanwhile" belongs to the answer.
    pub slip: bool,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// Causes that no test tells apart, and why that is acceptable.
#[derive(Clone, PartialEq, Debug)]
pub struct Ambiguous {
    /// `component/cause`.
    pub causes: Vec<Text>,
    /// The reason.
    pub reason: Text,
}
