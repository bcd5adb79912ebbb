//! A package, and all packages in use put together.

use std::collections::BTreeMap;

use super::component::Component;
use super::practice::Practice;
use super::{Name, PublishedSource, Text};
use crate::source::Sources;

/// A package: a folder of component files with a `package.yaml`.
#[derive(Clone, PartialEq, Debug)]
pub struct Package {
    /// Its id, the name of its folder.
    pub id: Name,
    /// Its title for people.
    pub title: Option<Text>,
    /// The packages that it uses: indices into [`Knowledge::packages`].
    pub uses: Vec<usize>,
    /// What it cites, by key.
    pub sources: BTreeMap<String, PublishedSource>,
}

/// All packages in use, checked.
#[derive(Clone, Debug)]
pub struct Knowledge {
    /// The files; clone it and add a job sheet's to speak of both.
    pub sources: Sources,
    /// The packages, used ones before their users; the last is the one that was asked for.
    pub packages: Vec<Package>,
    /// How the firm works.
    pub practice: Practice,
    /// Components, by package, then by id, whatever their files are called.
    pub components: Vec<Component>,
    /// What is gone through at a first power-up.
    pub procedure: super::Procedure,
    /// Component by id.
    pub(super) by_id: BTreeMap<String, usize>,
    /// Components by kind: that of `each`, and every wider one.
    pub(super) by_kind: BTreeMap<String, Vec<usize>>,
}

impl Knowledge {
    /// The component of that id.
    #[must_use]
    pub fn component(&self, id: &str) -> Option<&Component> {
        self.by_id.get(id).map(|&at| &self.components[at])
    }

    /// The component that a unit of exactly this kind (a job sheet's `is`) is of.
    #[must_use]
    pub fn of_kind(&self, kind: &str) -> Option<usize> {
        let exact = |&&at: &&usize| self.components[at].each.as_ref().is_some_and(|each| each.value == kind);
        self.by_kind.get(kind)?.iter().find(exact).copied()
    }

    /// The components whose units are of this kind, wider ones included, ascending.
    #[must_use]
    pub fn kinds(&self, kind: &str) -> &[usize] {
        self.by_kind.get(kind).map_or(&[], Vec::as_slice)
    }

    /// The kinds that a job sheet can say a unit is, in the order of the alphabet.
    pub fn unit_kinds(&self) -> impl Iterator<Item = &str> {
        self.by_kind.keys().map(String::as_str).filter(|kind| self.of_kind(kind).is_some())
    }
}
