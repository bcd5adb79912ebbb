//! The stages of a job's life.

use super::cause::Prior;

/// One stage of a job's life; base rates differ.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub enum Stage {
    /// The first energising and what follows it.
    StartUp,
    /// Ordinary use.
    InService,
    /// After somebody worked on it.
    AfterWork,
}

/// The stages, as packages and job sheets write them.
pub const STAGES: [&str; 3] = [Stage::StartUp.id(), Stage::InService.id(), Stage::AfterWork.id()];

impl Stage {
    /// Every stage.
    pub const ALL: [Self; 3] = [Self::StartUp, Self::InService, Self::AfterWork];

    /// As packages, job sheets and the command line write it.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::StartUp => "start-up",
            Self::InService => "in-service",
            Self::AfterWork => "after-work",
        }
    }

    /// The stage that is written so.
    #[must_use]
    pub fn named(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|stage| stage.id() == id)
    }
}

impl Prior {
    /// The base rate at a stage; `None`: no such cause then.
    #[must_use]
    pub const fn at(&self, stage: Stage) -> Option<f64> {
        match stage {
            Stage::StartUp => self.start_up,
            Stage::InService => self.in_service,
            Stage::AfterWork => self.after_work,
        }
    }
}
