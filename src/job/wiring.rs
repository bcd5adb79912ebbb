//! Wires, interlocks and the fault numbers of a drive: what the sheet says beside the units.

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
