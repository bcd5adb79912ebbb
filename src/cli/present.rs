//! Who is at the panel, with what: the options that `attend`, `power-up` and `chart` share.

use clap::Args;

/// Who is at the panel, as it is typed.
#[derive(Args, Clone, Debug)]
pub(super) struct Present {
    /// Who is at the panel; can be repeated. Without it: anyone
    #[arg(long = "as", value_name = "COMPETENCE", value_delimiter = ',')]
    pub(super) who: Vec<String>,

    /// Instruments at hand; without it, what such a person carries
    #[arg(long = "with", value_name = "INSTRUMENT", value_delimiter = ',')]
    pub(super) instruments: Vec<String>,
}
