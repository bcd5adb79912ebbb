//! The invariants of a model, checked in debug builds and tests.

use super::catalog::Model;
use super::practice::Terms;

/// Checks that every index is in range, that parallel vectors run parallel, that ids are found where they are, and that
/// bands and outcomes agree.
///
/// Cost: linear in the model.
///
/// # Errors
/// The first thing that does not hold, in words.
pub fn verify(model: &Model) -> Result<(), String> {
    let network = &model.network;
    let parallel = [
        ("causes", network.causes(), model.causes.len()),
        ("conditions", network.conditions(), model.conditions.len()),
        ("findings", network.findings(), model.findings.len()),
        ("fixes", network.fixes(), model.fixes.len()),
    ];
    for (what, numbers, words) in parallel {
        ensure(numbers == words, || format!("{numbers} {what} in the network, {words} in the catalogue"))?;
    }
    let practice = &model.practice;
    ensure(!practice.places.is_empty() && !practice.competences.is_empty(), || {
        "no place or no competence".to_owned()
    })?;
    ensure(!practice.work_states.is_empty(), || "no work state".to_owned())?;

    for (at, finding) in model.findings.iter().enumerate() {
        let outcomes = network.outcomes(super::index::FindingIx::new(at));
        ensure(finding.outcomes.len() == outcomes, || format!("outcomes of {}", finding.id))?;
        let test =
            model.tests.get(finding.test.at()).ok_or_else(|| format!("no test gives {}", finding.id))?;
        ensure(test.gives.iter().any(|g| g.finding.at() == at), || {
            format!("{} does not give {}", test.id, finding.id)
        })?;
        ensure(finding.unit.is_none_or(|u| u.at() < model.units.len()), || {
            format!("unit of {}", finding.id)
        })?;
        ensure(model.ids.findings.get(&finding.id).is_some_and(|ix| ix.at() == at), || {
            format!("{} is not found by its id", finding.id)
        })?;
    }
    for test in &model.tests {
        terms(model, &test.terms, &test.id)?;
        for gives in &test.gives {
            let finding =
                model.findings.get(gives.finding.at()).ok_or_else(|| format!("findings of {}", test.id))?;
            if let Some(scale) = &gives.scale {
                ensure(scale.bands.len() == finding.outcomes.len(), || format!("bands of {}", finding.id))?;
                ensure(test.reading.is_some(), || format!("{} has bands but no reading", test.id))?;
                ensure(scale.unknown.iter().all(|(u, _)| u.at() < model.units.len()), || {
                    format!("unknown values of {}", finding.id)
                })?;
            }
            if let Some(table) = &gives.fault_table {
                ensure(table.entries.iter().all(|e| e.1 < finding.outcomes.len()), || {
                    format!("fault table of {}", finding.id)
                })?;
            }
        }
        needs(model, &test.needs, &test.id)?;
    }
    for fix in &model.fixes {
        terms(model, &fix.terms, &fix.id)?;
        needs(model, &fix.needs, &fix.id)?;
    }
    Ok(())
}

fn ensure(holds: bool, what: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(what()) }
}

fn needs(model: &Model, needs: &[(super::index::FindingIx, usize)], id: &str) -> Result<(), String> {
    let fits = |&(finding, outcome): &(super::index::FindingIx, usize)| {
        model.findings.get(finding.at()).is_some_and(|f| outcome < f.outcomes.len())
    };
    ensure(needs.iter().all(fits), || format!("needs of {id}"))
}

fn terms(model: &Model, terms: &Terms, id: &str) -> Result<(), String> {
    let practice = &model.practice;
    ensure(terms.place.at() < practice.places.len(), || format!("place of {id}"))?;
    ensure(terms.competence.at() < practice.competences.len(), || format!("competence of {id}"))?;
    ensure(terms.work_state.is_none_or(|w| w.at() < practice.work_states.len()), || {
        format!("work state of {id}")
    })?;
    ensure(terms.inside.is_none_or(|e| e.at() < practice.enclosures.len()), || format!("enclosure of {id}"))?;
    ensure(terms.instruments.iter().all(|i| i < practice.instruments.len()), || {
        format!("instruments of {id}")
    })?;
    ensure(terms.hazards.iter().all(|h| h.at() < practice.hazards.len()), || format!("hazards of {id}"))?;
    let signal = |h: &super::index::HazardIx| practice.hazards[h.at()].signal;
    ensure(terms.hazards.is_sorted_by_key(signal), || format!("order of the hazards of {id}"))?;
    ensure(terms.minutes.is_none_or(|m| m.is_finite() && m >= 0.0), || format!("minutes of {id}"))
}
