//! The life of a cause under the fixes: in which epochs it is there.

use super::super::number::Number;
use crate::model::index::{CauseIx, FixIx};
use crate::model::network::Network;

/// The chance of each life of a cause, told to `each`: absent with the first of `at_first`, there with the second, and
/// then under the fixes from number `latest` on (the first fix is number 1). A repeated fix repeats its draw.
pub(crate) fn fate<N: Number>(
    network: &Network,
    fixes: &[FixIx],
    cause: CauseIx,
    at_first: (f64, f64),
    latest: usize,
    mut each: impl FnMut(usize, N),
) {
    each(0, N::of(at_first.0));
    let mut rest = N::of(at_first.1);
    let from = latest.max(1);
    for number in 1..=fixes.len() {
        let fix = fixes[number - 1];
        let counts = number >= from && !fixes[from - 1..number - 1].contains(&fix);
        let success = network.removed_by(cause).iter().find(|r| counts && r.0 == fix).map_or(0.0, |r| r.1);
        each(number, rest.times(N::of(success)));
        rest = rest.times(N::of(1.0 - success));
    }
    each(fixes.len() + 1, rest);
}
