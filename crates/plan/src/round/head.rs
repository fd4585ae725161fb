//! What a program says of itself before its first word.

use dryturn_geom::units::LengthUnit;

use super::plan::{Account, Passes};
use super::request::{Request, Winding, Work};
use crate::measure::trimmed;
use crate::writer::FeedForm;

/// What the job is called.
pub(super) fn title(request: &Request) -> String {
    let blank = request.blank.told(request.posting.unit);
    let to = request.told(request.work.to());
    match request.work {
        Work::Cylinder { .. } => format!("{blank} to a cylinder of {to}"),
        Work::Prism { faces, .. } => format!("{blank} to {faces} faces, {to} across"),
        Work::Coupon { .. } => format!("{blank} to a coupon {to} thick, to find the zeros by"),
    }
}

/// The remarks, a line each.
pub(super) fn remarks(request: &Request, passes: &Passes, account: &Account) -> Vec<String> {
    let posting = &request.posting;
    let (along, across, rotary) = (posting.along_letter(), posting.across_letter(), posting.rotary_letter());
    let told = |mm| request.told(mm);
    let [first, last] = [request.from, request.end()].map(told);
    let blank = &request.blank;
    let mut remarks = vec![
        title(request),
        format!("stations {first} to {last}"),
        format!("written and proved by dryturn {}", env!("CARGO_PKG_VERSION")),
        format!("zeros: {along}0 at the jaw face, {across}0 over the axis, Z0 on the axis"),
        format!("zero {rotary} where it stands before the start, or it turns back first"),
        format!("cutter in the spindle: {}, S{}", request.cutter, trimmed(request.spindle, 0)),
    ];
    remarks.extend(feed(request, account));
    remarks.extend([
        format!("blank at most {} off centre and {} bent", told(blank.runout), told(blank.bow)),
        format!("it sweeps a radius of {}", told(passes.swept)),
        format!("rapids travel at Z {}: what holds the blank must stay below", told(passes.safe)),
        ending(request, account),
        "first run in air, a hand at the stop".to_owned(),
        "wear eye, ear and dust protection".to_owned(),
        "a simulation proves neither the machine nor the set-up".to_owned(),
    ]);
    remarks
}

fn feed(request: &Request, account: &Account) -> Vec<String> {
    let rotary = request.posting.rotary_letter();
    let unit = if request.posting.unit == LengthUnit::Inch { "inches" } else { "millimetres" };
    let mut remarks = vec![
        format!("{unit}, {}", request.told_speed(account)),
        match request.posting.feed {
            FeedForm::Linear => format!("F counts the linear words, and degrees where {rotary} moves alone"),
            FeedForm::All => format!("F counts all words alike, degrees of {rotary} as lengths"),
            FeedForm::Inverse => "F is one over minutes".to_owned(),
        },
    ];
    if account.turning > 0.0 {
        remarks.push(format!("{rotary} turns at up to {} degrees/min", trimmed(account.turning.ceil(), 0)));
    }
    remarks
}

fn ending(request: &Request, account: &Account) -> String {
    let rotary = request.posting.rotary_letter();
    let turns = trimmed(account.wound_turns.abs(), 0);
    match request.work {
        Work::Cylinder { rezero: true, .. } => {
            format!("{rotary} ends {turns} turns on and is zeroed there: {rotary}0")
        }
        Work::Cylinder { winding, .. } => {
            let winding = if winding == Winding::OneWay { "winds one way" } else { "winds back and forth" };
            format!("{rotary} {winding} and ends {turns} turns on, at {rotary}{}", trimmed(account.rotary_shown, 0))
        }
        _ => format!("{rotary} stands still while it cuts and ends at {rotary}0"),
    }
}
