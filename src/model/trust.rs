//! How far an answer is believed: a weight per outcome.
//!
//! A plain answer of trust t weighs t on the outcome answered and (1 − t)/(k − 1) on each of the k − 1 others. "I think
//! so" moves t half-way to 1/k, where the answer would say nothing at all.

/// Weights of a plain answer. `outcomes` is at least 2; a trust below 1/k would turn the answer round and counts as 1/k.
pub fn plain(outcomes: usize, answer: usize, trust: f64, sure: bool) -> Vec<f64> {
    among(outcomes, &[answer], trust, sure)
}

/// Weights where several outcomes fit the answer ("tripped, class unknown"): t on each of these, the rest of the weight
/// of one answer spread over the others.
pub fn among(outcomes: usize, answers: &[usize], trust: f64, sure: bool) -> Vec<f64> {
    let nothing = 1.0 / outcomes as f64;
    let trust = if sure { trust } else { 0.5 * (trust + nothing) }.clamp(nothing, 1.0);
    let others = outcomes.saturating_sub(answers.len());
    let rest = if others == 0 { trust } else { (1.0 - trust) / others as f64 };
    (0..outcomes).map(|outcome| if answers.contains(&outcome) { trust } else { rest }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_answer() {
        assert_eq!(plain(2, 1, 0.9, true), [1.0 - 0.9, 0.9]);
        assert_eq!(plain(5, 0, 0.8, true)[1], (1.0 - 0.8) / 4.0);
        assert_eq!(plain(2, 0, 1.0, true), [1.0, 0.0]);
    }

    #[test]
    fn i_think_so_is_half_way_to_nothing() {
        assert_eq!(plain(2, 0, 0.9, false), [0.7, 1.0 - 0.7]);
        assert_eq!(plain(4, 0, 0.25, false), [0.25; 4]);
    }
}
