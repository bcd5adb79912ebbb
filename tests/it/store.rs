//! The store: durable event by event, append-only, and errors that say what to do.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use proptest::prelude::*;
use whytrip::knowledge::Stage;
use whytrip::session::{Answer, Closing, Event, LeftId, What, Who};
use whytrip::store::{CaseId, Cases, DataFolder, Existing, StoreError, read_limited, write_export};

fn folder(dir: &Path) -> DataFolder {
    DataFolder::find(Some(&dir.join("data"))).unwrap()
}

fn open(dir: &Path) -> Cases {
    Cases::open(&folder(dir)).unwrap()
}

fn who() -> Who {
    Who { name: "Ada".into(), competences: vec!["anyone".into()], instruments: None }
}

fn start() -> Event {
    let what = What::Started {
        knowledge: "kitchen-ventilation".into(),
        job: Some("J-1".into()),
        stage: Stage::StartUp,
        who: who(),
    };
    Event { at: 1_700_000_000_123, what }
}

fn note(n: usize) -> Event {
    Event { at: 1_700_000_001_000 + n as i64, what: What::Note { text: format!("remark {n}") } }
}

/// Not a test of its own: the writer that `a_kill_between_events_loses_nothing` starts and kills.
#[test]
fn writer_to_be_killed() {
    let Some(dir) = std::env::var_os("WHYTRIP_TEST_WRITER") else { return };
    let mut cases = open(Path::new(&dir));
    let id = cases.create("fingerprint", &start()).unwrap();
    println!("case {id}");
    for seq in 1.. {
        cases.append(&id, seq, &note(seq)).unwrap();
        println!("took {seq}");
    }
}

#[test]
fn a_kill_between_events_loses_nothing() {
    for stop_after in [1, 7, 40] {
        let dir = tempfile::tempdir().unwrap();
        let mut writer = Command::new(std::env::current_exe().unwrap())
            .args(["store::writer_to_be_killed", "--exact", "--nocapture", "--test-threads=1"])
            .env("WHYTRIP_TEST_WRITER", dir.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(writer.stdout.take().unwrap()).lines().map(Result::unwrap);
        let case = lines.by_ref().find_map(|l| l.split("case ").nth(1).map(str::to_owned)).unwrap();
        let mut last = 0;
        for line in lines.by_ref() {
            let Some(seq) = line.strip_prefix("took ") else { continue };
            last = seq.parse().unwrap();
            if last >= stop_after {
                break;
            }
        }
        writer.kill().unwrap();
        writer.wait().unwrap();
        let cases = open(dir.path());
        let events = cases.events(&cases.find(&case).unwrap()).unwrap();
        assert!(events.len() > last, "{} of {last} events", events.len());
        assert_eq!(events[0], start());
        for (seq, event) in events.iter().enumerate().skip(1) {
            assert_eq!(*event, note(seq));
        }
    }
}

#[test]
fn what_is_read_back_is_what_was_written() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let id = cases.create("fingerprint", &start()).unwrap();
    let all: Vec<Event> = every_kind().into_iter().zip(0..).map(|(what, at)| Event { at, what }).collect();
    cases.append_all(&id, 1, &all).unwrap();
    drop(cases);
    let cases = open(dir.path());
    let read = cases.events(&id).unwrap();
    assert_eq!(read[0], start());
    assert_eq!(read[1..], all[..]);
    assert_eq!(cases.knowledge(&id).unwrap(), "fingerprint");
}

#[test]
fn cases_are_listed_and_found_by_their_beginning() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let first = cases.create("one", &start()).unwrap();
    let second = cases.create("two", &Event { at: 1_800_000_000_000, ..start() }).unwrap();
    let said = What::Volunteered {
        finding: "EF1/dead".into(),
        outcome: "yes".into(),
        sure: true,
        words: "the fryer fan is dead".into(),
    };
    cases.append(&first, 1, &Event { at: 1_900_000_000_000, what: said }).unwrap();
    let closed = What::Closed { how: Closing::Proven };
    cases.append(&first, 2, &Event { at: 1_900_000_000_001, what: closed }).unwrap();
    let list = cases.list().unwrap();
    assert_eq!(list.iter().map(|l| l.id.clone()).collect::<Vec<_>>(), [first.clone(), second.clone()]);
    assert_eq!(list[0].words, "the fryer fan is dead");
    assert_eq!(list[0].job.as_deref(), Some("J-1"));
    assert_eq!(list[0].closed, Some(Closing::Proven));
    assert_eq!((list[0].events, list[0].created, list[0].last), (3, 1_700_000_000_123, 1_900_000_000_001));
    assert_eq!(list[1].closed, None);
    assert_eq!(cases.find(first.as_str()).unwrap(), first);
    assert_eq!(cases.find(&format!(" {} ", first.as_str().to_lowercase())).unwrap(), first);
    // The shortest beginning that the other does not share.
    let (a, b) = (first.as_str(), second.as_str());
    let differ = (1..=a.len()).find(|&n| a[..n] != b[..n]).unwrap();
    assert_eq!(cases.find(&a[..differ]).unwrap(), first);
    assert!(matches!(cases.find("0000"), Err(StoreError::NoCase { .. })));
    assert!(matches!(cases.find("  "), Err(StoreError::NoCase { .. })));
}

#[test]
fn a_beginning_that_several_share_is_asked_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let mut seen: Vec<CaseId> = vec![];
    // Fewer first letters than cases.
    for _ in 0..40 {
        seen.push(cases.create("k", &start()).unwrap());
    }
    let shared = seen
        .iter()
        .map(|id| &id.as_str()[..1])
        .find(|first| seen.iter().filter(|id| id.as_str().starts_with(first)).count() > 1);
    let error = cases.find(shared.unwrap()).unwrap_err();
    assert!(matches!(&error, StoreError::SeveralCases { cases, .. } if cases.len() > 1), "{error}");
    assert!(
        seen.iter()
            .all(|id| id.as_str().len() == 4
                && !id.as_str().contains(['0', 'O', '1', 'I', 'L', 'A', 'E', 'U']))
    );
}

#[test]
fn two_that_continue_the_same_case_do_not_mix() {
    let dir = tempfile::tempdir().unwrap();
    let (mut one, mut other) = (open(dir.path()), open(dir.path()));
    let id = one.create("k", &start()).unwrap();
    one.append(&id, 1, &note(1)).unwrap();
    let error = other.append(&id, 1, &note(9)).unwrap_err();
    assert!(matches!(error, StoreError::Continued { .. }), "{error}");
    assert!(matches!(other.append(&id, 3, &note(9)), Err(StoreError::Continued { .. })));
    other.append(&id, 2, &note(2)).unwrap();
    assert_eq!(one.events(&id).unwrap(), [start(), note(1), note(2)]);
}

#[test]
fn many_at_once_each_get_through() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path();
    std::thread::scope(|scope| {
        for writer in 0..4 {
            scope.spawn(move || {
                let mut cases = open(path);
                let id = cases.create("k", &start()).unwrap();
                for seq in 1..15 {
                    cases.append(&id, seq, &note(seq + writer)).unwrap();
                }
            });
        }
    });
    let list = open(path).list().unwrap();
    assert_eq!(list.len(), 4);
    assert!(list.iter().all(|line| line.events == 15));
}

#[test]
fn a_database_in_use_is_said_to_be() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let id = cases.create("k", &start()).unwrap();
    let other = rusqlite::Connection::open(folder(dir.path()).database()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = cases.append(&id, 1, &note(1)).unwrap_err();
    assert!(matches!(error, StoreError::InUse { .. }), "{error}");
    assert!(error.to_string().contains("nothing is lost"));
    other.execute_batch("ROLLBACK").unwrap();
    cases.append(&id, 1, &note(1)).unwrap();
}

#[test]
fn events_cannot_be_rewritten() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let id = cases.create("k", &start()).unwrap();
    cases.append(&id, 1, &note(1)).unwrap();
    let raw = rusqlite::Connection::open(folder(dir.path()).database()).unwrap();
    for forbidden in [
        "UPDATE events SET at = ''",
        "DELETE FROM events",
        "DELETE FROM cases",
        "UPDATE cases SET knowledge = ''",
    ] {
        assert!(raw.execute(forbidden, []).unwrap_err().to_string().contains("append-only"), "{forbidden}");
    }
    assert_eq!(cases.events(&id).unwrap().len(), 2);
}

#[test]
fn a_folder_that_cannot_be_written_is_named() {
    let dir = tempfile::tempdir().unwrap();
    // Below a file nobody makes a folder, not even root.
    let file = dir.path().join("file");
    std::fs::write(&file, "x").unwrap();
    let error = DataFolder::find(Some(&file.join("data"))).unwrap_err();
    assert!(matches!(error, StoreError::Unwritable { .. }), "{error}");
    assert!(error.to_string().contains("WHYTRIP_DATA") && error.to_string().contains("file"), "{error}");
    // A folder where the database should be.
    let folder = folder(dir.path());
    std::fs::create_dir(folder.database()).unwrap();
    let error = Cases::open(&folder).unwrap_err();
    assert!(matches!(error, StoreError::Unwritable { .. } | StoreError::Damaged { .. }), "{error}");
}

#[test]
fn a_newer_database_is_left_as_it_is() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let id = cases.create("k", &start()).unwrap();
    drop(cases);
    let raw = rusqlite::Connection::open(folder(dir.path()).database()).unwrap();
    raw.pragma_update(None, "user_version", 99).unwrap();
    let error = Cases::open(&folder(dir.path())).unwrap_err();
    assert!(matches!(error, StoreError::Newer { found: 99, .. }), "{error}");
    assert!(error.to_string().contains("newer program"));
    raw.pragma_update(None, "user_version", 1).unwrap();
    assert_eq!(open(dir.path()).events(&id).unwrap(), [start()]);
}

#[test]
fn an_entry_of_a_later_form_is_said_to_be() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let id = cases.create("k", &start()).unwrap();
    let raw = rusqlite::Connection::open(folder(dir.path()).database()).unwrap();
    let insert = |seq: i64, format: i64, body: &str| {
        raw.execute(
            "INSERT INTO events VALUES (?1, ?2, '2026-01-01T00:00:00Z', ?3, 'dream', ?4)",
            rusqlite::params![id.as_str(), seq, format, body],
        )
        .unwrap();
    };
    insert(1, 99, "{}");
    let error = cases.events(&id).unwrap_err();
    assert!(matches!(&error, StoreError::Entry { seq: 1, why, .. } if why.contains("99")), "{error}");
    let other = cases.create("k", &start()).unwrap();
    raw.execute(
        "INSERT INTO events VALUES (?1, 1, '2026-01-01T00:00:00Z', 1, 'dream', '{\"kind\": \"dream\"}')",
        [other.as_str()],
    )
    .unwrap();
    let error = cases.events(&other).unwrap_err();
    assert!(matches!(&error, StoreError::Entry { seq: 1, why, .. } if why.contains("dream")), "{error}");
    // The list shows them all the same.
    assert_eq!(cases.list().unwrap().len(), 2);
}

#[test]
fn a_damaged_database_is_left_as_it_is() {
    for junk in [
        &b"this is no database at all, but a long enough text to look like one, perhaps. "[..],
        &[0xff; 5000],
    ] {
        let dir = tempfile::tempdir().unwrap();
        let path = folder(dir.path()).database();
        std::fs::write(&path, junk).unwrap();
        let error = Cases::open(&folder(dir.path())).unwrap_err();
        assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
        assert!(error.to_string().contains("move it away"), "{error}");
        assert_eq!(std::fs::read(&path).unwrap(), junk);
    }
    // A database of somebody else's.
    let dir = tempfile::tempdir().unwrap();
    let other = rusqlite::Connection::open(folder(dir.path()).database()).unwrap();
    other.execute_batch("CREATE TABLE recipes (name TEXT)").unwrap();
    assert!(matches!(Cases::open(&folder(dir.path())), Err(StoreError::Damaged { .. })));
}

#[cfg(unix)]
#[test]
fn nobody_else_may_read_the_data() {
    use std::os::unix::fs::PermissionsExt as _;
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    cases.create("k", &start()).unwrap();
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let folder = folder(dir.path());
    assert_eq!(mode(folder.path()), 0o700);
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let path = entry.unwrap().path();
        assert_eq!(mode(&path), 0o600, "{}", path.display());
    }
}

#[test]
fn exports_are_whole_and_overwrite_nothing_unless_told() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("note.md");
    write_export(&path, b"first", Existing::Keep).unwrap();
    let error = write_export(&path, b"second", Existing::Keep).unwrap_err();
    assert!(matches!(error, StoreError::Exists { .. }), "{error}");
    assert_eq!(std::fs::read(&path).unwrap(), b"first");
    write_export(&path, b"second", Existing::Replace).unwrap();
    assert_eq!(std::fs::read(&path).unwrap(), b"second");
    write_export(&dir.path().join("new.md"), b"third", Existing::Replace).unwrap();
    assert!(write_export(&dir.path().join("no/such/folder.md"), b"", Existing::Keep).is_err());
    assert!(write_export(dir.path(), b"", Existing::Replace).is_err());
    let mut names: Vec<_> = std::fs::read_dir(dir.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["new.md", "note.md"]);
}

#[test]
fn reading_stops_at_the_limit() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("sheet.yaml");
    std::fs::write(&path, vec![b'x'; 1000]).unwrap();
    assert_eq!(read_limited(&path, 1000).unwrap().len(), 1000);
    assert!(matches!(read_limited(&path, 999), Err(StoreError::TooLarge { size: 1000, limit: 999, .. })));
    assert!(matches!(read_limited(&dir.path().join("none"), 9), Err(StoreError::Unreadable { .. })));
    assert!(matches!(read_limited(dir.path(), 9), Err(StoreError::Unreadable { .. })));
}

#[test]
fn numbers_that_no_file_can_hold_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let mut cases = open(dir.path());
    let id = cases.create("k", &start()).unwrap();
    let answer = Answer::Readings(vec![1.0, f64::NAN]);
    let what = What::Answered { test: "t".into(), answer, sure: true, words: String::new() };
    assert!(matches!(cases.append(&id, 1, &Event { at: 0, what }), Err(StoreError::NotFinite)));
    assert!(matches!(cases.append(&id, 1, &Event { at: i64::MAX, ..note(1) }), Err(StoreError::NotFinite)));
    assert_eq!(cases.events(&id).unwrap().len(), 1);
}

/// One event of every kind.
fn every_kind() -> Vec<What> {
    let s = String::from;
    let item = LeftId { event: 3, at: 1 };
    let volunteered = What::Volunteered {
        finding: s("EF1/dead"),
        outcome: s("yes"),
        sure: false,
        words: s("\"tot\" — é\n😀\u{0}"),
    };
    vec![
        What::EmergenciesAnswered { present: vec![] },
        What::EmergencyRaised { emergency: s("gas"), words: s("gas") },
        What::AllClear { emergency: s("gas") },
        volunteered.clone(),
        What::OneOf { findings: vec![s("a/b"), s("c/b")], outcome: s("yes"), sure: true, words: s("one") },
        What::ThereNow { there: false },
        What::Answered {
            test: s("t"),
            answer: Answer::Outcomes(vec![(s("f"), s("o"))]),
            sure: true,
            words: s(""),
        },
        What::Answered {
            test: s("t"),
            answer: Answer::Readings(vec![4.2, 1e-300, -0.1]),
            sure: true,
            words: s(""),
        },
        What::Answered { test: s("t"), answer: Answer::FaultNumber(s("F07")), sure: true, words: s("") },
        What::Answered { test: s("t"), answer: Answer::CantTell, sure: true, words: s("") },
        What::CauseSeen { cause: s("c"), present: true, words: s("") },
        What::Stands { event: 4 },
        What::WorkStateTold { state: s("locked-out") },
        What::WorkStep { state: s("locked-out"), step: 2, by: s("Ada") },
        What::BackStep { state: s("locked-out"), step: 0, by: s("Ada") },
        What::WorkBrokenOff,
        What::FixDone { fix: s("f"), words: s("") },
        What::FixNotDone { fix: s("f"), words: s("no part") },
        What::StepNotDone { test: s("t"), words: s("") },
        What::Proved { finding: s("f"), outcome: s("no"), minutes: 7.5, words: s("") },
        What::Person { who: Who { instruments: Some(vec![s("multimeter")]), ..who() }, others_stay: true },
        What::UnitMentioned { unit: s("fryer-fan"), component: s("fan"), name: s("fryer fan") },
        What::UnitRelated { unit: s("a"), relation: s("drive"), other: s("b") },
        What::NameplateTold { unit: s("a"), key: s("amps"), value: s("4.6 A") },
        What::NameplateUnknown { unit: s("a"), key: s("amps") },
        What::Left { item: s("plug") },
        What::Meanwhile { measure: s("other-line") },
        What::PutBack { item },
        What::LeftHandedOver { item, to: s("electrician") },
        What::WorkChanged,
        What::Note { text: s("remark") },
        What::Undo,
        What::Change { event: 2, to: Some(Box::new(volunteered)) },
        What::Change { event: 2, to: None },
        What::HandedOver { competence: s("electrician"), to: s("") },
        What::Resumed { who: Some(who()) },
        What::Resumed { who: None },
        What::Closed { how: Closing::HandedOver },
        What::Closed { how: Closing::Unproven },
    ]
}

proptest! {
    #![proptest_config(crate::support::cases(40))]

    #[test]
    fn any_log_comes_back_as_it_went(
        picks in prop::collection::vec((0usize..39, -1_000_000_000_000i64..4_000_000_000_000, "\\PC{0,20}", any::<f64>()), 1..30),
    ) {
        let dir = tempfile::tempdir().unwrap();
        let mut cases = open(dir.path());
        let id = cases.create("k", &start()).unwrap();
        let kinds = every_kind();
        let mut log = vec![start()];
        for (pick, at, text, number) in picks {
            let what = match kinds[pick % kinds.len()].clone() {
                What::Note { .. } => What::Note { text },
                What::Proved { finding, outcome, words, .. } if number.is_finite() => {
                    What::Proved { finding, outcome, minutes: number, words }
                }
                what => what,
            };
            let event = Event { at, what };
            cases.append(&id, log.len(), &event).unwrap();
            log.push(event);
        }
        prop_assert_eq!(cases.events(&id).unwrap(), log);
    }
}
