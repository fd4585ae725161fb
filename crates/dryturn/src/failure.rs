//! Why a command gave no answer.

use std::io::IsTerminal;

use dryturn_carve::CarveError;
use dryturn_check::ReadError;
use dryturn_plan::PlanError;
use dryturn_plan::restart::RestartError;
use dryturn_report::WriteError;
use dryturn_scene::SceneError;
use dryturn_surface::SurfaceError;

use crate::arguments::Color;
use crate::output::OutputError;
use crate::{INTERRUPTED, REFUSED, tell};

/// Why a command gave no answer.
pub(crate) enum Failure {
    Interrupted,
    Scene(SceneError),
    Other(String),
}

impl Failure {
    /// Tells it on standard error; gives the exit code.
    pub(crate) fn told(&self, color: Color) -> u8 {
        match self {
            Failure::Interrupted => tell("interrupted: nothing was written"),
            Failure::Scene(error) => tell(&error.render(color.on(std::io::stderr().is_terminal()))),
            Failure::Other(message) => tell(&format!("error: {message}")),
        }
        if matches!(self, Failure::Interrupted) { INTERRUPTED } else { REFUSED }
    }

    /// The same as plain text.
    #[cfg(feature = "view")]
    pub(crate) fn text(&self) -> String {
        match self {
            Failure::Interrupted => "interrupted".to_owned(),
            Failure::Scene(error) => error.render(false),
            Failure::Other(message) => message.clone(),
        }
    }
}

impl From<SceneError> for Failure {
    fn from(error: SceneError) -> Self {
        Failure::Scene(error)
    }
}

impl From<CarveError> for Failure {
    fn from(error: CarveError) -> Self {
        match error {
            CarveError::Cancelled => Failure::Interrupted,
            error => Failure::Other(error.to_string()),
        }
    }
}

impl From<ReadError> for Failure {
    fn from(error: ReadError) -> Self {
        match error {
            ReadError::Scene(error) => error.into(),
            ReadError::Carve(error) => error.into(),
        }
    }
}

impl From<SurfaceError> for Failure {
    fn from(error: SurfaceError) -> Self {
        match error {
            SurfaceError::Cancelled => Failure::Interrupted,
            error => Failure::Other(error.to_string()),
        }
    }
}

impl From<PlanError> for Failure {
    fn from(error: PlanError) -> Self {
        match error {
            PlanError::Scene(error) => error.into(),
            PlanError::Carve(error) => error.into(),
            error => Failure::Other(dryturn_report::plain(&error.to_string())),
        }
    }
}

impl From<RestartError> for Failure {
    fn from(error: RestartError) -> Self {
        match error {
            RestartError::Scene(error) => error.into(),
            RestartError::Carve(error) => error.into(),
            error => Failure::Other(dryturn_report::plain(&error.to_string())),
        }
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        match error {
            WriteError::Interrupted => Failure::Interrupted,
            error => Failure::Other(error.to_string()),
        }
    }
}

impl From<OutputError> for Failure {
    fn from(error: OutputError) -> Self {
        match error {
            OutputError::Write(error) => error.into(),
            error => Failure::Other(error.to_string()),
        }
    }
}
