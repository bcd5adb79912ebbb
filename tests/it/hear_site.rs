//! An invented site for hearing tests: words only, no numbers of the story.

use whytrip::model::Model;
use whytrip::model::catalog::{
    Act, FaultTable, Finding, Gives, Ids, Part, Reading, Stage, Symptom, Test, Unit,
};
use whytrip::model::index::{CompetenceIx, FindingIx, PlaceIx, TestIx, UnitIx};
use whytrip::model::network::NetworkBuilder;
use whytrip::model::practice::{
    BitSet, Competence, Emergency, Instrument, Place, Practice, Terms, WorkState,
};
use whytrip::session::hear::{Kind, KindSymptom};

/// Symptoms of a component: name, say, also.
type Symptoms = &'static [(&'static str, &'static str, &'static [&'static str])];

const FAN: Symptoms = &[
    (
        "dead",
        "{unit} does not run",
        &["dead", "not turning", "stopped", "will not start", "standing still", "no air at all"],
    ),
    ("hums", "{unit} hums loudly", &["humming", "buzzing", "growling"]),
    ("backwards", "{unit} turns backwards", &["runs the wrong way", "spins in reverse", "turning backward"]),
    (
        "weak",
        "{unit} moves too little air",
        &["weak suction", "hood does not draw", "smoke spills out", "not pulling"],
    ),
    ("shakes", "{unit} shakes", &["vibrates", "rattling", "shaking like crazy"]),
];
const DRIVE: Symptoms = &[
    (
        "trips",
        "{unit} trips",
        &["fault on the drive", "drive faulted", "shuts down with a code", "keeps tripping"],
    ),
    (
        "dark",
        "The display of {unit} is dark",
        &["blank screen", "nothing on the display", "drive is dead", "no lights on the drive"],
    ),
    (
        "lost",
        "The screen says that {unit} does not answer",
        &["lost communication", "comm loss", "link lost", "offline"],
    ),
];
const CONTROLLER: Symptoms = &[
    ("fire", "The panel says fire", &["fire on the screen", "fire message", "shows fire alarm"]),
    (
        "sensors",
        "The panel says that sensors are missing",
        &["sensor missing", "missing temperature probe", "sensor fault"],
    ),
    ("screen-dark", "The operator screen is dark", &["screen is black", "screen dead", "screen blank"]),
    ("beeps", "The panel beeps", &["beeping", "buzzer sounds"]),
];

fn texts(all: &[&str]) -> Vec<String> {
    all.iter().map(|t| (*t).to_owned()).collect()
}

fn terms() -> Terms {
    Terms {
        minutes: Some(1.0),
        place: PlaceIx(0),
        work_state: None,
        inside: None,
        competence: CompetenceIx(0),
        instruments: BitSet::default(),
        hazards: vec![],
        leaves: vec![],
        recloses: false,
    }
}

fn practice() -> Practice {
    let competence = |id: &str, name: &str, also: &[&str]| Competence {
        id: id.into(),
        name: name.into(),
        covers: BitSet::default(),
        carries: BitSet::default(),
        also: texts(also),
        trust: 0.9,
        hand_over: None,
    };
    let instrument = |id: &str, name: &str, also: &[&str]| Instrument {
        id: id.into(),
        name: name.into(),
        also: texts(also),
    };
    let place = |id: &str, name: &str, also: &[&str]| Place {
        id: id.into(),
        name: name.into(),
        minutes: 1.0,
        also: texts(also),
    };
    let state = |id: &str, name: &str, also: &[&str]| WorkState {
        id: id.into(),
        name: name.into(),
        steps: vec![],
        enter: terms(),
        back_steps: vec![],
        back: terms(),
        also: texts(also),
    };
    let emergency = |id: &str, words: &[&str], not: &[&str]| Emergency {
        id: id.into(),
        words: texts(words),
        not: texts(not),
        ask: String::new(),
        act: vec![],
        all_clear: String::new(),
        shown_by: vec![],
        cleared_with: vec![],
    };
    Practice {
        competences: vec![
            competence("anyone", "anyone on site", &["the cook", "the manager", "kitchen staff"]),
            competence(
                "installer",
                "an installer or service technician",
                &["technician", "installer", "service tech"],
            ),
            competence("electrician", "a qualified electrician", &["electrician", "sparky"]),
            competence(
                "drive-specialist",
                "an electrician trained on the drive",
                &["drive technician", "controls engineer"],
            ),
            competence(
                "fire-contractor",
                "the licensed fire-suppression contractor",
                &["fire contractor", "fire company"],
            ),
        ],
        instruments: vec![
            instrument("multimeter", "multimeter", &["meter", "voltmeter"]),
            instrument("clamp-meter", "true-RMS clamp meter", &["clamp meter", "amp clamp", "clamp"]),
            instrument("tachometer", "contactless tachometer", &["tach"]),
        ],
        places: vec![
            place("panel", "at the panel", &["control panel"]),
            place("kitchen", "in the kitchen", &["cook line"]),
            place("roof", "on the roof", &["rooftop", "up top"]),
        ],
        work_states: vec![
            state("energised", "energised", &["power is on"]),
            state("locked-out", "locked out and proven dead", &["locked out", "tagged out", "isolated"]),
        ],
        emergencies: vec![
            emergency(
                "fire-or-smoke",
                &["fire", "flames", "smoke", "smoking", "on fire", "it is burning", "sparks", "arcing"],
                &[
                    "no fire",
                    "no smoke",
                    "fire contractor",
                    "fire company",
                    "fire contact",
                    "smoke spills",
                    "smoke alarm test",
                    "says fire",
                    "fire message",
                    "fire on the screen",
                ],
            ),
            emergency(
                "burning-smell",
                &["burning smell", "smells burnt", "burnt smell", "burning plastic"],
                &["burnt toast"],
            ),
            emergency("gas-smell", &["smell gas", "gas smell", "gas leak", "rotten eggs"], &[]),
            emergency("shock", &["got a shock", "got shocked", "electrocuted", "tingle"], &[]),
            emergency("water", &["water in the panel", "panel is wet", "flooded"], &["not wet"]),
        ],
        ..Practice::default()
    }
}

struct Site {
    units: Vec<Unit>,
    findings: Vec<Finding>,
    tests: Vec<Test>,
}

impl Site {
    fn unit(&mut self, id: &str, name: &str, also: &[&str], component: &str, words: &[&str]) -> UnitIx {
        self.units.push(Unit {
            id: id.into(),
            name: name.into(),
            also: texts(also),
            component: component.into(),
            partners: vec![],
            kind_words: texts(words),
            place: PlaceIx(0),
            implied: false,
            nameplate: vec![],
        });
        UnitIx::new(self.units.len() - 1)
    }

    fn test(&mut self, id: String, unit: Option<UnitIx>, say: String, reading: Option<Reading>) -> TestIx {
        self.tests.push(Test {
            id,
            unit,
            act: Act::Ask,
            say_to_caller: say.clone(),
            say,
            how: String::new(),
            expect: String::new(),
            gives: vec![],
            reading,
            needs: vec![],
            trust: None,
            terms: terms(),
            sources: vec![],
        });
        TestIx::new(self.tests.len() - 1)
    }

    #[allow(clippy::too_many_arguments)]
    fn finding(
        &mut self,
        unit: Option<UnitIx>,
        kind: (&str, &str),
        name: String,
        outcomes: &[&str],
        test: TestIx,
        symptom: Option<Symptom>,
        fault_table: Option<FaultTable>,
    ) -> FindingIx {
        let prefix = unit.map_or(kind.0.to_owned(), |u| self.units[u.at()].id.clone());
        let ix = FindingIx::new(self.findings.len());
        self.findings.push(Finding {
            id: format!("{prefix}/{}", kind.1),
            name,
            unit,
            kind: (kind.0.into(), kind.1.into()),
            outcomes: texts(outcomes),
            also: vec![Vec::new(); outcomes.len()],
            test,
            symptom,
        });
        self.tests[test.at()].gives.push(Gives {
            finding: ix,
            scale: None,
            fault_table,
            class: None,
            complaint: None,
        });
        ix
    }

    fn symptoms(&mut self, unit: Option<UnitIx>, component: &str, symptoms: Symptoms) {
        let name = unit.map_or(String::new(), |u| self.units[u.at()].name.clone());
        for (id, say, also) in symptoms {
            let say = say.replace("{unit}", &name);
            let test = self.test(format!("{name}/{id}"), unit, say.clone(), None);
            let symptom = Symptom {
                say: say.clone(),
                also: texts(also),
                prove_under: String::new(),
                prove_minutes: 0.0,
            };
            self.finding(unit, (component, id), say, &["no", "yes"], test, Some(symptom), None);
        }
    }

    fn question(&mut self, unit: Option<UnitIx>, kind: (&str, &str), say: &str, outcomes: &[&str]) {
        let name = unit.map_or(String::new(), |u| self.units[u.at()].name.clone());
        let say = say.replace("{unit}", &name);
        let test = self.test(format!("{name}/{}", kind.1), unit, say.clone(), None);
        self.finding(unit, kind, say, outcomes, test, None, None);
    }

    fn model(self, practice: Practice) -> Model {
        let mut ids = Ids::default();
        for (at, f) in self.findings.iter().enumerate() {
            ids.findings.insert(f.id.clone(), FindingIx::new(at));
        }
        for (at, t) in self.tests.iter().enumerate() {
            ids.tests.insert(t.id.clone(), TestIx::new(at));
        }
        Model {
            connections: Vec::new(),
            procedure: Default::default(),
            network: NetworkBuilder::new().build().unwrap(),
            stage: Stage::InService,
            practice,
            units: self.units,
            causes: vec![],
            conditions: vec![],
            findings: self.findings,
            tests: self.tests,
            fixes: vec![],
            ids,
        }
    }
}

/// A site with a job sheet: three fans, their drives, one panel.
pub fn sheet() -> Model {
    let mut site = Site { units: vec![], findings: vec![], tests: vec![] };
    let fan = &["fan", "exhaust fan", "blower"];
    let fryer = site.unit("EF1", "fryer exhaust fan", &["fan over the fryer"], "fan", fan);
    let grill = site.unit("EF2", "grill exhaust fan", &[], "fan", fan);
    let supply = site.unit("MUA-1", "make-up air fan", &["supply fan", "MUA"], "fan", fan);
    let drive = &["drive", "VFD", "inverter"];
    let d1 = site.unit("VFD-1", "fryer fan drive", &[], "drive", drive);
    let d2 = site.unit("VFD-2", "grill fan drive", &[], "drive", drive);
    for unit in [fryer, grill, supply] {
        site.symptoms(Some(unit), "fan", FAN);
    }
    for unit in [d1, d2] {
        site.symptoms(Some(unit), "drive", DRIVE);
        site.question(Some(unit), ("drive", "display-lit"), "Is the display of {unit} lit?", &["yes", "no"]);
        site.question(
            Some(unit),
            ("drive", "display"),
            "What does the display of {unit} look like?",
            &["steady", "flickering", "very-dim", "dark"],
        );
        let test = site.test(
            format!("drive-{}/fault", unit.0),
            Some(unit),
            "Which number does the drive show?".into(),
            None,
        );
        let table = FaultTable {
            entries: vec![
                ("F07".into(), 1, "motor overload".into()),
                ("F12".into(), 2, "overcurrent".into()),
                ("F21".into(), 3, "link lost".into()),
            ],
        };
        site.finding(
            Some(unit),
            ("drive", "fault"),
            "fault shown".into(),
            &["none", "overload", "overcurrent", "bus-lost"],
            test,
            None,
            Some(table),
        );
    }
    site.symptoms(None, "controller", CONTROLLER);
    site.question(Some(fryer), ("fan", "lit-or-dark"), "Is the lamp of {unit} lit?", &["lit", "dark"]);
    let amps = reading("A", 3);
    site.test("amps".into(), Some(fryer), "Amps of the three legs".into(), Some(amps));
    let volts = reading("V", 1);
    site.test("volts".into(), Some(fryer), "Volts at the secondary".into(), Some(volts));
    let pressure = reading("inwg", 1);
    site.test("pressure".into(), Some(fryer), "Pressure at the hood".into(), Some(pressure));
    let heat = reading("F", 1);
    site.test("heat".into(), Some(fryer), "Temperature in the duct".into(), Some(heat));
    site.model(practice())
}

fn reading(measured_in: &str, count: usize) -> Reading {
    let part = Part { id: String::new(), name: String::new(), measured_in: measured_in.into(), count };
    Reading { parts: vec![part] }
}

/// The same package without a sheet: no units, kinds that may appear.
pub fn no_sheet() -> (Model, Vec<Kind>) {
    let mut site = Site { units: vec![], findings: vec![], tests: vec![] };
    site.symptoms(None, "controller", CONTROLLER);
    let kind = |component: &str, words: &[&str], symptoms: Symptoms| Kind {
        component: component.into(),
        words: texts(words),
        symptoms: symptoms
            .iter()
            .map(|(name, say, also)| KindSymptom {
                name: (*name).into(),
                say: (*say).into(),
                also: texts(also),
                outcomes: texts(&["no", "yes"]),
                outcome_words: vec![vec![]; 2],
            })
            .collect(),
    };
    let kinds = vec![
        kind("fan", &["fan", "exhaust fan", "blower"], FAN),
        kind("drive", &["drive", "VFD", "inverter"], DRIVE),
    ];
    (site.model(practice()), kinds)
}
