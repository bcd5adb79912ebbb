//! The question or step that stands.

use super::super::Role;
use super::super::page::Page;
use super::step::{cautions, leaves, open, place};
use super::{closing, either, slip, wires};
use crate::export::clean;
use crate::export::minutes;
use crate::export::words;
use crate::model::catalog::Act;
use crate::session::dialogue::Own;
use crate::session::prompt::{
    Choice, Doubt, FixStep, PowerUpStep, Prompt, ProveStep, TestStep, View, WorkAct,
};
use crate::session::ranking::Certainty;

/// The standing notice of a first view.
pub fn notice(page: &mut Page, view: &View) {
    for line in &view.notice {
        page.labelled(Role::Notice, "NOTICE", line);
    }
}

/// The question or step; `part` is the finding whose turn it is, of a test that gives several.
///
/// Cautions stand before the step. Of a lockout they stand before its first act, and before the act that is shown first
/// (`fresh`), not before each again.
pub fn question(page: &mut Page, view: &View, part: usize, fresh: bool) {
    page.gap();
    match &view.prompt {
        Prompt::Emergencies(asked) => {
            page.said(Role::Step, "First: is any of this so right now?");
            for one in asked {
                page.point(&one.ask);
            }
        }
        Prompt::Emergency(now) => {
            page.said(Role::Danger, "EMERGENCY. Stop everything else.");
            for (at, act) in now.act.iter().enumerate() {
                page.numbered(at + 1, act);
            }
            page.said(Role::Step, &now.all_clear);
        }
        Prompt::Complaint => {
            page.said(Role::Step, "What is wrong? Say it in your own words.");
        }
        Prompt::ThereNow(complaints) => {
            page.said(Role::Step, "Is it there at this moment?");
            for complaint in complaints {
                page.point(complaint);
            }
        }
        Prompt::WorkState(choices) => {
            page.said(Role::Step, "In which state is the equipment now?");
            for (at, choice) in choices.iter().enumerate() {
                page.numbered(at + 1, &choice.name);
            }
        }
        Prompt::Enter(act) => work_act(page, act, "To be", fresh),
        Prompt::Return(act) => work_act(page, act, "Back from", fresh),
        Prompt::Nameplate(asked) => {
            let value = words(&asked.key);
            page.said(
                Role::Step,
                &format!("On the nameplate of {}: what does it say for {value}?", asked.unit_name),
            );
            page.said(Role::Aside, &format!("(for: {})", asked.test));
        }
        Prompt::Test(step) => test(page, step, view.lay, part),
        Prompt::Fix(step) => fix(page, step, view.lay),
        Prompt::Prove(step) => prove(page, step),
        Prompt::HandOver(to) => {
            let whom = if to.name.is_empty() { "hand over".to_owned() } else { format!("send {}", to.name) };
            page.said(Role::Step, &format!("Stop here and {whom}."));
            slip(page, to);
        }
        Prompt::PowerUp(step) => power_up(page, step, fresh),
        Prompt::PowerUpWaits(waits) => {
            page.said(Role::Step, &format!("{} left, for somebody else or for later:", steps(waits.left)));
            for waiting in &waits.next {
                let with = if waiting.instruments.is_empty() {
                    String::new()
                } else {
                    format!(", with {}", super::all(&waiting.instruments))
                };
                page.point(&format!("{} ({}{with})", waiting.say, waiting.competence));
            }
            page.line("Say who is there now, or `yes` to take what was passed over; everything is saved.");
        }
        Prompt::PutBack(left) => {
            page.said(Role::Step, "Before this can be closed, put back:");
            open(page, left);
        }
        Prompt::Contradiction(doubt) => contradiction(page, doubt),
        Prompt::Close(view) => {
            closing(page, view);
            page.said(Role::Step, "Close the case?");
        }
        Prompt::HandedOver(to) => {
            let whom = if to.name.is_empty() { String::new() } else { format!(" to {}", to.name) };
            page.said(Role::Step, &format!("Handed over{whom}."));
            page.line("It goes on when somebody takes it up: say who is there, or leave.");
        }
        // How it stands was shown when that was asked.
        Prompt::Closed(_) => {
            page.said(Role::Good, "Closed.");
        }
    }
}

/// An answer that disagrees with the rest, offered for a check.
pub fn doubt(page: &mut Page, doubt: &Doubt) {
    let about = format!("{}: {}", doubt.name.trim_end_matches('?'), words(&doubt.outcome));
    page.said(Role::Aside, &format!("(One answer fits badly with the rest: {about}. `change` corrects it.)"));
}

/// The question in a line, where it has been shown whole a moment ago.
pub fn reminder(page: &mut Page, view: &View, part: usize) {
    page.gap();
    let line = match &view.prompt {
        Prompt::Emergencies(_) => "Is any of that so right now?".to_owned(),
        Prompt::Emergency(now) => format!("EMERGENCY: {}", now.all_clear),
        Prompt::Fix(_) => "The fix above: is it done?".to_owned(),
        Prompt::Prove(step) => format!("Prove it: is this still so? {}", step.say),
        Prompt::HandOver(to) if to.name.is_empty() => "Stop here and hand over.".to_owned(),
        Prompt::HandOver(to) => format!("Stop here and send {}.", to.name),
        Prompt::Test(step) if view.lay && !step.say_to_caller.is_empty() && part == 0 => {
            step.say_to_caller.clone()
        }
        Prompt::Test(step) if part == 0 => step.say.clone(),
        Prompt::Close(_) => "Close the case?".to_owned(),
        _ => return question(page, view, part, false),
    };
    page.said(Role::Step, &line);
}

fn in_measure(count: usize, measure: &str) -> String {
    if count == 1 { format!("a reading in {measure}") } else { format!("{count} readings in {measure}") }
}

/// What an answer looks like, for the prompt line.
#[must_use]
pub fn hint(view: &View, part: usize) -> String {
    match &view.prompt {
        Prompt::Emergencies(_) | Prompt::Emergency(_) | Prompt::ThereNow(_) => "yes or no".to_owned(),
        Prompt::Complaint | Prompt::HandedOver(_) | Prompt::Closed(_) => String::new(),
        Prompt::WorkState(_) => "a number".to_owned(),
        Prompt::Enter(_) | Prompt::Return(_) | Prompt::PutBack(_) => "done, or no".to_owned(),
        Prompt::Nameplate(_) => "or can't tell".to_owned(),
        Prompt::Test(step) => match (&step.reading[..], step.choices.get(part)) {
            ([], Some(choice)) => outcomes(choice),
            ([], None) => String::new(),
            (read, _) => read
                .iter()
                .map(|part| in_measure(part.count, &part.measured_in))
                .collect::<Vec<_>>()
                .join(", then "),
        },
        Prompt::Fix(_) => "done, did not help, or can't".to_owned(),
        Prompt::Prove(step) => either(&step.outcomes.iter().map(|o| words(o)).collect::<Vec<_>>()),
        Prompt::HandOver(_) => "done when they are told".to_owned(),
        Prompt::PowerUp(step) if step.walk.as_ref().is_some_and(|list| list.next.is_some()) => {
            "good, open, not there; or: 3 open, 3 and 5 exchanged, 3 goes to 5, rest good".to_owned()
        }
        Prompt::PowerUp(step) => match &step.reading {
            Some((measure, count)) => in_measure(*count, measure),
            None if step.again => "yes or no".to_owned(),
            None if step.outcomes == ["done", "no"] => "done, no, or can't".to_owned(),
            None => either(&step.outcomes.iter().map(|outcome| words(outcome)).collect::<Vec<_>>()),
        },
        Prompt::PowerUpWaits(_) => "yes, or who is there".to_owned(),
        Prompt::Contradiction(_) => "yes, the right answer, or changed".to_owned(),
        Prompt::Close(_) => "yes, or go on".to_owned(),
    }
}

/// What an answer to the dialogue's own question looks like.
#[must_use]
pub fn own_hint(own: &Own) -> String {
    match own {
        Own::Choice(1) => "yes or no".to_owned(),
        Own::Choice(_) => "a number, or none of them".to_owned(),
        Own::Number => "the number of one".to_owned(),
        Own::YesNo => "yes or no".to_owned(),
        Own::New(outcomes) if outcomes.is_empty() => "the right answer, or can't tell".to_owned(),
        Own::New(outcomes) => either(&outcomes.iter().map(|outcome| words(outcome)).collect::<Vec<_>>()),
    }
}

fn outcomes(choice: &Choice) -> String {
    if choice.fault_table.is_some() {
        return "the number or words that it shows".to_owned();
    }
    either(&choice.outcomes.iter().map(|outcome| words(outcome)).collect::<Vec<_>>())
}

fn steps(count: usize) -> String {
    if count == 1 { "1 step is".to_owned() } else { format!("{count} steps are") }
}

fn power_up(page: &mut Page, step: &PowerUpStep, fresh: bool) {
    // In the middle of the list the connection alone: what goes with the step was shown with the first.
    if let Some(list) = step.walk.as_ref().filter(|list| list.next.is_some()) {
        let begun = list.good > 0 || !list.wrong.is_empty();
        if begun && !fresh {
            wires::walk(page, list, false);
            return;
        }
    }
    // Behind the last connection the question alone.
    if let Some(list) = step.walk.as_ref().filter(|list| list.next.is_none() && !fresh) {
        page.labelled(Role::Step, &format!("{} of {}", step.number, step.of), &step.say);
        page.under(&format!("All {} connections of the wire list are good.", list.of));
        return;
    }
    cautions(page, &step.conditions.cautions);
    place(page, &step.conditions);
    if step.once_more {
        page.said(Role::Aside, "(asked again, because it may have changed)");
    } else if step.stopped {
        page.said(Role::Aside, "(once more: this proves the cure)");
    }
    page.labelled(Role::Step, &format!("{} of {}", step.number, step.of), &step.say);
    for how in &step.how {
        page.under(how);
    }
    if !step.expect.is_empty() {
        page.under(&format!("Expected: {}", step.expect));
    }
    leaves(page, &step.conditions);
    if let Some(list) = &step.walk {
        if list.next.is_none() {
            page.under(&format!("All {} connections of the wire list are good.", list.of));
        }
        wires::walk(page, list, true);
    }
}

fn work_act(page: &mut Page, act: &WorkAct, towards: &str, fresh: bool) {
    if act.step == 0 || fresh {
        cautions(page, &act.conditions.cautions);
        place(page, &act.conditions);
    }
    if act.step == 0 && !act.open.is_empty() {
        page.line("Still lifted, pulled or slowed:");
        open(page, &act.open);
    }
    let count = format!("{towards} {}, {} of {}", act.name, act.step + 1, act.of);
    page.labelled(Role::Step, &count, &act.text);
}

fn test(page: &mut Page, step: &TestStep, lay: bool, part: usize) {
    if part == 0 {
        cautions(page, &step.conditions.cautions);
        place(page, &step.conditions);
        let say = if lay && !step.say_to_caller.is_empty() { &step.say_to_caller } else { &step.say };
        page.said(Role::Step, say);
        if !step.how.is_empty() && (!lay || step.act != Act::Ask) {
            page.under(&step.how);
        }
        if !step.expect.is_empty() && !lay {
            page.under(&format!("Expected: {}", step.expect));
        }
        leaves(page, &step.conditions);
    }
    if let Some(choice) = step.choices.get(part).filter(|_| step.reading.is_empty() && step.choices.len() > 1)
    {
        page.said(Role::Step, &format!("{}?", choice.name.trim_end_matches(['?', '.'])));
    }
}

fn fix(page: &mut Page, step: &FixStep, lay: bool) {
    cautions(page, &step.conditions.cautions);
    for reason in &step.not_for {
        page.labelled(Role::Warning, "Not where", reason);
    }
    place(page, &step.conditions);
    let against: Vec<String> = step
        .removes
        .iter()
        .take(3)
        .map(|(name, chance)| format!("{} ({})", clean(name), certainty(Certainty::of(*chance))))
        .collect();
    let kind = if step.temporary { "For the meantime" } else { "Do this" };
    let aim = if against.is_empty() { String::new() } else { format!(", against {}", either(&against)) };
    page.said(Role::Step, &format!("{kind}{aim}:"));
    match (lay && !step.say_to_caller.is_empty(), step.steps.as_slice()) {
        (true, _) => {
            page.under(&step.say_to_caller);
        }
        (false, [only]) => {
            page.under(only);
        }
        (false, steps) => {
            for (at, act) in steps.iter().enumerate() {
                page.numbered(at + 1, act);
            }
        }
    }
    if !step.parts.is_empty() {
        let parts = step.parts.iter().map(|(name, price)| part(name, *price, &step.currency));
        page.line(&format!("Parts: {}", parts.collect::<Vec<_>>().join(", ")));
    }
    leaves(page, &step.conditions);
}

fn part(name: &str, price: f64, currency: &str) -> String {
    if price > 0.0 { format!("{name} ({})", crate::export::money(price, currency)) } else { name.to_owned() }
}

fn prove(page: &mut Page, step: &ProveStep) {
    cautions(page, &step.conditions.cautions);
    place(page, &step.conditions);
    page.said(Role::Step, "Prove it: is this still so?");
    page.under(&step.say);
    if !step.under.is_empty() {
        page.line(&format!("Under: {}", step.under));
    }
    if step.minutes > 0.0 {
        page.line(&format!("Watch it for {}.", minutes(step.minutes)));
    }
    if step.left > 1 {
        page.said(Role::Aside, &format!("({} to prove, this one included)", step.left));
    }
}

fn contradiction(page: &mut Page, doubt: &Doubt) {
    page.said(Role::Warning, "These answers cannot all be so.");
    page.line(&format!("The one that fits least: {}: {}", doubt.name, words(&doubt.outcome)));
    page.said(Role::Step, "Look again: is it so?");
    page.line("Say yes, or what it really is; `changed` where the work changed something.");
}

/// The word for a certainty.
pub(super) const fn certainty(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Likely => "likely",
        Certainty::Possible => "possible",
        Certainty::Unlikely => "unlikely",
    }
}
