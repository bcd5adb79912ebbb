//! What people read and do: units, findings, tests and fixes of every instance, with texts filled in.

use super::practice::{Whereabouts, terms, with_door_shut};
use super::site::Site;
use super::story::{Arrow, Story, items};
use crate::job::Job;
use crate::knowledge::{self, Citation, Component, Gives as Given, Name, Reference, Text, Via};
use crate::model::catalog::{
    Cause, Condition, FaultTable, Finding, Fix, Gives, Part, PlateKey, Reading, Scale, Symptom, Test, Unit,
};
use crate::model::index::{FindingIx, PlaceIx, TestIx, UnitIx};
use crate::model::practice::{Practice, Terms};
use crate::source::Span;

/// The catalogue in the making.
#[derive(Default)]
pub(super) struct Steps {
    pub units: Vec<Unit>,
    pub causes: Vec<Cause>,
    pub conditions: Vec<Condition>,
    pub findings: Vec<Finding>,
    pub tests: Vec<Test>,
    pub fixes: Vec<Fix>,
    /// From a test to one whose finding it needs.
    pub needs: Vec<Arrow>,
}

pub(super) fn steps(site: &Site<'_>, job: Option<&Job>, story: &Story, practice: &Practice) -> Steps {
    let mut steps = Steps {
        units: site.units.iter().map(|u| unit(site, u.instance, practice)).collect(),
        ..Steps::default()
    };
    partners(site, &mut steps.units);
    for at in 0..site.instances.len() {
        let own = Own { site, job, story, practice, at };
        own.causes_and_conditions(&mut steps);
        own.findings_and_tests(&mut steps);
        own.fixes(&mut steps);
    }
    // Needs speak of findings of any instance, so they wait until all are there.
    for at in 0..site.instances.len() {
        Own { site, job, story, practice, at }.needs(&mut steps);
    }
    steps
}

fn unit(site: &Site<'_>, instance: usize, practice: &Practice) -> Unit {
    let own = &site.instances[instance];
    let at = own.unit.expect("an instance of a unit");
    let (said, implied) = (&site.units[at].said, site.units[at].implied);
    let place = site.place(at).and_then(|p| practice.places.iter().position(|place| place.id == *p));
    let component = own.component;
    let key = |key: &knowledge::NameplateKey| PlateKey {
        id: key.id.value.clone(),
        measured_in: key.measured_in.as_ref().map(|m| m.value.clone()),
        ask: key.ask.as_ref().map_or_else(String::new, |text| site.fill(instance, text)),
        about: key.about.as_ref().map_or_else(String::new, |text| text.value.clone()),
        one_of: key.one_of.iter().map(|o| o.value.clone()).collect(),
        value: said.nameplate.get(&key.id.value).cloned(),
    };
    let kind_words = std::iter::once(&component.title).chain(&component.also).map(|text| text.value.clone());
    Unit {
        id: said.id.clone(),
        name: if said.name.is_empty() { said.id.clone() } else { said.name.clone() },
        also: said.also.clone(),
        component: component.id.value.clone(),
        kind_words: kind_words.collect(),
        partners: Vec::new(),
        place: PlaceIx::new(place.unwrap_or(0)),
        implied,
        nameplate: component.nameplate.iter().map(key).collect(),
    }
}

/// Fills in the units that belong together one to one.
fn partners(site: &Site<'_>, units: &mut [Unit]) {
    for (at, unit) in site.units.iter().enumerate() {
        let own = &site.instances[unit.instance];
        let relations = own.component.relations.iter().enumerate().filter(|(_, relation)| relation.own);
        let reached = relations.flat_map(|(number, _)| site.reached(unit.instance, Via::Relation(number)));
        for other in reached.filter_map(|&instance| site.instances[instance].unit) {
            units[at].partners.push(UnitIx::new(other));
            units[other].partners.push(UnitIx::new(at));
        }
    }
    for unit in units {
        unit.partners.sort_unstable();
        unit.partners.dedup();
    }
}

/// One instance, with everything that its steps are made from.
struct Own<'a> {
    site: &'a Site<'a>,
    job: Option<&'a Job>,
    story: &'a Story,
    practice: &'a Practice,
    at: usize,
}

impl Own<'_> {
    fn component(&self) -> &Component {
        self.site.instances[self.at].component
    }

    fn unit(&self) -> Option<UnitIx> {
        self.site.instances[self.at].unit.map(UnitIx::new)
    }

    fn id(&self, name: &Name) -> String {
        format!("{}/{}", self.site.instances[self.at].id, name.value)
    }

    fn fill(&self, text: &Text) -> String {
        self.site.fill(self.at, text)
    }

    fn optional(&self, text: Option<&Text>) -> String {
        text.map_or_else(String::new, |text| self.fill(text))
    }

    fn all(&self, texts: &[Text]) -> Vec<String> {
        texts.iter().map(|text| self.fill(text)).collect()
    }

    fn causes_and_conditions(&self, steps: &mut Steps) {
        let indices = &self.story.indices[self.at];
        for (cause, _) in self.component().causes.iter().zip(&indices.causes).filter(|(_, ix)| ix.is_some()) {
            steps.causes.push(Cause {
                id: self.id(&cause.id),
                name: self.fill(&cause.name),
                unit: self.unit(),
                note: self.optional(cause.note.as_ref()),
                sources: shown(&cause.sources),
            });
        }
        let there =
            self.component().conditions.iter().zip(&indices.conditions).filter(|(_, ix)| ix.is_some());
        for (condition, _) in there {
            let (id, name) = (self.id(&condition.id), self.fill(&condition.name));
            steps.conditions.push(Condition { id, name, unit: self.unit() });
        }
    }

    /// Where a step that is done at `at` finds its unit.
    fn whereabouts(&self, at: Via) -> Whereabouts<'_> {
        let instance = match at {
            Via::Same => self.at,
            elsewhere => self.site.reached(self.at, elsewhere).first().copied().unwrap_or(self.at),
        };
        match self.site.instances[instance].unit {
            Some(unit) => {
                let said = &self.site.units[unit].said;
                let (place, inside) = (self.site.place(unit), said.inside.as_deref());
                Whereabouts { place, inside, read_at: place.filter(|_| at != Via::Same) }
            }
            None => Whereabouts::PANEL,
        }
    }

    fn terms(&self, terms_of: &knowledge::Terms, at: Via) -> Terms {
        terms(terms_of, self.practice, self.whereabouts(at), &|texts| self.all(texts))
    }

    fn findings_and_tests(&self, steps: &mut Steps) {
        let component = self.component();
        let finding =
            |steps: &mut Steps, finding: &knowledge::Finding, name: String, test: usize, symptom| {
                steps.findings.push(Finding {
                    id: self.id(&finding.id),
                    name,
                    unit: self.unit(),
                    kind: (component.id.value.clone(), finding.id.value.clone()),
                    outcomes: finding.outcomes.iter().map(|o| o.value.clone()).collect(),
                    also: finding.also.iter().map(|words| self.all(words)).collect(),
                    test: TestIx::new(test),
                    symptom,
                });
            };
        for (number, symptom) in component.symptoms.iter().enumerate() {
            let say = self.fill(&symptom.say);
            let name = symptom.finding.name.as_ref().map_or_else(|| say.clone(), |name| self.fill(name));
            let reported = Symptom {
                say: say.clone(),
                also: self.all(&symptom.also),
                prove_under: self.optional(symptom.proof.under.as_ref()),
                prove_minutes: symptom.proof.minutes,
            };
            finding(steps, &symptom.finding, name, steps.tests.len(), Some(reported));
            let ask = symptom.ask.as_ref().map_or_else(|| format!("{say}?"), |ask| self.fill(ask));
            steps.tests.push(Test {
                id: self.id(&symptom.finding.id),
                unit: self.unit(),
                act: knowledge::Act::Ask,
                say_to_caller: symptom.say_to_caller.as_ref().map_or_else(|| ask.clone(), |t| self.fill(t)),
                say: ask,
                how: String::new(),
                expect: String::new(),
                gives: vec![Gives {
                    finding: self.story.indices[self.at].symptoms[number],
                    scale: None,
                    fault_table: None,
                    class: None,
                    complaint: None,
                }],
                reading: None,
                needs: Vec::new(),
                trust: None,
                terms: self.terms(&symptom.terms, symptom.at),
                sources: shown(&symptom.sources),
            });
        }
        for (number, test) in component.tests.iter().enumerate() {
            let say = self.fill(&test.say);
            let numbers = self.story.indices[self.at].given[number].clone();
            let alone = test.gives.len() == 1;
            for gives in &test.gives {
                let name = match &gives.finding.name {
                    Some(name) => self.fill(name),
                    None if alone => say.clone(),
                    None => format!("{say}: {}", gives.finding.id.value),
                };
                finding(steps, &gives.finding, name, steps.tests.len(), None);
            }
            let id = self.id(&test.id);
            let mut cost = self.terms(&test.terms, test.at);
            if self.job.is_some_and(|job| job.door_shut.contains(&id)) {
                cost = with_door_shut(cost, &test.terms.hazards, self.practice);
            }
            steps.tests.push(Test {
                id,
                unit: self.unit(),
                act: test.act,
                say_to_caller: test.say_to_caller.as_ref().map_or_else(|| say.clone(), |t| self.fill(t)),
                say,
                how: self.all(&test.how).join("\n"),
                expect: self.optional(test.expect.as_ref()),
                gives: test.gives.iter().zip(numbers).map(|(gives, ix)| self.gives(gives, ix)).collect(),
                reading: (!test.readings.is_empty()).then(|| Reading {
                    parts: test.readings.iter().map(|reading| self.part(reading)).collect(),
                }),
                needs: Vec::new(),
                trust: test.trust,
                terms: cost,
                sources: shown(&test.sources),
            });
        }
    }

    fn part(&self, reading: &knowledge::Reading) -> Part {
        Part {
            id: reading.id.as_ref().map_or_else(String::new, |id| id.value.clone()),
            name: self.optional(reading.name.as_ref()),
            measured_in: reading.measured_in.value.clone(),
            count: reading.count,
        }
    }

    fn gives(&self, gives: &Given, finding: FindingIx) -> Gives {
        Gives {
            finding,
            scale: gives.scale.as_ref().map(|scale| self.scale(scale)),
            fault_table: gives.fault_table.then(|| self.fault_table(gives)),
            class: class_of(gives),
            complaint: gives.complaint.map(|symptom| self.story.indices[self.at].symptoms[symptom]),
        }
    }

    fn scale(&self, scale: &knowledge::Scale) -> Scale {
        let value = scale.value.as_ref().map(|value| value.value.clone());
        let names = value.iter().flat_map(|value| value.names());
        let (mut facts, mut unknown) = (Vec::new(), Vec::new());
        // What has no owner is read.
        for name in names.filter(|name| name.contains('.') || *name == "stage") {
            if let Some(value) = self.site.fact(self.at, name) {
                facts.push((name.clone(), value));
            } else if let Some((owner, key)) = name.split_once('.')
                && let Some(unit) = self.site.owner(self.at, owner)
            {
                unknown.push((UnitIx::new(unit), key.to_owned()));
            }
        }
        Scale { value, facts, unknown, accuracy: scale.accuracy, bands: scale.bands.clone() }
    }

    /// The unit's own fault numbers, as outcomes of this finding. A number whose class is no outcome here is left to be
    /// "tripped, class unknown"; the job sheet's check has said so.
    fn fault_table(&self, gives: &Given) -> FaultTable {
        let table = self.site.instances[self.at]
            .unit
            .and_then(|unit| self.job?.fault_tables.get(self.site.units[unit].said.fault_table.as_ref()?));
        let own = class_of(gives);
        let outcome = |class: &str| match &own {
            Some(own) => (own == class).then_some(1),
            None => gives.finding.outcomes.iter().position(|o| o.value == class),
        };
        let entries = table.into_iter().flatten().filter_map(|(number, class)| {
            Some((number.clone(), outcome(&class.class)?, class.label.clone()))
        });
        FaultTable { entries: entries.collect() }
    }

    fn fixes(&self, steps: &mut Steps) {
        for fix in &self.component().fixes {
            steps.fixes.push(Fix {
                id: self.id(&fix.id),
                unit: self.unit(),
                steps: self.all(&fix.steps),
                say_to_caller: self.optional(fix.say_to_caller.as_ref()),
                not_for: self.all(&fix.not_for),
                needs: Vec::new(),
                parts: fix.parts.iter().map(|part| (self.fill(&part.name), part.price)).collect(),
                temporary: fix.temporary,
                terms: self.terms(&fix.terms, Via::Same),
                sources: shown(&fix.sources),
            });
        }
    }

    /// Needs of tests and fixes, with the arrows from test to test.
    fn needs(&self, steps: &mut Steps) {
        let component = self.component();
        let found = |steps: &Steps, needs: &[(Reference, Name)]| -> Vec<(FindingIx, usize, Span)> {
            let all = needs.iter().flat_map(|(reference, outcome)| {
                items(self.site, self.at, reference).filter_map(|(instance, item)| {
                    let finding = self.story.indices[instance].finding(item)?;
                    let outcomes = &steps.findings[finding.at()].outcomes;
                    Some((finding, outcomes.iter().position(|o| *o == outcome.value)?, reference.span))
                })
            });
            all.collect()
        };
        for (fix, ix) in component.fixes.iter().zip(&self.story.indices[self.at].fixes) {
            let needs = found(steps, &fix.needs);
            steps.fixes[ix.at()]
                .needs
                .extend(needs.into_iter().map(|(finding, outcome, _)| (finding, outcome)));
        }
        for (number, test) in component.tests.iter().enumerate() {
            let Some(first) = self.story.indices[self.at].given[number].first() else { continue };
            let own = steps.findings[first.at()].test.at();
            for (finding, outcome, span) in found(steps, &test.needs) {
                let to = steps.findings[finding.at()].test.at();
                steps.needs.push(Arrow { from: own, to, span });
                steps.tests[own].needs.push((finding, outcome));
            }
        }
    }
}

/// Of a choice that can show several outcomes at once, the one that this finding is about.
fn class_of(gives: &Given) -> Option<String> {
    let choice = gives.several.as_ref()?;
    let class = gives.finding.id.value.strip_prefix(&*choice.value)?.strip_prefix('.')?;
    Some(class.to_owned())
}

/// Sources as they are shown beside a step.
pub(super) fn shown(sources: &[Citation]) -> Vec<String> {
    sources.iter().map(|citation| citation.short.clone()).collect()
}
