//! The commands: clap on one side, the library on the other.
//!
//! In: the arguments. Out: text on the two streams and an [`ExitStatus`]. Invariant: nothing is decided here; what a
//! command does, the library can do. A file per command; the doc comments of the arguments are the help.

mod attend;
mod cases;
mod chart;
mod check;
mod clock;
mod commissioning;
mod completions;
mod exit_status;
mod facts;
mod failure;
mod manual;
mod meaning;
mod note;
mod open;
mod options;
mod power_up;
mod outlook;
mod present;
mod rank;
mod reckon;
mod record;
mod rehearse;
mod slip;
mod sources;
mod streams;
mod wiring;

pub use exit_status::ExitStatus;

use std::ffi::OsString;

use clap::error::ErrorKind;
use clap::{CommandFactory as _, FromArgMatches as _, Parser, Subcommand};
use options::Options;
use streams::Streams;

/// What stands at the end of the long help.
const EXAMPLES: &str = "\
Examples:
  whytrip                             take a call, on the invented demo job
  whytrip attend --job panel.yaml     take a call about the panel on that job sheet
  whytrip check knowledge/my-package  all problems of a package, with place and cure
  whytrip rank --set M1/running=no    likely causes as numbers

Exit status:
  0  done
  1  done, and the answer is no: errors found, results differ
  2  could not be done: wrong usage, an unreadable file, a limit
  3  rank: the evidence is impossible under the knowledge";

/// Find out why a control panel will not do its job, and what to do next
///
/// From a caller's words to the proven fix: whytrip asks for what is cheapest to know and most worth knowing, ranks the
/// likely causes, and names the step to take next. Without a command it takes a call.
#[derive(Parser, Debug)]
#[command(name = "whytrip", version, after_long_help = EXAMPLES, max_term_width = 100)]
struct Arguments {
    #[command(flatten)]
    options: Options,

    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand, Debug)]
enum Command {
    Attend(attend::Attend),
    PowerUp(power_up::PowerUp),
    Cases(cases::Cases),
    Note(note::Note),
    Slip(slip::Slip),
    Record(commissioning::Commissioning),
    Chart(chart::Chart_),
    Check(check::Check),
    Wiring(wiring::Wiring),
    Meaning(meaning::Meaning),
    Rank(rank::Rank),
    Rehearse(rehearse::Rehearse),
    Reckon(reckon::Reckon),
    Sources(sources::Sources),
    Outlook(outlook::Outlook),
    Completions(completions::Completions),
    Manual(manual::Manual),
}

/// The program as clap knows it.
fn program() -> clap::Command {
    Arguments::command()
}

/// Runs the program with these arguments (the first is its name).
#[must_use]
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitStatus {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let program = program().color(help_colour(&arguments));
    let parsed =
        program.try_get_matches_from(&arguments).and_then(|found| Arguments::from_arg_matches(&found));
    let Arguments { options, command } = match parsed {
        Ok(arguments) => arguments,
        Err(error) => return usage(&error),
    };
    let streams = Streams::new(&options);
    // No command is a call, with what the environment says of calls.
    let call = || Arguments::try_parse_from(["whytrip", "attend"]).ok()?.command;
    let Some(command) = command.or_else(call) else { return ExitStatus::Unable };
    let ended = match command {
        Command::Attend(attend) => attend.run(&options, &streams),
        Command::PowerUp(power_up) => power_up.run(&options, &streams),
        Command::Cases(cases) => cases.run(&options, &streams),
        Command::Note(note) => note.run(&options, &streams),
        Command::Slip(slip) => slip.run(&options, &streams),
        Command::Record(record) => record.run(&options, &streams),
        Command::Chart(chart) => chart.run(&streams),
        Command::Check(check) => check.run(&streams),
        Command::Wiring(wiring) => wiring.run(&streams),
        Command::Meaning(meaning) => meaning.run(&streams),
        Command::Rank(rank) => rank.run(&streams),
        Command::Rehearse(rehearse) => rehearse.run(&streams),
        Command::Reckon(reckon) => reckon.run(&streams),
        Command::Sources(sources) => sources.run(&streams),
        Command::Outlook(outlook) => outlook.run(&streams),
        Command::Completions(completions) => completions.run(&streams),
        Command::Manual(manual) => manual.run(&streams),
    };
    ended.unwrap_or_else(|failure| {
        streams.talk(&failure.text(streams.err));
        failure.status()
    })
}

/// Help, versions and wrong usage, as clap words them. The standing notice goes with every help.
fn usage(error: &clap::Error) -> ExitStatus {
    // A reader that went away is no reason to complain.
    let _ = error.print();
    if error.kind() == ErrorKind::DisplayHelp {
        let streams = Streams::new(&Options::default());
        let _ = streams.result(&open::standing_notice(streams.out));
    }
    if error.exit_code() == 0 { ExitStatus::Done } else { ExitStatus::Unable }
}

/// Whether help may be coloured: what `--color` says, which clap itself does not know yet when it writes help.
fn help_colour(arguments: &[OsString]) -> clap::ColorChoice {
    let words: Vec<&str> = arguments.iter().filter_map(|word| word.to_str()).collect();
    let after = |name: &str| {
        let joined = words.iter().find_map(|word| word.strip_prefix(name)?.strip_prefix('='));
        joined.or_else(|| words.windows(2).find(|pair| pair[0] == name).map(|pair| pair[1]))
    };
    match after("--color").or_else(|| after("--colour")) {
        Some("always") => clap::ColorChoice::Always,
        Some("never") => clap::ColorChoice::Never,
        _ if words.contains(&"--plain") => clap::ColorChoice::Never,
        _ => clap::ColorChoice::Auto,
    }
}
