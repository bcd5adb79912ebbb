//! Every text for people, in the order of the page: for rules that look at all of them.

use super::{Component, Practice, Terms, Text};

/// The texts of a component.
pub(super) fn component_texts(component: &Component) -> Vec<&Text> {
    let mut out: Vec<&Text> = vec![&component.title];
    out.extend(&component.also);
    for key in &component.nameplate {
        out.extend(key.ask.iter().chain(&key.about));
    }
    for cause in &component.causes {
        out.push(&cause.name);
        out.extend(cause.also.iter().chain(&cause.note));
    }
    out.extend(component.conditions.iter().map(|condition| &condition.name));
    for symptom in &component.symptoms {
        out.push(&symptom.say);
        out.extend(
            symptom.also.iter().chain(&symptom.ask).chain(&symptom.say_to_caller).chain(&symptom.proof.under),
        );
        terms(&symptom.terms, &mut out);
    }
    for test in &component.tests {
        out.push(&test.say);
        out.extend(test.say_to_caller.iter().chain(&test.how).chain(&test.expect));
        for finding in test.gives.iter().map(|gives| &gives.finding) {
            out.extend(finding.name.iter().chain(finding.also.iter().flatten()));
        }
        terms(&test.terms, &mut out);
    }
    for fix in &component.fixes {
        out.extend(fix.steps.iter().chain(&fix.say_to_caller).chain(&fix.not_for));
        out.extend(fix.parts.iter().map(|part| &part.name));
        terms(&fix.terms, &mut out);
    }
    out
}

/// The texts of how the firm works.
pub(super) fn practice_texts(practice: &Practice) -> Vec<&Text> {
    let mut out: Vec<&Text> = practice.notice.iter().collect();
    for competence in &practice.competences {
        out.push(&competence.name);
        out.extend(&competence.also);
        if let Some(hand_over) = &competence.hand_over {
            out.extend(hand_over.say.iter().chain(&hand_over.not_meanwhile));
        }
    }
    for instrument in &practice.instruments {
        out.push(&instrument.name);
        out.extend(&instrument.also);
    }
    for place in &practice.places {
        out.push(&place.name);
        out.extend(&place.also);
    }
    for state in &practice.work_states {
        out.push(&state.name);
        out.extend(state.also.iter().chain(&state.enter.steps).chain(&state.back.steps));
        terms(&state.enter.terms, &mut out);
        terms(&state.back.terms, &mut out);
    }
    out.extend(practice.enclosures.iter().map(|enclosure| &enclosure.name));
    out.extend(practice.hazards.iter().map(|hazard| &hazard.caution));
    for emergency in &practice.emergencies {
        out.extend(emergency.words.iter().chain(&emergency.not).chain(&emergency.ask));
        out.extend(emergency.act.iter().chain(&emergency.all_clear));
    }
    for question in &practice.on_the_spot {
        out.extend(question.words.iter().chain(&question.not).chain(&question.say));
    }
    for meanwhile in &practice.meanwhile {
        out.push(&meanwhile.act);
        out.extend(&meanwhile.put_back);
    }
    if let Some(hand_over) = &practice.unlisted {
        out.extend(hand_over.say.iter().chain(&hand_over.not_meanwhile));
    }
    out
}

fn terms<'a>(terms: &'a Terms, out: &mut Vec<&'a Text>) {
    out.extend(&terms.leaves);
}
