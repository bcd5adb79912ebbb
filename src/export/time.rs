//! Times for people.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// A moment in milliseconds since 1970-01-01 UTC as `2026-11-25 09:31`, in the given zone.
#[must_use]
pub fn moment(at: i64, zone: &TimeZone) -> String {
    Timestamp::from_millisecond(at).map_or_else(
        |_| "at an unknown time".to_owned(),
        |time| time.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M").to_string(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_read_in_their_zone() {
        assert_eq!(moment(0, &TimeZone::UTC), "1970-01-01 00:00");
        assert_eq!(moment(i64::MAX, &TimeZone::UTC), "at an unknown time");
    }
}
