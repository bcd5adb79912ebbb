//! `rehearse --each-cause` and `--pairs`: many random calls, counted.

use serde_json::{Value, json};

use super::{Rehearse, missed};
use crate::cli::ExitStatus;
use crate::cli::failure::Failure;
use crate::cli::open::{self, SheetFile};
use crate::cli::streams::Streams;
use crate::knowledge::Stage;
use crate::planner::Effort;
use crate::rehearsal::trials::{self, Ground, Plan, Row};
use crate::rehearsal::{Caller, Tally};
use crate::render::Page;

/// The share of calls in which a technician shall find a cause; phone support, a right hand-over counted; both of a pair.
const TECHNICIAN: f64 = 0.95;
const PHONE: f64 = 0.85;
const PAIR: f64 = 0.85;

/// What was played, with the goal of each caller.
struct Sheet {
    title: &'static str,
    rows: Vec<Row>,
    /// Parallel to the callers: the goal, and whether a right hand-over counts.
    goals: Vec<(f64, bool)>,
    /// The goal is that of each row, not of all together.
    each: bool,
}

impl Sheet {
    fn rate(&self, tally: &Tally, caller: usize) -> f64 {
        tally.rate(self.goals[caller].1)
    }

    /// Rows of a caller that miss the goal.
    fn missing(&self, caller: usize) -> Vec<&Row> {
        let misses = |row: &&Row| self.rate(&row.tallies[caller], caller) < self.goals[caller].0;
        self.rows.iter().filter(misses).collect()
    }

    fn whole(&self, caller: usize) -> Tally {
        let mut whole = Tally::default();
        for row in &self.rows {
            whole.merge(&row.tallies[caller]);
        }
        whole
    }

    fn met(&self) -> bool {
        (0..self.goals.len()).all(|caller| {
            let whole = self.whole(caller);
            let rates = if self.each {
                self.missing(caller).is_empty()
            } else {
                self.rate(&whole, caller) >= self.goals[caller].0
            };
            rates && whole.breaches == 0
        })
    }
}

impl Rehearse {
    pub(super) fn trials(&self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let grounds = self.grounds(streams)?;
        let practice = &grounds[0].believed.practice;
        let mut callers: Vec<Caller> =
            [Caller::technician(practice), Caller::on_the_phone(practice)].into_iter().flatten().collect();
        if callers.len() < 2 {
            return Err(Failure::new("the package has no `electrician` and no `anyone` to play"));
        }
        for caller in &mut callers {
            caller.cannot_tell = self.cannot_tell;
            caller.errs = self.errs;
        }
        let threads =
            self.threads.unwrap_or_else(|| std::thread::available_parallelism().map_or(1, Into::into));
        let plan = |calls| Plan { calls, seed: self.seed, threads, budget: Effort::Quick.budget() };
        let mut sheets = Vec::new();
        if let Some(calls) = self.each_cause {
            let rows = trials::each_cause(&grounds, &callers, self.only.as_deref(), &plan(calls));
            let goals = vec![(TECHNICIAN, false), (PHONE, true)];
            sheets.push(Sheet { title: "Each cause by itself", rows, goals, each: true });
        }
        if let Some(calls) = self.pairs {
            let rows = trials::pairs(&grounds, &callers[..1], &plan(calls));
            sheets.push(Sheet { title: "Random pairs", rows, goals: vec![(PAIR, false)], each: false });
        }
        if self.json {
            let sheets: Vec<Value> = sheets.iter().map(|sheet| as_json(sheet, &callers)).collect();
            open::write_json(streams, &json!({"format": 1, "seed": self.seed, "trials": sheets}))?;
        } else {
            let mut page = Page::new(streams.out);
            for sheet in &sheets {
                shown(&mut page, sheet, &callers);
                if self.missed {
                    misses(&mut page, sheet, &grounds);
                }
            }
            streams.result(&page.finish())?;
        }
        Ok(if sheets.iter().all(Sheet::met) { ExitStatus::Done } else { ExitStatus::No })
    }

    /// The sheet that was named at its stage, or all built-in ones; then the same at the other stages, for causes that are
    /// not there before.
    fn grounds(&self, streams: &Streams) -> Result<Vec<Ground>, Failure> {
        let sheet = self.job.as_deref().map(SheetFile::at).transpose()?;
        let (knowledge, read) = open::opened(&self.knowledge, sheet, streams)?;
        let jobs = match read {
            Some(read) => vec![read],
            None => open::demo_jobs(&knowledge, streams)?,
        };
        if jobs.is_empty() {
            return Err(
                Failure::new("no built-in job sheet is for this package").hint("name one: `--job FILE`")
            );
        }
        let own = |at: usize| open::stage(self.stage, Some(&jobs[at].0));
        let mut order: Vec<(usize, Stage)> = (0..jobs.len()).map(|at| (at, own(at))).collect();
        if self.stage.is_none() {
            for stage in Stage::ALL {
                order.extend((0..jobs.len()).filter(|&at| own(at) != stage).map(|at| (at, stage)));
            }
        }
        order
            .into_iter()
            .map(|(at, stage)| {
                let (job, sources) = &jobs[at];
                let model = open::compile(&knowledge, Some(job), stage, sources, streams)?;
                Ok(Ground::new(format!("{}, {}", job.id, stage.id()), model))
            })
            .collect()
    }
}

fn percent(rate: f64) -> String {
    format!("{:.1} %", 100.0 * rate)
}

fn line(name: &str, tally: &Tally, rate: f64) -> String {
    let (questions, minutes) =
        (tally.median_questions().unwrap_or_default(), tally.median_minutes().unwrap_or_default());
    let mut line = format!(
        "{name}: {} of {} calls found, medians {questions} questions, {}",
        percent(rate),
        tally.calls,
        crate::export::minutes(minutes)
    );
    for (count, what) in [
        (tally.handed_over, "handed over"),
        (tally.silent, "without a complaint"),
        (tally.endless, "without an end"),
        (tally.breaches, "UNSAFE STEPS"),
    ] {
        if count > 0 {
            line += &format!("; {count} {what}");
        }
    }
    line
}

fn shown(page: &mut Page, sheet: &Sheet, callers: &[Caller]) {
    page.heading(sheet.title);
    for row in &sheet.rows {
        page.line(&format!("{} ({})", row.kind, row.ground));
        for (at, tally) in row.tallies.iter().enumerate() {
            let miss =
                if tally.calls > 0 && sheet.rate(tally, at) < sheet.goals[at].0 { "  << " } else { "" };
            page.under(&format!("{}{miss}", line(&callers[at].name, tally, sheet.rate(tally, at))));
        }
    }
    page.gap();
    page.line("All together");
    for (at, (goal, _)) in sheet.goals.iter().enumerate() {
        let whole = sheet.whole(at);
        page.under(&line(&callers[at].name, &whole, sheet.rate(&whole, at)));
        let missing = sheet.missing(at);
        if sheet.each {
            page.under(&format!("below {}: {} of {}", percent(*goal), missing.len(), sheet.rows.len()));
        }
    }
}

/// The calls that missed the goal of their caller.
fn misses(page: &mut Page, sheet: &Sheet, grounds: &[Ground]) {
    for row in &sheet.rows {
        let Some(ground) = grounds.iter().find(|ground| ground.name == row.ground) else { continue };
        for (missed, (_, hands)) in row.missed.iter().zip(&sheet.goals) {
            for played in missed.iter().filter(|played| !hands || !played.found_or_right_hand()) {
                page.gap();
                missed::shown(page, &ground.believed, played);
            }
        }
    }
}

fn as_json(sheet: &Sheet, callers: &[Caller]) -> Value {
    let tally = |tally: &Tally, at: usize| {
        json!({
            "who": callers[at].name,
            "calls": tally.calls,
            "rate": sheet.rate(tally, at),
            "goal": sheet.goals[at].0,
            "found": tally.found,
            "found_or_right_hand": tally.found_or_right_hand,
            "proven": tally.proven,
            "handed_over": tally.handed_over,
            "silent": tally.silent,
            "endless": tally.endless,
            "unsafe_steps": tally.breaches,
            "median_questions": tally.median_questions(),
            "median_minutes": tally.median_minutes(),
        })
    };
    let rows = sheet.rows.iter().map(|row| {
        let tallies = row.tallies.iter().enumerate().map(|(at, t)| tally(t, at));
        json!({"kind": row.kind, "ground": row.ground, "callers": tallies.collect::<Vec<_>>()})
    });
    let whole = (0..sheet.goals.len()).map(|at| tally(&sheet.whole(at), at));
    json!({
        "title": sheet.title,
        "rows": rows.collect::<Vec<_>>(),
        "whole": whole.collect::<Vec<_>>(),
        "met": sheet.met(),
    })
}
