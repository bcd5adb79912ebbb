//! The trade's arithmetic: what can be reckoned, and what was.

use super::super::Role;
use super::super::page::Page;
use crate::quantity::function::{Function, all, named};
use crate::quantity::reckon::{Reckoned, Unreckoned, short};

/// `4.2 A`, `462, 463, 455 V`.
fn with_unit(value: f64, unit: &str) -> String {
    match unit {
        "" => short(value),
        "%" => format!("{} %", short(value)),
        unit => format!("{} {unit}", short(value)),
    }
}

/// A result with what there is to say about it.
pub fn reckoned(page: &mut Page, reckoned: &Reckoned) {
    let function = named(reckoned.name);
    let hexadecimal = function.is_some_and(|f| f.parameters.iter().all(|p| p.hexadecimal));
    let variadic = function.is_some_and(Function::is_variadic);
    let shown = |name: &str, value: f64, unit: &str| match (hexadecimal, variadic) {
        (true, _) => format!("{:02X}", value as u8),
        (false, true) => with_unit(value, unit),
        (false, false) => format!("{name} {}", with_unit(value, unit)),
    };
    let arguments: Vec<String> =
        reckoned.arguments.iter().map(|(name, value, unit)| shown(name, *value, unit)).collect();
    let results: Vec<String> = reckoned.results.iter().map(|(value, unit)| with_unit(*value, unit)).collect();
    if results.is_empty() {
        page.said(Role::Heading, &format!("{}, {}", reckoned.name, arguments.join(", ")));
    } else {
        page.said(Role::Heading, &format!("{} = {}", reckoned.name, results.join(" = ")));
        page.under(&format!("of {}", arguments.join(", ")));
    }
    for line in &reckoned.lines {
        page.point(line);
    }
    page.labelled(Role::Aside, "formula", reckoned.formula);
    page.labelled(Role::Aside, "source", reckoned.source);
}

/// Why a line cannot be reckoned, and what to do.
pub fn unreckoned(page: &mut Page, why: &Unreckoned) {
    page.labelled(Role::Warning, "Not reckoned", &why.to_string());
    if let Unreckoned::NoFunction { nearest, .. } = why {
        match nearest.first() {
            Some(_) => page.labelled(Role::Notice, "nearest", &nearest.join(", ")),
            None => page.labelled(Role::Notice, "hint", "`reckon` alone lists what can be reckoned"),
        };
    }
}

/// Every function, a line each.
pub fn functions(page: &mut Page) {
    page.heading("What can be reckoned");
    for function in all() {
        page.labelled(Role::Heading, &function.signature(), function.text);
    }
    page.line("Numbers may have units of measure, as in `velocity_from_pressure 100 Pa`.");
}

/// One function: arguments with unit and domain, result, formula, source.
pub fn function(page: &mut Page, function: &Function) {
    page.labelled(Role::Heading, &function.signature(), function.text);
    for parameter in function.parameters {
        let facts: Vec<String> = [
            (!parameter.unit.is_empty()).then(|| format!("in {}", parameter.unit)),
            parameter.hexadecimal.then(|| "bytes in hexadecimal".to_owned()),
            Some(parameter.domain()).filter(|domain| !domain.is_empty() && !parameter.hexadecimal),
        ]
        .into_iter()
        .flatten()
        .collect();
        let facts = if facts.is_empty() { "any number".to_owned() } else { facts.join(", ") };
        page.point(&format!("{}: {facts}", parameter.name));
    }
    if !function.gives.is_empty() {
        page.labelled(Role::Aside, "gives", &function.gives.join(", "));
    }
    page.labelled(Role::Aside, "formula", function.formula);
    page.labelled(Role::Aside, "source", function.source);
}
