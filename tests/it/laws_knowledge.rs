//! Laws of loading: no input makes it panic; what files are called and the order of their parts changes nothing; cost
//! does not explode.

use proptest::prelude::*;
use whytrip::diagnostic::Code;
use whytrip::knowledge::{Files, InMemory, Knowledge, Loaded, Options, embedded, load};
use whytrip::source::{FileId, Span};
use whytrip::yaml::{self, Node, Value};

use crate::knowledge::{lines, shipped};

/// One way to spoil a text.
#[derive(Clone, Debug)]
enum Spoil {
    Flip(usize, u8),
    Delete(usize, usize),
    Double(usize),
    Indent(usize, i8),
    Insert(usize, String),
    Swap(usize, usize),
}

fn spoil() -> impl Strategy<Value = Spoil> {
    let words = prop_oneof![
        Just("{"),
        Just("}"),
        Just("["),
        Just("]"),
        Just(": "),
        Just("- "),
        Just("\""),
        Just("'"),
        Just("&a "),
        Just("*a "),
        Just("!!x "),
        Just("|\n"),
        Just(">"),
        Just("\t"),
        Just("\u{0}"),
        Just("\u{202e}"),
        Just("\u{e4}"),
        Just("#"),
        Just("? "),
        Just("---\n"),
        Just("<<: "),
        Just("%"),
        Just("\\"),
        Just("null"),
        Just("1e999"),
        Just("{unit} x"),
        Just(">= 1"),
        Just("\r"),
    ];
    prop_oneof![
        (any::<usize>(), any::<u8>()).prop_map(|(at, to)| Spoil::Flip(at, to)),
        (any::<usize>(), 1..60_usize).prop_map(|(at, length)| Spoil::Delete(at, length)),
        any::<usize>().prop_map(Spoil::Double),
        (any::<usize>(), -3..4_i8).prop_map(|(at, by)| Spoil::Indent(at, by)),
        (any::<usize>(), words).prop_map(|(at, word)| Spoil::Insert(at, word.to_owned())),
        (any::<usize>(), any::<usize>()).prop_map(|(a, b)| Spoil::Swap(a, b)),
    ]
}

fn spoilt(mut bytes: Vec<u8>, how: &Spoil) -> Vec<u8> {
    let length = bytes.len().max(1);
    let lines = |bytes: &[u8]| bytes.split_inclusive(|&b| b == b'\n').map(<[u8]>::to_vec).collect::<Vec<_>>();
    match how {
        Spoil::Flip(at, to) => {
            if let Some(byte) = bytes.get_mut(at % length) {
                *byte = *to;
            }
        }
        Spoil::Delete(at, count) => {
            let at = at % length;
            let end = (at + count).min(bytes.len());
            bytes.drain(at.min(end)..end);
        }
        Spoil::Insert(at, word) => {
            let at = (at % length).min(bytes.len());
            bytes.splice(at..at, word.bytes());
        }
        Spoil::Double(at) => {
            let mut all = lines(&bytes);
            if !all.is_empty() {
                let at = at % all.len();
                all.insert(at, all[at].clone());
            }
            bytes = all.concat();
        }
        Spoil::Indent(at, by) => {
            let mut all = lines(&bytes);
            if !all.is_empty() {
                let at = at % all.len();
                if *by >= 0 {
                    all[at].splice(0..0, vec![b' '; usize::from(by.unsigned_abs())]);
                } else {
                    let blanks = all[at].iter().take_while(|&&b| b == b' ').count();
                    all[at].drain(..blanks.min(usize::from(by.unsigned_abs())));
                }
            }
            bytes = all.concat();
        }
        Spoil::Swap(a, b) => {
            let mut all = lines(&bytes);
            if !all.is_empty() {
                let (a, b) = (a % all.len(), b % all.len());
                all.swap(a, b);
            }
            bytes = all.concat();
        }
    }
    bytes
}

/// A file of the packages that come with the program.
fn file() -> impl Strategy<Value = (String, String)> {
    let all: Vec<(String, String)> = embedded::packages()
        .flat_map(|package| {
            embedded::files_of(package).unwrap().into_iter().map(move |file| (package.to_owned(), file))
        })
        .collect();
    prop::sample::select(all)
}

/// Every problem can be shown: spans lie in their files, on the edges of characters.
fn presentable(loaded: &Loaded) {
    for problem in &loaded.diagnostics {
        for label in problem.primary.iter().chain(&problem.secondary) {
            let file = loaded.sources.get(label.span.file).expect("a file");
            let text = file.text();
            let (start, end) = (label.span.start as usize, label.span.end as usize);
            assert!(start <= end && end <= text.len(), "{problem:?}");
            assert!(text.is_char_boundary(start) && text.is_char_boundary(end), "{problem:?}");
        }
    }
    assert_eq!(lines(loaded).len(), loaded.diagnostics.len());
}

/// What the knowledge says, without where it was written.
fn said(knowledge: &Knowledge) -> String {
    let text =
        format!("{:?}{:?}{:?}", knowledge.packages, knowledge.practice, knowledge.components_in_order());
    // Spans are the only place of the numbers that follow these words.
    let mut out = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some(at) = rest.find("Span {") {
        out.push_str(&rest[..at]);
        let end = rest[at..].find('}').unwrap();
        rest = &rest[at + end + 1..];
    }
    out.push_str(rest);
    out
}

/// Components with their maps in a fixed order, for comparing.
trait InOrder {
    fn components_in_order(&self) -> Vec<String>;
}

impl InOrder for Knowledge {
    fn components_in_order(&self) -> Vec<String> {
        let of = |component: &whytrip::knowledge::Component| {
            let mut plain = component.clone();
            let mut names: Vec<_> = plain.names.drain().collect();
            names.sort();
            format!("{plain:?}{names:?}")
        };
        self.components.iter().map(of).collect()
    }
}

proptest! {
    #![proptest_config(crate::support::cases(64))]

    #[test]
    fn spoilt_packages_are_told_never_a_panic((package, name) in file(), how in prop::collection::vec(spoil(), 1..4)) {
        let mut files = shipped();
        let bytes = files.read(&package, &name, u64::MAX).unwrap();
        let bytes = how.iter().fold(bytes, spoilt);
        files.add(package, name, bytes);
        let loaded = load(&files, "kitchen-ventilation", &Options::default());
        presentable(&loaded);
        // Errors and knowledge exclude one another.
        let errors = loaded.diagnostics.iter().any(|problem| problem.is_error());
        prop_assert_eq!(errors, loaded.knowledge.is_none());
    }

    #[test]
    fn junk_is_told_never_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..400), text in "[-{}:,#&*!|>%@` a-c\"'\n\\[\\]0-9.]{0,200}") {
        for content in [bytes, text.into_bytes()] {
            let files = InMemory::new()
                .with("plant", "package.yaml", "format: 1\npackage: plant\n")
                .with("plant", "it.yaml", content);
            presentable(&load(&files, "plant", &Options::default()));
        }
    }

}

proptest! {
    #![proptest_config(crate::support::cases(6))]

    #[test]
    fn names_of_files_change_nothing(seed in any::<u64>()) {
        let files = shipped();
        let mut renamed = InMemory::new();
        for package in embedded::packages() {
            for (at, file) in files.list(package).unwrap().unwrap().into_iter().enumerate() {
                let bytes = files.read(package, &file, u64::MAX).unwrap();
                let scrambled = (at as u64 + 1).wrapping_mul(seed | 1);
                let name = if ["package.yaml", "sources.yaml"].contains(&file.as_str()) { file } else { format!("{scrambled:x}-{at}.yaml") };
                renamed.add(package, name, bytes);
            }
        }
        let name = "kitchen-ventilation";
        let (one, other) = (load(&files, name, &Options::default()), load(&renamed, name, &Options::default()));
        prop_assert_eq!(said(&one.knowledge.unwrap()), said(&other.knowledge.unwrap()));
    }
}

/// A small document as both readers see it.
fn plain(node: &Node) -> String {
    match &node.value {
        Value::Scalar { text, .. } => format!("{text:?}"),
        Value::List(list) => format!("[{}]", list.iter().map(plain).collect::<Vec<_>>().join(",")),
        Value::Map(map) => {
            let entries = map.iter().map(|(key, value)| format!("{:?}:{}", key.value, plain(value)));
            format!("{{{}}}", entries.collect::<Vec<_>>().join(","))
        }
        Value::Refused => "refused".to_owned(),
    }
}

/// The same through the general-purpose reader, every scalar as its text where it is one.
fn general(value: &serde_yaml::Value) -> String {
    match value {
        serde_yaml::Value::Sequence(list) => {
            format!("[{}]", list.iter().map(general).collect::<Vec<_>>().join(","))
        }
        serde_yaml::Value::Mapping(map) => {
            let entries = map.iter().map(|(key, value)| format!("{}:{}", general(key), general(value)));
            format!("{{{}}}", entries.collect::<Vec<_>>().join(","))
        }
        serde_yaml::Value::String(text) => format!("{text:?}"),
        // Numbers, truths and nothing are typed there and texts here: only that they are scalars is compared.
        _ => "scalar".to_owned(),
    }
}

/// Two renderings that agree up to scalars that the general reader gives a type.
fn agree(node: &Node, value: &serde_yaml::Value) -> bool {
    match (&node.value, value) {
        (Value::List(ours), serde_yaml::Value::Sequence(theirs)) => {
            ours.len() == theirs.len() && ours.iter().zip(theirs).all(|(a, b)| agree(a, b))
        }
        (Value::Map(ours), serde_yaml::Value::Mapping(theirs)) => {
            ours.len() == theirs.len()
                && ours.iter().zip(theirs).all(|((key, a), (other, b))| {
                    let same = other.as_str().is_none_or(|other| key.value == other);
                    same && agree(a, b)
                })
        }
        (Value::Scalar { text, .. }, serde_yaml::Value::String(other)) => text == other,
        (Value::Scalar { plain, .. }, other) => *plain && !other.is_sequence() && !other.is_mapping(),
        _ => false,
    }
}

fn ours(text: &str) -> Option<Node> {
    let (mut sources, mut problems) = (whytrip::source::Sources::new(), Vec::new());
    let (_, node) = yaml::parse("file", text.as_bytes().to_vec(), yaml::LARGEST, &mut sources, &mut problems);
    node.filter(|_| problems.is_empty())
}

#[test]
fn both_readers_agree_on_every_shipped_file() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/knowledge");
    let mut seen = 0;
    for folder in
        std::fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir())
    {
        for file in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            let text = std::fs::read_to_string(&file).unwrap();
            let value: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
            let node = ours(&text).unwrap();
            assert!(agree(&node, &value), "{}\n{}\n{}", file.display(), plain(&node), general(&value));
            seen += 1;
        }
    }
    assert!(seen > 10);
}

/// A random small document, as a value.
fn document() -> impl Strategy<Value = serde_yaml::Value> {
    let leaf = prop_oneof![
        "[a-z]{1,6}( [a-z0-9.%]{1,5}){0,3}".prop_map(serde_yaml::Value::from),
        "[ -~\u{e4}\u{3a9}\u{4e2d}]{0,12}".prop_map(serde_yaml::Value::from),
        "[a-z]{1,4}\n[a-z]{1,4}\n".prop_map(serde_yaml::Value::from),
        any::<i32>().prop_map(serde_yaml::Value::from),
    ];
    leaf.prop_recursive(4, 40, 5, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..5).prop_map(serde_yaml::Value::from),
            prop::collection::vec(("[a-z-]{1,8}", inner), 0..5).prop_map(|entries| {
                let map: serde_yaml::Mapping =
                    entries.into_iter().map(|(key, value)| (key.into(), value)).collect();
                serde_yaml::Value::from(map)
            }),
        ]
    })
}

proptest! {
    #![proptest_config(crate::support::cases(300))]

    #[test]
    fn both_readers_agree_on_small_documents(value in document()) {
        let text = serde_yaml::to_string(&value).unwrap();
        let again: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
        // What ours refuses on purpose (tags, say) is not compared.
        if let Some(node) = ours(&text) {
            prop_assert!(agree(&node, &again), "{}\n{}\n{}", text, plain(&node), general(&again));
        }
    }

    #[test]
    fn spans_lie_on_what_was_read_and_trees_pack(value in document()) {
        let text = serde_yaml::to_string(&value).unwrap();
        if let Some(node) = ours(&text) {
            on_text(&node, &text);
            let packed = yaml::pack(&node, &text).unwrap();
            prop_assert_eq!(yaml::unpack(&packed, &text, FileId(0)), Some(node));
            for cut in 0..packed.len() {
                prop_assert_eq!(yaml::unpack(&packed[..cut], &text, FileId(0)), None);
            }
        }
    }

    #[test]
    fn no_bytes_make_unpacking_panic(bytes in prop::collection::vec(any::<u8>(), 0..60)) {
        let _ = yaml::unpack(&bytes, "some text, \u{e4} in it", FileId(0));
    }
}

fn on_text(node: &Node, text: &str) {
    let slice =
        |span: Span| text.get(span.start as usize..span.end as usize).expect("on the edges of characters");
    let written = slice(node.span);
    match &node.value {
        Value::Scalar { text, plain: true } if !text.contains(' ') => assert_eq!(written, text),
        Value::Scalar { .. } | Value::Refused => {}
        Value::List(list) => list.iter().for_each(|item| on_text(item, text)),
        Value::Map(map) => {
            for (key, value) in map {
                assert!(slice(key.span).trim_matches(['"', '\'']) == key.value || key.value.contains('\\'));
                on_text(value, text);
            }
        }
    }
}

#[test]
fn the_limit_is_exact_and_nothing_larger_is_read() {
    let package = b"format: 1\npackage: plant\n".to_vec();
    let files = InMemory::new().with("plant", "package.yaml", package.clone());
    let loaded = |largest_file| load(&files, "plant", &Options { largest_file });
    let length = package.len() as u64;
    assert!(loaded(length).knowledge.is_some());
    let short = loaded(length - 1);
    assert!(short.knowledge.is_none());
    assert_eq!(short.diagnostics[0].code, Code::FileTooLarge);

    let large = InMemory::new().with("plant", "package.yaml", package).with(
        "plant",
        "it.yaml",
        vec![b'-'; 50_000_000],
    );
    let loaded = load(&large, "plant", &Options::default());
    let problems = lines(&loaded);
    assert_eq!(problems, ["plant/it.yaml:1:1: error[file-too-large]: the file has 50000000 bytes"]);
}

#[test]
fn deep_and_hostile_files_are_refused_at_once() {
    let deep = ["[".repeat(40_000), "{a: ".repeat(10_000), "- ".repeat(20_000), "? ".repeat(20_000)];
    for text in deep {
        let files = InMemory::new()
            .with("plant", "package.yaml", "format: 1\npackage: plant\n")
            .with("plant", "it.yaml", text);
        let loaded = load(&files, "plant", &Options::default());
        assert!(loaded.knowledge.is_none());
        let said = lines(&loaded);
        assert!(!said.is_empty() && said.len() < 20, "{:?}", &said[..said.len().min(20)]);
    }
}

#[test]
fn a_large_package_loads_whole() {
    let files = crate::generated::package(3000);
    let loaded = load(&files, "plant", &Options::default());
    assert_eq!(lines(&loaded), Vec::<String>::new());
    let knowledge = loaded.knowledge.unwrap();
    let plant = knowledge.component("plant").unwrap();
    assert_eq!((plant.causes.len(), plant.tests.len(), plant.fixes.len()), (3000, 1500, 1500));
}

#[test]
fn problems_without_end_are_cut() {
    let many = |line: &str| (0..3000).map(|at| line.replace('#', &at.to_string())).collect::<String>();
    let wrong_everywhere = ["a#: &x 1\n", "a: 1\n"].map(many);
    let causes = format!(
        "component: plant\ncauses:\n{}",
        many("  c#: {prior: 2, shows: {nothing: {no: 1}}, extra: 1}\n")
    );
    let one_line = format!("component: {{{}}}\n", many("a#: *x, "));
    let [anchors, twice] = wrong_everywhere;
    for text in [anchors, twice, causes, one_line] {
        let files = InMemory::new()
            .with("plant", "package.yaml", "format: 1\npackage: plant\n")
            .with("plant", "it.yaml", text);
        let loaded = load(&files, "plant", &Options::default());
        assert!(loaded.diagnostics.len() <= whytrip::diagnostic::ENOUGH + 1);
    }
}
