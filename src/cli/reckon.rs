//! `reckon`: the trade's arithmetic.

use clap::Args;
use serde_json::{Value, json};

use super::failure::Failure;
use super::streams::Streams;
use super::{ExitStatus, open};
use crate::quantity::function::{Function, all};
use crate::quantity::reckon::{Reckoned, Unreckoned, reckon, split};
use crate::render::{Page, view};

/// Reckon something of the trade: `whytrip reckon unbalance 462 463 455`
///
/// Unbalance, slip, full-load and overload currents, voltage drop, fan laws, velocity pressure, signals, sensors, bus and
/// frames of it, insulation. Numbers may have units of measure: `reckon velocity from pressure 100 Pa`. A name alone shows
/// arguments, formula and source; without a name, all are listed. In a call the same line can be typed at any time.
#[derive(Args, Debug)]
pub(super) struct Reckon {
    /// What to reckon, and its numbers
    #[arg(value_name = "NAME NUMBERS", allow_hyphen_values = true, trailing_var_arg = true)]
    words: Vec<String>,

    /// Write JSON (before the name)
    #[arg(long)]
    json: bool,
}

impl Reckon {
    pub(super) fn run(mut self, streams: &Streams) -> Result<ExitStatus, Failure> {
        // What stands behind the numbers is meant all the same.
        if self.words.last().is_some_and(|word| word == "--json") {
            self.words.pop();
            self.json = true;
        }
        let line = self.words.join(" ");
        let mut page = Page::new(streams.out);
        let answer = if line.trim().is_empty() {
            view::functions(&mut page);
            json!({"format": 1, "functions": all().map(about).collect::<Vec<_>>()})
        } else if let Some((function, _)) = split(&line).filter(|(_, rest)| rest.trim().is_empty()) {
            view::function(&mut page, function);
            json!({"format": 1, "functions": [about(function)]})
        } else {
            let reckoned = reckon(&line).map_err(|why| failure(&why))?;
            view::reckoned(&mut page, &reckoned);
            result(&reckoned)
        };
        if self.json {
            open::write_json(streams, &answer)?;
        } else {
            streams.result(&page.finish())?;
        }
        Ok(ExitStatus::Done)
    }
}

fn failure(why: &Unreckoned) -> Failure {
    let failure = Failure::new(why.to_string());
    match why {
        Unreckoned::NoFunction { nearest, .. } if !nearest.is_empty() => {
            failure.hint(format!("nearest: `{}`", nearest.join("`, `")))
        }
        Unreckoned::NoFunction { .. } => failure.hint("`whytrip reckon` lists what can be reckoned"),
        _ => failure.hint("`whytrip reckon NAME` shows arguments, units and domain"),
    }
}

fn about(function: &Function) -> Value {
    let parameter = |p: &crate::quantity::function::Parameter| {
        json!({
            "name": p.name.trim_end_matches('…'),
            "unit": p.unit,
            "least": p.least.is_finite().then_some(p.least),
            "most": p.most.is_finite().then_some(p.most),
            "above": p.above,
            "hexadecimal": p.hexadecimal,
        })
    };
    json!({
        "name": function.name,
        "text": function.text,
        "any_number": function.is_variadic(),
        "parameters": function.parameters.iter().map(parameter).collect::<Vec<_>>(),
        "gives": function.gives,
        "in_expressions": function.is_number(),
        "formula": function.formula,
        "source": function.source,
    })
}

fn result(reckoned: &Reckoned) -> Value {
    let number = |value: f64, unit: &str| json!({"value": value, "unit": unit});
    let argument =
        |(name, value, unit): &(&str, f64, String)| json!({"name": name, "value": value, "unit": unit});
    json!({
        "format": 1,
        "name": reckoned.name,
        "arguments": reckoned.arguments.iter().map(argument).collect::<Vec<_>>(),
        "results": reckoned.results.iter().map(|(value, unit)| number(*value, unit)).collect::<Vec<_>>(),
        "lines": reckoned.lines,
        "formula": reckoned.formula,
        "source": reckoned.source,
    })
}
