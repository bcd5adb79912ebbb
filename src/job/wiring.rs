//! Wires, terminal strips, interlocks and the fault numbers of a drive: what the sheet says beside the units.

use crate::source::Span;

/// Who made a connection.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Made {
    /// The panel shop.
    Factory,
    /// Somebody on site.
    Field,
}

/// One wire of the list.
#[derive(Clone, PartialEq, Debug)]
pub struct Wire {
    /// The terminal where it begins, `DEVICE:TERMINAL`.
    pub from: String,
    /// The terminal where it ends.
    pub to: String,
    /// Who made the connection.
    pub by: Made,
    /// The conductor, in words.
    pub conductor: String,
    /// Whether its two ends or its pair may not be exchanged.
    pub polarity_sensitive: bool,
    /// The part that stands between its ends, in words, so that they are not joined: an end resistor. Empty: nothing.
    pub through: String,
    /// Where the sheet has its two ends, and who made it.
    pub spans: Option<WireSpans>,
}

/// Where the sheet has a wire.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct WireSpans {
    /// `from` and `to`.
    pub ends: [Span; 2],
    /// `by`.
    pub by: Span,
}

impl Wire {
    /// Its two ends as device and terminal.
    #[must_use]
    pub fn ends(&self) -> [(&str, &str); 2] {
        [&self.from, &self.to].map(|end| {
            let (device, terminal) = end.split_once(':').unwrap_or((end, ""));
            (device.trim(), terminal.trim())
        })
    }
}

/// A terminal strip, a plug, a junction box: what conductors pass on their way, and is no unit.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Strip {
    /// Its label.
    pub id: String,
    /// Its name for people; empty: its label.
    pub name: String,
    /// Where it is; `None`: at the panel.
    pub place: Option<String>,
    /// Behind which door; `None`: that of the panel, or none at another place.
    pub inside: Option<String>,
    /// The unit in whose enclosure it is.
    pub with: Option<String>,
    /// How many conductors one of its terminals holds.
    pub holds: Option<usize>,
    /// Where the sheet has it.
    pub span: Option<Span>,
}

/// Equipment that may only run, or must stop, together.
#[derive(Clone, PartialEq, Debug)]
pub struct Interlock {
    /// Its name for people.
    pub name: String,
    /// Ids of the units that it ties together.
    pub between: Vec<String>,
    /// A remark.
    pub note: String,
}

/// What one of a drive's own fault numbers means.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FaultClass {
    /// The general class: an outcome of the component's fault finding.
    pub class: String,
    /// The words on the drive or in its book.
    pub label: String,
}
