//! The rows of what is got ready before a run.

use super::Number;
use super::fill::shown;
use super::rows::ShownRow;
use dryturn_check::{BudgetEffect, BudgetRow, CutterChange, FirstCut, Preparation, Wood};
use schemars::JsonSchema;
use serde::Serialize;

#[derive(Serialize, JsonSchema)]
pub(super) struct PreparationRow {
    /// The cutters in the order they come into the spindle, the first included.
    changes: Vec<ChangeRow>,
    /// How far the blank is wound up once all has ended, degrees of the word that turns it; null where that is not known.
    wound_deg: Option<Number>,
    /// Where the first wood is taken; null where none is.
    first_cut: Option<FirstCutRow>,
    /// The wood that is worked and the blank that takes; null where nothing is cut.
    wood: Option<WoodRow>,
    /// What things do that are a little off: closed forms for this piece.
    budget: Vec<ErrorRow>,
}

#[derive(Serialize, JsonSchema)]
struct ChangeRow {
    /// Number of the program it comes for, from 1.
    program: usize,
    /// Line of its first block, from 1.
    line: u32,
    /// Number of the cutter.
    cutter: u32,
    /// What the controller shows meanwhile; null where no place is known.
    shown: Option<ShownRow>,
    /// How far the blank is wound up meanwhile, degrees of the word that turns it; null where that is not known.
    wound_deg: Option<Number>,
}

#[derive(Serialize, JsonSchema)]
struct FirstCutRow {
    /// Number of the program, from 1.
    program: usize,
    /// Line of the block, from 1.
    line: u32,
    /// Number of the cutter.
    cutter: u32,
    /// Station of the tip where it begins to cut, mm.
    station_mm: Number,
    /// Height of the tip over the axis there, mm.
    height_mm: Number,
    /// What the controller shows there; null where that is not known.
    shown: Option<ShownRow>,
}

#[derive(Serialize, JsonSchema)]
struct WoodRow {
    /// First and last station at which anything is cut, mm.
    stations_mm: [Number; 2],
    /// Greatest and least of the radii of the worked piece, of each row the outermost, mm.
    radii_mm: [Number; 2],
    /// Whether some of the blank's own skin stays on the piece there.
    is_skin: bool,
    /// Whether a Z zero lies on the blank's skin, so that a thinner blank gives a thinner piece.
    is_from_skin: bool,
    /// What a blank must have over twice the greatest radius, mm: twice what it is off centre and bent.
    spare_mm: Number,
    /// The smallest round that leaves the piece, mm across.
    round_mm: Number,
    /// The smallest square that does, mm across its flats; null where the skin of a round stays.
    square_mm: Option<Number>,
}

#[derive(Serialize, JsonSchema)]
struct ErrorRow {
    /// What is off.
    error: String,
    /// By how much.
    off: Number,
    /// Unit of that.
    unit: String,
    /// What it does.
    effects: Vec<EffectRow>,
}

#[derive(Serialize, JsonSchema)]
struct EffectRow {
    /// What changes, or comes to be.
    what: String,
    /// By or to how much.
    value: Number,
    /// Unit of the value.
    unit: String,
}

impl PreparationRow {
    pub(super) fn new(ready: &Preparation) -> PreparationRow {
        PreparationRow {
            changes: ready.changes.iter().map(change).collect(),
            wound_deg: ready.wound_deg.map(Number),
            first_cut: ready.first_cut.as_ref().map(first_cut),
            wood: ready.wood.as_ref().map(wood),
            budget: ready.budget.iter().map(error).collect(),
        }
    }
}

fn change(change: &CutterChange) -> ChangeRow {
    ChangeRow {
        program: change.program + 1,
        line: change.line,
        cutter: change.cutter,
        shown: change.shown.as_ref().map(shown),
        wound_deg: change.wound_deg.map(Number),
    }
}

fn first_cut(cut: &FirstCut) -> FirstCutRow {
    FirstCutRow {
        program: cut.program + 1,
        line: cut.line,
        cutter: cut.cutter,
        station_mm: Number(cut.station_mm),
        height_mm: Number(cut.height_mm),
        shown: cut.shown.as_ref().map(shown),
    }
}

fn wood(wood: &Wood) -> WoodRow {
    WoodRow {
        stations_mm: wood.stations.map(Number),
        radii_mm: wood.radii.map(Number),
        is_skin: wood.is_skin,
        is_from_skin: wood.is_from_skin,
        spare_mm: Number(wood.spare_mm),
        round_mm: Number(wood.round_mm),
        square_mm: wood.square_mm.map(Number),
    }
}

fn error(row: &BudgetRow) -> ErrorRow {
    ErrorRow {
        error: row.error.clone(),
        off: Number(row.off),
        unit: row.unit.to_owned(),
        effects: row.effects.iter().map(effect).collect(),
    }
}

fn effect(effect: &BudgetEffect) -> EffectRow {
    EffectRow { what: effect.what.clone(), value: Number(effect.value), unit: effect.unit.to_owned() }
}
