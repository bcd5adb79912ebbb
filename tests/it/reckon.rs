//! The calculator: through the library, as a command, and in the middle of a call.

use proptest::prelude::*;
use whytrip::quantity::function::{all, named};
use whytrip::quantity::reckon::{Unreckoned, is_reckoning, reckon};

use crate::support::{Run, root};

fn value(line: &str) -> f64 {
    reckon(line).unwrap_or_else(|why| panic!("{line}: {why}")).results[0].0
}

#[test]
fn units_are_taken_and_given_in_both_systems() {
    for (line, expected, unit) in [
        ("unbalance 462 463 455", 100.0 * 5.0 / 460.0, "%"),
        ("unbalance 462, 463, 455 V", 100.0 * 5.0 / 460.0, "%"),
        ("unbalance(0.462 kV, 0.463 kV, 0.455 kV)", 100.0 * 5.0 / 460.0, "%"),
        ("pressure from velocity 1500 fpm", 0.140_27, "inwg"),
        ("pressure-from-velocity 7.62 m/s", 0.140_27, "inwg"),
        ("velocity_from_pressure 0.4 inwg", 2533.0, "fpm"),
        ("pt100_ohms 25 C", 109.735, "ohm"),
        ("pt100 ohms 77 F", 109.735, "ohm"),
        ("fan pressure 373.6 Pa 50 Hz 60 Hz", 537.98, "Pa"),
        ("mean 4200 mA 4.4 A", 4300.0, "mA"),
        ("scale 12 4 20 0 60", 30.0, ""),
        ("modbus crc 01 03 00 00 00 0A", f64::from(0xCDC5_u16), ""),
        ("modbus_crc 01030000000A", f64::from(0xCDC5_u16), ""),
    ] {
        let reckoned = reckon(line).unwrap_or_else(|why| panic!("{line}: {why}"));
        let (got, in_unit) = &reckoned.results[0];
        assert!((got - expected).abs() <= 2e-4 * expected.abs(), "{line} = {got}, not {expected}");
        assert_eq!(in_unit, unit, "{line}");
    }
    let fan = reckon("fan power 6.3 hp 60 Hz 66 Hz").unwrap();
    assert_eq!(
        fan.arguments.iter().map(|(_, _, unit)| unit.as_str()).collect::<Vec<_>>(),
        ["hp", "Hz", "Hz"]
    );
    assert_eq!(fan.results[0].1, "hp");
    assert!((value("fan_flow 1000 cfm 1 kHz 500 Hz") - 500.0).abs() < 1e-9);
    let both = reckon("velocity_from_pressure 100 Pa").unwrap().results;
    assert_eq!(both.iter().map(|(_, unit)| unit.as_str()).collect::<Vec<_>>(), ["fpm", "m/s"]);
    assert!((both[0].0 * 0.00508 - both[1].0).abs() < 1e-9);
}

#[test]
fn what_is_wrong_is_said() {
    let said = |line: &str| reckon(line).unwrap_err().to_string();
    assert!(
        matches!(reckon("unbalence 1 2 3"), Err(Unreckoned::NoFunction { nearest, .. }) if nearest[0] == "unbalance")
    );
    assert_eq!(said("slip 60 4"), "slip(hertz, poles, rpm) takes 3 numbers, and 2 were given");
    assert_eq!(said("unbalance"), "unbalance(values…) takes one number or more, and none was given");
    assert_eq!(said("slip 60 V 4 1750"), "`hertz` is in Hz, but V is a voltage");
    assert_eq!(said("slip 60 4 A 1750"), "`poles` is a plain number, but A is a current");
    assert_eq!(said("mean 4 V 5 A"), "V and A in one line: all of these numbers are of one unit");
    assert_eq!(said("derating 7"), "`unbalance` is 0 to 5 %, not 7 %");
    assert_eq!(said("slip 60 5 1750"), "a motor has an even number of poles, not 5");
    assert_eq!(said("modbus_crc 01 0G"), "`0G` is neither a number nor a unit of measure");
    assert!(said("pt100_temperature 5 ohm").contains("open, shorted"));
    assert!(said("full_load_amps 4.2 460").contains("no entry"));
}

#[test]
fn the_command_lists_explains_reckons_and_writes_json() {
    let list = Run::new().arg("reckon").go().status(0).quiet();
    for function in all() {
        assert!(list.stdout.contains(function.name), "{}", function.name);
    }
    Run::new()
        .args(["reckon", "slip"])
        .go()
        .status(0)
        .stdout_has("slip(hertz, poles, rpm)")
        .stdout_has("formula");
    Run::new()
        .args(["reckon", "unbalance", "462", "463", "455"])
        .go()
        .status(0)
        .quiet()
        .stdout_has("unbalance = 1.087 %")
        .stdout_has("of 462, 463, 455\n")
        .stdout_has("source");
    Run::new().args(["reckon", "modbus_crc", "01", "0a"]).go().status(0).stdout_has("of 01, 0A\n");
    Run::new().args(["reckon", "unbalence", "1"]).go().status(2).stderr_has("`unbalance`");
    Run::new().args(["reckon", "slip", "60", "4"]).go().status(2).stderr_has("3 numbers");
    Run::new().args(["reckon", "pt100_temperature", "-5"]).go().status(2).stderr_has("0 to 1000000 ohm");
    let json = Run::new().args(["reckon", "--json", "slip", "60", "4", "1746"]).go().status(0).json();
    assert_eq!((json["format"].as_u64(), json["name"].as_str()), (Some(1), Some("slip")));
    assert!((json["results"][0]["value"].as_f64().unwrap() - 3.0).abs() < 1e-9);
    let all_of_it = Run::new().args(["reckon", "--json"]).go().status(0).json();
    assert_eq!(all_of_it["functions"].as_array().unwrap().len(), all().count());
}

#[test]
fn at_any_prompt_it_answers_and_changes_nothing() {
    let lines = [
        "no",
        "the broiler drive lost its link",
        "unbalance 462 463 455",
        "reckon slip 60 4 1746",
        "yes",
        "quit",
    ];
    let with = Run::new().stdin(lines.join("\n")).go().status(0);
    assert!(
        with.stdout.contains("unbalance = 1.087 %") && with.stdout.contains("slip = 3 %"),
        "{}",
        with.whole()
    );
    let without: Vec<&str> =
        lines.iter().copied().filter(|line| !line.contains("60") && !line.contains("462")).collect();
    let plain = Run::new().stdin(without.join("\n")).go().status(0);
    // What was reckoned aside, both calls are the same.
    let asked = |text: &str| {
        text.lines()
            .filter(|line| line.starts_with("Noted") || line.contains('?'))
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let (mut one, other) = (asked(&with.stdout), asked(&plain.stdout));
    one.dedup();
    assert!(other.iter().all(|line| one.contains(line)), "{one:?}\n{other:?}");
    assert!(!with.stdout.contains("Noted: 462"));
}

#[test]
fn words_of_a_caller_are_no_arithmetic() {
    for line in [
        "slip",
        "the belts slip",
        "slip on the motor",
        "count on it",
        "min",
        "max speed",
        "unbalance",
        "3 4 5",
    ] {
        assert!(!is_reckoning(line), "{line}");
    }
    for line in ["unbalance 462 463 455", "slip 60 4 1746", "modbus_crc 01 03", "fan power 6.3 60 66"] {
        assert!(is_reckoning(line), "{line}");
    }
}

/// The list of functions in the description of the format is made from the table.
#[test]
fn the_format_lists_every_function() {
    let path = root().join("knowledge/FORMAT.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (head, rest) = text.split_once("<!-- functions -->\n").unwrap();
    let (list, tail) = rest.split_once("<!-- end -->").unwrap();
    let mut wanted = String::from("| function | gives |\n| --- | --- |\n");
    for function in all().filter(|function| function.is_number()) {
        let unit = function.gives.first().map_or(String::new(), |unit| format!(", in {unit}"));
        wanted += &format!("| `{}` | {}{unit} |\n", function.signature(), function.text);
    }
    if std::env::var_os("SNAPSHOTS").is_some_and(|what| what == "overwrite") {
        std::fs::write(&path, format!("{head}<!-- functions -->\n{wanted}<!-- end -->{tail}")).unwrap();
    } else {
        assert_eq!(list, wanted, "SNAPSHOTS=overwrite writes it anew");
    }
}

fn call(name: &str, arguments: &[f64]) -> f64 {
    named(name).unwrap().call(arguments).unwrap_or_else(|why| panic!("{name}{arguments:?}: {why}"))
}

proptest! {
    #![proptest_config(crate::support::cases(256))]

    #[test]
    fn no_line_brings_it_down(line in "(unbalance|slip|fan power|pt100_ohms|modbus_crc|ntc_which|scale|-?[0-9]{1,4}\\.?[0-9]?|1e9|0x|V|Hz|inwg|C|ä|\\(|,| ){0,12}") {
        if let Ok(reckoned) = reckon(&line) {
            prop_assert!(reckoned.results.iter().all(|(value, _)| value.is_finite()));
        }
        let _ = is_reckoning(&line);
    }

    #[test]
    fn no_numbers_bring_a_function_down(numbers in prop::collection::vec(prop_oneof![-1e6_f64..1e6, -10.0_f64..100.0, Just(0.0), Just(f64::MAX), Just(f64::NAN), Just(f64::INFINITY), Just(f64::MIN_POSITIVE)], 0..6)) {
        for function in all() {
            let value = function.call(&numbers);
            prop_assert!(value.as_ref().map_or(true, |value| value.is_finite()), "{} {numbers:?} {value:?}", function.name);
            let _ = function.lines(&numbers, value.ok());
        }
    }

    #[test]
    fn what_goes_forth_comes_back(share in 0.001_f64..0.999) {
        let within = |from: f64, to: f64| from + share * (to - from);
        for (forth, back, from, to) in [
            ("pt100_ohms", "pt100_temperature", -200.0, 850.0),
            ("pt1000_ohms", "pt1000_temperature", -200.0, 850.0),
            ("ntc_2_ohms", "ntc_2_temperature", -40.0, 150.0),
            ("ntc_3_ohms", "ntc_3_temperature", -23.3, 100.0),
            ("volts_0_10", "signal_0_10", 0.0, 100.0),
            ("volts_2_10", "signal_2_10", 0.0, 100.0),
            ("milliamps_4_20", "signal_4_20", 0.0, 100.0),
            ("pressure_from_velocity", "velocity_from_pressure", 0.0, 6000.0),
        ] {
            let there = within(from, to);
            let again = call(back, &[call(forth, &[there])]);
            prop_assert!((again - there).abs() < 1e-6 * there.abs().max(1.0), "{forth} {there} {again}");
        }
        for (forth, back, from, to) in [
            ("thermocouple_j_millivolts", "thermocouple_j_temperature", -210.0, 760.0),
            ("thermocouple_k_millivolts", "thermocouple_k_temperature", -200.0, 1372.0),
        ] {
            let there = within(from, to);
            for terminals in [0.0, 25.0, 60.0] {
                let meter = call(forth, &[there]) - call(forth, &[terminals]);
                let again = call(back, &[meter, terminals]);
                prop_assert!((again - there).abs() < 1e-6 * there.abs().max(1.0), "{forth} {there} {again}");
            }
        }
        let beta = call("ntc_beta", &[0.0, call("ntc_ohms", &[3974.0, 1e4, 0.0]), 85.0, call("ntc_ohms", &[3974.0, 1e4, 85.0])]);
        prop_assert!((beta - 3974.0).abs() < 1e-6);
        let t = within(-40.0, 120.0);
        prop_assert!((call("ntc_temperature", &[3974.0, 1e4, call("ntc_ohms", &[3974.0, 1e4, t])]) - t).abs() < 1e-6);
    }

    #[test]
    fn sensors_rise_or_fall_all_the_way(share in 0.0_f64..0.99) {
        for (name, from, to, rises) in [
            ("pt100_ohms", -200.0, 850.0, true),
            ("thermocouple_j_millivolts", -210.0, 760.0, true),
            ("thermocouple_k_millivolts", -200.0, 1372.0, true),
            ("ntc_2_ohms", -40.0, 150.0, false),
            ("ntc_3_ohms", -23.3, 100.0, false),
        ] {
            let (low, high) = (from + share * (to - from), from + (share + 0.01) * (to - from));
            prop_assert_eq!(call(name, &[high]) > call(name, &[low]), rises, "{}", name);
        }
    }

    #[test]
    fn fans_scale_and_unbalance_does_not(factor in 0.1_f64..10.0, a in 1.0_f64..1e3, b in 1.0_f64..1e3, c in 1.0_f64..1e3) {
        for (name, power) in [("fan_flow", 1), ("fan_pressure", 2), ("fan_power", 3)] {
            let got = call(name, &[a, 1.0, factor]);
            prop_assert!((got - a * factor.powi(power)).abs() <= 1e-9 * got);
            let back = call(name, &[got, factor, 1.0]);
            prop_assert!((back - a).abs() <= 1e-9 * a);
        }
        let (one, other) = (call("unbalance", &[a, b, c]), call("unbalance", &[factor * c, factor * a, factor * b]));
        prop_assert!((one - other).abs() < 1e-9 * one.max(1.0));
        prop_assert!((0.0..=200.0).contains(&one));
    }

    #[test]
    fn a_frame_with_its_check_behind_it_checks_to_nought(bytes in prop::collection::vec(0_u8..=255, 1..20)) {
        let mut frame: Vec<f64> = bytes.iter().map(|&byte| f64::from(byte)).collect();
        let crc = call("modbus_crc", &frame) as u16;
        frame.extend(crc.to_le_bytes().map(f64::from));
        prop_assert_eq!(call("modbus_crc", &frame), 0.0);
    }
}

#[test]
fn an_unbalance_says_what_it_does_to_a_motor() {
    assert!((value("unbalance 460 467 450") - 1.9608).abs() < 5e-5);
    assert!(reckon("unbalance 460 467 450").unwrap().lines.iter().any(|line| line.contains("0.95")));
}
