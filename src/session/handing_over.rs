//! The slip, filled in: whom to send, with what, what is known, what must not be done meanwhile.

use super::insight::Insight;
use super::prompt::Caution;
use super::records::Fate;
use super::slip::Slip;
use super::steps;
use super::work::Standing;
use crate::model::practice::{HandOver, Terms};
use crate::planner::{Sent, Step};

impl Insight<'_> {
    /// The slip for whom the planner would send; for whoever the best withheld step asks for where it sends nobody.
    pub(crate) fn slip(self) -> Slip {
        let model = self.model;
        let sent = self.sent();
        let competence = sent.competence.map(|at| &model.practice.competences[at.at()]);
        let unlisted = &model.practice.unlisted;
        let hand_over: &HandOver = competence.and_then(|form| form.hand_over.as_ref()).unwrap_or(unlisted);
        let parts = sent.parts.iter().filter_map(|&(fix, at)| model.fixes[fix.at()].parts.get(at));
        let names = |causes: &[crate::model::index::CauseIx]| {
            causes.iter().map(|cause| model.causes[cause.at()].name.clone()).collect::<Vec<String>>()
        };
        Slip {
            competence: competence.map_or_else(|| "unlisted".to_owned(), |form| form.id.clone()),
            name: competence.map(|form| form.name.clone()).unwrap_or_default(),
            say: hand_over.say.clone(),
            minutes: hand_over.minutes,
            instruments: steps::instruments(model, sent.instruments),
            parts: parts.map(|(name, _)| name.clone()).collect(),
            candidates: self.candidates().iter().map(|c| (names(&c.causes), c.probability)).collect(),
            not_meanwhile: hand_over.not_meanwhile.clone(),
            found: self.found(),
            done: self.done(),
            open: self.state.open(),
            work_state: self.work_state_name(),
            cautions: self.slip_cautions(&sent),
            notice: model.practice.notice.clone(),
        }
    }

    fn sent(self) -> Sent {
        if let Some((_, Step::HandOver(sent))) = self.walked()
            && sent.competence.is_some()
        {
            return sent.clone();
        }
        let Some(advice) = self.advice() else { return Sent::default() };
        let steps = std::iter::once(&advice.step).chain(advice.others.iter().map(|(step, _)| step));
        for step in steps {
            if let Step::HandOver(sent) = step {
                return sent.clone();
            }
        }
        let listed = |at: &crate::model::index::CompetenceIx| {
            self.model.practice.competences[at.at()].hand_over.is_some()
        };
        let withheld = advice.why.withheld.iter().find_map(|withheld| {
            let competence = withheld.competence.filter(listed)?;
            Some(Sent { competence: Some(competence), instruments: withheld.instruments, ..Sent::default() })
        });
        withheld.unwrap_or_default()
    }

    /// Cautions of what such a person would do.
    fn slip_cautions(self, sent: &Sent) -> Vec<Caution> {
        let fixes: Vec<&Terms> = sent.fixes.iter().map(|fix| &self.model.fixes[fix.at()].terms).collect();
        steps::cautions(self.model, fixes)
    }

    /// What was found and still holds, in order: name, outcome.
    pub(crate) fn found(self) -> Vec<(String, String)> {
        let model = self.model;
        let reports = self.state.records.reports.iter();
        let kept = reports
            .filter(|report| matches!(report.fate, Fate::Counts | Fate::NotCounted) && !report.implied);
        let mut found: Vec<(usize, String, String)> = kept
            .map(|report| {
                let name = model.findings[report.finding.at()].name.clone();
                (report.no, name, self.shown(report))
            })
            .collect();
        for group in self.state.records.groups.iter().filter(|group| group.fate == Fate::Counts) {
            let names: Vec<&str> = group.open.iter().map(|f| &*model.findings[f.at()].name).collect();
            found.push((
                group.no,
                names.join(" / "),
                steps::outcome_name(model, group.open[0], group.outcome),
            ));
        }
        found.sort_by_key(|line| line.0);
        found.into_iter().map(|(_, name, outcome)| (name, outcome)).collect()
    }

    /// What was done, in order.
    fn done(self) -> Vec<String> {
        let done = self.state.entries.iter().filter_map(|entry| match &entry.what {
            super::event::What::FixDone { fix, .. } => self.fix_name(fix),
            _ => None,
        });
        done.collect()
    }

    /// The work state by name, where it is confirmed.
    pub(crate) fn work_state_name(self) -> String {
        match self.state.work.standing {
            Standing::Known(at) => self.model.practice.work_states.get(at.at()).map(|form| form.name.clone()),
            _ => None,
        }
        .unwrap_or_default()
    }
}
