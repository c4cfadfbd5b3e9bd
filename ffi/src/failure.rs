//! Why a call was refused: a status and, where there is a heap to form it on, the text with the offending value.

#[cfg(feature = "alloc")]
use alloc::string::String;
use core::fmt;

use crate::status::cpoise_status;

/// What a body returns instead of its answer.
pub struct Failure {
    code: cpoise_status,
    #[cfg(feature = "alloc")]
    text: String,
}

impl Failure {
    /// A refusal of the interface's own. Without a heap the text is that of the status.
    #[cold]
    pub fn new(code: cpoise_status, text: fmt::Arguments<'_>) -> Self {
        #[cfg(feature = "alloc")]
        {
            Self { code, text: alloc::fmt::format(text) }
        }
        #[cfg(not(feature = "alloc"))]
        {
            // Formatting of numbers is most of the code of a small build.
            let _ = text;
            Self { code }
        }
    }

    pub fn code(&self) -> cpoise_status {
        self.code
    }

    /// What is wrong, with the value.
    pub fn text(&self) -> &str {
        #[cfg(feature = "alloc")]
        {
            &self.text
        }
        #[cfg(not(feature = "alloc"))]
        {
            crate::status::text(self.code)
        }
    }
}

/// The errors of the stages: their codes are the statuses, their words the texts.
macro_rules! failures {
    ($($(#[$level:meta])? $Error:ident),+ $(,)?) => { $(
        $(#[$level])?
        impl From<counterpoise::$Error> for Failure {
            #[cold]
            fn from(error: counterpoise::$Error) -> Self {
                Self::new(error.code(), format_args!("{error}"))
            }
        }
    )+ };
}

failures! {
    CorrectionError,
    EstimateError,
    FirstWeightError,
    PlacementError,
    QuantityError,
    ReadinessError,
    ReadingError,
    RelocationError,
    SynchronousError,
    ToleranceError,
    ViewError,
    #[cfg(feature = "alloc")] ExaminationError,
    #[cfg(feature = "alloc")] JobError,
    #[cfg(feature = "alloc")] UncertaintyError,
    #[cfg(feature = "alloc")] WithoutPhaseError,
}

#[cfg(feature = "json")]
impl From<counterpoise::json::JsonError> for Failure {
    #[cold]
    fn from(error: counterpoise::json::JsonError) -> Self {
        Self::new(error.code(), format_args!("{error}"))
    }
}
