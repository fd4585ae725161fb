//! The budget of errors, row by row.

use dryturn_check::{BudgetEffect, BudgetRow};

use crate::run::Run;
use crate::text::{plain, trimmed};

/// A row of the table.
pub(super) struct BudgetLine {
    pub(super) error: String,
    pub(super) off: String,
    pub(super) effects: Vec<String>,
}

/// What each thing that is a little off does.
pub(super) fn lines(run: &Run) -> Vec<BudgetLine> {
    let rows = run.preparation.iter().flat_map(|ready| &ready.budget);
    rows.map(|BudgetRow { error, off, unit, effects }| BudgetLine {
        error: super::capital(error),
        off: with_unit(*off, unit),
        effects: effects.iter().map(told).collect(),
    })
    .collect()
}

fn told(effect: &BudgetEffect) -> String {
    format!("{} {}", plain(&effect.what), with_unit(effect.value, effect.unit))
}

/// A number with three figures after the point at the most, fewer of what is not small, more of what would be nothing.
fn with_unit(value: f64, unit: &str) -> String {
    let decimals = match value.abs() {
        ..0.0005 => 6,
        ..0.1 => 3,
        _ => 2,
    };
    let number = trimmed(value, decimals);
    if unit == "°" { number + unit } else { format!("{number}\u{a0}{unit}") }
}
