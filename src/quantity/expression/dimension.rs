//! Units of measure through an expression: what may be added and compared, and in which unit the result is.
//!
//! Numbers in an expression carry no unit of their own: each name stands for a number in the unit that it is declared
//! in. So two units of one kind (mV and V) may be mixed as little as two kinds: the result would be off by their factor.

use cel::common::ast::{CallExpr, Expr, IdedExpr, operators as op};

use super::Expression;
use crate::quantity::{Measure, Quantity, function};

/// What is known of the unit of a part.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Dimension {
    /// A number in this unit.
    In(Measure),
    /// A number without unit, or a ratio: it fits anywhere.
    Plain,
    /// A product of units, or something that a function made: nothing is known.
    Unknown,
}

/// Two units that do not go together.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Mixed {
    /// What is done with them: "added", "compared", "divided".
    pub act: &'static str,
    /// The one.
    pub left: Measure,
    /// The other.
    pub right: Measure,
}

impl Expression {
    /// The unit of the result, where `measure_of` gives the unit in which a name is declared.
    ///
    /// # Errors
    /// The first two units, from the left, that do not go together.
    pub fn dimension(&self, measure_of: &dyn Fn(&str) -> Option<Measure>) -> Result<Dimension, Box<Mixed>> {
        walk(&self.0.tree, measure_of)
    }
}

type Of<'a> = &'a dyn Fn(&str) -> Option<Measure>;

fn walk(part: &IdedExpr, of: Of<'_>) -> Result<Dimension, Box<Mixed>> {
    let named = |name: &str| of(name).map_or(Dimension::Unknown, Dimension::In);
    match &part.expr {
        Expr::Literal(_) => Ok(Dimension::Plain),
        Expr::Ident(name) => Ok(named(name)),
        Expr::Select(select) => match &select.operand.expr {
            Expr::Ident(owner) => Ok(named(&format!("{owner}.{}", select.field))),
            _ => Ok(Dimension::Unknown),
        },
        Expr::List(list) => all(&list.elements, "put into one list", of),
        Expr::Call(call) => of_call(call, of),
        // The variable of a fold stands for items of its list, which is looked at alone.
        Expr::Comprehension(fold) => walk(&fold.iter_range, of).map(|_| Dimension::Unknown),
        Expr::Map(_) | Expr::Struct(_) | Expr::Unspecified => Ok(Dimension::Unknown),
    }
}

fn of_call(call: &CallExpr, of: Of<'_>) -> Result<Dimension, Box<Mixed>> {
    match (call.func_name.as_str(), call.args.as_slice()) {
        (op::ADD | op::SUBSTRACT, args) => all(args, "added", of),
        (
            op::LESS | op::LESS_EQUALS | op::GREATER | op::GREATER_EQUALS | op::EQUALS | op::NOT_EQUALS,
            args,
        ) => all(args, "compared", of).map(|_| Dimension::Plain),
        (op::NEGATE, [only]) => walk(only, of),
        (op::INDEX, [list, _]) => walk(list, of),
        (op::CONDITIONAL, [test, yes, no]) => {
            walk(test, of)?;
            join(walk(yes, of)?, walk(no, of)?, "chosen between")
        }
        (op::MULTIPLY, [left, right]) => Ok(match (walk(left, of)?, walk(right, of)?) {
            (Dimension::Plain, other) | (other, Dimension::Plain) => other,
            _ => Dimension::Unknown,
        }),
        (op::DIVIDE, [left, right]) => match (walk(left, of)?, walk(right, of)?) {
            (left, Dimension::Plain) => Ok(left),
            (Dimension::In(left), Dimension::In(right)) if left.quantity == right.quantity => {
                join(Dimension::In(left), Dimension::In(right), "divided").map(|_| Dimension::Plain)
            }
            _ => Ok(Dimension::Unknown),
        },
        ("max" | "min" | "mean" | "abs", args) => all(args, "compared", of),
        ("count", args) => all(args, "counted together", of).map(|_| Dimension::Plain),
        ("unbalance", args) => all(args, "compared", of).map(|_| Dimension::Plain),
        (name, args) => of_function(name, args, of),
    }
}

/// Arguments are in the units that the function states, where it states one; so is the result.
fn of_function(name: &str, args: &[IdedExpr], of: Of<'_>) -> Result<Dimension, Box<Mixed>> {
    let function = function::named(name);
    for (number, arg) in args.iter().enumerate() {
        let given = walk(arg, of)?;
        let parameter = function.and_then(|f| f.parameters.get(number).or(f.parameters.last()));
        if let Some(wanted) = parameter.and_then(|parameter| Measure::named(parameter.unit)) {
            join(given, Dimension::In(wanted), "put into a function")?;
        }
    }
    let result = function.and_then(|function| Measure::named(function.gives.first()?));
    Ok(match result {
        Some(measure) if measure.quantity == Quantity::Ratio => Dimension::Plain,
        Some(measure) => Dimension::In(measure),
        None => Dimension::Unknown,
    })
}

fn all(parts: &[IdedExpr], act: &'static str, of: Of<'_>) -> Result<Dimension, Box<Mixed>> {
    parts.iter().try_fold(Dimension::Plain, |so_far, part| join(so_far, walk(part, of)?, act))
}

fn join(left: Dimension, right: Dimension, act: &'static str) -> Result<Dimension, Box<Mixed>> {
    match (left, right) {
        (Dimension::In(left), Dimension::In(right)) if left.symbol != right.symbol => {
            Err(Box::new(Mixed { act, left, right }))
        }
        (Dimension::In(_), _) => Ok(left),
        (_, Dimension::In(_)) => Ok(right),
        (Dimension::Unknown, _) | (_, Dimension::Unknown) => Ok(Dimension::Unknown),
        (Dimension::Plain, Dimension::Plain) => Ok(Dimension::Plain),
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Kind, Vocabulary};
    use super::{Dimension, Expression, Measure};

    #[test]
    fn units_go_together_or_not() {
        let units = [("reading", "V"), ("unit.volts", "V"), ("unit.amps", "A"), ("unit.millivolts", "mV")];
        let mut words = Vocabulary::new();
        units.iter().for_each(|(name, _)| words.add(*name, Kind::Number));
        let measure_of = |name: &str| {
            let found = units.iter().find(|(own, _)| *own == name)?;
            Measure::named(found.1)
        };
        let dimension = |source: &str| {
            let expression = Expression::compile(source, &words, Kind::Number).expect("an expression");
            expression.dimension(&measure_of)
        };
        let volts = Dimension::In(Measure::named("V").expect("a unit"));
        assert_eq!(dimension("reading / unit.volts"), Ok(Dimension::Plain));
        assert_eq!(dimension("2 * reading - unit.volts"), Ok(volts));
        assert_eq!(dimension("max(reading, unit.volts) + 1"), Ok(volts));
        assert_eq!(dimension("reading / unit.amps"), Ok(Dimension::Unknown));
        assert_eq!(dimension("reading > 3 ? reading : unit.volts"), Ok(volts));
        assert_eq!(dimension("dc_link(unit.volts) - reading"), Ok(volts));
        assert_eq!(dimension("reading / dc_link(unit.volts)"), Ok(Dimension::Plain));
        assert_eq!(dimension("unit.amps / full_load_amps(5, unit.volts)"), Ok(Dimension::Plain));
        for mixed in [
            "reading - unit.amps",
            "reading / unit.millivolts",
            "max(reading, unit.amps)",
            "unit.amps > reading ? 1 : 2",
            "abs(reading + 1 - unit.millivolts)",
            "dc_link(unit.millivolts)",
            "unit.amps - dc_link(reading)",
        ] {
            assert!(dimension(mixed).is_err(), "{mixed}");
        }
    }
}
