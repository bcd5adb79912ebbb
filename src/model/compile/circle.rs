//! The search for circles among conditions, causes and needs.

use petgraph::algo::tarjan_scc;
use petgraph::graph::DiGraph;
use petgraph::visit::EdgeRef;

use super::story::Arrow;
use crate::source::Span;

/// One circle among `count` items, as the items in the order of the arrows with where each arrow was written.
///
/// Cost: linear in items and arrows (strongly connected components, Tarjan 1972), then one walk.
pub(super) fn circle(count: usize, arrows: &[Arrow]) -> Option<Vec<(usize, Span)>> {
    let mut graph: DiGraph<(), Span> = DiGraph::with_capacity(count, arrows.len());
    let nodes: Vec<_> = (0..count).map(|_| graph.add_node(())).collect();
    for arrow in arrows {
        graph.add_edge(nodes[arrow.from], nodes[arrow.to], arrow.span);
    }
    let inside = |component: &Vec<_>| match component.as_slice() {
        [only] => graph.contains_edge(*only, *only),
        _ => true,
    };
    let mut knots: Vec<_> = tarjan_scc(&graph).into_iter().filter(inside).collect();
    knots.iter_mut().for_each(|knot| knot.sort_unstable());
    knots.sort_unstable();
    let knot = knots.into_iter().next()?;
    // Within a strongly connected part every walk comes back.
    let mut walk: Vec<(usize, Span)> = Vec::new();
    let mut at = knot[0];
    loop {
        let arrow = graph.edges(at).filter(|edge| knot.contains(&edge.target()));
        let next = arrow.min_by_key(EdgeRef::target)?;
        walk.push((at.index(), *next.weight()));
        at = next.target();
        if let Some(start) = walk.iter().position(|&(node, _)| node == at.index()) {
            return Some(walk.split_off(start));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::FileId;

    fn walk(count: usize, arrows: &[(usize, usize)]) -> Option<Vec<usize>> {
        let span = Span::top_of(FileId(0));
        let arrows: Vec<Arrow> = arrows.iter().map(|&(from, to)| Arrow { from, to, span }).collect();
        circle(count, &arrows).map(|walk| walk.into_iter().map(|(node, _)| node).collect())
    }

    #[test]
    fn circles_are_walked_in_order() {
        assert_eq!(walk(4, &[(0, 1), (1, 2), (0, 2), (2, 3)]), None);
        assert_eq!(walk(3, &[(2, 2)]), Some(vec![2]));
        assert_eq!(walk(5, &[(0, 1), (1, 3), (3, 4), (4, 1)]), Some(vec![1, 3, 4]));
        assert_eq!(walk(3, &[(0, 1), (1, 0), (1, 2), (2, 1)]), Some(vec![0, 1]));
    }
}
