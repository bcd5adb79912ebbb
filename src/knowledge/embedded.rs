//! The packages that are built into the program.
//!
//! Their text is there for messages; the tree of each file is made when the program is built and only unpacked here, so
//! that starting does not wait for a parser.

use crate::diagnostic::Diagnostic;
use crate::source::{FileId, SourceFile, Sources};
use crate::yaml::{self, Node};

/// A folder of files.
struct Folder {
    name: &'static str,
    files: &'static [File],
}

/// A file: its name, its text, its packed tree.
struct File {
    name: &'static str,
    text: &'static str,
    tree: &'static [u8],
}

include!(concat!(env!("OUT_DIR"), "/embedded.rs"));

fn folder(name: &str) -> Option<&'static Folder> {
    FOLDERS.iter().find(|folder| folder.name == name)
}

/// The embedded packages, in the order of the alphabet.
pub fn packages() -> impl Iterator<Item = &'static str> {
    let is_package = |folder: &&Folder| folder.files.iter().any(|file| file.name == "package.yaml");
    FOLDERS.iter().filter(is_package).map(|folder| folder.name)
}

/// The files of an embedded folder, which may also hold job sheets instead of a package.
#[must_use]
pub fn files_of(name: &str) -> Option<Vec<String>> {
    folder(name).map(|folder| folder.files.iter().map(|file| file.name.to_owned()).collect())
}

/// The text of an embedded file.
#[must_use]
pub fn text(name: &str, file: &str) -> Option<&'static str> {
    folder(name)?.files.iter().find(|candidate| candidate.name == file).map(|file| file.text)
}

/// The tree of an embedded file.
pub(crate) fn tree(
    name: &str,
    file: &str,
    sources: &mut Sources,
    problems: &mut Vec<Diagnostic>,
) -> (FileId, Option<Node>) {
    let shown = format!("{name}/{file}");
    let found = folder(name).and_then(|folder| folder.files.iter().find(|candidate| candidate.name == file));
    let Some(found) = found else { return (sources.add(SourceFile::new(shown, "")), None) };
    // Empty: it could not be read when the program was built, so that reading it again says why.
    if let Some(node) = yaml::unpack(found.tree, found.text, FileId(sources.iter().count() as u32)) {
        return (sources.add(SourceFile::new(shown, found.text)), Some(node));
    }
    yaml::parse(&shown, found.text.as_bytes().to_vec(), yaml::LARGEST, sources, problems)
}
