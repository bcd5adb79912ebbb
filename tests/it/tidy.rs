//! The rules of the house that a compiler does not check.

use crate::support::root;

#[test]
fn every_test_file_is_listed() {
    let main = std::fs::read_to_string(root().join("tests/it/main.rs")).unwrap();
    for entry in std::fs::read_dir(root().join("tests/it")).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
        assert!(
            stem == "main" || main.contains(&format!("mod {stem};")),
            "tests/it/main.rs lacks `mod {stem};`"
        );
    }
}
