//! A layered layout (Sugiyama, Tagawa & Toda 1981; from memory): layers by longest path, order in a layer by
//! barycentres (in a forest by the rows that lead there, which leaves no crossing), coordinates as near to their neighbours as the order allows.
//!
//! In: boxes with a height and arrows between them, no rings, sources before targets. Out: for each box its layer and the
//! position of its top across the layers. The last step is exact: within a layer, Σ (y − wanted)² is least under the order
//! and the gaps, found by pooling neighbours that would overlap (pool adjacent violators: isotonic regression). An arrow
//! over several layers is held together by points in between. Cost: O(sweeps × arrows).

/// An arrow: from a box, where on its side it leaves, to a box.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Arrow {
    pub(super) from: usize,
    pub(super) leaves: f64,
    pub(super) to: usize,
}

/// Where everything is.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Layout {
    /// Per box.
    pub(super) layer: Vec<usize>,
    pub(super) top: Vec<f64>,
    /// Per arrow, its points in the layers between: (layer, y).
    pub(super) bends: Vec<Vec<(usize, f64)>>,
    pub(super) height: f64,
}

/// Sweeps over all layers, there and back.
const SWEEPS: usize = 24;
/// Height kept free for an arrow that passes a layer.
const PASS: f64 = 10.0;

pub(super) fn layout(heights: &[f64], arrows: &[Arrow], gap: f64) -> Layout {
    let boxes = heights.len();
    let mut layer = vec![0usize; boxes];
    // Longest path from the sources; boxes come in an order of their own, so until nothing moves.
    for _ in 0..boxes {
        let mut moved = false;
        for arrow in arrows {
            if layer[arrow.to] < layer[arrow.from] + 1 {
                layer[arrow.to] = layer[arrow.from] + 1;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    // Points in between are boxes as well.
    let mut height: Vec<f64> = heights.to_vec();
    let mut of_layer: Vec<usize> = layer.clone();
    let mut links: Vec<(usize, f64, usize)> = Vec::new();
    let mut chain: Vec<Vec<usize>> = Vec::new();
    for arrow in arrows {
        let (mut from, mut leaves) = (arrow.from, arrow.leaves);
        let mut points = Vec::new();
        for between in layer[arrow.from] + 1..layer[arrow.to] {
            let point = height.len();
            height.push(PASS);
            of_layer.push(between);
            links.push((from, leaves, point));
            points.push(point);
            (from, leaves) = (point, PASS / 2.0);
        }
        links.push((from, leaves, arrow.to));
        chain.push(points);
    }
    let layers = of_layer.iter().max().map_or(0, |most| most + 1);
    let mut order: Vec<Vec<usize>> = vec![Vec::new(); layers];
    for (at, layer) in of_layer.iter().enumerate() {
        order[*layer].push(at);
    }
    let mut before: Vec<Vec<(usize, f64)>> = vec![Vec::new(); height.len()];
    let mut behind: Vec<Vec<(usize, f64)>> = vec![Vec::new(); height.len()];
    for &(from, leaves, to) in &links {
        before[to].push((from, leaves));
        behind[from].push((to, leaves));
    }
    // In a forest the order of the branches is that of the rows they leave from, and nothing crosses.
    let forest = before.iter().all(|all| all.len() <= 1);
    if forest {
        let mut place = vec![0usize; height.len()];
        for boxes in &mut order {
            boxes.sort_by(|&a, &b| {
                let key =
                    |at: usize| before[at].first().map_or((at, 0.0), |&(from, leaves)| (place[from], leaves));
                let (a, b) = (key(a), key(b));
                a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
            });
            boxes.iter().enumerate().for_each(|(number, &at)| place[at] = number);
        }
    }
    let mut top: Vec<f64> = vec![0.0; height.len()];
    for boxes in &order {
        let mut y = 0.0;
        for &at in boxes {
            top[at] = y;
            y += height[at] + gap;
        }
    }
    for sweep in 0..SWEEPS {
        let forward = sweep % 2 == 0;
        let turn: Vec<usize> = if forward { (0..layers).collect() } else { (0..layers).rev().collect() };
        for at_layer in turn {
            let wanted = |at: usize, top: &[f64]| -> f64 {
                let (sum, count) = if forward {
                    let all = before[at].iter().map(|&(from, leaves)| top[from] + leaves - height[at] / 2.0);
                    (all.sum::<f64>(), before[at].len())
                } else {
                    let all = behind[at].iter().map(|&(to, leaves)| top[to] + height[to] / 2.0 - leaves);
                    (all.sum::<f64>(), behind[at].len())
                };
                if count == 0 { top[at] } else { sum / count as f64 }
            };
            let mut wants: Vec<(usize, f64)> =
                order[at_layer].iter().map(|&at| (at, wanted(at, &top))).collect();
            // The order follows the barycentres in the first half of the sweeps; then it stands.
            if sweep < SWEEPS / 2 && !forest {
                wants.sort_by(|a, b| (a.1 + height[a.0] / 2.0).total_cmp(&(b.1 + height[b.0] / 2.0)));
                order[at_layer] = wants.iter().map(|(at, _)| *at).collect();
            }
            for (&(at, _), y) in wants.iter().zip(apart(&wants, &height, gap)) {
                top[at] = y;
            }
        }
    }
    let least = top.iter().copied().fold(f64::INFINITY, f64::min);
    let least = if least.is_finite() { least } else { 0.0 };
    top.iter_mut().for_each(|y| *y -= least);
    let whole = top.iter().zip(&height).map(|(y, high)| y + high).fold(0.0, f64::max);
    let bends = chain
        .iter()
        .map(|points| points.iter().map(|&at| (of_layer[at], top[at] + PASS / 2.0)).collect())
        .collect();
    top.truncate(boxes);
    Layout { layer, top, bends, height: whole }
}

/// The tops nearest to what is wanted, in this order, with the gaps kept.
fn apart(wants: &[(usize, f64)], height: &[f64], gap: f64) -> Vec<f64> {
    // With the room before each taken off, "one below the other" is "not descending".
    let mut room = 0.0;
    let mut rooms = Vec::with_capacity(wants.len());
    let mut pools: Vec<(f64, usize)> = Vec::new(); // sum, count
    for &(at, want) in wants {
        rooms.push(room);
        pools.push((want - room, 1));
        room += height[at] + gap;
        while let [.., (a, n), (b, m)] = pools[..] {
            if a / n as f64 <= b / m as f64 {
                break;
            }
            pools.pop();
            if let Some(last) = pools.last_mut() {
                *last = (a + b, n + m);
            }
        }
    }
    let levels = pools.iter().flat_map(|&(sum, count)| std::iter::repeat_n(sum / count as f64, count));
    levels.zip(rooms).map(|(level, room)| level + room).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_of_a_layer_stay_apart_and_arrows_go_onward() {
        let heights: Vec<f64> = (0..40).map(|at| 20.0 + f64::from(at % 7) * 5.0).collect();
        let arrows: Vec<Arrow> = (1..40)
            .flat_map(|to| [to / 2, to / 3].map(|from| Arrow { from, leaves: 10.0, to }))
            .filter(|arrow| arrow.from != arrow.to)
            .collect();
        let layout = layout(&heights, &arrows, 8.0);
        for arrow in &arrows {
            assert!(layout.layer[arrow.from] < layout.layer[arrow.to]);
        }
        for a in 0..40 {
            for b in 0..a {
                let (top, bottom) = (layout.top[a], layout.top[a] + heights[a]);
                let other = (layout.top[b], layout.top[b] + heights[b]);
                let clear = bottom + 7.9 <= other.0 || other.1 + 7.9 <= top;
                assert!(layout.layer[a] != layout.layer[b] || clear, "{a} and {b}");
            }
        }
    }

    #[test]
    fn pooling_is_the_nearest_that_keeps_the_gaps() {
        let apart = apart(&[(0, 5.0), (1, 5.0)], &[10.0, 10.0], 0.0);
        assert_eq!(apart, [0.0, 10.0]);
    }
}
