//! Pairs on numbered channels: both wires of a sensor on one channel, one sensor a channel.

use std::collections::{BTreeMap, BTreeSet};

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};

/// Per channel, the other units on it with their terminals: other unit, its terminal, ours.
type Channels = BTreeMap<String, Vec<(usize, usize, usize)>>;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (unit, roles) in list.units() {
        for (row, terminals) in list.rows(unit) {
            let role = &roles[row];
            if !role.grouped {
                continue;
            }
            let mut channels = Channels::new();
            for &at in &terminals {
                let Some(group) = list.terminals[at].named.as_ref().and_then(|named| named.group.clone())
                else {
                    continue;
                };
                let there = channels.entry(group).or_default();
                let others = list.others(unit, &[at]);
                let same = others.iter().filter(|other| other.role.carries == role.carries);
                there.extend(same.map(|other| (other.unit, other.at, at)));
            }
            split(list, unit, &channels, problems);
            shared(list, unit, &channels, problems);
        }
    }
}

/// A unit with one wire on one channel and the other on another.
fn split(list: &WireList<'_>, unit: usize, channels: &Channels, problems: &mut Vec<Diagnostic>) {
    let mut of_unit: BTreeMap<usize, BTreeMap<&str, BTreeSet<usize>>> = BTreeMap::new();
    for (channel, others) in channels {
        for &(other, at, _) in others {
            of_unit.entry(other).or_default().entry(channel).or_default().insert(at);
        }
    }
    for (other, by_channel) in of_unit {
        // A common that reaches several channels is no split: each channel then has both wires, or the same one.
        let all: BTreeSet<usize> = by_channel.values().flatten().copied().collect();
        if all.len() < 2 || by_channel.values().any(|ends| ends.len() == all.len()) {
            continue;
        }
        let names: Vec<&str> = by_channel.keys().copied().collect();
        let id = &list.job.units[other].id;
        let words = format!(
            "the pair of `{id}` is split over the channels {} of `{}`",
            names.join(" and "),
            list.job.units[unit].id
        );
        let Some(&at) = all.iter().next_back() else { continue };
        let problem = list.at(Code::PairSplit, at, words);
        problems.push(
            problem
                .why("a channel with one wire of a sensor reads nothing")
                .help("land both wires on one channel"),
        );
    }
}

/// A channel with wires of several units.
fn shared(list: &WireList<'_>, unit: usize, channels: &Channels, problems: &mut Vec<Diagnostic>) {
    for (channel, others) in channels {
        // Units that are on this channel alone: a common may come from elsewhere.
        let pole = |at: usize| list.terminals[at].named.as_ref().and_then(|named| named.pole.or(named.leg));
        let mut by_leg: BTreeMap<Option<usize>, BTreeSet<usize>> = BTreeMap::new();
        for &(other, _, ours) in others {
            by_leg.entry(pole(ours)).or_default().insert(other);
        }
        let Some(units) = by_leg.values().find(|units| units.len() > 1) else { continue };
        let elsewhere = |other: &usize| {
            channels.iter().any(|(name, others)| name != channel && others.iter().any(|o| o.0 == *other))
        };
        if units.iter().any(elsewhere) {
            continue;
        }
        let ids: Vec<String> = units.iter().map(|&at| format!("`{}`", list.job.units[at].id)).collect();
        let words = format!("{} share channel {channel} of `{}`", ids.join(" and "), list.job.units[unit].id);
        let Some(&(_, at, _)) = others.last() else { continue };
        let problem = list.at(Code::PairSplit, at, words);
        problems.push(problem.why("one channel reads one sensor").help("land each on a channel of its own"));
    }
}
