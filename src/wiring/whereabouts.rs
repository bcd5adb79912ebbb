//! In which enclosure an end of a wire is.

use crate::job::{Job, Strip, Unit};
use crate::knowledge::Knowledge;

/// Where an end of a wire is. Ends of equal whereabouts are behind one door.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub struct Whereabouts {
    /// Enclosure id; `None`: at the unit itself.
    pub enclosure: Option<String>,
    /// Place id.
    pub place: String,
    /// The unit, where it has an enclosure of its own, or none.
    pub unit: Option<String>,
}

const PANEL: &str = "panel";

impl Whereabouts {
    /// That of the panel.
    #[must_use]
    pub fn panel() -> Self {
        Self { enclosure: Some(PANEL.to_owned()), place: PANEL.to_owned(), unit: None }
    }

    /// Whether it is the panel.
    #[must_use]
    pub fn is_panel(&self) -> bool {
        self.enclosure.as_deref() == Some(PANEL)
    }

    pub(super) fn of_device(knowledge: &Knowledge, job: &Job, device: &str) -> Self {
        if let Some(unit) = job.unit(device) {
            return Self::of_unit(knowledge, unit);
        }
        match job.strips.iter().find(|strip| strip.id == device) {
            Some(strip) => Self::of_strip(knowledge, job, strip),
            None => Self::panel(),
        }
    }

    fn of_unit(knowledge: &Knowledge, unit: &Unit) -> Self {
        Self::of(knowledge, unit.place.as_deref(), unit.inside.as_deref(), &unit.id)
    }

    fn of_strip(knowledge: &Knowledge, job: &Job, strip: &Strip) -> Self {
        match strip.with.as_ref().and_then(|with| job.unit(with)) {
            Some(unit) => Self::of_unit(knowledge, unit),
            None => Self::of(knowledge, strip.place.as_deref(), strip.inside.as_deref(), &strip.id),
        }
    }

    fn of(knowledge: &Knowledge, place: Option<&str>, inside: Option<&str>, device: &str) -> Self {
        let known = |id: &str| knowledge.practice.enclosures.iter().find(|e| e.id.value == id);
        let place = place.unwrap_or(PANEL).to_owned();
        match inside {
            Some(door) => {
                let own = known(door).is_some_and(|enclosure| enclosure.own);
                Self { enclosure: Some(door.to_owned()), place, unit: own.then(|| device.to_owned()) }
            }
            None if place == PANEL => Self::panel(),
            None => Self { enclosure: None, place, unit: Some(device.to_owned()) },
        }
    }
}
