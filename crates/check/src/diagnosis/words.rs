//! How a diagnosis speaks.

use super::reading::Reading;

/// How two readings of a job lie beside its target, mm³.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fit {
    pub(super) given: f64,
    pub(super) other: f64,
}

impl Fit {
    /// `None`: there is no target.
    pub(super) fn of(given: &Reading, other: &Reading) -> Option<Fit> {
        given.off.zip(other.off).map(|(given, other)| Fit { given, other })
    }

    /// Whether the other reading fits so many times better.
    pub(super) fn is_far_better(self, ratio: f64) -> bool {
        self.given > ratio * self.other && self.given > 0.0
    }

    /// Whether the other reading fits no better.
    pub(super) fn is_no_better(self) -> bool {
        self.other >= self.given
    }

    /// The end of a sentence.
    pub(super) fn told(self) -> String {
        format!("it would leave {} off the target instead of {}", volume(self.other), volume(self.given))
    }
}

/// A volume as people read it.
pub(super) fn volume(mm3: f64) -> String {
    match mm3 {
        small if small < 0.05 => "nothing".to_owned(),
        small if small < 1000.0 => format!("{small:.1} mm³"),
        _ => format!("{:.1} cm³", mm3 / 1000.0),
    }
}
