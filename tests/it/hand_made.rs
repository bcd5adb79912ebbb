//! Models made by hand and models drawn at random, small enough to be enumerated, with everything that a session can
//! meet: doors, lockout, needs, steps that reclose, things left behind, a screen that says fire. All names are invented.

use std::sync::{Arc, OnceLock};

use whytrip::knowledge::{Knowledge, load_embedded};
use whytrip::model::Model;
use whytrip::model::catalog::{Act, Cause, Condition, Finding, Fix, Gives, Ids, Stage, Symptom, Test, Unit};
use whytrip::model::index::{
    CauseIx, CompetenceIx, ConditionIx, EnclosureIx, FindingIx, FixIx, HazardIx, PlaceIx, TestIx, UnitIx,
    WorkStateIx,
};
use whytrip::model::network::{NetworkBuilder, Source};
use whytrip::model::practice::{
    BitSet, Competence, Emergency, Enclosure, HandOver, Hazard, Instrument, Meanwhile, Place, Practice,
    Signal, Terms, WorkState,
};
use whytrip::session::{Event, Mentioned, ModelSource, Packaged, Session, What, Who};
use whytrip::source::Sources;

/// A model that is always the same, whatever is mentioned.
#[derive(Debug)]
pub struct Always(pub Model);

impl ModelSource for Always {
    fn knowledge(&self) -> &str {
        "hand-made"
    }

    fn job(&self) -> Option<&str> {
        None
    }

    fn compile(&self, _: Stage, _: &Mentioned) -> Result<Model, String> {
        Ok(self.0.clone())
    }
}

/// A person of one competence, with what such a person carries.
pub fn who(competence: &str) -> Who {
    Who { name: String::new(), competences: vec![competence.to_owned()], instruments: None }
}

/// An event at the time of its number.
pub fn at(no: usize, what: What) -> Event {
    Event { at: 1_000 * no as i64, what }
}

/// A session over `model` with that person.
pub fn session(model: Model, competence: &str) -> Session {
    begin(Arc::new(Always(model)), competence)
}

/// A session over the models of `source` with that person.
pub fn begin(source: Arc<dyn ModelSource>, competence: &str) -> Session {
    let (knowledge, job) = (source.knowledge().to_owned(), source.job().map(str::to_owned));
    let started = What::Started { knowledge, job, stage: Stage::InService, who: who(competence) };
    Session::start(source, at(0, started)).unwrap()
}

/// The shipped package over the largest of its demo jobs, which is invented.
pub fn shipped() -> Arc<dyn ModelSource> {
    static SHIPPED: OnceLock<Arc<dyn ModelSource>> = OnceLock::new();
    SHIPPED.get_or_init(|| demo_job("tin-whistle.yaml")).clone()
}

/// The shipped package over that demo job.
pub fn demo_job(sheet: &str) -> Arc<dyn ModelSource> {
    static KNOWLEDGE: OnceLock<Arc<Knowledge>> = OnceLock::new();
    let load = || Arc::new(load_embedded("kitchen-ventilation").knowledge.unwrap());
    let knowledge = KNOWLEDGE.get_or_init(load).clone();
    let text = std::fs::read(crate::support::root().join("knowledge/demo").join(sheet)).unwrap();
    let (job, _) = whytrip::job::read(&knowledge, &mut Sources::new(), sheet, text);
    Arc::new(Packaged::new(knowledge, job))
}

/// The files of the demo jobs of that package, in order.
pub fn demo_jobs() -> Vec<String> {
    let folder = std::fs::read_dir(crate::support::root().join("knowledge/demo")).unwrap();
    let mut sheets: Vec<String> =
        folder.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    let knowledge = load_embedded("kitchen-ventilation").knowledge.unwrap();
    sheets.retain(|sheet| {
        let text = std::fs::read(crate::support::root().join("knowledge/demo").join(sheet)).unwrap();
        let (job, problems) = whytrip::job::read(&knowledge, &mut Sources::new(), sheet, text);
        job.is_some() && !problems.iter().any(|problem| problem.is_error())
    });
    sheets.sort();
    sheets
}

pub const ANYONE: CompetenceIx = CompetenceIx(0);
pub const ELECTRICIAN: CompetenceIx = CompetenceIx(2);
pub const LOCKED_OUT: WorkStateIx = WorkStateIx(1);

/// The practice of an invented firm: three competences of the trade, a fire contractor, two work states.
pub fn practice() -> Practice {
    let competence =
        |id: &str, covers: &[usize], carries: &[usize], trust: f64, minutes: Option<f64>| Competence {
            id: id.into(),
            name: format!("a person: {id}"),
            covers: covers.iter().fold(BitSet::default(), |set, &at| set.with(at)),
            carries: carries.iter().fold(BitSet::default(), |set, &at| set.with(at)),
            also: vec![id.into()],
            trust,
            hand_over: minutes.map(|minutes| HandOver {
                minutes,
                say: format!("Send {id}."),
                not_meanwhile: vec![format!("Leave it alone until {id} is there.")],
            }),
        };
    let free = terms(0.0);
    Practice {
        on_the_spot: Vec::new(),
        grounds: Vec::new(),
        notice: vec!["Local codes and the maker's instructions come first.".into(), "This is advice.".into()],
        competences: vec![
            competence("anyone", &[0], &[], 0.9, None),
            competence("installer", &[0, 1], &[0], 0.95, Some(60.0)),
            competence("electrician", &[0, 1, 2], &[0, 1], 0.98, Some(90.0)),
            competence("fire-contractor", &[0, 3], &[], 0.98, Some(240.0)),
        ],
        instruments: ["multimeter", "voltage-tester", "ladder"]
            .map(|id| Instrument { id: id.into(), name: format!("a {id}"), also: vec![] })
            .into(),
        places: vec![
            Place { id: "panel".into(), name: "at the panel".into(), minutes: 0.0, also: vec![] },
            Place { id: "roof".into(), name: "on the roof".into(), minutes: 10.0, also: vec![] },
        ],
        work_states: vec![
            WorkState {
                id: "energised".into(),
                name: "energised".into(),
                steps: vec![],
                enter: free.clone(),
                back_steps: vec![],
                back: free.clone(),
                also: vec!["live".into()],
            },
            WorkState {
                id: "locked-out".into(),
                name: "locked out and proven dead".into(),
                steps: [
                    "Off at every supply.",
                    "Lock and tag.",
                    "Wait, measure the link.",
                    "Prove live, dead, live.",
                ]
                .map(Into::into)
                .into(),
                enter: Terms {
                    minutes: Some(15.0),
                    competence: ELECTRICIAN,
                    instruments: BitSet::default().with(1),
                    hazards: vec![HazardIx(0)],
                    ..free.clone()
                },
                back_steps: ["Everything landed, covers shut.", "Own lock off, switch on."]
                    .map(Into::into)
                    .into(),
                back: Terms {
                    minutes: Some(5.0),
                    competence: ELECTRICIAN,
                    hazards: vec![HazardIx(0)],
                    ..free
                },
                also: vec!["locked".into()],
            },
        ],
        enclosures: vec![Enclosure {
            id: "door".into(),
            name: "the panel's door".into(),
            opened_by: BitSet::default().with(2),
            hazards: vec![HazardIx(0), HazardIx(2)],
        }],
        hazards: vec![
            Hazard { id: "live".into(), signal: Signal::Danger, caution: "Live parts can kill.".into() },
            Hazard { id: "edge".into(), signal: Signal::Warning, caution: "Keep away from the edge.".into() },
            Hazard { id: "sharp".into(), signal: Signal::Caution, caution: "Sharp sheet metal.".into() },
            Hazard {
                id: "board".into(),
                signal: Signal::Notice,
                caution: "A board is easily destroyed.".into(),
            },
        ],
        emergencies: vec![
            emergency("smoke", &["smoke"], &[]),
            emergency("gas", &["smell of gas"], &[]),
            emergency("fire-shown", &[], &[("panel", "fire-shown")]),
        ],
        meanwhile: vec![Meanwhile {
            id: "by-hand".into(),
            act: "Run the fan by hand.".into(),
            put_back: "Back to automatic.".into(),
        }],
        labour_per_hour: 90.0,
        currency: "USD".into(),
        unlisted: HandOver { minutes: 300.0, say: "Ask the maker.".into(), not_meanwhile: vec![] },
    }
}

fn emergency(id: &str, words: &[&str], shown_by: &[(&str, &str)]) -> Emergency {
    Emergency {
        id: id.into(),
        words: words.iter().map(|&word| word.into()).collect(),
        not: vec![],
        ask: format!("Is there {id}?"),
        act: vec![format!("Get out: {id}.")],
        all_clear: format!("Is {id} over?"),
        shown_by: shown_by.iter().map(|&(component, name)| (component.into(), name.into())).collect(),
        cleared_with: vec![],
    }
}

/// Terms of a step that anyone can do at the panel in any work state.
pub fn terms(minutes: f64) -> Terms {
    Terms {
        minutes: Some(minutes),
        place: PlaceIx(0),
        work_state: None,
        inside: None,
        competence: ANYONE,
        instruments: BitSet::default(),
        hazards: vec![],
        leaves: vec![],
        recloses: false,
    }
}

/// Puts a model together; the numbers and the words grow side by side.
#[derive(Default)]
pub struct Maker {
    network: NetworkBuilder,
    units: Vec<Unit>,
    causes: Vec<Cause>,
    conditions: Vec<Condition>,
    findings: Vec<Finding>,
    tests: Vec<Test>,
    fixes: Vec<Fix>,
}

impl Maker {
    pub fn unit(&mut self, id: &str) -> UnitIx {
        self.units.push(Unit {
            id: id.into(),
            name: format!("the {id}"),
            also: vec![],
            component: id.trim_end_matches(char::is_numeric).trim_end_matches('-').into(),
            partners: vec![],
            kind_words: vec![],
            place: PlaceIx(0),
            implied: false,
            nameplate: vec![],
        });
        UnitIx::new(self.units.len() - 1)
    }

    fn id(&self, unit: UnitIx, name: &str) -> String {
        format!("{}/{name}", self.units[unit.at()].id)
    }

    pub fn cause(&mut self, unit: UnitIx, name: &str, prior: f64) -> CauseIx {
        let id = self.id(unit, name);
        self.causes.push(Cause {
            name: format!("cause {id}"),
            id,
            unit: Some(unit),
            note: String::new(),
            sources: vec![],
        });
        self.network.cause(prior)
    }

    pub fn condition(&mut self, unit: UnitIx, name: &str, leak: f64) -> ConditionIx {
        let id = self.id(unit, name);
        self.conditions.push(Condition { name: format!("condition {id}"), id, unit: Some(unit) });
        self.network.condition(leak)
    }

    fn finding(
        &mut self,
        unit: UnitIx,
        name: &str,
        outcomes: &[&str],
        leak: &[f64],
        symptom: Option<Symptom>,
    ) -> FindingIx {
        let id = self.id(unit, name);
        let component = self.units[unit.at()].component.clone();
        self.findings.push(Finding {
            name: format!("finding {id}"),
            id,
            unit: Some(unit),
            kind: (component, name.into()),
            outcomes: outcomes.iter().map(|&outcome| outcome.into()).collect(),
            also: vec![Vec::new(); outcomes.len()],
            test: TestIx::new(self.tests.len()),
            symptom,
        });
        self.network.finding(outcomes.len(), leak)
    }

    /// A test of one finding of its own name; outcomes yes, no unless given.
    pub fn test(
        &mut self,
        unit: UnitIx,
        name: &str,
        outcomes: &[&str],
        leak: &[f64],
        terms: Terms,
    ) -> FindingIx {
        let finding = self.finding(unit, name, outcomes, leak, None);
        self.push_test(unit, name, finding, terms);
        finding
    }

    pub fn symptom(&mut self, unit: UnitIx, name: &str, leak: f64, terms: Terms) -> FindingIx {
        let symptom = Symptom {
            say: format!("{} is {name}", self.units[unit.at()].name),
            also: vec![],
            prove_under: "full load".into(),
            prove_minutes: 5.0,
        };
        let finding = self.finding(unit, name, &["no", "yes"], &[leak], Some(symptom));
        self.push_test(unit, name, finding, terms);
        finding
    }

    fn push_test(&mut self, unit: UnitIx, name: &str, finding: FindingIx, terms: Terms) {
        let id = self.id(unit, name);
        self.tests.push(Test {
            say: format!("Look at {id}."),
            say_to_caller: format!("Please look at {id}."),
            id,
            unit: Some(unit),
            act: Act::Look,
            how: String::new(),
            expect: String::new(),
            gives: vec![Gives { finding, scale: None, fault_table: None, class: None, complaint: None }],
            reading: None,
            needs: vec![],
            trust: None,
            terms,
            sources: vec![],
        });
    }

    pub fn last_test(&mut self) -> &mut Test {
        self.tests.last_mut().unwrap()
    }

    pub fn fix(&mut self, unit: UnitIx, name: &str, removes: &[(CauseIx, f64)], terms: Terms) -> &mut Fix {
        let ix = self.network.fix();
        for &(cause, chance) in removes {
            self.network.remove(ix, cause, chance);
        }
        let id = self.id(unit, name);
        self.fixes.push(Fix {
            steps: vec![format!("Put {id} right.")],
            id,
            unit: Some(unit),
            say_to_caller: String::new(),
            not_for: vec![],
            needs: vec![],
            parts: vec![("a part".into(), 4.0)],
            temporary: false,
            terms,
            sources: vec![],
        });
        self.fixes.last_mut().unwrap()
    }

    pub fn shows(&mut self, source: Source, finding: FindingIx, chances: &[f64]) {
        self.network.show(source, finding, chances);
    }

    pub fn brings(&mut self, source: Source, condition: ConditionIx, chance: f64) {
        self.network.bring(source, condition, chance);
    }

    pub fn leads(&mut self, leader: CauseIx, led: CauseIx, chance: f64) {
        self.network.lead(leader, led, chance);
    }

    pub fn model(mut self) -> Model {
        // The practice lists hazards worst first, and so does every step.
        let terms = self.tests.iter_mut().map(|test| &mut test.terms);
        for terms in terms.chain(self.fixes.iter_mut().map(|fix| &mut fix.terms)) {
            terms.hazards.sort_unstable();
        }
        let ids = Ids {
            causes: self.causes.iter().enumerate().map(|(at, c)| (c.id.clone(), CauseIx::new(at))).collect(),
            conditions: self
                .conditions
                .iter()
                .enumerate()
                .map(|(at, c)| (c.id.clone(), ConditionIx::new(at)))
                .collect(),
            findings: self
                .findings
                .iter()
                .enumerate()
                .map(|(at, f)| (f.id.clone(), FindingIx::new(at)))
                .collect(),
            tests: self.tests.iter().enumerate().map(|(at, t)| (t.id.clone(), TestIx::new(at))).collect(),
            fixes: self.fixes.iter().enumerate().map(|(at, f)| (f.id.clone(), FixIx::new(at))).collect(),
        };
        let model = Model {
            connections: Vec::new(),
            procedure: Default::default(),
            network: self.network.build().unwrap(),
            stage: Stage::InService,
            practice: practice(),
            units: self.units,
            causes: self.causes,
            conditions: self.conditions,
            findings: self.findings,
            tests: self.tests,
            fixes: self.fixes,
            ids,
        };
        whytrip::model::verify::verify(&model).unwrap();
        model
    }
}

/// Two fans with a shared supply, a fire contact on the screen, a breaker that may be reclosed once it is found safe.
pub fn kitchen() -> Model {
    let mut maker = Maker::default();
    let (panel, fan1, fan2) = (maker.unit("panel"), maker.unit("fan-1"), maker.unit("fan-2"));
    let electrician = |minutes| Terms { competence: ELECTRICIAN, ..terms(minutes) };
    let locked = |minutes| Terms { work_state: Some(LOCKED_OUT), ..electrician(minutes) };

    let tripped = maker.cause(panel, "breaker-tripped", 0.02);
    let contact = maker.cause(panel, "contact-open", 0.01);
    let unpowered = maker.condition(panel, "dead", 0.001);
    maker.brings(Source::Cause(tripped), unpowered, 0.99);
    let fire = maker.symptom(panel, "fire-shown", 0.0, terms(1.0));
    maker.shows(Source::Cause(contact), fire, &[0.95]);
    let dark = maker.test(panel, "lamp-lit", &["yes", "no"], &[0.01], terms(1.0));
    maker.shows(Source::Condition(unpowered), dark, &[0.97]);
    let safe = maker.test(
        panel,
        "circuit-safe",
        &["yes", "no"],
        &[0.05],
        Terms {
            inside: Some(EnclosureIx(0)),
            hazards: vec![HazardIx(2), HazardIx(0)],
            leaves: vec!["Land the lifted conductor.".into()],
            ..locked(15.0)
        },
    );
    let reset =
        maker.fix(panel, "switch-on", &[(tripped, 0.9)], Terms { recloses: true, ..electrician(2.0) });
    reset.needs = vec![(safe, 0)];
    maker.fix(
        panel,
        "land-contact",
        &[(contact, 0.95)],
        Terms { competence: CompetenceIx(3), ..terms(20.0) },
    );

    for fan in [fan1, fan2] {
        let motor = maker.cause(fan, "motor-burnt", 0.01);
        let belt = maker.cause(fan, "belt-off", 0.03);
        let dead = maker.symptom(fan, "dead", 0.001, terms(1.0));
        maker.shows(Source::Cause(motor), dead, &[0.99]);
        maker.shows(Source::Cause(belt), dead, &[0.9]);
        maker.shows(Source::Condition(unpowered), dead, &[0.99]);
        let hums = maker.test(
            fan,
            "hums",
            &["no", "yes"],
            &[0.02],
            Terms { work_state: Some(WorkStateIx(0)), ..terms(2.0) },
        );
        maker.shows(Source::Cause(belt), hums, &[0.8]);
        maker.last_test().needs = vec![(dark, 0)];
        let slack = maker.test(
            fan,
            "belt",
            &["on", "slack", "off"],
            &[0.01, 0.001],
            Terms {
                place: PlaceIx(1),
                competence: CompetenceIx(1),
                hazards: vec![HazardIx(1)],
                ..terms(6.0)
            },
        );
        maker.shows(Source::Cause(belt), slack, &[0.1, 0.9]);
        maker.fix(
            fan,
            "renew-belt",
            &[(belt, 0.97)],
            Terms {
                place: PlaceIx(1),
                hazards: vec![HazardIx(1), HazardIx(0)],
                leaves: vec!["Guard back on.".into()],
                ..locked(20.0)
            },
        );
        maker.fix(fan, "renew-motor", &[(motor, 0.97)], Terms { place: PlaceIx(1), ..locked(60.0) });
        let slow = maker.fix(fan, "slow-down", &[(motor, 0.2)], terms(3.0));
        slow.temporary = true;
    }
    maker.model()
}

/// A small stream of numbers from a seed (xorshift64*, Vigna 2016).
pub struct Draw(u64);

impl Draw {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    pub fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        ((self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) as usize) % n.max(1)
    }

    pub fn chance(&mut self) -> f64 {
        (1 + self.below(98)) as f64 / 100.0
    }

    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    fn terms(&mut self) -> Terms {
        let mut drawn = terms((1 + self.below(20)) as f64);
        drawn.place = PlaceIx::new(self.below(2));
        drawn.competence = CompetenceIx::new([0, 0, 0, 1, 2, 3][self.below(6)]);
        if self.one_in(3) {
            drawn.instruments = drawn.instruments.with(self.below(3));
        }
        drawn.work_state = [None, None, Some(WorkStateIx(0)), Some(LOCKED_OUT)][self.below(4)];
        if self.one_in(4) {
            drawn.inside = Some(EnclosureIx(0));
        }
        for at in 0..4 {
            if self.one_in(4) {
                drawn.hazards.push(HazardIx(at));
            }
        }
        if self.one_in(3) {
            drawn.leaves.push(format!("Put back {}.", self.below(5)));
        }
        drawn
    }
}

/// A model drawn at random: up to five causes, a condition, three symptoms, four tests, four fixes.
pub fn drawn(seed: u64) -> Model {
    let draw = &mut Draw::new(seed);
    let mut maker = Maker::default();
    let units = [maker.unit("panel"), maker.unit("fan-1"), maker.unit("fan-2")];
    let mut causes = Vec::new();
    for at in 0..2 + draw.below(4) {
        let unit = units[draw.below(3)];
        let prior = 0.01 + 0.3 * draw.chance();
        causes.push(maker.cause(unit, &format!("cause-{at}"), prior));
    }
    let mut sources: Vec<Source> = causes.iter().map(|&cause| Source::Cause(cause)).collect();
    if draw.one_in(2) {
        let condition = maker.condition(units[0], "condition", 0.01);
        let bringing = causes[draw.below(causes.len())];
        maker.brings(Source::Cause(bringing), condition, draw.chance());
        sources.push(Source::Condition(condition));
    }
    if draw.one_in(3) {
        maker.leads(causes[0], causes[1], draw.chance());
    }
    let mut findings = Vec::new();
    if draw.one_in(3) {
        findings.push((maker.symptom(units[0], "fire-shown", 0.01, terms(1.0)), 2));
    }
    for unit in [units[1], units[2]] {
        let symptom_terms = if draw.one_in(3) { draw.terms() } else { terms(1.0) };
        findings.push((maker.symptom(unit, "dead", 0.01, symptom_terms), 2));
    }
    for at in 0..1 + draw.below(4) {
        let unit = units[draw.below(3)];
        let outcomes: &[&str] = [&["yes", "no"][..], &["fine", "low", "none"]][draw.below(2)];
        let drawn_terms = draw.terms();
        let finding = maker.test(unit, &format!("test-{at}"), outcomes, &[0.02], drawn_terms);
        if draw.one_in(3) {
            let (need, count) = findings[draw.below(findings.len())];
            maker.last_test().needs = vec![(need, draw.below(count))];
            maker.last_test().terms.recloses = draw.one_in(2);
        }
        findings.push((finding, outcomes.len()));
    }
    for &(finding, outcomes) in &findings {
        for _ in 0..1 + draw.below(2) {
            let source = sources[draw.below(sources.len())];
            let first = draw.chance();
            let chances = if outcomes == 2 { vec![first] } else { vec![0.5 * first, 0.4 * draw.chance()] };
            maker.shows(source, finding, &chances);
        }
    }
    for at in 0..1 + draw.below(4) {
        let unit = units[draw.below(3)];
        let removed = causes[draw.below(causes.len())];
        let (chance, fix_terms) = (draw.chance(), draw.terms());
        let (temporary, needs) = (draw.one_in(4), draw.one_in(4));
        let (need, count) = findings[draw.below(findings.len())];
        let outcome = draw.below(count);
        let recloses = draw.one_in(2);
        let fix = maker.fix(unit, &format!("fix-{at}"), &[(removed, chance)], fix_terms);
        fix.temporary = temporary;
        if needs {
            fix.needs = vec![(need, outcome)];
            fix.terms.recloses = recloses;
        }
    }
    maker.model()
}
