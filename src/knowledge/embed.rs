//! The build script: packs every file under `knowledge/` for `embedded.rs`.
//!
//! It reads with the same reader as the program, which is why that room is compiled here too.
#![allow(dead_code, unused_imports, missing_docs, unreachable_pub, clippy::unwrap_used, clippy::print_stdout)]

#[path = "../diagnostic/mod.rs"]
mod diagnostic;
#[path = "../source/mod.rs"]
mod source;
#[path = "../yaml/mod.rs"]
mod yaml;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR").expect("cargo sets it")).join("knowledge");
    let out = PathBuf::from(env::var("OUT_DIR").expect("cargo sets it"));
    for watched in ["knowledge", "src/knowledge/embed.rs", "src/yaml", "src/source", "src/diagnostic"] {
        println!("cargo::rerun-if-changed={watched}");
    }
    let mut code = String::from("static FOLDERS: &[Folder] = &[\n");
    for folder in sorted(&root).into_iter().filter(|path| path.is_dir()) {
        let name = name_of(&folder);
        writeln!(code, "    Folder {{ name: {name:?}, files: &[").expect("a string takes all");
        for file in sorted(&folder).into_iter().filter(|path| path.extension().is_some_and(|e| e == "yaml")) {
            let packed = out.join(format!("{name}--{}.tree", name_of(&file)));
            fs::write(&packed, pack(&file)).expect("the build folder can be written");
            writeln!(
                code,
                "        File {{ name: {:?}, text: include_str!({:?}), tree: include_bytes!({:?}) }},",
                name_of(&file),
                file.display().to_string(),
                packed.display().to_string(),
            )
            .expect("a string takes all");
        }
        code.push_str("    ] },\n");
    }
    code.push_str("];\n");
    fs::write(out.join("embedded.rs"), code).expect("the build folder can be written");
}

/// The packed tree of a file; empty where it cannot be read, which is left to the program to say.
fn pack(file: &Path) -> Vec<u8> {
    let bytes = fs::read(file).expect("a file of the knowledge can be read");
    let Ok(text) = String::from_utf8(bytes.clone()) else { return Vec::new() };
    let (mut sources, mut problems) = (source::Sources::new(), Vec::new());
    let (_, node) = yaml::parse("file", bytes, yaml::LARGEST, &mut sources, &mut problems);
    let node = node.filter(|_| problems.is_empty());
    node.and_then(|node| yaml::pack(&node, &text)).unwrap_or_default()
}

fn sorted(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("the knowledge is there");
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    paths
}

fn name_of(path: &Path) -> String {
    path.file_name().expect("a name").to_string_lossy().into_owned()
}
