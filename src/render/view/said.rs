//! What there is to say after a line.

use super::super::Role;
use super::super::page::Page;
use super::step::open;
use super::{all, moved, ranking, slip};
use crate::export::clean;
use crate::export::words;
use crate::export::{about, minutes, note_line, share};
use crate::session::dialogue::{First, Said};
use crate::session::hear::{Doubt, Entry, STANDING_WORDS};
use crate::session::reply::Effect;
use crate::session::why::WhyNow;

/// A cause less probable than this is not worth naming behind an outcome.
const WORTH_NAMING: f64 = 0.05;

/// One thing to say.
pub fn said(page: &mut Page, said: &Said, zone: &jiff::tz::TimeZone) {
    match said {
        Said::Taken { about, outcome } => {
            // What was asked in a question stands above; its answer is enough.
            let about = if about.ends_with('?') { String::new() } else { format!("{about}: ") };
            page.said(Role::Aside, &format!("Noted: {about}{}", words(outcome)));
        }
        Said::Told { about, outcome } => {
            let colon = if about.ends_with('?') { "" } else { ":" };
            page.said(Role::Aside, &format!("Noted: {about}{colon} {}", words(outcome)));
        }
        Said::OneOf { among, outcome } => {
            page.said(Role::Aside, &format!("Noted, for one of {}: {}", all(among), words(outcome)));
        }
        Said::Seen { cause, present } => {
            page.said(
                Role::Aside,
                &format!("Noted: {cause}: {}", if *present { "seen" } else { "ruled out by sight" }),
            );
        }
        Said::Here { name, competences, instruments } => {
            let who =
                if name.is_empty() { all(competences) } else { format!("{name}, {}", all(competences)) };
            let with = if instruments.is_empty() { "no instruments".to_owned() } else { all(instruments) };
            page.said(Role::Aside, &format!("Here now: {who}; at hand: {with}"));
        }
        Said::Brought(effect) => brought(page, effect),
        Said::Refused(refused) => {
            page.labelled(Role::Warning, "Not taken", &refused.to_string());
        }
        Said::Unclear { words, doubt, choices } => unclear(page, words, *doubt, choices),
        Said::Which(choices) => {
            page.said(Role::Step, "Which of these?");
            numbered(page, choices);
        }
        Said::Ranking { ranking: causes, moved: told, numbers } => {
            page.heading("Likely causes so far");
            ranking(page, causes, *numbers);
            for (cause, factors) in told {
                moved(page, cause, factors);
            }
        }
        Said::Numbers(on) => {
            page.line(if *on { "Numbers from now on." } else { "Words again." });
        }
        Said::Why(Some(why)) => reason(page, why),
        Said::WhyFirst(first) => {
            page.line(match first {
                First::Safety => "People come first. Nothing goes on before this is answered.",
                First::Complaint => "Without knowing what is wrong there is nothing to look for.",
                First::ThereNow => "What looks normal while the trouble is away proves nothing.",
            });
        }
        Said::WhatYouNotice => {
            page.line(
                "Then say what you notice: something that does not run or does not stop, a message or a number \
                 on a screen, a noise, heat.",
            );
        }
        Said::NoneOfThem => {
            page.line("Nothing was taken then.");
        }
        Said::NoComplaintYet => {
            page.line("That is kept. But what does not work, or what does it do wrong?");
        }
        Said::Why(None) => {
            page.line("This comes first whatever the cause is; nothing was weighed.");
        }
        Said::WhyStep(step) => {
            for (outcome, text) in &step.proves {
                page.point(&format!("{}: {text}", words(outcome)));
            }
            if step.energises {
                page.line("It energises. Confirmed before it:");
            } else if !step.gates.is_empty() {
                page.line("It comes after:");
            }
            for gate in &step.gates {
                page.point(gate);
            }
            if !step.sources.is_empty() {
                page.line(&format!("Source: {}", step.sources.join("; ")));
            }
        }
        Said::StepsLeft(left) if left.is_empty() => {
            page.line("No step of a power-up is left.");
        }
        Said::StepsLeft(left) => {
            page.line("Left, in this order:");
            numbered(page, left);
        }
        Said::ThenAndNow(both) => {
            let list = |numbers: &[f64]| {
                numbers.iter().map(|number| format!("{number}")).collect::<Vec<_>>().join(", ")
            };
            let (unit, when) = (&both.measured_in, crate::export::moment(both.at, zone));
            page.said(
                Role::Aside,
                &format!(
                    "{} {unit} at the first power-up ({when}), {} {unit} today: {}",
                    list(&both.then),
                    list(&both.now),
                    both.about
                ),
            );
        }
        Said::WiresRead { numbers, all_good } => {
            let state = if *all_good { "good" } else { "taken down" };
            let text = match numbers.as_slice() {
                [one] => format!("Connection {one}: {state}."),
                several => format!("{} connections: {state}.", several.len()),
            };
            page.said(Role::Aside, &text);
        }
        Said::WireWrong(wrong) => {
            super::wires::wrong(page, wrong);
        }
        Said::NoConnection { name, of } => {
            page.line(&format!("There is no connection {name}: they are numbered 1 to {of}."));
        }
        Said::Proves(text) => {
            page.said(Role::Aside, text);
        }
        Said::Answers(lines) if lines.is_empty() => {
            page.line("Nothing has been answered yet.");
        }
        Said::Answers(lines) => {
            page.heading("So far");
            for line in lines {
                page.numbered(line.number, &note_line(&line.line));
            }
            page.said(Role::Aside, "(`change 2 no` changes the second; `undo` takes the last one back)");
        }
        Said::NoAnswer(number) => {
            page.line(&format!("There is no answer {number}; `answers` lists them."));
        }
        Said::WhatIf { line, otherwise } => super::what_if(page, line, otherwise),
        Said::ChangeTo(line) => {
            page.said(Role::Step, &format!("What should it be instead of: {}", note_line(&line.line)));
        }
        Said::Note(note) => {
            page.gap();
            super::note(page, note, zone);
        }
        Said::OnTheSpot { lines, not_meanwhile } => {
            page.gap();
            for line in lines {
                page.said(Role::Step, line);
            }
            if !not_meanwhile.is_empty() {
                page.line("Not meanwhile:");
                for line in not_meanwhile {
                    page.under(&format!("- {line}"));
                }
            }
        }
        Said::Kept(text) => {
            page.said(Role::Aside, &format!("Kept with the case: {text}"));
        }
        Said::Open(left) if left.is_empty() => {
            page.line("Nothing is lifted, pulled or slowed.");
        }
        Said::Open(left) => {
            page.line("To be put back:");
            open(page, left);
        }
        Said::IsBack(text) => {
            page.said(Role::Good, &format!("Put back: {text}"));
        }
        Said::HandOver(to) => {
            page.gap();
            slip(page, to);
            page.said(Role::Step, "Hand over now?");
        }
        Said::Help(topic) => help(page, topic),
        Said::Reckoned(reckoned) => super::reckoned(page, reckoned),
        Said::NotReckoned(why) => super::unreckoned(page, why),
        Said::Functions => super::functions(page),
        Said::NotUnderstood => {
            page.line("That does not answer the question. `help` says what can be typed.");
        }
    }
}

fn numbered(page: &mut Page, choices: &[String]) {
    for (at, choice) in choices.iter().enumerate() {
        page.numbered(at + 1, choice);
    }
}

fn unclear(page: &mut Page, said: &str, doubt: Doubt, choices: &[String]) {
    let said = clean(said);
    let text = match doubt {
        Doubt::NothingFits if said.contains(|c: char| c.is_ascii_digit()) => {
            format!("\"{said}\" answers nothing that is asked here. `note` before it keeps it with the case.")
        }
        Doubt::NothingFits => format!("\"{said}\" fits nothing that is known here."),
        Doubt::SeveralFit => format!("\"{said}\" fits several things. Which one?"),
        Doubt::FitsPoorly if choices.len() > 1 => format!("\"{said}\": did you mean one of these?"),
        Doubt::FitsPoorly => format!("\"{said}\": did you mean this?"),
        Doubt::WhichUnit => format!("\"{said}\": of which one?"),
        Doubt::YesAndNo => "That says both yes and no.".to_owned(),
        Doubt::HowManyNumbers { wanted, given } => {
            format!(
                "{} here, and {given} came.",
                if wanted == 1 {
                    "One number is wanted".to_owned()
                } else {
                    format!("{wanted} numbers are wanted")
                }
            )
        }
        Doubt::Incomplete => format!("Still wanted: {said}. Type what is missing, or all of it again."),
        Doubt::WrongMeasure => format!("\"{said}\" is in a unit of measure that does not belong here."),
        Doubt::NumberWanted => "A number is wanted here, or `can't tell`.".to_owned(),
        Doubt::NoSuchChoice => "There is no such number in the list.".to_owned(),
    };
    page.said(Role::Step, &text);
    numbered(page, choices);
}

fn brought(page: &mut Page, effect: &Effect) {
    match effect {
        Effect::TakenAsSo { finding, outcome } => {
            page.said(Role::Aside, &format!("Taken to be so with it: {finding}: {}", words(outcome)));
        }
        Effect::Replaced { finding, .. } => {
            page.said(Role::Aside, &format!("This replaces the earlier answer: {finding}"));
        }
        Effect::Withdrawn { finding, .. } => {
            page.said(Role::Aside, &format!("No longer counts: {finding}"));
        }
        Effect::Restored { finding, .. } => {
            page.said(Role::Aside, &format!("Counts again: {finding}"));
        }
        // The view that follows says it.
        Effect::Emergency { .. } => {}
        Effect::WorkStateUnknown => {
            page.labelled(Role::Warning, "Work state", "not known any more; it is asked for again");
        }
        Effect::WorkState { name } => {
            page.labelled(Role::Good, "Work state", name);
        }
        Effect::ToPutBack { text, .. } => {
            page.labelled(Role::Notice, "To be put back later", text);
        }
        Effect::ClassUnknown { words } => {
            page.line(&format!(
                "\"{words}\" is in no table of this device: it counts as tripped, class unknown."
            ));
        }
        Effect::Undone { .. } => {
            page.said(Role::Aside, "Taken back.");
        }
        Effect::NotCounted { finding } => {
            page.said(Role::Aside, &format!("Kept, but not counted while it is not there: {finding}"));
        }
    }
}

fn reason(page: &mut Page, why: &WhyNow) {
    page.heading("Why this");
    page.line(&why.step);
    page.line(&format!(
        "It takes {}. From here it is {} to done; no plan can expect less than {}.",
        about(why.costs),
        about(why.expected_minutes),
        minutes(why.bound_minutes)
    ));
    // A test of one finding names it before each outcome; said once above, it is dropped here.
    let name =
        why.separates.first().and_then(|first| first.0.rsplit_once(": ")).map_or("", |(about, _)| about);
    for (at, (outcome, chance, cause, then)) in why.separates.iter().enumerate() {
        let outcome = outcome.strip_prefix(name).and_then(|rest| rest.strip_prefix(": ")).unwrap_or(outcome);
        let likely = !cause.is_empty() && *then >= WORTH_NAMING;
        let most =
            if likely { format!(", then most likely: {cause} ({})", share(*then)) } else { String::new() };
        page.point(&format!("{}: {}{most}", words(outcome), share(*chance)));
        if let Some((next, time)) = why.follows.get(at).filter(|(next, _)| !next.is_empty()) {
            page.said(Role::Aside, &format!("    next would be: {next} ({} to done)", about(*time)));
        }
    }
    if !why.separates.is_empty() {
        page.line(&format!(
            "Asking nothing more would take {}, handing over now {}.",
            minutes(why.instead.0),
            minutes(why.instead.1)
        ));
    }
    if !why.others.is_empty() {
        page.line("Weighed too:");
        for (step, time) in why.others.iter().take(3) {
            page.point(&format!("{step}: {} to done", about(*time)));
        }
    }
    for (step, competence) in &why.withheld {
        page.labelled(Role::Notice, "Worth much, but for somebody else", &format!("{step} ({competence})"));
    }
}

/// What can be typed: all standing words, or one of them.
pub fn help(page: &mut Page, topic: &str) {
    let topic = topic.trim().to_lowercase();
    let named = |entry: &&Entry| entry.word == topic || entry.also.contains(&topic.as_str());
    if let Some(entry) = STANDING_WORDS.iter().find(named) {
        page.labelled(Role::Heading, format!("{} {}", entry.word, entry.takes).trim_end(), entry.help);
        if !entry.also.is_empty() {
            page.line(&format!("also: {}", entry.also.join(", ")));
        }
        return;
    }
    page.heading("What can be typed");
    page.line(
        "An answer to the question, as you would say it; a further symptom; who is there now and with what \
         (\"the electrician is here\", \"I have a meter\"); and at any time:",
    );
    for entry in STANDING_WORDS {
        page.labelled(Role::Heading, format!("{} {}", entry.word, entry.takes).trim_end(), entry.help);
    }
}
