//! What would be advised were an answer otherwise.

use super::super::Role;
use super::super::page::Page;
use crate::export::{about, factor, share, words};
use crate::session::Otherwise;
use crate::session::dialogue::AnswerLine;

/// The other outcomes of an answer, each with what would follow.
pub fn what_if(page: &mut Page, line: &AnswerLine, otherwise: &[Otherwise]) {
    page.heading(&format!("If answer {} were otherwise", line.number));
    page.line(&format!("It is: {}: {}", line.line.about, words(&line.line.text)));
    if otherwise.is_empty() {
        page.line("It has no other outcome that could be tried.");
    }
    for one in otherwise {
        let step = match (&*one.step, one.minutes) {
            (_, None) => "nothing would be left to look for".to_owned(),
            ("", Some(_)) => "the complaint would be taken again".to_owned(),
            (step, Some(minutes)) if one.changes => {
                format!("next would be: {step} ({} to done)", about(minutes))
            }
            (_, Some(minutes)) => format!("the same step would follow ({} to done)", about(minutes)),
        };
        page.point(&format!("{}: {}: {step}", one.about, words(&one.outcome)));
        if let Some((cause, chance)) = &one.likeliest {
            let fits = if one.fits > 0.0 { factor(one.fits) } else { "impossible".to_owned() };
            page.said(
                Role::Aside,
                &format!("    most likely then: {cause} ({}); all answers together: {fits}", share(*chance)),
            );
        }
    }
    page.said(Role::Aside, "Nothing was changed.");
}
