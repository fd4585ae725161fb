//! Finds what would go wrong.

mod finding;

pub use finding::{Assumed, Clearance, Finding, NotChecked, Place, Severity, Shown, Verdict, verdict};
