//! Finds what would go wrong.

pub mod contact;
mod finding;

pub use finding::{Assumed, Clearance, Finding, NotChecked, Place, Severity, Shown, Verdict, verdict};
