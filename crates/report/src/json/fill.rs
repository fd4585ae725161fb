//! From the results of a run to the rows of the file format.

use super::preparation::PreparationRow;
use super::rows::*;
use super::{FORMAT, Number, course};
use crate::cost::by_cost;
use crate::run::{Grid, MapFile, ProgramRun, Run, Target};
use dryturn_check::{
    Assumed, Clearance, Cure, EndedBy, Finding, NotChecked, Place, Severity, Shown, Verdict, WindowLimit, ZeroWindow,
};

impl Report {
    pub(super) fn new(run: &Run) -> Report {
        Report {
            format: FORMAT,
            title: run.title.clone(),
            verdict: match run.verdict {
                Verdict::Clear => VerdictName::Clear,
                Verdict::Caution => VerdictName::Caution,
                Verdict::Stop => VerdictName::Stop,
            },
            assumed: run.assumed.iter().map(assumed).collect(),
            not_checked: run.not_checked.iter().map(not_checked).collect(),
            grid: grid(&run.grid),
            blank_mm3: Number(run.blank_mm3),
            removed_mm3: Number(run.removed_mm3),
            left_mm3: Number(run.left_mm3),
            programs: run.programs.iter().map(program).collect(),
            cutters: run.cutters.iter().map(course::cutter).collect(),
            job: run.times.as_ref().map(course::job),
            loads: course::loads(&run.loads),
            series: run.series.as_ref().map(course::series),
            blocks: run.blocks.as_ref().map(course::blocks),
            findings: by_cost(&run.findings).into_iter().map(|found| finding(found, &run.programs)).collect(),
            clearances: run.clearances.iter().map(clearance).collect(),
            zero_window: run.zero_window.as_ref().map(zero_window),
            preparation: run.preparation.as_ref().map(PreparationRow::new),
            target: run.target.as_ref().map(target),
            maps: run.maps.iter().map(map).collect(),
        }
    }
}

fn assumed(row: &Assumed) -> AssumedRow {
    AssumedRow { key: row.key.clone(), value: row.value.clone(), because: row.because.clone() }
}

fn not_checked(row: &NotChecked) -> NotCheckedRow {
    NotCheckedRow { what: row.what.clone(), because: row.because.clone(), how_to_add: unless_empty(&row.how_to_add) }
}

fn grid(grid: &Grid) -> GridRow {
    GridRow {
        station_first: Number(grid.station_first),
        station_step: Number(grid.station_step),
        stations: grid.stations,
        angle_step: Number(grid.angle_step),
        angles: grid.angles,
        bytes: grid.bytes,
    }
}

fn program(run: &ProgramRun) -> ProgramRow {
    ProgramRow {
        file: run.file.clone(),
        lines: run.lines,
        blocks: run.blocks,
        removed_mm3: Number(run.removed_mm3),
        time: run.time.map(|time| TimeRow {
            cut_s: Number(time.cut_s),
            air_s: Number(time.air_s),
            rapid_s: Number(time.rapid_s),
            dwell_s: Number(time.dwell_s),
            change_s: time.change_s.map(Number),
        }),
        extents: run.extents.map(|extents| ExtentsRow {
            station_mm: extents.station_mm.map(Number),
            y_mm: extents.y_mm.map(Number),
            z_mm: extents.z_mm.map(Number),
            turn_deg: extents.turn_deg.map(Number),
        }),
        winding: run.winding.map(|winding| WindingRow {
            start_deg: Number(winding.start_deg),
            end_deg: Number(winding.end_deg),
            turns: Number(winding.turns),
        }),
    }
}

fn finding(found: &Finding, programs: &[ProgramRun]) -> FindingRow {
    FindingRow {
        rule: found.rule.to_owned(),
        severity: match found.severity {
            Severity::Note => SeverityName::Note,
            Severity::Warning => SeverityName::Warning,
            Severity::Error => SeverityName::Error,
        },
        program: found.program.map(|index| index + 1),
        file: found.program.and_then(|index| programs.get(index)).map(|program| program.file.clone()),
        lines: found.lines.map(|(first, last)| [first, last]),
        worst_line: found.worst_line,
        blocks: found.blocks,
        cutter: found.cutter,
        place: found.place.as_ref().map(place),
        value: found.value.map(Number),
        unit: found.unit.map(str::to_owned),
        text: found.text.clone(),
        cure: found.cure.clone(),
        cures: found.cures.iter().map(cure).collect(),
        accepted: found.accepted.clone(),
    }
}

fn cure(cure: &Cure) -> CureRow {
    CureRow {
        what: cure.what.key().to_owned(),
        now: cure.now.map(Number),
        touching: Number(cure.touching),
        with_near: cure.with_near.map(Number),
        unit: cure.what.unit().to_owned(),
    }
}

pub(crate) fn place(place: &Place) -> PlaceRow {
    PlaceRow {
        station_mm: Number(place.station_mm),
        angle_deg: Number(place.angle_deg),
        radius_mm: Number(place.radius_mm),
        shown: place.shown.as_ref().map(shown),
    }
}

pub(super) fn shown(shown: &Shown) -> ShownRow {
    ShownRow { x: Number(shown.x), y: Number(shown.y), z: Number(shown.z), a: shown.a.map(Number) }
}

fn clearance(row: &Clearance) -> ClearanceRow {
    ClearanceRow {
        moving: row.moving.clone(),
        fixed: row.fixed.clone(),
        cutter: row.cutter,
        least_mm: Number(row.least_mm),
        program: row.program + 1,
        line: row.line,
        station_mm: Number(row.station_mm),
    }
}

fn zero_window(window: &ZeroWindow) -> ZeroWindowRow {
    let ends = |limits: &[WindowLimit; 2]| limits.each_ref().map(window_limit);
    ZeroWindowRow {
        x: ends(&window.x),
        y: ends(&window.y),
        z: ends(&window.z),
        a: ends(&window.a),
        per_cutter: window
            .per_cutter
            .iter()
            .map(|row| CutterWindowRow { cutter: row.cutter, stickout: ends(&row.stickout) })
            .collect(),
        together: window_limit(&window.together),
    }
}

fn window_limit(limit: &WindowLimit) -> WindowLimitRow {
    WindowLimitRow { value: Number(limit.value), ended_by: limit.ended_by.as_ref().map(ended_by) }
}

fn ended_by(end: &EndedBy) -> EndedByRow {
    EndedByRow {
        moving: end.moving.clone(),
        fixed: end.fixed.clone(),
        which: (end.which > 0).then_some(end.which),
        cutter: end.cutter,
        program: end.program + 1,
        line: end.line,
    }
}

fn target(target: &Target) -> TargetRow {
    TargetRow {
        gouge_mm3: Number(target.gouge_mm3),
        leftover_mm3: Number(target.leftover_mm3),
        deepest_gouge_mm: Number(target.deepest_gouge_mm),
        thickest_leftover_mm: Number(target.thickest_leftover_mm),
    }
}

fn map(file: &MapFile) -> MapRow {
    MapRow {
        name: file.name.clone(),
        unit: unless_empty(&file.unit),
        dtype: file.dtype.clone(),
        npy: format!("maps/{}.npy", file.name),
        png: format!("maps/{}.png", file.name),
    }
}

fn unless_empty(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
}
