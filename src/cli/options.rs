//! Options that every command takes.

use clap::{Args, ValueEnum};

/// Options that every command takes.
#[derive(Args, Clone, Debug, Default)]
pub(crate) struct Options {
    /// Linear text that makes sense read aloud: one fact per line, nothing side by side
    #[arg(long, global = true, env = "WHYTRIP_PLAIN", value_parser = clap::builder::FalseyValueParser::new(), help_heading = "Output")]
    pub(crate) plain: bool,

    /// Whether to write colours
    ///
    /// `auto` means: on a terminal, unless NO_COLOR is set or TERM is dumb; FORCE_COLOR turns them on elsewhere.
    #[arg(
        long,
        visible_alias = "colour",
        global = true,
        value_name = "WHEN",
        default_value = "auto",
        help_heading = "Output"
    )]
    pub(crate) color: Colour,

    /// The folder in which cases are kept
    #[arg(
        long,
        global = true,
        value_name = "DIR",
        env = "WHYTRIP_DATA",
        hide_env_values = true,
        help_heading = "Files"
    )]
    pub(crate) data: Option<std::path::PathBuf>,
}

/// Whether to write colours.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) enum Colour {
    /// Where the stream can show them.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}
