//! Where a session's model comes from: a package and a job sheet, compiled again when a unit or a nameplate value appears.

use crate::model::Model;
use crate::model::catalog::Stage;

/// What a session told about its job: all of it goes into every compilation.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Mentioned {
    /// Units that no sheet lists: id, component, the caller's name.
    pub units: Vec<(String, String, String)>,
    /// How units belong together: unit id, relation, other unit's id.
    pub relations: Vec<(String, String, String)>,
    /// Nameplate values read out: unit id, key, value.
    pub nameplate: Vec<(String, String, String)>,
}

/// Compiles the model of a session.
pub trait ModelSource: std::fmt::Debug + Send + Sync {
    /// The package's id.
    fn knowledge(&self) -> &str;

    /// The job's id, where there is a sheet.
    fn job(&self) -> Option<&str>;

    /// The model for that stage with what was mentioned.
    ///
    /// # Errors
    /// Why it cannot be compiled, in a sentence.
    fn compile(&self, stage: Stage, mentioned: &Mentioned) -> Result<Model, String>;
}
