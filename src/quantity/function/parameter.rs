//! A parameter of a function: its name, unit of measure and domain.

/// A parameter.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Parameter {
    /// Its name; `…` at the end: any number of them.
    pub name: &'static str,
    /// The unit of measure; empty: none, or any.
    pub unit: &'static str,
    /// The least value.
    pub least: f64,
    /// The greatest value.
    pub most: f64,
    /// The least value itself is outside.
    pub above: bool,
    /// A plain number, which has no unit of measure; else, without `unit`, it takes any.
    pub plain: bool,
    /// Written as hexadecimal pairs by people.
    pub hexadecimal: bool,
}

/// Any number.
pub(super) const fn any(name: &'static str, unit: &'static str) -> Parameter {
    within(name, unit, f64::NEG_INFINITY, f64::INFINITY)
}

/// A number from `least` to `most`.
pub(super) const fn within(name: &'static str, unit: &'static str, least: f64, most: f64) -> Parameter {
    Parameter { name, unit, least, most, above: false, plain: false, hexadecimal: false }
}

/// A number above 0.
pub(super) const fn above(name: &'static str, unit: &'static str) -> Parameter {
    Parameter { name, unit, least: 0.0, most: f64::INFINITY, above: true, plain: false, hexadecimal: false }
}

/// 0 or more.
pub(super) const fn not_below(name: &'static str, unit: &'static str) -> Parameter {
    within(name, unit, 0.0, f64::INFINITY)
}

/// Bytes.
pub(super) const fn bytes(name: &'static str) -> Parameter {
    Parameter { name, unit: "", least: 0.0, most: 255.0, above: false, plain: true, hexadecimal: true }
}

impl Parameter {
    /// The same, as a number without unit of measure.
    pub(super) const fn plain(self) -> Self {
        Self { plain: true, ..self }
    }

    /// The domain in words; empty where any number will do.
    #[must_use]
    pub fn domain(&self) -> String {
        match (self.least.is_finite(), self.most.is_finite()) {
            (true, true) => format!("{} to {}", self.least, self.most),
            (true, false) if self.above => format!("above {}", self.least),
            (true, false) => format!("{} or more", self.least),
            (false, true) => format!("at most {}", self.most),
            (false, false) => String::new(),
        }
    }

    /// Whether a value is in the domain.
    pub(super) fn holds(&self, value: f64) -> Result<(), String> {
        let low = if self.above { value > self.least } else { value >= self.least };
        if low && value <= self.most && value.is_finite() {
            return Ok(());
        }
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        let domain = if self.domain().is_empty() { "a finite number".to_owned() } else { self.domain() };
        Err(format!("`{}` is {domain}{unit}, not {value}{unit}", self.name.trim_end_matches('…')))
    }
}
