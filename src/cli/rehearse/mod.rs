//! `rehearse`: calls played against simulated sites.

mod missed;
mod scripted;
mod trials;

use std::path::PathBuf;

use clap::Args;

use super::ExitStatus;
use super::failure::Failure;
use super::open::{KnowledgeAt, StageNamed};
use super::streams::Streams;

/// Rehearse calls against simulated sites with hidden faults
///
/// Plays scripted scenarios (those in the files and folders named, else the built-in ones) through a session in typed lines,
/// and tells whether each reached its goals. With `--each-cause` or `--pairs`, draws sites instead: that many for every kind of
/// cause, each with that cause alone, or pairs of causes, and plays a technician and somebody on the phone against them. Told
/// are the share of calls in which the causes were found (their fix done, or at the top of the ranking; on the phone also
/// handed over to somebody who may put it right), and the medians of questions and minutes. The same seed gives the same calls.
///
/// Exit status: 0 where every goal is met, 1 where one is missed.
#[derive(Args, Debug)]
pub(super) struct Rehearse {
    /// Scenarios, and folders of them
    #[arg(value_name = "FILE|DIR", conflicts_with_all = ["each_cause", "pairs"])]
    paths: Vec<PathBuf>,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    /// Random calls per kind of cause
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    each_cause: Option<u32>,

    /// Random pairs of causes
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pairs: Option<u32>,

    /// Only kinds of causes (`component/cause`) that hold this text
    #[arg(long, value_name = "TEXT", requires = "each_cause")]
    only: Option<String>,

    /// Every step of each random call that missed its goal
    #[arg(long, conflicts_with = "json")]
    missed: bool,

    /// The job sheet for random calls; without it, all built-in ones
    #[arg(long, value_name = "FILE")]
    job: Option<PathBuf>,

    /// The stage of random calls; without it, the sheet's, and others for causes that are not there before
    #[arg(long, value_name = "STAGE")]
    stage: Option<StageNamed>,

    /// The seed of random calls
    #[arg(long, value_name = "SEED", default_value_t = 1)]
    seed: u64,

    /// The chance that the person cannot tell what a test shows
    #[arg(long, value_name = "CHANCE", default_value_t = 0.0, value_parser = chance)]
    cannot_tell: f64,

    /// The chance that the person tells something else than what is so
    #[arg(long, value_name = "CHANCE", default_value_t = 0.0, value_parser = chance)]
    errs: f64,

    /// Every line of each scenario as well
    #[arg(long, conflicts_with_all = ["each_cause", "pairs"])]
    lines: bool,

    /// Threads; the result does not depend on it
    #[arg(long, value_name = "N")]
    threads: Option<usize>,

    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// A chance, as it is typed.
fn chance(text: &str) -> Result<f64, String> {
    let chance = text.parse::<f64>().map_err(|error| error.to_string())?;
    if (0.0..=1.0).contains(&chance) { Ok(chance) } else { Err("a chance is between 0 and 1".to_owned()) }
}

impl Rehearse {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        if self.each_cause.is_some() || self.pairs.is_some() {
            self.trials(streams)
        } else {
            self.scripted(streams)
        }
    }
}
