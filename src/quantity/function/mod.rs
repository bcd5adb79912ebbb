//! Functions that expressions may call: plain arithmetic on numbers, each with its formula and source.
//!
//! Every function takes doubles and gives a finite double or a reason why not.

mod air;
mod motor;
mod statistics;
mod supply;

/// A function that expressions may call.
pub struct Function {
    /// Its name.
    pub name: &'static str,
    /// Its parameters, in order; a single one that ends in `…` takes any number of numbers or one list of them.
    pub parameters: &'static [&'static str],
    /// What it gives, as a formula.
    pub formula: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
    /// The arithmetic, on as many numbers as there are parameters.
    pub(super) body: fn(&[f64]) -> Result<f64, String>,
}

impl Function {
    /// Whether it takes any number of numbers, or one list of them.
    #[must_use]
    pub fn is_variadic(&self) -> bool {
        matches!(self.parameters, [only] if only.ends_with('…'))
    }

    /// Its value for those numbers.
    ///
    /// # Errors
    /// A sentence that says what is wrong with the numbers.
    pub fn call(&self, arguments: &[f64]) -> Result<f64, String> {
        if !self.is_variadic() && arguments.len() != self.parameters.len() {
            return Err(format!("{} takes {}", self.name, self.parameters.join(", ")));
        }
        let value = (self.body)(arguments)?;
        if value.is_finite() { Ok(value) } else { Err(format!("{} gives no finite number", self.name)) }
    }
}

/// Every function, by topic.
pub fn all() -> impl Iterator<Item = &'static Function> {
    statistics::FUNCTIONS.iter().chain(motor::FUNCTIONS).chain(supply::FUNCTIONS).chain(air::FUNCTIONS)
}

/// The function of that name.
#[must_use]
pub fn named(name: &str) -> Option<&'static Function> {
    all().find(|f| f.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(name: &str, arguments: &[f64], expected: f64, tolerance: f64) {
        let got = named(name).expect("a function").call(arguments).expect("a value");
        assert!((got - expected).abs() <= tolerance, "{name}{arguments:?} = {got}, not {expected}");
    }

    #[test]
    fn unbalance_agrees_with_the_published_example() {
        // US DOE, Motor Systems Tip Sheet 7: 462, 463, 455 V give 1.1 %; the further rows are recomputed by hand.
        check("unbalance", &[462.0, 463.0, 455.0], 1.1, 0.05);
        check("unbalance", &[462.0, 463.0, 455.0], 100.0 * 5.0 / 460.0, 1e-12);
        check("unbalance", &[480.0, 476.0, 472.0], 0.8403, 5e-5);
        check("unbalance", &[230.0, 228.0, 216.0], 3.8576, 5e-5);
        check("unbalance", &[9.8, 10.4, 11.2], 7.006, 5e-4);
        check("unbalance", &[480.0, 480.0, 480.0], 0.0, 0.0);
    }

    #[test]
    fn speeds_and_slips() {
        check("synchronous_speed", &[60.0, 4.0], 1800.0, 0.0);
        check("synchronous_speed", &[50.0, 2.0], 3000.0, 0.0);
        check("slip", &[60.0, 4.0, 1746.0], 3.0, 1e-9);
        check("slip", &[60.0, 8.0, 860.0], 4.444, 5e-4);
    }

    #[test]
    fn fan_laws() {
        // 15,800 cfm at 6.3 bhp raised to 20,000 cfm.
        check("fan_power", &[6.3, 15800.0, 20000.0], 12.7779, 5e-5);
        check("fan_pressure", &[1.0, 60.0, 66.0], 1.21, 1e-12);
        check("fan_flow", &[1000.0, 60.0, 30.0], 500.0, 0.0);
        check("velocity_from_pressure", &[0.25], 2002.5, 1e-9);
        check("driven_speed", &[1725.0, 3.4, 6.0], 977.5, 1e-9);
    }

    #[test]
    fn full_load_amps_of_the_table() {
        check("full_load_amps", &[5.0, 460.0], 7.6, 0.0);
        check("full_load_amps", &[5.0, 208.0], 16.7, 0.0);
        check("full_load_amps", &[1.5, 480.0], 3.0, 0.0);
        check("full_load_amps_single", &[0.75, 120.0], 13.8, 0.0);
        assert!(named("full_load_amps").expect("a function").call(&[5.0, 115.0]).is_err());
        assert!(named("full_load_amps").expect("a function").call(&[5.0, 6000.0]).is_err());
        assert!(named("full_load_amps").expect("a function").call(&[4.2, 460.0]).is_err());
    }

    #[test]
    fn supply_values() {
        check("dc_link", &[480.0], 648.2, 0.05);
        check("dc_link_peak", &[460.0], 650.5, 0.05);
        check("three_phase_amps", &[8.314, 480.0], 10.0, 1e-3);
        check("single_phase_amps", &[75.0, 24.0], 3.125, 0.0);
        check("volts_per_hertz", &[460.0, 60.0], 7.667, 5e-4);
    }

    #[test]
    fn numbers_that_make_no_sense_are_refused() {
        for (name, arguments) in [
            ("unbalance", &[0.0, 0.0, 0.0][..]),
            ("mean", &[]),
            ("slip", &[60.0, 0.0, 1700.0]),
            ("fan_power", &[6.3, 0.0, 1.0]),
            ("sqrt", &[-1.0]),
            ("max", &[]),
        ] {
            assert!(named(name).expect("a function").call(arguments).is_err(), "{name}");
        }
    }

    #[test]
    fn every_function_is_documented_once() {
        let mut names: Vec<_> = all().map(|f| f.name).collect();
        names.sort_unstable();
        let len = names.len();
        names.dedup();
        assert_eq!(names.len(), len);
        assert!(all().all(|f| !f.formula.is_empty() && !f.source.is_empty() && !f.parameters.is_empty()));
    }
}
