//! The reader of YAML: what it says about what it refuses, and that it reads on where it can.

use whytrip::diagnostic::Short;
use whytrip::source::Sources;
use whytrip::yaml::{self, Node};

fn read(text: &str) -> (Option<Node>, Vec<String>) {
    let mut sources = Sources::new();
    let mut problems = Vec::new();
    let (_, node) = yaml::parse("f", text.as_bytes().to_vec(), yaml::LARGEST, &mut sources, &mut problems);
    let shown = problems.iter().map(|problem| Short { problem, sources: &sources }.to_string()).collect();
    (node, shown)
}

#[test]
fn what_is_refused_is_named_with_its_place() {
    for (text, said) in [
        ("a: b: c\n", "f:1:5: error[syntax]: a second `: ` on one line"),
        ("\"abc\nd: x", "f:1:1: error[syntax]: a quoted text is not closed"),
        ("a: *x\n", "f:1:4: error[anchor-or-alias]: anchors and aliases cannot be used"),
        ("a:\n - b\n c: d\n", "f:3:2: error[syntax]: this line does not belong to what stands above it"),
        (
            "a: {b: 1 c: 2}\n",
            "f:1:11: error[syntax]: a map or list in braces is not closed, or lacks a comma",
        ),
        ("a: !!str x\n", "f:1:4: error[tag]: tags cannot be used"),
        ("ä: 1\nä: 2\n", "f:2:1: error[duplicate-key]: the key `ä` stands here twice"),
        ("ä: \"\\x1b\"\n", "f:1:4: error[control-character]: this text holds the character U+001B"),
        ("ö: b\u{7}c\n", "f:1:5: error[control-character]: the character U+0007 may not stand in a file"),
        ("a: 1\n---\nb: 2\n", "f:2:1: error[several-documents]: a second document begins here"),
    ] {
        assert_eq!(read(text).1, [said], "{text:?}");
    }
}

#[test]
fn slips_are_mended_so_that_the_rest_is_read() {
    let (node, said) = read("a: {unit} hums\nb: >= 3\nc: {x: 1, x: 2}\n");
    assert_eq!(
        said,
        [
            "f:1:4: error[unquoted]: `{unit} hums` has to stand in quotes",
            "f:2:4: error[unquoted]: `>= 3` has to stand in quotes",
            "f:3:11: error[duplicate-key]: the key `x` stands here twice",
        ]
    );
    assert!(node.unwrap().get("c").unwrap().get("x").is_some());
}

#[test]
fn scalars_stay_texts() {
    let (node, said) = read("\u{feff}a: no\r\nb: 1e3 # so\r\nc: 'it''s'\nd: |\n  two\n  lines\ne:\nf: ~\n");
    assert!(said.is_empty(), "{said:?}");
    let node = node.unwrap();
    let text = |key| node.get(key).and_then(Node::text);
    assert_eq!(text("a"), Some("no"));
    assert_eq!(text("b"), Some("1e3"));
    assert_eq!(text("c"), Some("it's"));
    assert_eq!(text("d"), Some("two\nlines\n"));
    assert!(node.get("e").unwrap().is_null() && node.get("f").unwrap().is_null());
}
