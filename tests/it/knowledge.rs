//! The packages that come with the program: they load without a problem, quickly, the same from disk as embedded.

use whytrip::diagnostic::Short;
use whytrip::knowledge::{InMemory, Loaded, Options, embedded, load, load_embedded};

/// The folders under `knowledge/`, read from disk.
pub(crate) fn shipped() -> InMemory {
    let mut files = InMemory::new();
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/knowledge");
    for folder in
        std::fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir())
    {
        let package = folder.file_name().unwrap().to_str().unwrap().to_owned();
        for file in std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
            let name = file.file_name().unwrap().to_str().unwrap().to_owned();
            files.add(package.clone(), name, std::fs::read(&file).unwrap());
        }
    }
    files
}

/// Every problem on a line of its own.
pub(crate) fn lines(loaded: &Loaded) -> Vec<String> {
    let short = |problem| Short { problem, sources: &loaded.sources }.to_string();
    loaded.diagnostics.iter().map(short).collect()
}

#[test]
fn shipped_packages_have_no_problem() {
    let files = shipped();
    for package in embedded::packages() {
        let loaded = load(&files, package, &Options::default());
        assert_eq!(lines(&loaded), Vec::<String>::new(), "{package}");
        assert!(loaded.knowledge.is_some());
    }
}

#[test]
fn embedded_is_what_lies_on_disk() {
    let files = shipped();
    for package in embedded::packages() {
        let (fast, slow) = (load_embedded(package), load(&files, package, &Options::default()));
        let (fast, slow) = (fast.knowledge.unwrap(), slow.knowledge.unwrap());
        assert_eq!(fast.components, slow.components);
        assert_eq!(fast.practice, slow.practice);
        assert_eq!(fast.packages, slow.packages);
    }
}
