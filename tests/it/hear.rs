//! What callers say, and what it means.

use std::sync::LazyLock;

use proptest::prelude::*;
use whytrip::model::Model;
use whytrip::session::hear::{
    About, Answer, Context, Doubt, Ear, Expecting, FaultNumber, Heard, Meaning, PersonChange, PersonSaid,
    STANDING_WORDS, Sure, Unclear, Word, hear,
};

use crate::hear_site::{no_sheet, sheet};

/// A meaning in a line: what the tables below compare.
fn meaning(model: &Model, meaning: &Meaning) -> String {
    let finding = |f: &whytrip::model::index::FindingIx| model.findings[f.at()].id.clone();
    let hedge = |sure: Sure| if sure == Sure::Think { "~" } else { "" };
    match meaning {
        Meaning::Answer(answer) => match answer {
            Answer::Outcome { finding, outcome, sure } => {
                format!("={}{}", hedge(*sure), model.findings[finding.at()].outcomes[*outcome])
            }
            Answer::Readings { values, .. } => format!("={values:?}"),
            Answer::Fault { number, .. } => format!("=fault {}", number_text(number)),
            Answer::YesNo { yes, sure } => format!("={}{}", hedge(*sure), if *yes { "yes" } else { "no" }),
            Answer::Pick(at) => format!("=pick {at}"),
            Answer::Number(n) => format!("={n}"),
            Answer::Numbers(all) => format!("={all:?}"),
            Answer::Words(w) => format!("={w:?}"),
            Answer::CannotTell => "=can't tell".into(),
        },
        Meaning::Symptom(r) => {
            let about = match &r.about {
                About::Finding(f) => finding(f),
                About::OneOf(all) => {
                    format!("one of({})", all.iter().map(finding).collect::<Vec<_>>().join(" "))
                }
                About::NewUnit { component, name, symptom } => {
                    format!("new {component} {}/{symptom}", name.as_deref().unwrap_or("-"))
                }
            };
            format!("{}{}{about}", if r.outcome == 0 { "not " } else { "" }, hedge(r.sure))
        }
        Meaning::FaultNumber { finding: f, number } => format!("{} {}", finding(f), number_text(number)),
        Meaning::Person(p) => person(model, p),
        Meaning::WorkState(Some(state)) => format!("state {}", model.practice.work_states[state.at()].id),
        Meaning::WorkState(None) => "state ?".into(),
        Meaning::Place(place) => format!("at {}", model.practice.places[place.at()].id),
        Meaning::Cause { cause, present } => format!("cause {} {present}", model.causes[cause.at()].id),
    }
}

fn number_text(number: &FaultNumber) -> String {
    format!("{}{}", number.typed, if number.entry.is_some() { "" } else { "?" })
}

fn person(model: &Model, p: &PersonSaid) -> String {
    let change = match p.change {
        PersonChange::Speaks => "is",
        PersonChange::Comes => "comes",
        PersonChange::Leaves => "leaves",
    };
    let mut out = format!("{} {change}", p.name.as_deref().unwrap_or("-"));
    p.competences.iter().for_each(|c| out += &format!(" {}", model.practice.competences[c.at()].id));
    p.instruments.iter().for_each(|i| out += &format!(" +{}", model.practice.instruments[i.at()].id));
    p.without.iter().for_each(|i| out += &format!(" -{}", model.practice.instruments[i.at()].id));
    out
}

fn told(model: &Model, heard: &Heard) -> String {
    let all = |m: &[Meaning]| m.iter().map(|m| meaning(model, m)).collect::<Vec<_>>().join("; ");
    match heard {
        Heard::Nothing => "nothing".into(),
        Heard::Emergency(alarm) => {
            let id = &model.practice.emergencies[alarm.emergency].id;
            let rest =
                if alarm.rest.is_empty() { String::new() } else { format!(" then {}", all(&alarm.rest)) };
            format!("ALARM {id}{}{rest}", if alarm.plain { "" } else { "?" })
        }
        Heard::Word(word) => format!("{word:?}"),
        Heard::Understood(meanings) => all(meanings),
        Heard::Unclear(Unclear { understood, doubt, choices, .. }) => {
            let doubt = match doubt {
                Doubt::HowManyNumbers { wanted, given } => format!("{given} for {wanted}"),
                doubt => format!("{doubt:?}"),
            };
            let understood =
                if understood.is_empty() { String::new() } else { format!("{}; ", all(understood)) };
            format!("{understood}?{doubt} {}", choices.len())
        }
    }
}

fn ix(model: &Model, id: &str) -> Expecting {
    Expecting::Finding(model.ids.findings[id])
}

pub(crate) fn check(model: &Model, ear: &Ear, expecting: &Expecting, table: &[(&str, &str)]) {
    let wrong: Vec<String> = table
        .iter()
        .filter_map(|(line, expected)| {
            let heard = hear(line, &Context { model, ear, expecting });
            let got = told(model, &heard);
            let choices = match &heard {
                Heard::Unclear(unclear) => {
                    unclear.choices.iter().map(|c| format!("\n      - {}", c.text)).collect()
                }
                _ => String::new(),
            };
            (got != *expected)
                .then(|| format!("{line:?}\n    expected {expected}\n    heard    {got}{choices}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{} of {} lines:\n{}", wrong.len(), table.len(), wrong.join("\n"));
}

#[test]
fn symptoms_in_own_words() {
    let model = sheet();
    let ear = Ear::new(&model, &[]);
    check(
        &model,
        &ear,
        &Expecting::OwnWords,
        &[
            ("the fryer fan is dead", "EF1/dead"),
            ("fan over the fryer won't run", "EF1/dead"),
            ("Fryer fan isn't running.", "EF1/dead"),
            ("the frier fan is ded", "EF1/dead"),
            ("dead fryer fan", "EF1/dead"),
            ("our fryer exhaust fan stopped running this morning", "EF1/dead"),
            ("the fryer fan will not start", "EF1/dead"),
            ("EF1 wont start", "EF1/dead"),
            ("EF 2 is humming", "EF2/hums"),
            ("ef-2 hums really loud", "EF2/hums"),
            ("the grill fan makes a growling noise", "EF2/hums"),
            ("grill fan is vibrating", "EF2/shakes"),
            ("grill fan turns backwards", "EF2/backwards"),
            ("the grill fan is running backwards", "?FitsPoorly 1"),
            ("make-up air fan is dead", "MUA-1/dead"),
            ("makeup air fan hums", "MUA-1/hums"),
            ("the supply fan is not turning", "MUA-1/dead"),
            ("grill fan drive trips", "VFD-2/trips"),
            ("the drive of the grill fan keeps tripping", "VFD-2/trips"),
            ("VFD-1 lost communication", "VFD-1/lost"),
            ("vfd 2 is offline", "VFD-2/lost"),
            ("nothing on the display of the fryer fan drive", "VFD-1/dark"),
            ("the panel says fire", "controller/fire"),
            ("panel says fire but the fryer fan runs", "controller/fire; not EF1/dead"),
            ("the fryer fan is dead and the panel says fire", "EF1/dead; controller/fire"),
            ("fryer fan dead, screen blank", "EF1/dead; ?SeveralFit 4"),
            ("the panel is beeping", "controller/beeps"),
            ("The sensors are missing, the panel says", "controller/sensors"),
            ("the fryer fan is dead and hums", "EF1/dead; EF1/hums"),
            ("the grill fan hums, shakes and turns backwards", "EF2/hums; EF2/shakes; EF2/backwards"),
            ("the fryer fan is not dead", "not EF1/dead"),
            ("the grill fan is running", "not EF2/dead"),
            ("grill fan doesn't hum", "not EF2/hums"),
            ("I think the grill fan hums", "~EF2/hums"),
            ("I don't think the grill fan hums", "not ~EF2/hums"),
            ("no idea why the fryer fan is dead", "EF1/dead"),
            ("one of the fans is dead", "one of(EF1/dead EF2/dead MUA-1/dead)"),
            ("all fans are dead", "EF1/dead; EF2/dead; MUA-1/dead"),
            ("both drives trip", "VFD-1/trips; VFD-2/trips"),
            ("the fan is dead", "?WhichUnit 4"),
            ("a drive trips", "?WhichUnit 3"),
            ("the fan is dead, the one over the fryer", "EF1/dead"),
            ("the fryer and the grill fan are dead", "EF1/dead; EF2/dead"),
            ("the fan shakes and the panel beeps", "controller/beeps; ?WhichUnit 4"),
            ("humming", "?WhichUnit 4"),
            ("it's cold in here", "?NothingFits 0"),
            ("asdf qwer", "?NothingFits 0"),
            ("VFD-2 shows F12", "VFD-2/fault F12"),
            ("the grill fan drive says fault 7", "VFD-2/fault F07"),
            ("smoke spills out at the fryer fan", "EF1/weak"),
            ("", "nothing"),
            ("   ,.  ", "nothing"),
        ],
    );
}

#[test]
fn without_a_sheet_units_appear() {
    let (model, kinds) = no_sheet();
    let ear = Ear::new(&model, &kinds);
    check(
        &model,
        &ear,
        &Expecting::OwnWords,
        &[
            ("the fryer fan is dead", "new fan fryer fan/dead"),
            ("fan over the fryer won't run", "new fan fan over the fryer/dead"),
            ("EF2 hums", "new fan EF2/hums"),
            ("EF2 trips", "new drive EF2/trips"),
            ("the fan hums", "new fan -/hums"),
            ("fan 2 hums", "new fan fan 2/hums"),
            ("the walk-in exhaust fan shakes", "new fan walk-in exhaust fan/shakes"),
            ("the panel says fire", "controller/fire"),
            (
                "the fryer fan is dead and the panel says sensors missing",
                "new fan fryer fan/dead; controller/sensors",
            ),
            ("the hood drive trips", "new drive hood drive/trips"),
        ],
    );
}

#[test]
fn answers_to_the_question() {
    let model = sheet();
    let ear = Ear::new(&model, &[]);
    check(
        &model,
        &ear,
        &ix(&model, "VFD-1/display-lit"),
        &[
            ("y", "=yes"),
            ("Yes", "=yes"),
            ("yeah", "=yes"),
            ("yep, it is", "=yes"),
            ("no", "=no"),
            ("n", "=no"),
            ("nope", "=no"),
            ("no it isn't", "=no"),
            ("it is", "=yes"),
            ("it isn't", "=no"),
            ("it's lit", "=yes"),
            ("not lit", "=no"),
            ("the display is not lit", "=no"),
            ("I think so", "=~yes"),
            ("probably yes", "=~yes"),
            ("probably", "=~yes"),
            ("maybe no", "=~no"),
            ("I don't think so", "=~no"),
            ("I think it is lit", "=~yes"),
            ("maybe", "?SeveralFit 3"),
            ("not sure", "=can't tell"),
            ("don't know", "=can't tell"),
            ("dunno", "=can't tell"),
            ("I can't tell", "=can't tell"),
            ("no idea", "=can't tell"),
            ("skip", "=can't tell"),
            ("yes it isn't", "?YesAndNo 3"),
            ("no, but the grill fan hums", "=no; EF2/hums"),
            ("yes and the panel beeps", "=yes; controller/beeps"),
            ("no the grill fan is dead", "=no; EF2/dead"),
            ("the grill fan hums", "EF2/hums"),
            ("don't know, the panel beeps", "=can't tell; controller/beeps"),
            ("banana", "?NothingFits 0"),
            ("no lights on the grill fan drive", "VFD-2/dark"),
        ],
    );
    check(
        &model,
        &ear,
        &ix(&model, "VFD-1/display"),
        &[
            ("steady", "=steady"),
            ("st", "=steady"),
            ("flick", "=flickering"),
            ("it's flickering", "=flickering"),
            ("flikering", "=flickering"),
            ("dim", "=very-dim"),
            ("very dim", "=very-dim"),
            ("d", "=dark"),
            ("dark", "=dark"),
            ("I think it's dark", "=~dark"),
            ("not dark", "?SeveralFit 3"),
            ("yes", "?SeveralFit 4"),
            ("the display of the grill fan drive is dark", "VFD-2/dark"),
        ],
    );
    check(
        &model,
        &ear,
        &ix(&model, "EF1/lit-or-dark"),
        &[
            ("yes", "=lit"),
            ("no", "=dark"),
            ("dark", "=dark"),
            ("not dark", "=lit"),
            ("the lamp is dark", "=dark"),
            ("l", "=lit"),
        ],
    );
    check(
        &model,
        &ear,
        &ix(&model, "VFD-1/fault"),
        &[
            ("F07", "=fault F07"),
            ("f7", "=fault F07"),
            ("7", "=fault F07"),
            ("it says F-12", "=fault F12"),
            ("fault 21", "=fault F21"),
            ("F99", "=fault F99?"),
            ("overload", "=overload"),
            ("link lost", "=fault F21"),
            ("none", "=none"),
            ("no fault", "=none"),
            ("nothing", "=none"),
            ("can't see", "=can't tell"),
        ],
    );
    check(
        &model,
        &ear,
        &Expecting::YesNo,
        &[
            ("y", "=yes"),
            ("no", "=no"),
            ("none", "=no"),
            // All of the emergencies were asked for: of the others this says nothing.
            ("no smoke", "?NothingFits 0"),
            ("nothing like that", "=no"),
            ("yes, all clear", "=yes"),
            ("not sure", "=can't tell"),
        ],
    );
}

#[test]
fn readings_and_lists() {
    let model = sheet();
    let ear = Ear::new(&model, &[]);
    let reading = |id: &str| Expecting::Readings(model.ids.tests[id]);
    check(
        &model,
        &ear,
        &reading("amps"),
        &[
            ("4.2 4.1 4.4", "=[4.2, 4.1, 4.4]"),
            ("4.2, 4.1 and 4.4 amps", "=[4.2, 4.1, 4.4]"),
            ("L1 4.2, L2 4.1, L3 4.4", "=[4.2, 4.1, 4.4]"),
            ("L1=4.2 L2=4.1 L3=4.4 A", "=[4.2, 4.1, 4.4]"),
            ("4.2 4.1", "?2 for 3 0"),
            ("I don't know", "=can't tell"),
            ("the grill fan hums", "EF2/hums"),
            ("4.2 4.1 4.4 V", "?WrongMeasure 0"),
        ],
    );
    check(
        &model,
        &ear,
        &reading("volts"),
        &[
            ("208 V", "=[208.0]"),
            ("208v", "=[208.0]"),
            ("it reads about 208 volts", "=[208.0]"),
            ("I get 0.48 kV", "=[480.0]"),
            ("zero", "=[0.0]"),
            ("208.", "=[208.0]"),
            ("1,200", "?SeveralFit 2"),
            ("a lot", "?NothingFits 0"),
            ("208 V and the grill fan hums", "=[208.0]; EF2/hums"),
        ],
    );
    check(
        &model,
        &ear,
        &reading("pressure"),
        &[("0.4 inwg", "=[0.4]"), ("0.4 in. w.g.", "=[0.4]"), ("it shows .4", "=[0.4]")],
    );
    check(&model, &ear, &reading("heat"), &[("98 F", "=[98.0]"), ("98", "=[98.0]")]);
    check(
        &model,
        &ear,
        &Expecting::Number("A".into()),
        &[("4.6 A", "=4.6"), ("4600 mA", "=4.6"), ("no idea", "=can't tell")],
    );
    let list = Expecting::Pick(vec!["energised".into(), "locked out and proven dead".into()]);
    check(
        &model,
        &ear,
        &list,
        &[
            ("1", "=pick 0"),
            ("2", "=pick 1"),
            ("#2", "=pick 1"),
            ("the second one", "=pick 1"),
            ("locked out", "=pick 1"),
            ("3", "?NoSuchChoice 2"),
            ("can't tell", "=can't tell"),
        ],
    );
    let Heard::Unclear(Unclear { choices, .. }) =
        hear("the fan is dead", &Context { model: &model, ear: &ear, expecting: &Expecting::OwnWords })
    else {
        panic!("in doubt")
    };
    check(
        &model,
        &ear,
        &Expecting::Choose(choices),
        &[
            ("2", "EF2/dead"),
            ("the grill one", "EF2/dead"),
            ("4", "one of(EF1/dead EF2/dead MUA-1/dead)"),
            ("none of them", "=no"),
            ("don't know", "one of(EF1/dead EF2/dead MUA-1/dead)"),
            ("9", "?NoSuchChoice 4"),
            ("the panel beeps", "controller/beeps"),
        ],
    );
    check(
        &model,
        &ear,
        &Expecting::Words,
        &[
            ("Baldor-ish 4.6", "=\"Baldor-ish 4.6\""),
            ("yes", "=\"yes\""),
            ("don't know", "=can't tell"),
            ("undo", "Undo"),
        ],
    );
}

#[test]
fn people_and_work() {
    let model = sheet();
    let ear = Ear::new(&model, &[]);
    check(
        &model,
        &ear,
        &Expecting::OwnWords,
        &[
            ("the electrician is here now", "- comes electrician"),
            ("the electrician takes over the phone", "- comes electrician"),
            ("I have a meter", "- is +multimeter"),
            ("I don't have a meter", "- is -multimeter"),
            ("Joe, electrician, with a clamp meter", "Joe is electrician +clamp-meter"),
            ("this is Maria, I am the drive technician", "Maria is drive-specialist"),
            ("I'm an electrician", "- is electrician"),
            ("the electrician left", "- leaves electrician"),
            ("the electrician is here and the grill fan hums", "- comes electrician; EF2/hums"),
            ("send an electrician", "?FitsPoorly 1"),
            ("there is no electrician here", "?FitsPoorly 1"),
            ("it's locked out", "state locked-out"),
            ("everything is locked out and tagged", "state locked-out"),
            ("it is not locked out", "state ?"),
            ("I'm going to the roof", "at roof"),
            ("I am on the roof now", "at roof"),
            ("the fryer fan on the roof is dead", "EF1/dead"),
        ],
    );
    check(
        &model,
        &ear,
        &Expecting::Person,
        &[
            ("Joe, electrician", "Joe is electrician"),
            ("electrician with a tach", "- is electrician +tachometer"),
            ("just the cook", "- is anyone"),
            ("installer, no meter", "- is installer -multimeter"),
        ],
    );
}

#[test]
fn emergencies_come_first() {
    let model = sheet();
    let ear = Ear::new(&model, &[]);
    let lines = [
        ("it smells burnt", "ALARM burning-smell"),
        ("smells burnt in here and the fryer fan is dead", "ALARM burning-smell then EF1/dead"),
        ("I see smoke", "ALARM fire-or-smoke"),
        ("SMOKE!!!", "ALARM fire-or-smoke"),
        ("gas smell", "ALARM gas-smell"),
        ("I smell a bit of gas", "ALARM gas-smell"),
        ("the cook got a shock", "ALARM shock"),
        ("he got shocked by the panel", "ALARM shock"),
        ("the panel is wet", "ALARM water"),
        ("there is water dripping in the panel", "ALARM water"),
        ("no, smoke", "ALARM fire-or-smoke"),
        ("no I see smoke", "ALARM fire-or-smoke then =no"),
        ("I can't see for the smoke", "ALARM fire-or-smoke"),
        ("I don't know why there is smoke", "ALARM fire-or-smoke"),
        ("not only sparks", "ALARM fire-or-smoke"),
        ("no smoke but it smells burnt", "ALARM burning-smell"),
        ("somke", "ALARM fire-or-smoke?"),
        ("the fire contact sparks", "ALARM fire-or-smoke"),
        ("it is burning", "ALARM fire-or-smoke"),
        ("note smoke from the drive", "ALARM fire-or-smoke"),
        ("undo, there is fire", "ALARM fire-or-smoke"),
    ];
    for expecting in [Expecting::YesNo, ix(&model, "VFD-1/display-lit"), Expecting::Words, Expecting::Step] {
        for (line, expected) in lines {
            let heard =
                told(&model, &hear(line, &Context { model: &model, ear: &ear, expecting: &expecting }));
            let head = expected.split(" then").next().unwrap();
            assert!(heard.starts_with(head), "{line}: {heard}");
        }
    }
    check(&model, &ear, &Expecting::OwnWords, &lines[..2]);
    check(
        &model,
        &ear,
        &ix(&model, "VFD-1/display-lit"),
        &[
            ("no smoke", "?NothingFits 0"),
            ("there is no smoke", "?NothingFits 0"),
            ("no sign of fire", "?NothingFits 0"),
            ("we don't smell gas", "?NothingFits 0"),
            ("it was a smoke alarm test", "?NothingFits 0"),
            ("just burnt toast", "?NothingFits 0"),
        ],
    );
}

#[test]
fn standing_words() {
    let model = sheet();
    let ear = Ear::new(&model, &[]);
    let words = [
        ("why", "Why"),
        ("why?", "Why"),
        ("ranking", "Ranking"),
        ("what is likely", "Ranking"),
        ("numbers", "Numbers"),
        ("undo", "Undo"),
        ("change 3", "Change { number: Some(3), to: \"\" }"),
        ("change 3 to no", "Change { number: Some(3), to: \"no\" }"),
        ("change answer 2: 4.2 A", "Change { number: Some(2), to: \"4.2 A\" }"),
        ("change", "Change { number: None, to: \"\" }"),
        ("note the belt is new", "Note(\"the belt is new\")"),
        ("note", "Note(\"\")"),
        ("help", "Help(\"\")"),
        ("?", "Help(\"\")"),
        ("help undo", "Help(\"undo\")"),
        ("done", "Done"),
        ("did not help", "DidNotHelp"),
        ("didn't help", "DidNotHelp"),
        ("put back 2", "PutBack(\"2\")"),
        ("put the plug back", "PutBack(\"the plug\")"),
        ("put back", "PutBack(\"\")"),
        ("hand over", "HandOver"),
        ("quit", "Quit"),
        ("again", "Again"),
    ];
    for expecting in [Expecting::OwnWords, ix(&model, "VFD-1/display-lit"), Expecting::YesNo, Expecting::Step]
    {
        check(&model, &ear, &expecting, &words);
    }
    for entry in STANDING_WORDS {
        for word in [entry.word].iter().chain(entry.also) {
            let heard = hear(word, &Context { model: &model, ear: &ear, expecting: &Expecting::Step });
            let cannot_tell = Heard::Understood(vec![Meaning::Answer(Answer::CannotTell)]);
            match entry.word {
                "can't tell" => assert_eq!(heard, cannot_tell, "{word}"),
                _ => assert!(matches!(heard, Heard::Word(_)), "{word}: {heard:?}"),
            }
        }
    }
    // A word that is an answer to the question is that answer.
    let mut shadowing = sheet();
    let lit = shadowing.ids.findings["VFD-1/display-lit"];
    shadowing.findings[lit.at()].outcomes = vec!["no change".into(), "again".into(), "done".into()];
    let ear = Ear::new(&shadowing, &[]);
    check(
        &shadowing,
        &ear,
        &Expecting::Finding(lit),
        &[("again", "=again"), ("done", "=done"), ("no change", "=no change"), ("undo", "Undo")],
    );
    assert_eq!(
        hear("help why", &Context { model: &shadowing, ear: &ear, expecting: &Expecting::YesNo }),
        Heard::Word(Word::Help("why".into()))
    );
}

fn all_expectings(model: &Model) -> Vec<Expecting> {
    vec![
        Expecting::OwnWords,
        ix(model, "VFD-1/display-lit"),
        ix(model, "VFD-1/display"),
        ix(model, "VFD-2/fault"),
        Expecting::Readings(model.ids.tests["amps"]),
        Expecting::YesNo,
        Expecting::Step,
        Expecting::Choose(vec![]),
        Expecting::Pick(vec!["a".into(), "b".into()]),
        Expecting::Number("V".into()),
        Expecting::Numbers("A".into(), 3),
        Expecting::Words,
        Expecting::Person,
    ]
}

static SHEET: LazyLock<(Model, Ear)> = LazyLock::new(|| {
    let model = sheet();
    let ear = Ear::new(&model, &[]);
    (model, ear)
});

static NO_SHEET: LazyLock<(Model, Ear)> = LazyLock::new(|| {
    let (model, kinds) = no_sheet();
    let ear = Ear::new(&model, &kinds);
    (model, ear)
});

proptest! {
    #![proptest_config(crate::support::cases(100))]

    #[test]
    fn no_text_panics(line in "\\PC{0,120}", piece in "[a-z ,.'’0-9é½Ωß日-]{0,80}") {
        let ((model, ear), (bare, bare_ear)) = (&*SHEET, &*NO_SHEET);
        for line in [&line, &piece, &format!("fryer fan {piece}")] {
            for expecting in &all_expectings(model) {
                let heard = hear(line, &Context { model, ear, expecting });
                if let Heard::Understood(meanings) = &heard {
                    prop_assert!(!meanings.is_empty());
                }
            }
            let _ = hear(line, &Context { model: bare, ear: bare_ear, expecting: &Expecting::OwnWords });
        }
    }

    #[test]
    fn words_of_an_emergency_are_never_missed(
        before in prop::collection::vec("the|fan|panel|yes|hums|we|have|over|kitchen|2|ef1|drive|is|and|my|[a-z]{3,9}", 0..8),
        after in prop::collection::vec("the|fan|here|now|drive|trips|and|please|[a-z]{3,9}|208", 0..8),
        stop in "|,|!|\\.|\\?|;| -",
        which in 0usize..5, word in 0usize..8, loud in any::<bool>(),
    ) {
        let (model, ear) = &*SHEET;
        let words = &model.practice.emergencies[which].words;
        let word = &words[word % words.len()];
        let word = if loud { word.to_uppercase() } else { word.clone() };
        let line = format!("{} {word}{stop} {}", before.join(" "), after.join(" "));
        // Random letters may spell a negation; then the line is another test's.
        let negates = ["not", "no", "nor", "never", "none", "without", "nothing", "neither", "hardly", "barely", "nobody", "cant", "dont", "wont", "isnt"];
        let stray = line.split(' ').any(|w| negates.contains(&w) || w == "message" || w == "spills" || w == "contact");
        prop_assume!(!stray);
        for expecting in &all_expectings(model) {
            let heard = hear(&line, &Context { model, ear, expecting });
            prop_assert!(matches!(heard, Heard::Emergency(_)), "{line:?}: {heard:?}");
        }
    }
}
