//! The arithmetic of the trade: one table of functions, a file per field.
//!
//! In: numbers, each in the unit of measure that its parameter states. Out: a finite number in the unit that the function
//! states, or a reason why not. The same row serves expressions of packages, the calculator, help and documentation: name,
//! parameters with unit and domain, what it is for, formula, source. Invariants: no input panics; outside a domain there
//! is an error that names the parameter; what only memory stands for says so in its `source`.

mod air;
mod belt;
mod bus;
mod drive;
mod full_load;
mod insulation;
mod modbus;
mod motor;
mod ntc;
mod parameter;
mod power;
mod pump;
mod rtd;
mod signal;
mod statistics;
#[cfg(test)]
mod tests;
mod thermocouple;
mod wire;

pub use parameter::Parameter;

/// The arithmetic of a function, on as many numbers as there are parameters.
#[derive(Clone, Copy)]
pub enum Body {
    /// A number.
    Number(fn(&[f64]) -> Result<f64, String>),
    /// A number, and lines about it for a person.
    Told(fn(&[f64]) -> Result<f64, String>, fn(&[f64], f64) -> Vec<String>),
    /// Lines for a person; of no use in an expression.
    Text(fn(&[f64]) -> Result<Vec<String>, String>),
}

/// A row of the table.
pub struct Function {
    /// Its name, snake_case.
    pub name: &'static str,
    /// What it is for, in a line.
    pub text: &'static str,
    /// Its parameters, in order; a single one that ends in `…` takes any number of numbers or one list of them.
    pub parameters: &'static [Parameter],
    /// The unit of measure of the result, then others in which people want to see it; empty: a plain number, or one in
    /// the unit that was given.
    pub gives: &'static [&'static str],
    /// The formula.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    pub(super) body: Body,
}

impl Function {
    /// Whether it takes any number of numbers, or one list of them.
    #[must_use]
    pub fn is_variadic(&self) -> bool {
        matches!(self.parameters, [only] if only.name.ends_with('…'))
    }

    /// Whether it gives a number, so that an expression can use it.
    #[must_use]
    pub const fn is_number(&self) -> bool {
        !matches!(self.body, Body::Text(_))
    }

    /// How it is called: `name(first, second)`.
    #[must_use]
    pub fn signature(&self) -> String {
        let names: Vec<&str> = self.parameters.iter().map(|p| p.name).collect();
        format!("{}({})", self.name, names.join(", "))
    }

    /// Its value for those numbers.
    ///
    /// # Errors
    /// A sentence that says what is wrong with the numbers.
    pub fn call(&self, arguments: &[f64]) -> Result<f64, String> {
        self.fits(arguments)?;
        let value = match self.body {
            Body::Number(body) | Body::Told(body, _) => body(arguments)?,
            Body::Text(_) => return Err(format!("{} gives words, no number", self.name)),
        };
        if value.is_finite() { Ok(value) } else { Err(format!("{} gives no finite number", self.name)) }
    }

    /// What there is to say about the result `value`, or instead of one.
    ///
    /// # Errors
    /// A sentence that says what is wrong with the numbers.
    pub fn lines(&self, arguments: &[f64], value: Option<f64>) -> Result<Vec<String>, String> {
        self.fits(arguments)?;
        match (self.body, value) {
            (Body::Text(body), _) => body(arguments),
            (Body::Told(_, tell), Some(value)) => Ok(tell(arguments, value)),
            _ => Ok(Vec::new()),
        }
    }

    /// Whether there are as many numbers as parameters, each in its domain.
    fn fits(&self, arguments: &[f64]) -> Result<(), String> {
        if !self.is_variadic() && arguments.len() != self.parameters.len() {
            let names: Vec<&str> = self.parameters.iter().map(|p| p.name).collect();
            return Err(format!("{} takes {}", self.name, names.join(", ")));
        }
        let Some(last) = self.parameters.last() else { return Ok(()) };
        let parameters = self.parameters.iter().chain(std::iter::repeat(last));
        arguments.iter().zip(parameters).try_for_each(|(&value, parameter)| parameter.holds(value))
    }
}

/// Every function, by field of the trade.
pub fn all() -> impl Iterator<Item = &'static Function> {
    let fields: [&'static [Function]; 16] = [
        statistics::FUNCTIONS,
        motor::FUNCTIONS,
        full_load::FUNCTIONS,
        power::FUNCTIONS,
        wire::FUNCTIONS,
        drive::FUNCTIONS,
        air::FUNCTIONS,
        pump::FUNCTIONS,
        belt::FUNCTIONS,
        signal::FUNCTIONS,
        rtd::FUNCTIONS,
        ntc::FUNCTIONS,
        thermocouple::FUNCTIONS,
        bus::FUNCTIONS,
        modbus::FUNCTIONS,
        insulation::FUNCTIONS,
    ];
    fields.into_iter().flatten()
}

/// The function of that name.
#[must_use]
pub fn named(name: &str) -> Option<&'static Function> {
    all().find(|f| f.name == name)
}

/// The argument at which an increasing function takes a value, by halving an interval that holds it; as exact as a double is.
fn inverse(increasing: impl Fn(f64) -> f64, wanted: f64, from: f64, to: f64) -> f64 {
    let (mut low, mut high) = (from, to);
    // 200 halvings bring any interval of the trade below the spacing of doubles.
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if increasing(middle) < wanted { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}
