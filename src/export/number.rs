//! Numbers rounded for people. Machine forms never come through here.

/// A probability in per cent: `62 %`, `3.4 %`, `below 0.1 %`, `above 99.9 %`.
///
/// Exact 0 and 1 read `0 %` and `100 %`; nothing else rounds to them.
#[must_use]
pub fn share(probability: f64) -> String {
    let percent = probability * 100.0;
    if probability <= 0.0 {
        "0 %".to_owned()
    } else if probability >= 1.0 {
        "100 %".to_owned()
    } else if percent < 0.1 {
        "below 0.1 %".to_owned()
    } else if percent > 99.9 {
        "above 99.9 %".to_owned()
    } else if !(9.95..=99.0).contains(&percent) {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %")
    }
}

/// Minutes: `under 1 min`, `4 min`, `1 h 20 min`.
#[must_use]
pub fn minutes(minutes: f64) -> String {
    if !minutes.is_finite() {
        return "no time known".to_owned();
    }
    if minutes < 0.95 {
        return "under 1 min".to_owned();
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "saturates, and is no answer beyond that"
    )]
    let whole = minutes.round() as u64;
    match (whole / 60, whole % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

/// Minutes that are an estimate: `about 4 min`, `under 1 min`.
#[must_use]
pub fn about(time: f64) -> String {
    if time < 0.95 || !time.is_finite() { minutes(time) } else { format!("about {}", minutes(time)) }
}

/// A factor by which something moved: `3.2 times as likely`, `4 times less likely`, `as likely as before`.
#[must_use]
pub fn factor(factor: f64) -> String {
    let number = |x: f64| if x < 9.95 { format!("{x:.1}") } else { format!("{x:.0}") };
    if factor <= 0.0 {
        "ruled out".to_owned()
    } else if factor > 1.05 {
        format!("{} times as likely", number(factor))
    } else if factor < 1.0 / 1.05 {
        format!("{} times less likely", number(1.0 / factor))
    } else {
        "as likely as before".to_owned()
    }
}

/// A sum of money: `95 USD`, `4.50 USD`.
#[must_use]
pub fn money(amount: f64, currency: &str) -> String {
    if amount.fract() == 0.0 { format!("{amount:.0} {currency}") } else { format!("{amount:.2} {currency}") }
}

/// An id of an outcome or key as words: `no-supply` reads "no supply".
#[must_use]
pub fn words(id: &str) -> String {
    id.replace(['-', '_'], " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_exact_ends_read_as_the_ends() {
        assert_eq!(share(0.0), "0 %");
        assert_eq!(share(1e-9), "below 0.1 %");
        assert_eq!(share(0.034), "3.4 %");
        assert_eq!(share(0.617), "62 %");
        assert_eq!(share(0.994), "99.4 %");
        assert_eq!(share(1.0 - 1e-9), "above 99.9 %");
        assert_eq!(share(1.0), "100 %");
    }

    #[test]
    fn minutes_read_as_hours_from_sixty() {
        assert_eq!(minutes(0.5), "under 1 min");
        assert_eq!(minutes(59.6), "1 h");
        assert_eq!(minutes(80.0), "1 h 20 min");
        assert_eq!(minutes(f64::INFINITY), "no time known");
    }

    #[test]
    fn factors_read_both_ways() {
        assert_eq!(factor(3.24), "3.2 times as likely");
        assert_eq!(factor(0.25), "4.0 times less likely");
        assert_eq!(factor(1.0), "as likely as before");
        assert_eq!(factor(0.0), "ruled out");
    }
}
