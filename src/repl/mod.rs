//! The conversation at a terminal or over a pipe.
//!
//! In: a [`Dialogue`], where its events are kept, where lines come from. Out: text, and events that are durable before
//! the next prompt. Invariants: nothing is decided here; without a terminal no prompt is printed and lines are read as
//! they come; Ctrl-C abandons a line, Ctrl-D leaves, and both lose nothing.

mod complete;
mod lines;

pub use lines::Lines;

use std::io::{self, Write};

use jiff::tz::TimeZone;

use crate::render::{Look, Page, Role, view};
use crate::session::Event;
use crate::session::dialogue::Dialogue;
use crate::session::prompt::Prompt;

/// Where events are kept.
pub trait Keep {
    /// Makes these events durable, in order.
    ///
    /// # Errors
    /// When they could not be stored; the conversation ends then, because nothing may be lost.
    fn keep(&mut self, events: &[Event]) -> Result<(), Refusal>;
}

/// Why events could not be kept.
pub type Refusal = Box<dyn std::error::Error + Send + Sync>;

/// Why a conversation broke off.
#[derive(Debug, thiserror::Error)]
pub enum Broken {
    /// The output cannot be written or the input cannot be read.
    #[error(transparent)]
    Talk(#[from] io::Error),
    /// An event could not be kept.
    #[error("the last answer could not be saved")]
    Store(#[source] Refusal),
}

/// How the conversation looks and what time it is.
pub struct Manner<'a> {
    /// What the output can show.
    pub look: Look,
    /// The prompt and each line that was read are written as well, for the record of a call from a pipe.
    pub echo: bool,
    /// The zone of the times in notes.
    pub zone: TimeZone,
    /// Milliseconds since 1970-01-01 UTC.
    pub clock: &'a dyn Fn() -> i64,
}

/// How a conversation ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Ended {
    /// The case is closed.
    Closed,
    /// The person left; the case is open.
    Left,
}

/// Talks until the case is closed or the person leaves. `kept` events of the session are stored already.
///
/// # Errors
/// When the output cannot be written, or an event cannot be kept.
pub fn converse(
    dialogue: &mut Dialogue,
    kept: usize,
    store: &mut dyn Keep,
    lines: &mut Lines,
    manner: &Manner<'_>,
    out: &mut dyn Write,
) -> Result<Ended, Broken> {
    let mut kept = kept;
    keep(dialogue, &mut kept, store)?;
    let mut first = true;
    // What was shown whole last: the same question is not said whole again, unless it is wanted.
    let mut before: Option<(Prompt, usize)> = None;
    let mut doubted = None;
    // Where it was on the plan that is walked along.
    let mut place = None;
    loop {
        let shown = dialogue.view();
        let now = Some((shown.prompt.clone(), dialogue.part()));
        let mut page = Page::new(manner.look);
        if let Some(now) = shown.chart.filter(|now| place != Some(*now)) {
            view::on_chart(&mut page, now, place);
            place = Some(now);
        }
        if first {
            view::notice(&mut page, &shown);
        }
        first = false;
        match (dialogue.asks(), before == now) {
            (true, _) => {}
            (false, true) => view::reminder(&mut page, &shown, dialogue.part()),
            (false, false) => {
                // A step that is come back to is shown whole, whatever was asked meanwhile.
                let fresh = match (&before, &shown.prompt) {
                    (None, _) => true,
                    (Some((Prompt::PowerUp(last), _)), Prompt::PowerUp(now)) => last.step != now.step,
                    (Some(_), now) => matches!(now, Prompt::PowerUp(_)),
                };
                view::question(&mut page, &shown, dialogue.part(), fresh);
                before = now;
            }
        }
        // An answer that fits badly is offered for a check once.
        let about = shown.doubt.as_ref().map(|doubt| (doubt.event, doubt.outcome.clone()));
        if doubted != about {
            if let Some(doubt) =
                shown.doubt.as_ref().filter(|_| !matches!(shown.prompt, Prompt::Contradiction(_)))
            {
                view::doubt(&mut page, doubt);
            }
            doubted = about;
        }
        let hint = match dialogue.own() {
            Some(own) => view::own_hint(&own),
            None => view::hint(&shown, dialogue.part()),
        };
        if !hint.is_empty() {
            page.said(Role::Aside, &format!("({hint})"));
        }
        out.write_all(page.finish().as_bytes())?;
        out.flush()?;
        if matches!(shown.prompt, Prompt::Closed(_)) {
            return Ok(Ended::Closed);
        }
        lines.offer(complete::words(dialogue, &shown));
        if manner.echo {
            out.write_all(b"> ")?;
            out.flush()?;
        }
        let line = lines.next(manner.look, out)?;
        if manner.echo {
            writeln!(out, "{}", crate::export::clean(line.as_deref().unwrap_or_default()))?;
        }
        let Some(line) = line else { return Ok(Ended::Left) };
        let turn = dialogue.line(&line, (manner.clock)());
        keep(dialogue, &mut kept, store)?;
        let mut page = Page::new(manner.look);
        for said in &turn.said {
            view::said(&mut page, said, &manner.zone);
        }
        // The question that follows stands apart from what was said, unless what was said is the question.
        if !dialogue.asks() {
            page.gap();
        }
        out.write_all(page.finish().as_bytes())?;
        if turn.again {
            before = None;
        }
        if turn.leave {
            return Ok(Ended::Left);
        }
    }
}

/// Stores what the session has taken since.
fn keep(dialogue: &Dialogue, kept: &mut usize, store: &mut dyn Keep) -> Result<(), Broken> {
    let events = dialogue.session().events();
    if let Some(new @ [_, ..]) = events.get(*kept..) {
        store.keep(new).map_err(Broken::Store)?;
        *kept = events.len();
    }
    Ok(())
}
