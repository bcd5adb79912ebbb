//! What a package cites, and how an item of it does.

use super::{Name, Text};
use crate::source::Span;

/// What may be cited without being declared: no page of anybody's.
pub const UNPUBLISHED: [&str; 2] = [COMMON_PRACTICE, JUDGEMENT];

/// Lore of the trade for which there is no published source.
pub const COMMON_PRACTICE: &str = "common practice";

/// The author's own estimate.
pub const JUDGEMENT: &str = "judgement";

/// How the author of a package came to know what a source says.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Seen {
    /// The document itself was read, whole or in the part that is cited.
    Read,
    /// What it says was read in another document that quotes it.
    Quoted,
    /// Nothing was read: it says so from memory, and wants to be checked.
    FromMemory,
    /// Nothing to read: it follows by computing.
    Computed,
}

impl Seen {
    /// Every way, best first.
    pub const ALL: [Self; 4] = [Self::Read, Self::Quoted, Self::FromMemory, Self::Computed];

    /// As it is written in a package and shown to people.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Quoted => "quoted",
            Self::FromMemory => "from memory",
            Self::Computed => "computed",
        }
    }
}

/// Something published, or computed, that items may cite.
#[derive(Clone, PartialEq, Debug)]
pub struct PublishedSource {
    /// The key by which it is cited.
    pub key: Name,
    /// Its title.
    pub title: String,
    /// Who wrote it.
    pub author: Option<String>,
    /// Who published it.
    pub publisher: Option<String>,
    /// When.
    pub year: Option<String>,
    /// Which edition, version or revision.
    pub edition: Option<String>,
    /// Where in it.
    pub place: Option<String>,
    /// Where it can be read, if in public.
    pub url: Option<String>,
    /// How it was seen; `None`: the package does not say.
    pub seen: Option<Seen>,
    /// A remark.
    pub note: Option<String>,
    /// What rests on it besides the items that cite it: words for chances, minutes, trust.
    pub supports: Vec<Text>,
}

impl PublishedSource {
    /// A source of which only the title is known.
    #[must_use]
    pub const fn titled(key: Name, title: String) -> Self {
        Self {
            key,
            title,
            author: None,
            publisher: None,
            year: None,
            edition: None,
            place: None,
            url: None,
            seen: None,
            note: None,
            supports: Vec::new(),
        }
    }

    /// Title and place, and whether only memory stands for it: what is shown beside a step.
    #[must_use]
    pub fn short(&self, place: Option<&str>) -> String {
        let mut text = self.title.clone();
        for part in [self.place.as_deref(), place].into_iter().flatten() {
            text = format!("{text}, {part}");
        }
        match self.seen {
            Some(Seen::FromMemory) => format!("{text} (from memory)"),
            _ => text,
        }
    }
}

/// One entry of the `sources` of an item.
#[derive(Clone, PartialEq, Debug)]
pub struct Citation {
    /// The key of a source, or one of [`UNPUBLISHED`].
    pub key: Name,
    /// Where in that source.
    pub place: Option<String>,
    /// The package that declares it, an index into [`Knowledge::packages`](super::Knowledge::packages); `None`: one of
    /// [`UNPUBLISHED`].
    pub declared_by: Option<usize>,
    /// As it is shown beside a step.
    pub short: String,
}

impl Citation {
    /// Where it was written.
    #[must_use]
    pub const fn span(&self) -> Span {
        self.key.span
    }
}
