//! The reader of YAML: what it accepts it reads as a general parser does; what it refuses it explains; it never panics.

use whytrip::diagnostic::Short;
use whytrip::source::Sources;
use whytrip::yaml::{self, Node};

fn read(text: &str) -> (Option<Node>, Vec<String>) {
    let mut sources = Sources::new();
    let mut problems = Vec::new();
    let (_, node) =
        yaml::parse("file.yaml", text.as_bytes().to_vec(), yaml::LARGEST, &mut sources, &mut problems);
    let shown = problems.iter().map(|problem| Short { problem, sources: &sources }.to_string()).collect();
    (node, shown)
}

#[test]
fn scratch() {
    for t in [
        "a: {unit} hums\nb: >= 3\nc: {x: >= 2, y: 1}\n",
        "a: b: c\n",
        "\"abc\nd: x",
        "a: 'x' # c\nb: |\n  text\n  more\n\nc: d",
        "a: *x\n",
        "a: &x 1\nb: *x\n",
        "- a\n-b\n",
        "a:\n - b\n c: d\n",
        "a: [1, 2\nb: 3\n",
        "a: {b: 1 c: 2}\n",
        "? [a]\n: b\n",
        "a: !!str x\n",
        "<<: x\n",
        "a: @x\n",
        "a: 1\na: 2\n",
        "a: \"\\q\"\n",
        "a: \"\\x1b\"\n",
        "a: 1\n---\nb: 2\n",
        "a:\n\tb: 1\n",
        "a: b\tc\n",
        "",
        "a\n",
        "a: %x\n",
        "a: `x`\n",
        "a: - b\n",
        "a: {b: }\n",
        "a: #x\n",
    ] {
        let (node, shown) = read(t);
        println!("{t:?}\n   {node:?}\n   {shown:#?}");
    }
}
