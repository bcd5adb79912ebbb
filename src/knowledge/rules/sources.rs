//! Sources that nothing cites, or that do not say how they were seen.

use super::grouped::Grouped;
use crate::diagnostic::Code;
use crate::knowledge::Knowledge;

pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<crate::diagnostic::Diagnostic>) {
    let bibliography = knowledge.bibliography();
    for package in &knowledge.packages {
        let (mut unused, mut unseen) = (Grouped::new(), Grouped::new());
        for entry in bibliography.sources.iter().filter(|entry| entry.package == package.id.value) {
            if entry.cited_by.is_empty() && entry.source.supports.is_empty() {
                unused.add(&entry.source.key);
            }
            if entry.source.seen.is_none() {
                unseen.add(&entry.source.key);
            }
        }
        unused.report(
            Code::UnusedSource,
            |names| format!("{names}: cited by nothing"),
            problems,
            |problem| {
                problem
                    .why("a bibliography lists what something rests on")
                    .help("cite it in the `sources` of an item, say under `supports` what else rests on it, or remove it")
            },
        );
        unseen.report(
            Code::MissingSource,
            |names| format!("{names}: no `seen`"),
            problems,
            |problem| {
                problem
                    .why("whoever checks the package wants to know whether anybody read it")
                    .help("add `seen`: `read`, `quoted` (in another document), `from memory` or `computed`")
            },
        );
    }
}
