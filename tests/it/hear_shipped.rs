//! What callers say to the shipped package, and what it means.

use whytrip::model::Model;
use whytrip::session::hear::{Ear, Expecting};

use crate::hear::check;

/// The shipped package on its invented job, or without a sheet.
fn shipped(sheet: Option<&str>) -> (Model, Ear) {
    let knowledge = whytrip::knowledge::load_embedded("kitchen-ventilation").knowledge.unwrap();
    let job = sheet.map(|file| {
        let path = crate::support::root().join("knowledge/demo").join(file);
        let mut sources = knowledge.sources.clone();
        let (job, problems) =
            whytrip::job::read(&knowledge, &mut sources, file, std::fs::read(path).unwrap());
        assert!(problems.is_empty(), "{problems:?}");
        job.unwrap()
    });
    let kinds = if job.is_some() { vec![] } else { whytrip::session::hear::kinds(&knowledge) };
    let job = job.unwrap_or_else(whytrip::job::Job::without_sheet);
    let model = whytrip::model::compile::compile(&knowledge, Some(&job), whytrip::knowledge::Stage::StartUp)
        .unwrap()
        .model;
    let ear = Ear::new(&model, &kinds);
    (model, ear)
}

#[test]
fn callers_of_the_shipped_package() {
    let (model, ear) = shipped(Some("tin-whistle.yaml"));
    check(
        &model,
        &ear,
        &Expecting::OwnWords,
        &[
            ("the fryer fan is dead", "EF-1/stopped"),
            ("fan over the fryer won't run", "EF-1/stopped"),
            ("EF2 trips", "VFD-3/trips"),
            ("the new fryer fan trips 20 seconds after start on overload", "VFD-1/trips"),
            ("drive 1 shows 31", "VFD-1/fault 31"),
            ("VFD-2 says F07", "VFD-2/fault F07?"),
            ("drive 1 shows fault 99", "VFD-1/fault 99?"),
            ("the fryer fan trips after 12 minutes", "VFD-1/trips"),
            ("the 1/2 hp fan over the fryer is dead", "EF-1/stopped"),
            ("drive two trips", "VFD-2/trips"),
            ("the fryer fan is dead, the supply fan is ok", "EF-1/stopped"),
            ("the broiler drive shows error code 5", "VFD-3/fault T05"),
            ("the drive shows 31", "?WhichUnit 2"),
            ("the broiler fan trips", "VFD-3/trips"),
            ("broiler drive trips", "VFD-3/trips"),
            ("drive 2 lost communication", "VFD-2/bus-lost"),
            ("lost link to drive 1", "VFD-1/bus-lost"),
            ("lost comms on the screen", "?FitsPoorly 5"),
            ("all comms are down", "BUS/all-lost"),
            ("the fryer fan is dead and the touchscreen says lost comms", "EF-1/stopped; ?FitsPoorly 5"),
            ("the fryer fan is dead and my boss is angry", "EF-1/stopped"),
            ("the fryer fan is dead and the gas supply smiles", "EF-1/stopped; ?NothingFits 0"),
            ("the panel says fire", "ALARM fire-or-smoke then FS-1/fire-shown"),
            (
                "panel says fire and the fryer fan is dead",
                "ALARM fire-or-smoke then FS-1/fire-shown; EF-1/stopped",
            ),
            ("the fire system says fire but the fans run", "ALARM fire-or-smoke then FS-1/fire-shown"),
            ("the screen is blank", "SCR/blank"),
            ("keypad is dead", "SCR/blank"),
            ("sensor missing", "?SeveralFit 5"),
            (
                "one temp sensor is missing on the screen",
                "one of(TS-1/sensor-listed TS-2/sensor-listed TS-3/sensor-listed)",
            ),
            ("the hood isn't pulling", "?WhichUnit 4"),
            ("smoke spills out of the broiler hood", "H-2/smoke-spills"),
            ("smoke rolls out the front of the fryer hood", "H-1/smoke-spills"),
            ("the supply fan shakes like crazy", "SF-1/noise"),
            ("the makeup air fan vibrates", "SF-1/noise"),
            ("fryer fan is noisy", "EF-1/noise"),
            ("the fryer fan motor hums", "M-1/hums"),
            ("the drive of the broiler fan is dark", "VFD-3/dark"),
            ("nothing on the display of drive 3", "VFD-3/dark"),
            ("overload on the broiler drive", "VFD-3/trips"),
            ("drive 3 shows T02", "VFD-3/fault T02"),
            ("drive 1 says fault 31", "VFD-1/fault 31"),
            ("gas valve won't reset", "GV-1/no-gas"),
            ("no gas", "GV-1/no-gas"),
            ("breaker tripped", "?WhichUnit 3"),
            ("the main breaker trips", "F-1/breaker-trips"),
            ("no power at the panel", "CP-1/all-dead"),
            ("the fan runs backwards", "?FitsPoorly 4"),
            ("broiler fan runs backwards", "?FitsPoorly 1"),
            ("the wheel of the broiler fan turns backwards", "M-3/rotation"),
            ("all the fans are dead", "EF-1/stopped; SF-1/stopped; EF-2/stopped"),
            ("one of the fans is dead", "one of(EF-1/stopped SF-1/stopped EF-2/stopped)"),
            ("everything is dead", "CP-1/all-dead"),
            ("the fans always run full speed", "CTRL/always-full"),
            ("it squeals when the fryer fan starts", "EF-1/squeal"),
            ("fryer fan won't turn off", "EF-1/runs-on"),
            ("the kitchen is under negative pressure", "kitchen/doors-hard"),
            ("doors are hard to open", "kitchen/doors-hard"),
            ("the belt of the fryer fan is broken, I see it", "cause EF-1/belt-off true"),
            ("I see that the belt of the fryer fan is broken", "cause EF-1/belt-off true"),
            ("the fuse of the control transformer is blown", "CP-1/fuse-blows"),
            ("the belt of the fryer fan is broken", "?SeveralFit 2"),
        ],
    );
}

#[test]
fn answers_to_a_question_of_the_shipped_package() {
    let (model, ear) = shipped(Some("tin-whistle.yaml"));
    let handle =
        model.findings.iter().position(|f| f.id.starts_with("F-1/") && f.outcomes.len() == 4).unwrap();
    assert_eq!(model.findings[handle].outcomes, ["on", "off", "locked-off", "tripped"]);
    let expecting = Expecting::Finding(whytrip::model::index::FindingIx::new(handle));
    check(
        &model,
        &ear,
        &expecting,
        &[
            ("on", "=on"),
            ("it's on", "=on"),
            ("off", "=off"),
            ("it is off", "=off"),
            ("the breaker is off", "=off"),
            ("locked off", "=locked-off"),
            ("it's off and locked", "=locked-off"),
            ("there is a lock on it, it's off", "=locked-off"),
            ("tripped", "=tripped"),
            ("the one on the panel is tripped", "=tripped"),
            ("I think it's tripped", "=~tripped"),
            ("half-way", "=tripped"),
            ("halfway between on and off", "=tripped"),
            ("it popped", "=tripped"),
            ("padlocked, there is a padlock", "=locked-off"),
            ("off with a tag on it", "=locked-off"),
            ("not on", "?SeveralFit 3"),
            ("y", "?SeveralFit 4"),
            ("not sure", "=can't tell"),
            ("broiler fan feeder is off", "?NothingFits 0"),
            ("the broiler fan is dead", "EF-2/stopped"),
        ],
    );
}

#[test]
fn callers_of_the_shipped_package_without_a_sheet() {
    let (model, ear) = shipped(None);
    check(
        &model,
        &ear,
        &Expecting::OwnWords,
        &[
            ("the fryer fan is dead", "new fan fryer fan/stopped"),
            ("the fryer fan is dead and shakes", "new fan fryer fan/stopped; new fan fryer fan/noise"),
            ("the drive of the grill fan trips", "new drive drive of the grill fan/trips"),
            ("the panel says fire", "ALARM fire-or-smoke then new suppression -/fire-shown"),
            ("screen is blank", "new screen -/blank"),
            ("the hood does not pull", "new fan -/weak"),
            ("hood fan is dead and the screen is blank", "new fan hood fan/stopped; new screen -/blank"),
            ("VFD 2 lost communication", "new drive VFD 2/bus-lost"),
            ("the breaker tripped", "new feeder -/breaker-trips"),
            ("fan is dead", "new fan -/stopped"),
            ("EF-1 trips on overload", "new drive EF-1/trips"),
            ("the drive of the fryer fan shows F07", "new drive drive of the fryer fan/trips"),
        ],
    );
}
