//! Cutters as a person calls them, and how far they may stick out.

use dryturn_check::{Cure, Remedy, WindowLimit};
use dryturn_geom::{Shape, angle};
use dryturn_scene::Cutter;

use crate::run::Run;
use crate::text::{number, plain, trimmed};

/// A length with its unit, two decimals at the most.
pub(super) fn mm(value: f64) -> String {
    format!("{}\u{a0}mm", trimmed(value, 2))
}

/// Shape and diameter of a cutter, after its own name if it has one.
pub(super) fn cutter_name(cutter: &Cutter) -> String {
    let flutes = &cutter.flutes;
    let across = trimmed(2.0 * flutes.radius(), 3);
    let degrees = |half: f64| trimmed(angle::degrees(2.0 * half), 1);
    let shape = match flutes.shape() {
        Shape::Flat => format!("flat, ⌀\u{a0}{across}"),
        Shape::Ball => format!("ball, ⌀\u{a0}{across}"),
        Shape::Bull { corner } => format!("bull, ⌀\u{a0}{across}, corner {}", trimmed(*corner, 3)),
        Shape::Vee { half_angle, .. } => format!("vee {}°, ⌀\u{a0}{across}", degrees(*half_angle)),
        Shape::Taper { half_angle, .. } => {
            format!("taper {}° a side, ⌀\u{a0}{across}", trimmed(angle::degrees(*half_angle), 2))
        }
        Shape::Drill { .. } => format!("drill, ⌀\u{a0}{across}"),
        Shape::Form { .. } => format!("form, ⌀\u{a0}{across}"),
    };
    let says_it = |name: &str| shape.starts_with(name.split(' ').next().unwrap_or_default());
    match plain(&cutter.name) {
        name if name.is_empty() || says_it(&name) => shape,
        name => format!("{name} ({shape})"),
    }
}

/// Least and greatest length that a cutter may stick out for all that is described to pass, in words.
pub(super) fn stickouts(run: &Run, cutter: &Cutter) -> [String; 2] {
    let Some(now) = cutter.stickout else { return ["not known".to_owned(), "not known".to_owned()] };
    let window = run
        .zero_window
        .as_ref()
        .and_then(|window| window.per_cutter.iter().find(|row| row.cutter == cutter.number).map(|row| &row.stickout));
    let least = match (cure(run, cutter.number), window) {
        (Some(cure), _) => told_cure(now, cure),
        (None, Some([less, _])) => told(now, less, "less"),
        (None, None) => "not known".to_owned(),
    };
    let most = match (cure(run, cutter.number), window) {
        (None, Some([_, more])) => told(now, more, "more"),
        (Some(_), _) => "prove it again".to_owned(),
        (None, None) => "not known".to_owned(),
    };
    [least, most]
}

/// The change of the stickout that cures what this cutter hits, the greatest of several.
fn cure(run: &Run, number: u32) -> Option<&Cure> {
    let own = run.findings.iter().filter(|found| found.cutter == Some(number));
    let stickout = own.flat_map(|found| &found.cures).filter(|cure| cure.what == Remedy::Stickout);
    stickout.reduce(|a, b| if b.touching > a.touching { b } else { a })
}

fn told_cure(now: f64, cure: &Cure) -> String {
    match cure.with_near {
        Some(near) => format!("{} (touches at {})", mm(now + near), number(now + cure.touching, 1)),
        None => format!("over {}", mm(now + cure.touching)),
    }
}

fn told(now: f64, limit: &WindowLimit, free: &str) -> String {
    match &limit.ended_by {
        Some(end) => format!("{} ({} meets {})", mm(now + limit.value), plain(&end.moving), plain(&end.fixed)),
        None => format!("{} or {free}", mm(now + limit.value)),
    }
}
