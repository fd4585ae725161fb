//! `[checks]`: the numbers of the rules.

use super::holding::BODY_NAMES;
use crate::model::{Checks, Fit, FixedBody, Rubbing, Shaving, Winding};
use crate::read::{Bound, Table};

pub(super) fn checks(root: &Table<'_>, fixed: &[FixedBody]) -> Checks {
    let table = root.table("checks", "checks");
    let length = |key: &str, default: f64| table.length(key, Bound::NotNegative).unwrap_or(default);
    let number = |key: &str, default: f64| table.number(key, Bound::Positive).unwrap_or(default);
    let usual = Checks::default();
    let mut checks = Checks {
        rapid_in_blank: rapid_in_blank(&table, usual.rapid_in_blank),
        shank_in_blank: shank_in_blank(&table, usual.shank_in_blank),
        past_axis: length("past_axis", usual.past_axis),
        wound_up: wound_up(&table, usual.wound_up),
        slender: number("slender", usual.slender),
        poor_grip: number("poor_grip", usual.poor_grip),
        center_overextended: length("center_overextended", usual.center_overextended),
        mirrored: mirrored(&table, usual.mirrored),
        grid_too_coarse: number("grid_too_coarse", usual.grid_too_coarse),
        spring: table.length("spring", Bound::Positive),
        safety: number("safety", usual.safety),
        ..usual
    };
    near(&table, fixed, &mut checks);
    checks
}

fn near(table: &Table<'_>, fixed: &[FixedBody], checks: &mut Checks) {
    match table.get("near") {
        None => table.cx().assume("checks.near".into(), "\"2 mm\"".into(), "a hand's caution (common practice)"),
        Some(item) if item.value().is_table() => {
            for (name, near) in item.entries() {
                let known = BODY_NAMES.contains(&name) || fixed.iter().any(|body| body.name == name);
                if !known {
                    near.problem_with_key(
                        format!("no body is called `{name}`"),
                        Some(format!("bodies are {}, and what [[fixed]] names", BODY_NAMES[..10].join(", "))),
                    );
                }
                if let Some(value) = near.length(Bound::NotNegative) {
                    checks.near_of.insert(name.to_owned(), value);
                }
            }
        }
        Some(item) => checks.near = item.length(Bound::NotNegative).unwrap_or(checks.near),
    }
}

fn rapid_in_blank(table: &Table<'_>, usual: Shaving) -> Shaving {
    let table = table.table("rapid_in_blank", "checks.rapid_in_blank");
    Shaving {
        depth: table.length("depth", Bound::NotNegative).unwrap_or(usual.depth),
        volume: table.number("volume", Bound::NotNegative).unwrap_or(usual.volume),
    }
}

fn shank_in_blank(table: &Table<'_>, usual: Rubbing) -> Rubbing {
    let table = table.table("shank_in_blank", "checks.shank_in_blank");
    let rubbing = Rubbing {
        warning: table.length("warning", Bound::NotNegative).unwrap_or(usual.warning),
        error: table.length("error", Bound::NotNegative).unwrap_or(usual.error),
    };
    if rubbing.error < rubbing.warning {
        let message = "the depth of an error is less than that of a warning".to_owned();
        table.problem("error", message, Some(format!("write a depth from {} mm", rubbing.warning)));
    }
    rubbing
}

fn wound_up(table: &Table<'_>, usual: Winding) -> Winding {
    let table = table.table("wound_up", "checks.wound_up");
    Winding {
        minutes: table.number("minutes", Bound::NotNegative).unwrap_or(usual.minutes),
        step: table.length("step", Bound::Positive).unwrap_or(usual.step),
    }
}

fn mirrored(table: &Table<'_>, usual: Fit) -> Fit {
    let table = table.table("mirrored", "checks.mirrored");
    Fit {
        ratio: table.number("ratio", Bound::Positive).unwrap_or(usual.ratio),
        share: table.number("share", Bound::NotNegative).unwrap_or(usual.share),
    }
}
