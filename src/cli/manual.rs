//! `manual`: the man page.

use clap::Args;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};

use super::failure::Failure;
use super::streams::Streams;
use super::{ExitStatus, open};
use crate::render::Look;

/// Print the man page, for `man -l -`
#[derive(Args, Debug)]
pub(super) struct Manual {}

impl Manual {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let mut page = Vec::new();
        let mut program = super::program();
        program.build();
        write(&program, &mut page)?;
        streams.result(&String::from_utf8_lossy(&page))?;
        Ok(ExitStatus::Done)
    }
}

/// The whole program on one page: itself, then each command, then the standing notice.
fn write(program: &clap::Command, page: &mut Vec<u8>) -> std::io::Result<()> {
    let man = Man::new(program.clone());
    man.render_title(page)?;
    man.render_name_section(page)?;
    man.render_synopsis_section(page)?;
    man.render_description_section(page)?;
    man.render_options_section(page)?;
    for command in program.get_subcommands().filter(|command| command.get_name() != "help") {
        let mut heading = Roff::new();
        heading.control("SH", [command.get_name().to_uppercase().as_str()]);
        heading.to_writer(page)?;
        let about = command.get_long_about().or_else(|| command.get_about());
        let mut text = Roff::new();
        text.text([roman(about.map(ToString::to_string).unwrap_or_default())]);
        text.to_writer(page)?;
        let mut options = Vec::new();
        Man::new(command.clone()).render_options_section(&mut options)?;
        // The options of a command stand under it, not beside it.
        let options = String::from_utf8_lossy(&options).replace(".SH OPTIONS", ".SS Options");
        page.extend_from_slice(options.as_bytes());
    }
    let mut end = Roff::new();
    end.control("SH", ["EXAMPLES AND EXIT STATUS"]);
    end.control("nf", []);
    end.text([roman(super::EXAMPLES)]);
    end.control("fi", []);
    end.control("SH", ["SAFETY"]);
    end.text([roman(open::standing_notice(Look { width: usize::MAX, ..Look::TEXT }))]);
    end.to_writer(page)
}
