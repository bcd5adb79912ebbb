//! `meaning`: what a code in a message means.

use clap::Args;

use super::failure::{Failure, quoted};
use super::streams::Streams;
use super::{ExitStatus, open};
use crate::diagnostic::{Code, nearest};
use crate::render::{Page, Role};

/// Say what a code in a message of `check` means
///
/// Messages bear a code in brackets, as in `error[unknown-key]`. This prints its page: what it means, why it matters, a
/// bad and a good example. Without a code it lists all.
#[derive(Args, Debug)]
pub(super) struct Meaning {
    /// The code
    #[arg(value_name = "CODE")]
    code: Option<String>,

    /// Write JSON
    #[arg(long)]
    json: bool,
}

impl Meaning {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        match self.code {
            None => all(streams, self.json)?,
            Some(slug) => {
                let slug = slug.trim_matches(['[', ']', '`']).to_owned();
                let Some(code) = Code::from_slug(&slug) else {
                    let near = nearest(&slug, Code::ALL.iter().map(|code| code.slug()));
                    let failure = Failure::new(format!("there is no code {}", quoted(&slug)));
                    return Err(match near.first() {
                        Some(near) => failure.hint(format!("nearest: `{near}`")),
                        None => failure.hint("`whytrip meaning` lists all codes"),
                    });
                };
                one(streams, code, self.json)?;
            }
        }
        Ok(ExitStatus::Done)
    }
}

fn one(streams: &Streams, code: Code, json: bool) -> Result<(), Failure> {
    if json {
        return open::write_json(streams, &row(code));
    }
    Ok(streams.result(&format!("{}\n", code.explanation().trim_end()))?)
}

fn all(streams: &Streams, json: bool) -> Result<(), Failure> {
    if json {
        let codes: Vec<_> = Code::ALL.iter().map(|&code| row(code)).collect();
        return open::write_json(streams, &serde_json::json!({"format": 1, "codes": codes}));
    }
    let mut page = Page::new(streams.out);
    for code in Code::ALL {
        let role =
            if code.severity() == crate::diagnostic::Severity::Error { Role::Danger } else { Role::Warning };
        page.labelled(role, code.severity().word(), &format!("{}: {}", code.slug(), summary(*code)));
    }
    Ok(streams.result(&page.finish())?)
}

/// The first sentence of a code's page.
fn summary(code: Code) -> String {
    let text = code.explanation();
    let mut paragraphs = text.split("\n\n").filter(|part| !part.starts_with('#') && !part.trim().is_empty());
    paragraphs.next().unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ")
}

fn row(code: Code) -> serde_json::Value {
    serde_json::json!({
        "format": 1,
        "code": code.slug(),
        "severity": code.severity().word(),
        "page": code.explanation(),
    })
}
