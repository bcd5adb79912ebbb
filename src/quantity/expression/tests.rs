//! What expressions mean, and what is refused.

use super::*;

fn vocabulary() -> Vocabulary {
    let mut v = Vocabulary::new();
    v.add_choice("stage", ["start-up", "in-service", "after-work"].map(str::to_owned));
    v.add("reading", Kind::Number);
    v.add("readings", Kind::Numbers);
    v.add("unit.amps", Kind::Number);
    v.add("unit.poles", Kind::Number);
    v.add("unit.phases", Kind::Number);
    v.add_choice("unit.motor_type", ["induction", "ec"].map(str::to_owned));
    v
}

fn value_of(name: &str) -> Option<Value> {
    Some(match name {
        "stage" => Value::Text("start-up".into()),
        "reading" => Value::Number(9.0),
        "readings" => Value::Numbers(vec![462.0, 463.0, 455.0]),
        "unit.amps" => Value::Number(4.5),
        "unit.poles" => Value::Number(4.0),
        _ => return None,
    })
}

#[track_caller]
fn number(source: &str) -> f64 {
    let e = Expression::compile(source, &vocabulary(), Kind::Number).expect("compiles");
    match e.evaluate(&value_of) {
        Evaluated::Known(Value::Number(n)) => n,
        other => panic!("{source}: {other:?}"),
    }
}

#[track_caller]
fn truth(source: &str) -> Evaluated {
    Expression::compile(source, &vocabulary(), Kind::Truth).expect("compiles").evaluate(&value_of)
}

#[test]
fn integers_are_numbers_like_others() {
    assert_eq!(number("reading / 2"), 4.5);
    assert_eq!(number("1 + 2 * 3"), 7.0);
    assert_eq!(number("7 / 2"), 3.5);
    assert_eq!(number("-reading"), -9.0);
    assert_eq!(number("readings[1] - readings[0]"), 1.0);
    assert_eq!(number("reading > 5 ? 1 : 0.5"), 1.0);
    assert_eq!(number("count(readings) * 2"), 6.0);
    assert_eq!(number("max(1, 2.5, reading)"), 9.0);
    assert_eq!(number("max(readings) - min(readings)"), 8.0);
    assert_eq!(number("mean(readings)"), 460.0);
    assert_eq!(number("unbalance(readings)"), 100.0 * 5.0 / 460.0);
    assert_eq!(number("reading / unit.amps"), 2.0);
    assert_eq!(number("max(readings.map(r, r / 2))"), 231.5);
    assert_eq!(truth("unit.poles == 4"), Evaluated::Known(Value::Truth(true)));
    assert_eq!(truth("unit.poles in [2, 4]"), Evaluated::Known(Value::Truth(true)));
    assert_eq!(truth("readings.all(r, r > 450)"), Evaluated::Known(Value::Truth(true)));
    assert_eq!(truth("readings.exists(r, r < 450)"), Evaluated::Known(Value::Truth(false)));
    assert_eq!(truth("readings.exists_one(r, r < 460)"), Evaluated::Known(Value::Truth(true)));
    assert_eq!(truth("stage in [\"start-up\", \"after-work\"]"), Evaluated::Known(Value::Truth(true)));
}

#[test]
fn the_unknown_decides_nothing_that_the_known_decides() {
    let unknown = Evaluated::Unknown(vec!["unit.phases".into()]);
    let (yes, no) = (Evaluated::Known(Value::Truth(true)), Evaluated::Known(Value::Truth(false)));
    assert_eq!(truth("unit.phases == 3"), unknown);
    assert_eq!(truth("!(unit.phases == 3)"), unknown);
    assert_eq!(truth("unit.phases == 3 && stage == \"start-up\""), unknown);
    assert_eq!(truth("stage == \"start-up\" && unit.phases == 3"), unknown);
    assert_eq!(truth("unit.phases == 3 && stage == \"in-service\""), no);
    assert_eq!(truth("stage == \"in-service\" && unit.phases == 3"), no);
    assert_eq!(truth("unit.phases == 3 || stage == \"start-up\""), yes);
    assert_eq!(truth("unit.phases == 3 || stage == \"in-service\""), unknown);
    assert_eq!(truth("stage == \"start-up\" ? true : unit.phases == 3"), yes);
}

#[test]
fn no_value_is_a_reason() {
    for source in ["reading / 0", "0 / 0", "readings[7]", "sqrt(-1)", "full_load_amps(4.2, 460)"] {
        let e = Expression::compile(source, &vocabulary(), Kind::Number).expect("compiles");
        assert!(matches!(e.evaluate(&value_of), Evaluated::Failed(_)), "{source}");
    }
}

#[track_caller]
fn wrong(source: &str, wanted: Kind) -> (String, String) {
    let errors = Expression::compile(source, &vocabulary(), wanted).expect_err("does not compile");
    let first = &errors[0];
    (source[first.range.clone()].to_owned(), first.problem.to_string())
}

#[test]
fn mistakes_are_named_with_their_place() {
    for (source, wanted, place, words) in [
        ("reading / unit.amp", Kind::Number, "unit.amp", "there is no value `unit.amp` here"),
        ("raeding / 2", Kind::Number, "raeding", "there is no value `raeding` here"),
        ("unit", Kind::Number, "unit", "there is no value `unit` here"),
        ("stage == \"in-servce\"", Kind::Truth, "\"in-servce\"", "`stage` is never \"in-servce\""),
        ("mxa(readings)", Kind::Number, "(", "there is no function `mxa`"),
        ("slip(60, 4)", Kind::Number, "(", "`slip` takes hertz, poles, rpm"),
        ("unit.poles == \"4\"", Kind::Truth, "\"4\"", "the right side must be a number, but is a text"),
        ("reading", Kind::Truth, "reading", "the expression must be true or false, but is a number"),
        ("reading > 3", Kind::Number, "reading > 3", "the expression must be a number, but is true or false"),
        (
            "readings / 2",
            Kind::Number,
            "readings",
            "each side of an operation must be a number, but is a list of numbers",
        ),
        ("{1: 2}", Kind::Number, "{1: 2}", "a map cannot be used here"),
        ("has(unit.amps)", Kind::Truth, "", "`has` cannot be used here"),
        ("reading.size()", Kind::Number, "(", "`.size()` cannot be used here"),
    ] {
        let (at, got) = wrong(source, wanted);
        assert_eq!(got, words, "{source}");
        if !place.is_empty() {
            assert_eq!(at, place, "{source}");
        }
    }
    for source in [
        "reading /",
        "reading ++ 2",
        "(reading",
        "unit.full-load > 3",
        "",
        "ünit.amps > \"",
        "stage != in-service",
    ] {
        assert!(Expression::compile(source, &vocabulary(), Kind::Truth).is_err(), "{source}");
    }
}

#[test]
fn places_are_counted_in_bytes() {
    let (at, _) = wrong("stage == \"ä\" || raeding > 2", Kind::Truth);
    assert_eq!(at, "\"ä\"");
    let errors = Expression::compile("stage == \"ä\" || raeding > 2", &vocabulary(), Kind::Truth)
        .expect_err("does not compile");
    assert_eq!(&"stage == \"ä\" || raeding > 2"[errors[1].range.clone()], "raeding");
}

#[test]
fn depth_and_length_are_bounded() {
    let deep = format!("{}reading{}", "(".repeat(500), ")".repeat(500));
    assert!(Expression::compile(&deep, &vocabulary(), Kind::Number).is_err());
    let long = vec!["reading"; 1000].join(" + ");
    assert!(Expression::compile(&long, &vocabulary(), Kind::Number).is_err());
}

#[test]
fn no_function_hides_behind_one_of_the_language() {
    let mut plain = Context::default();
    for function in function::all().filter(|function| function.is_number()) {
        assert!(plain.add_function(function.name, |x: f64| x).is_ok(), "{}", function.name);
    }
}

proptest::proptest! {
    #[test]
    fn no_text_brings_the_parser_down(
        text in "(reading|readings|unit\\.amps|stage|max|\\(|\\)|\\[|\\]|[0-9.]{1,4}|[-+*/!<>=&|?:,\"' ]|ä|\n|in|all){0,14}"
    ) {
        if let Ok(expression) = Expression::compile(&text, &vocabulary(), Kind::Number)
            && let Evaluated::Known(Value::Number(number)) = expression.evaluate(&value_of)
        {
            proptest::prop_assert!(number.is_finite());
        }
        if let Err(errors) = Expression::compile(&text, &vocabulary(), Kind::Truth) {
            for error in errors {
                proptest::prop_assert!(text.get(error.range.clone()).is_some(), "{:?}", error);
            }
        }
    }

    #[test]
    fn nor_does_any_other(text in "\\PC{0,40}") {
        let _ = Expression::compile(&text, &vocabulary(), Kind::Number);
    }
}
