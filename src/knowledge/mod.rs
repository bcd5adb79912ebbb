//! What the author wrote, typed and checked.
//!
//! In: a package folder, through [`Files`]. Out: [`Knowledge`], every name resolved to the component level, or the list
//! of all problems. Invariants: a [`Knowledge`] has no error in it; ids are unique; every [`Reference`] names something
//! of the right kind in every component that it can reach; a link stands in exactly one place; probabilities are in
//! 0..1; nothing is per unit yet (that is compiled later, with a job sheet).

pub mod bibliography;
pub mod ambiguity;
mod cause;
pub mod citation;
mod component;
mod decode;
pub mod embedded;
mod expressions;
mod files;
mod finding;
mod fix;
mod link;
mod load;
mod package;
mod practice;
mod procedure;
mod stage;
mod resolve;
mod rules;
mod terminal;
mod terms;
mod texts;
mod words;

pub use cause::{Cause, Condition, Prior};
pub use citation::{Citation, PublishedSource, Seen};
pub use component::{Component, Item, Many, NameplateKey, Relation};
pub use files::{Files, FilesError, InMemory};
pub use finding::{Accuracy, Act, Finding, Gives, Proof, Reading, Scale, Symptom, Test};
pub use fix::{Fix, Part};
pub use link::{Leads, Reference, Shows, Via};
pub use load::{BASE, Loaded, Options, load, load_embedded};
pub use package::{Knowledge, Package};
pub use practice::{
    Ambiguous, Competence, Emergency, Enclosure, HandOver, Hazard, Instrument, Meanwhile, OnTheSpot, Place,
    Practice, Signal, Way, WorkState,
};
pub use procedure::{Procedure, ProcedureStep, StepReading, StepRef};
pub use stage::{STAGES, Stage};
pub use terminal::{Carries, Flow, Legs, TerminalRole, Wrong};
pub use terms::Terms;

use crate::source::Spanned;

/// A text for people, with its placeholders (`{unit}`, `{unit.key}`, `{relation}`, `{relation.key}`) not yet filled in.
pub type Text = Spanned<String>;

/// A name that has been checked to exist.
pub type Name = Spanned<String>;
