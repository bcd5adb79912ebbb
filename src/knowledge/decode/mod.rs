//! From the tree of a file to the types of the package, collecting every problem on the way.
//!
//! In: a [`Node`](crate::yaml::Node). Out: drafts whose references are still words. A value that cannot be used has its
//! diagnostic and is left out or takes a harmless default, so that reading goes on and nothing is said twice.

mod band;
mod citation;
mod component;
mod draft;
mod firm;
mod gives;
mod measure;
mod package;
mod procedure;
mod relation;
mod spot;
mod step;
mod terminal;
mod value;

use crate::yaml::Fields;
pub(super) use citation::sources_file;
pub(super) use component::component;
pub(super) use draft::{Draft, Owner, PendingLink, Side, Target};
pub(super) use gives::outcome_problems;
pub(super) use measure::difference;
pub(super) use package::{complete, declare, header, practice};
pub(super) use procedure::{ProcedureDraft, StepDraft, is_procedure, procedure};
pub(super) use value::over_one;

use std::collections::BTreeMap;

use crate::diagnostic::Diagnostic;
use crate::knowledge::PublishedSource;
use crate::source::Span;

/// What the decoding of one file knows and fills.
pub(super) struct Decoder<'a> {
    /// Problems so far.
    pub(super) problems: &'a mut Vec<Diagnostic>,
    /// Words for chances.
    pub(super) scale: &'a BTreeMap<String, f64>,
    /// What the packages in use declare.
    pub(super) declared: &'a Declared,
    /// Something that belongs to the packages in use could not be read: names that are not found may be there.
    pub(super) incomplete: bool,
}

/// What `package.yaml` files declare by name.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Sort {
    Competence,
    Instrument,
    Place,
    Enclosure,
    Hazard,
    WorkState,
    Source,
}

impl Sort {
    pub(super) const ALL: [Self; 7] = [
        Self::Competence,
        Self::Instrument,
        Self::Place,
        Self::Enclosure,
        Self::Hazard,
        Self::WorkState,
        Self::Source,
    ];

    /// With its article.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Competence => "a competence",
            Self::Instrument => "an instrument",
            Self::Place => "a place",
            Self::Enclosure => "an enclosure",
            Self::Hazard => "a hazard",
            Self::WorkState => "a work state",
            Self::Source => "a source",
        }
    }

    /// The key of `package.yaml` that declares it.
    pub(super) const fn key(self) -> &'static str {
        match self {
            Self::Competence => "competences",
            Self::Instrument => "instruments",
            Self::Place => "places",
            Self::Enclosure => "enclosures",
            Self::Hazard => "hazards",
            Self::WorkState => "work-states",
            Self::Source => "sources",
        }
    }
}

/// The names that a package may use: its own and those of the packages that it uses.
#[derive(Clone, Default, Debug)]
pub(super) struct Declared {
    names: BTreeMap<Sort, BTreeMap<String, Span>>,
    /// What may be cited, by key, with the package that declares it.
    pub(super) cited: BTreeMap<String, (usize, PublishedSource)>,
}

impl Declared {
    pub(super) fn find(&self, sort: Sort, name: &str) -> Option<Span> {
        self.names.get(&sort)?.get(name).copied()
    }

    pub(super) fn add(&mut self, sort: Sort, name: &str, span: Span) {
        self.names.entry(sort).or_default().insert(name.to_owned(), span);
    }

    pub(super) fn names(&self, sort: Sort) -> impl Iterator<Item = &str> {
        self.names.get(&sort).into_iter().flat_map(|names| names.keys().map(String::as_str))
    }

    /// Everything that `other` has and `self` has not.
    pub(super) fn join(&mut self, other: &Self) {
        for (&sort, names) in &other.names {
            let own = self.names.entry(sort).or_default();
            for (name, &span) in names {
                own.entry(name.clone()).or_insert(span);
            }
        }
        for (key, source) in &other.cited {
            self.cited.entry(key.clone()).or_insert_with(|| source.clone());
        }
    }
}
