//! What time it is, and where.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// The variable that stops the clock, for records that must not change: a time as RFC 3339.
const STOPPED: &str = "WHYTRIP_CLOCK";

/// Milliseconds since 1970-01-01 UTC.
pub(super) fn now() -> i64 {
    stopped().unwrap_or_else(Timestamp::now).as_millisecond()
}

/// The zone of the times that people read; UTC where the clock is stopped.
pub(super) fn zone() -> TimeZone {
    if stopped().is_some() { TimeZone::UTC } else { TimeZone::system() }
}

fn stopped() -> Option<Timestamp> {
    std::env::var(STOPPED).ok().and_then(|text| text.parse().ok())
}
