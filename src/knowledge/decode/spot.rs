//! Questions that put one on the spot, and groups of causes that nothing tells apart, as a package declares them.

use super::Decoder;
use crate::knowledge::{Ambiguous, OnTheSpot};
use crate::yaml::{Fields, Node};

impl Decoder<'_> {
    pub(super) fn on_the_spot(&mut self, node: &Node) -> Option<OnTheSpot> {
        let mut f = Fields::of(node, "a question on the spot", node.span, self.problems);
        let id = f.require("id", self.problems).and_then(|node| self.id(node, "id"));
        let words = f.require("words", self.problems).map(|node| self.texts(node, "words"));
        let not = f.get("not", self.problems).map_or_else(Vec::new, |node| self.texts(node, "not"));
        let say = f.require("say", self.problems).map(|node| self.texts(node, "say"));
        let slip = f.get("slip", self.problems).and_then(|node| self.truth(node, "slip")).unwrap_or(false);
        let sources = f.get("sources", self.problems).map_or_else(Vec::new, |node| self.sources(node));
        f.finish(self.problems);
        Some(OnTheSpot { id: id?, words: words?, not, say: say?, slip, sources })
    }

    pub(super) fn ambiguous(&mut self, node: &Node) -> Option<Ambiguous> {
        let mut f = Fields::of(node, "a group of causes", node.span, self.problems);
        let causes = f.require("causes", self.problems).map(|node| self.texts(node, "causes"));
        let reason = f.require("reason", self.problems).and_then(|node| self.text(node, "reason"));
        f.finish(self.problems);
        Some(Ambiguous { causes: causes?, reason: reason? })
    }
}
