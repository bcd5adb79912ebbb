//! Loading a package with all that it uses.
//!
//! In: the name of a package and where to find it. Out: [`Loaded`]: the knowledge, unless there is an error in it, and
//! every problem in reading order. A package that it uses is a sibling folder, else one of the embedded. The base
//! package is always in force, and always the embedded one, so that no package can replace what keeps people safe.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::decode::{self, Declared, Decoder, Draft, ProcedureDraft};
use super::files::{Files, FilesError};
use super::{Knowledge, Name, Package, Practice, embedded, expressions, resolve, rules};
use crate::diagnostic::{Code, Diagnostic, ENOUGH, nearest, too_many};
use crate::source::{FileId, SourceFile, Sources, Span, Spanned};
use crate::yaml::{self, Node};

/// The package that is always in force.
pub const BASE: &str = "base";

/// The file that makes a folder a package.
const PACKAGE_FILE: &str = "package.yaml";

/// The file of a package that lists what it cites.
const SOURCES_FILE: &str = "sources.yaml";

/// How a package is loaded.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Options {
    /// The largest file accepted, in bytes.
    pub largest_file: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self { largest_file: yaml::LARGEST }
    }
}

/// What loading gives.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The knowledge; `None` where there is an error.
    pub knowledge: Option<Knowledge>,
    /// Every problem, by file and position.
    pub diagnostics: Vec<Diagnostic>,
    /// The files that the problems speak of.
    pub sources: Sources,
}

/// Loads a package and all that it uses.
#[must_use]
pub fn load(files: &dyn Files, package: &str, options: &Options) -> Loaded {
    let mut loader = Loader::new(files, options);
    let root = loader.package(package, None);
    loader.finish(root, true)
}

/// Loads one of the embedded packages, of which a test shows that they have no errors, so that no rule is run.
#[must_use]
pub fn load_embedded(package: &str) -> Loaded {
    let nothing = super::InMemory::new();
    let options = Options::default();
    let mut loader = Loader::new(&nothing, &options);
    let root = loader.package(package, None);
    loader.finish(root, false)
}

/// A package that is read.
struct Ready {
    package: Package,
    visible: HashSet<usize>,
    declared: Declared,
    scale: BTreeMap<String, f64>,
}

struct Loader<'a> {
    files: &'a dyn Files,
    options: &'a Options,
    sources: Sources,
    problems: Vec<Diagnostic>,
    ready: Vec<Ready>,
    by_id: BTreeMap<String, usize>,
    /// Packages that are being read, the outermost first.
    open: Vec<String>,
    practice: Practice,
    drafts: Vec<Draft>,
    procedures: Vec<ProcedureDraft>,
    incomplete: bool,
}

impl<'a> Loader<'a> {
    fn new(files: &'a dyn Files, options: &'a Options) -> Self {
        Self {
            files,
            options,
            sources: Sources::new(),
            problems: Vec::new(),
            ready: Vec::new(),
            by_id: BTreeMap::new(),
            open: Vec::new(),
            practice: Practice::default(),
            drafts: Vec::new(),
            procedures: Vec::new(),
            incomplete: false,
        }
    }

    /// Reads a package after those that it uses; its number. `written`: where another package says that it uses it.
    fn package(&mut self, id: &str, written: Option<&Name>) -> Option<usize> {
        if let Some(&ready) = self.by_id.get(id) {
            return Some(ready);
        }
        if let Some(from) = self.open.iter().position(|open| open == id) {
            let ring = self.open[from..].iter().chain(std::iter::once(&self.open[from]));
            let ring = ring.map(|id| format!("`{id}`")).collect::<Vec<_>>().join(" uses ");
            let problem = at(written, Code::Cycle, "packages use one another in a ring");
            self.problems.push(problem.why(ring).help("put what both need into a third package"));
            return None;
        }
        if !single_part(id) {
            let message = format!("`{id}` is no name of a package");
            let problem = at(written, Code::OutsideRoot, &message)
                .why("a package is a folder beside this one, or an embedded one; nothing outside is read")
                .help("write the name of the folder alone");
            self.problems.push(problem);
            self.incomplete = true;
            return None;
        }
        let Some((embedded, names)) = self.find(id, written) else {
            self.incomplete = true;
            return None;
        };
        self.open.push(id.to_owned());
        let ready = self.read_package(id, embedded, &names, written);
        self.open.pop();
        if ready.is_none() {
            self.incomplete = true;
        }
        ready
    }

    /// Whether a package is an embedded one, and its files.
    fn find(&mut self, id: &str, written: Option<&Name>) -> Option<(bool, Vec<String>)> {
        // Only the author of the base package itself reads it from a folder.
        if id != BASE || self.open.is_empty() {
            match self.files.list(id) {
                Ok(Some(mut names)) => {
                    names.sort_unstable();
                    return Some((false, names));
                }
                Ok(None) => {}
                Err(error) => {
                    let problem =
                        at(written, Code::FileUnreadable, &format!("the folder `{id}` cannot be read"));
                    self.problems.push(problem.why(error.to_string()));
                    return None;
                }
            }
        }
        if let Some(names) = embedded::files_of(id) {
            return Some((true, names));
        }
        let mut problem = at(written, Code::MissingPackage, &format!("there is no package `{id}`"))
            .why("a package is a folder beside this one, or an embedded one");
        problem.suggestions = nearest(id, embedded::packages());
        self.problems.push(problem);
        None
    }

    /// The tree of a file.
    fn tree(&mut self, embedded: bool, package: &str, file: &str) -> (FileId, Option<Node>) {
        if embedded {
            return embedded::tree(package, file, &mut self.sources, &mut self.problems);
        }
        let name = self.files.name(package, file);
        let limit = self.options.largest_file;
        match self.files.read(package, file, limit) {
            Ok(bytes) => yaml::parse(&name, bytes, limit, &mut self.sources, &mut self.problems),
            Err(error) => {
                let id = self.sources.add(SourceFile::new(name, ""));
                let problem = match error {
                    FilesError::TooLarge(bytes) => yaml::too_large(id, bytes, limit),
                    FilesError::Unreadable(why) => {
                        Diagnostic::new(Code::FileUnreadable, Span::top_of(id), "the file cannot be read")
                            .why(why)
                    }
                };
                self.problems.push(problem);
                (id, None)
            }
        }
    }

    /// The tree of a file that has to hold something.
    fn tree_with_content(&mut self, embedded: bool, package: &str, file: &str) -> (FileId, Option<Node>) {
        let before = self.problems.len();
        let (id, node) = self.tree(embedded, package, file);
        let node = node.filter(|node| !node.is_null());
        if node.is_none() && self.problems.len() == before {
            let problem = Diagnostic::new(Code::EmptyFile, Span::top_of(id), "the file holds nothing")
                .why("every `.yaml` file of a package is one component, or the package itself")
                .help("remove it, or begin with `component: …`");
            self.problems.push(problem);
        }
        (id, node)
    }

    fn read_package(
        &mut self,
        id: &str,
        embedded: bool,
        names: &[String],
        written: Option<&Name>,
    ) -> Option<usize> {
        if !names.iter().any(|name| name == PACKAGE_FILE) {
            let message = format!("the folder `{id}` has no `{PACKAGE_FILE}`");
            let problem =
                at(written, Code::MissingPackage, &message).help("add one: `format: 1`, `package: …`");
            self.problems.push(problem);
            return None;
        }
        let (_, node) = self.tree_with_content(embedded, id, PACKAGE_FILE);
        let empty = (BTreeMap::new(), Declared::default());
        let mut header = node.as_ref().map(|node| {
            let mut d = Decoder {
                problems: &mut self.problems,
                scale: &empty.0,
                declared: &empty.1,
                incomplete: self.incomplete,
            };
            decode::header(node, &mut d)
        });
        if names.iter().any(|name| name == SOURCES_FILE) {
            let (_, node) = self.tree_with_content(embedded, id, SOURCES_FILE);
            self.incomplete |= node.is_none();
            if let (Some(node), Some(header)) = (&node, &mut header) {
                let mut d = Decoder {
                    problems: &mut self.problems,
                    scale: &empty.0,
                    declared: &empty.1,
                    incomplete: self.incomplete,
                };
                decode::sources_file(node, &mut header.sources, &mut d);
            }
        }
        let mut uses = Vec::new();
        if id != BASE {
            uses.extend(self.package(BASE, None));
        }
        for used in header.iter().flat_map(|header| &header.uses) {
            if let Some(used) = self.package(&used.value, Some(used)).filter(|used| !uses.contains(used)) {
                uses.push(used);
            }
        }
        self.incomplete |= header.is_none();
        let at = self.ready.len();
        let mut visible = HashSet::from([at]);
        let (mut declared, mut scale) = (Declared::default(), BTreeMap::new());
        if let (Some(header), Some(node)) = (&header, &node) {
            decode::declare(node, at, header, &mut declared);
            scale.clone_from(&header.scale);
        }
        for used in &uses {
            let used = &self.ready[*used];
            visible.extend(&used.visible);
            declared.join(&used.declared);
            for (word, chance) in &used.scale {
                scale.entry(word.clone()).or_insert(*chance);
            }
        }
        let mut d = Decoder {
            problems: &mut self.problems,
            scale: &scale,
            declared: &declared,
            incomplete: self.incomplete,
        };
        if let Some(node) = &node {
            decode::practice(node, &mut self.practice, &mut d);
        }
        self.components(id, embedded, names, at, &scale, &declared);
        let package = match header {
            Some(header) => Package { id: header.id, title: header.title, uses, sources: header.sources },
            // Its components still have a package, so that what else is wrong with them is found in the same run.
            None => Package {
                id: Spanned::new(id.to_owned(), Span::top_of(FileId(0))),
                title: None,
                uses,
                sources: BTreeMap::new(),
            },
        };
        self.ready.push(Ready { package, visible, declared, scale });
        self.by_id.insert(id.to_owned(), at);
        Some(at)
    }

    /// The component files of a package.
    fn components(
        &mut self,
        id: &str,
        embedded: bool,
        names: &[String],
        package: usize,
        scale: &BTreeMap<String, f64>,
        declared: &Declared,
    ) {
        for name in names.iter().filter(|name| ![PACKAGE_FILE, SOURCES_FILE].contains(&name.as_str())) {
            if name.ends_with(".yml") {
                let file = self.sources.add(SourceFile::new(self.files.name(id, name), ""));
                let problem = Diagnostic::new(Code::FileNotRead, Span::top_of(file), "this file is not read")
                    .why("the files of a package end in `.yaml`")
                    .help("rename it");
                self.problems.push(problem);
            }
            if !name.ends_with(".yaml") {
                continue;
            }
            let (_, node) = self.tree_with_content(embedded, id, name);
            let Some(node) = node else {
                self.incomplete = true;
                continue;
            };
            let mut d =
                Decoder { problems: &mut self.problems, scale, declared, incomplete: self.incomplete };
            if decode::is_procedure(&node) {
                self.procedures.push(decode::procedure(&node, package, &mut d));
                continue;
            }
            match decode::component(&node, package, &mut d) {
                Some(draft) => self.drafts.push(draft),
                None => self.incomplete = true,
            }
        }
    }

    /// Resolves names, runs the rules, and decides.
    fn finish(mut self, root: Option<usize>, check: bool) -> Loaded {
        let top = Span::top_of(FileId(0));
        decode::complete(&mut self.practice, top, &mut self.problems);
        let visible: Vec<HashSet<usize>> = self.ready.iter().map(|ready| ready.visible.clone()).collect();
        let resolved = resolve::resolve(
            self.drafts,
            self.procedures,
            &visible,
            &self.practice,
            self.incomplete,
            &mut self.problems,
        );
        let mut knowledge = Knowledge {
            sources: self.sources.clone(),
            packages: self.ready.into_iter().map(|ready| ready.package).collect(),
            practice: self.practice,
            components: resolved.components,
            procedure: resolved.procedure,
            by_id: resolved.by_id,
            by_kind: resolved.by_kind,
        };
        expressions::check(&mut knowledge, resolved.expressions, self.incomplete, &mut self.problems);
        expressions::check_steps(&mut knowledge, resolved.of_steps, self.incomplete, &mut self.problems);
        if check {
            rules::errors(&knowledge, &mut self.problems);
            rules::warnings(&knowledge, &mut self.problems);
        }
        let fine = root.is_some() && !self.problems.iter().any(Diagnostic::is_error);
        Loaded {
            knowledge: fine.then_some(knowledge),
            diagnostics: in_order(self.problems),
            sources: self.sources,
        }
    }
}

/// By file and position, nothing said twice.
fn in_order(mut problems: Vec<Diagnostic>) -> Vec<Diagnostic> {
    problems.sort_by_cached_key(Diagnostic::order);
    let mut seen = BTreeSet::new();
    problems.retain(|problem| seen.insert(problem.order()));
    if problems.len() > ENOUGH {
        problems.truncate(ENOUGH);
        let last = problems.iter().rev().find_map(|problem| problem.primary.as_ref());
        problems.extend(last.map(|label| too_many(label.span)));
    }
    problems
}

/// A problem where a package is named, or of the whole.
fn at(written: Option<&Name>, code: Code, message: &str) -> Diagnostic {
    match written {
        Some(name) => Diagnostic::new(code, name.span, message),
        None => Diagnostic::nowhere(code, message),
    }
}

/// Whether a name is a single part of a path.
fn single_part(id: &str) -> bool {
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    !id.is_empty() && id.chars().all(allowed) && !id.starts_with('.')
}
