//! Job sheets: what is wrong with each broken one, in one run; what a good one says.

use std::path::Path;

use whytrip::diagnostic::Short;
use whytrip::job::{self, Job, Made, Plate, PlateError};
use whytrip::knowledge::Stage;
use whytrip::model::compile;
use whytrip::source::Sources;

use crate::compile::mill;

/// Everything that is said about a sheet, by reading it and then by compiling it.
fn said(name: &str, bytes: Vec<u8>) -> String {
    let knowledge = mill();
    let mut sources = Sources::new();
    let (job, mut problems) = job::read(&knowledge, &mut sources, name, bytes);
    if let Some(job) = job.filter(|_| problems.iter().all(|p| !p.is_error())) {
        problems.extend(compile(&knowledge, Some(&job), Stage::StartUp).err().into_iter().flatten());
    }
    let mut text = String::new();
    for problem in &problems {
        text += &Short { problem, sources: &sources }.to_string();
        text += "\n";
        for note in &problem.notes {
            text += &format!("    why: {note}\n");
        }
        for help in &problem.help {
            text += &format!("    help: {help}\n");
        }
        if !problem.suggestions.is_empty() {
            text += &format!("    near: {}\n", problem.suggestions.join(", "));
        }
    }
    text
}

#[test]
fn broken_sheets_are_told_in_one_run() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/checks/job");
    let mut sheets: Vec<_> = std::fs::read_dir(&folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    sheets.sort();
    assert!(sheets.len() >= 14);
    for sheet in sheets {
        let name = sheet.file_name().expect("a name").to_string_lossy().into_owned();
        let said = said(&name, std::fs::read(&sheet).expect("a file"));
        assert!(!said.is_empty(), "{name} is broken");
        snapbox::assert_data_eq!(said, snapbox::Data::read_from(&sheet.with_extension("txt"), None));
    }
}

#[test]
fn binary_junk_is_no_job_sheet() {
    let junk: Vec<u8> = (0..4000_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    assert!(said("junk.yaml", junk).contains("error["));
}

#[test]
fn a_sheet_says_what_it_says() {
    let knowledge = mill();
    let text = r#"
format: 1
job: J-7
site: "The Old Mill (invented)"
stage: after-work
supply: {volts: "400", phases: "3"}
units:
  S-1: {is: supply, also: [main switch]}
  D-1: {is: drive, name: roller drive, place: loft, inside: box, motor: M-1, supply: S-1, nameplate: {amps: 4.6 A, kind: Big}}
  M-1: {is: motor, nameplate: {amps: 4600 mA}}
interlocks: [{name: Stop, between: [S-1, M-1], note: both}]
wires: [{from: "X1:3", to: "D-1:L1", by: field, conductor: "12 AWG black", polarity-sensitive: true}]
"#;
    let mut sources = Sources::new();
    let (job, problems) = job::read(&knowledge, &mut sources, "job.yaml", text.as_bytes().to_vec());
    assert_eq!(problems, []);
    let job = job.expect("a job");
    assert_eq!((&*job.id, job.stage, job.has_sheet), ("J-7", Some(Stage::AfterWork), true));
    assert_eq!(job.site, "The Old Mill (invented)");
    assert_eq!(job.supply["volts"], "400");
    let drive = job.unit("D-1").expect("a unit");
    assert_eq!(drive.place.as_deref(), Some("loft"));
    assert_eq!(drive.relations["motor"], ["M-1"]);
    assert_eq!(drive.nameplate["amps"], Plate::Number(4.6));
    assert_eq!(drive.nameplate["kind"], Plate::Text("big".to_owned()));
    assert_eq!(job.unit("M-1").expect("a unit").nameplate["amps"], Plate::Number(4.6));
    assert_eq!(job.interlocks[0].between, ["S-1", "M-1"]);
    let wire = &job.wires[0];
    assert_eq!(
        (&*wire.from, &*wire.to, wire.by, wire.polarity_sensitive),
        ("X1:3", "D-1:L1", Made::Field, true)
    );
}

#[test]
fn nameplates_are_told_in_a_session() {
    let knowledge = mill();
    let mut job = Job::without_sheet();
    let id = job.add_unit(&knowledge, "motor", "big roller").expect("a kind");
    assert!(matches!(job.set_nameplate(&knowledge, &id, "amps", "4,6"), Err(PlateError::Misread(_))));
    assert_eq!(job.set_nameplate(&knowledge, &id, "hp", "4"), Err(PlateError::UnknownKey));
    assert_eq!(job.set_nameplate(&knowledge, "other", "amps", "4"), Err(PlateError::UnknownUnit));
    job.set_nameplate(&knowledge, &id, "amps", "4.6 amps").expect("a value");
    assert_eq!(job.units[0].nameplate["amps"], Plate::Number(4.6));
    let drive = job.add_unit(&knowledge, "drive", "its drive").expect("a kind");
    job.relate(&knowledge, &drive, "motor", &id).expect("a relation");
    assert!(job.relate(&knowledge, &drive, "wheel", &id).is_err());
    assert!(job.relate(&knowledge, &drive, "motor", "other").is_err());
    assert!(matches!(
        job.set_nameplate(&knowledge, &drive, "kind", "huge"),
        Err(PlateError::NotOneOf(valid)) if valid == ["big", "small"]
    ));
}
