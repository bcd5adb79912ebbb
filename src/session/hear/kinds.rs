//! The kinds of units of a package, for a session in which units appear as they are mentioned.

use super::{Kind, KindSymptom};
use crate::knowledge::Knowledge;

/// Every kind that a unit can be of, with its words and its symptoms, in the order of the package.
#[must_use]
pub fn kinds(knowledge: &Knowledge) -> Vec<Kind> {
    let each =
        knowledge.components.iter().filter_map(|component| Some((component.each.as_ref()?, component)));
    each.map(|(kind, component)| Kind {
        component: kind.value.clone(),
        words: std::iter::once(&component.title)
            .chain(&component.also)
            .map(|text| text.value.clone())
            .collect(),
        symptoms: component
            .symptoms
            .iter()
            .map(|symptom| KindSymptom {
                name: symptom.finding.id.value.clone(),
                say: symptom.say.value.clone(),
                also: symptom.also.iter().map(|text| text.value.clone()).collect(),
                outcomes: symptom.finding.outcomes.iter().map(|outcome| outcome.value.clone()).collect(),
                outcome_words: symptom
                    .finding
                    .also
                    .iter()
                    .map(|words| words.iter().map(|text| text.value.clone()).collect())
                    .collect(),
            })
            .collect(),
    })
    .collect()
}
