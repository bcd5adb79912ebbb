//! What a line can mean.

use super::standing_words::Word;
use crate::model::index::{CauseIx, CompetenceIx, FindingIx, InstrumentIx, PlaceIx, TestIx, WorkStateIx};

/// What was understood of a line.
#[derive(Clone, PartialEq, Debug)]
pub enum Heard {
    /// Nothing was typed, or nothing but filler: the question again.
    Nothing,
    /// An emergency, wherever in the line; before all else.
    Emergency(Alarm),
    /// One of the words that are always at hand.
    Word(Word),
    /// Everything that the line says, in its order; never empty.
    Understood(Vec<Meaning>),
    /// Something is in doubt: ask back, never guess.
    Unclear(Unclear),
}

/// Words of an emergency.
#[derive(Clone, PartialEq, Debug)]
pub struct Alarm {
    /// Position in [`Practice::emergencies`](crate::model::practice::Practice::emergencies).
    pub emergency: usize,
    /// The words of the line that say so.
    pub words: String,
    /// Whether they say it plainly; a misspelt word is an alarm all the same, but worth the question.
    pub plain: bool,
    /// What else the line says; kept for when all is clear.
    pub rest: Vec<Meaning>,
}

/// A line, or a part of one, in doubt.
#[derive(Clone, PartialEq, Debug)]
pub struct Unclear {
    /// The part that was understood without doubt.
    pub understood: Vec<Meaning>,
    /// The words that are in doubt.
    pub words: String,
    /// Why.
    pub doubt: Doubt,
    /// What they may mean, most fitting first; empty when nothing fits.
    pub choices: Vec<Choice>,
    /// Further parts of the line that are in doubt, in their order; none of these has any of its own.
    pub further: Vec<Unclear>,
}

/// Why something is in doubt.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Doubt {
    /// Nothing that is known fits these words.
    NothingFits,
    /// Several things fit about equally.
    SeveralFit,
    /// One thing fits, but not well: did they mean it?
    FitsPoorly,
    /// The symptom is clear, which unit is not.
    WhichUnit,
    /// The answer says yes and no.
    YesAndNo,
    /// More or fewer numbers than the reading has.
    HowManyNumbers {
        /// How many the reading has.
        wanted: usize,
        /// How many were given.
        given: usize,
    },
    /// A reading of several quantities lacks some; the words in doubt say which.
    Incomplete,
    /// A number with a unit of measure that does not fit the question.
    WrongMeasure,
    /// A number was asked for.
    NumberWanted,
    /// No such number in the list.
    NoSuchChoice,
}

/// One thing that doubtful words may mean.
#[derive(Clone, PartialEq, Debug)]
pub struct Choice {
    /// In words.
    pub text: String,
    /// What choosing it says.
    pub means: Vec<Meaning>,
}

/// One thing that a line says.
#[derive(Clone, PartialEq, Debug)]
pub enum Meaning {
    /// An answer to the present question.
    Answer(Answer),
    /// A symptom is there or not, in the caller's words.
    Symptom(Reported),
    /// The number that a drive shows, volunteered.
    FaultNumber {
        /// The finding whose table holds it.
        finding: FindingIx,
        /// The number.
        number: FaultNumber,
    },
    /// Who is at the panel now, and with what.
    Person(PersonSaid),
    /// The work state that somebody says it is in; `None`: not in the one named, so it is unknown.
    WorkState(Option<WorkStateIx>),
    /// Somebody is at that place, or on the way.
    Place(PlaceIx),
    /// A cause was seen to be there or ruled out by sight.
    Cause {
        /// The cause.
        cause: CauseIx,
        /// There or not.
        present: bool,
    },
}

/// An answer to the present question.
#[derive(Clone, PartialEq, Debug)]
pub enum Answer {
    /// One outcome of a finding.
    Outcome {
        /// The finding.
        finding: FindingIx,
        /// Position among its outcomes.
        outcome: usize,
        /// How sure the person is.
        sure: Sure,
    },
    /// The numbers of a reading, in the test's unit of measure.
    Readings {
        /// The test.
        test: TestIx,
        /// As many as the test asks for.
        values: Vec<f64>,
    },
    /// A fault number.
    Fault {
        /// The finding whose table was asked for.
        finding: FindingIx,
        /// The number.
        number: FaultNumber,
    },
    /// Yes or no, where no finding is asked for.
    YesNo {
        /// Yes.
        yes: bool,
        /// How sure the person is.
        sure: Sure,
    },
    /// The number of a list entry, counted from 0.
    Pick(usize),
    /// A number with the unit of measure that was asked for.
    Number(f64),
    /// Numbers with the unit of measure that was asked for.
    Numbers(Vec<f64>),
    /// Words.
    Words(String),
    /// The person cannot tell, or would rather not do it.
    CannotTell,
}

/// How sure an answer is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Sure {
    /// Said plainly.
    #[default]
    Plain,
    /// "I think so", "probably", "maybe".
    Think,
}

impl Sure {
    /// The less sure of the two.
    pub(super) const fn max_doubt(self, other: Self) -> Self {
        match (self, other) {
            (Self::Plain, Self::Plain) => Self::Plain,
            _ => Self::Think,
        }
    }
}

/// What a symptom is said of.
#[derive(Clone, PartialEq, Debug)]
pub enum About {
    /// One finding.
    Finding(FindingIx),
    /// At least one of several, not known which ("one of the fans").
    OneOf(Vec<FindingIx>),
    /// A unit that has not been mentioned before, in a session without a job sheet.
    NewUnit {
        /// The component that it is.
        component: String,
        /// The caller's name for it; `None`: left unnamed.
        name: Option<String>,
        /// The symptom's name in the component.
        symptom: String,
    },
}

/// A symptom in the caller's words.
#[derive(Clone, PartialEq, Debug)]
pub struct Reported {
    /// What it is said of.
    pub about: About,
    /// Position among the outcomes: 0 when it is said not to be there.
    pub outcome: usize,
    /// How sure the person is.
    pub sure: Sure,
    /// The words.
    pub words: String,
}

/// A number on a drive's display.
#[derive(Clone, PartialEq, Debug)]
pub struct FaultNumber {
    /// As the table writes it, or as typed where the table has none.
    pub typed: String,
    /// Entry of the drive's own table; `None`: the table has no such number.
    pub entry: Option<usize>,
    /// The outcome (general class) of that entry.
    pub outcome: Option<usize>,
}

/// Who came, went, or has what.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PersonSaid {
    /// The name, where one was said.
    pub name: Option<String>,
    /// Competences named.
    pub competences: Vec<CompetenceIx>,
    /// Instruments that are at hand.
    pub instruments: Vec<InstrumentIx>,
    /// Instruments that are not at hand.
    pub without: Vec<InstrumentIx>,
    /// What the person does.
    pub change: PersonChange,
}

/// What a person does.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum PersonChange {
    /// The one who speaks says more of themselves.
    #[default]
    Speaks,
    /// Somebody else is there now, or takes over.
    Comes,
    /// Somebody left.
    Leaves,
}
