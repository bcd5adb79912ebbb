//! What holds of every row of the table.

use super::{all, named};

#[test]
fn every_function_is_documented_once() {
    let mut names: Vec<_> = all().map(|f| f.name).collect();
    names.sort_unstable();
    let len = names.len();
    names.dedup();
    assert_eq!(names.len(), len);
    for f in all() {
        assert!(!f.text.is_empty() && !f.formula.is_empty() && !f.source.is_empty(), "{}", f.name);
        assert!(!f.parameters.is_empty(), "{}", f.name);
        for unit in
            f.gives.iter().copied().chain(f.parameters.iter().map(|p| p.unit)).filter(|u| !u.is_empty())
        {
            assert!(
                crate::quantity::Measure::named(unit).is_some_and(|m| m.symbol == unit),
                "{}: {unit}",
                f.name
            );
        }
    }
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
        ("full_load_amps", &[4.2, 460.0]),
        ("derating", &[5.5]),
    ] {
        assert!(named(name).expect("a function").call(arguments).is_err(), "{name}");
    }
}
