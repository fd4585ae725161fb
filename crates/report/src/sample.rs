//! Results for tests.

use crate::outcome::{FileName, Outcome, Proved, Quote, Refusal};
use crate::run::{
    BlockRow, Blocks, Extents, Grid, Load, Loads, MapFile, ProgramRun, ProgramTime, Run, Series, Slice, Winding,
};
use dryturn_check::{
    Assumed, BatchTime, BlockTime, BudgetEffect, BudgetRow, Clearance, Cure, CutterChange, CutterTimes, CutterWindow,
    EndedBy, Finding, FirstCut, JobTimes, Moment, NotChecked, Place, Preparation, Remedy, Rule, Severity, Shown,
    Verdict, WindowLimit, Wood, ZeroWindow,
};
use dryturn_scene::Doubt;

pub(crate) fn finding(rule: &'static str) -> Finding {
    Finding {
        rule,
        severity: Severity::Error,
        program: Some(0),
        lines: Some((12, 14)),
        worst_line: Some(13),
        blocks: 3,
        cutter: Some(1),
        place: Some(Place {
            station_mm: -1.5,
            angle_deg: 45.0,
            radius_mm: 27.25,
            shown: Some(Shown { x: -1.5, y: 0.0, z: 27.25, a: Some(765.0) }),
        }),
        value: Some(-2.345),
        unit: Some("mm"),
        text: "The holder meets the chuck body while the groove is cut.".to_owned(),
        cure: "Set the cutter out 2.4 mm further.".to_owned(),
        cures: vec![Cure { what: Remedy::Stickout, now: Some(18.0), touching: 2.35, with_near: None }],
        accepted: None,
    }
}

fn window() -> ZeroWindow {
    let open = |value| WindowLimit { value, ended_by: None };
    let met = |value, moving: &str, fixed: &str, which| WindowLimit {
        value,
        ended_by: Some(EndedBy {
            moving: moving.to_owned(),
            fixed: fixed.to_owned(),
            which,
            cutter: 1,
            program: 0,
            line: 13,
        }),
    };
    ZeroWindow {
        x: [met(-3.125, "cutter", "jaws", 2), open(50.0)],
        y: [open(-50.0), open(50.0)],
        z: [met(-4.5, "holder", "chuck", 0), open(50.0)],
        a: [met(-12.5, "cutter", "jaws", 2), met(31.25, "cutter", "jaws", 3)],
        per_cutter: vec![CutterWindow { cutter: 1, stickout: [met(-4.5, "holder", "chuck", 0), open(50.0)] }],
        together: met(2.75, "cutter", "jaws", 2),
    }
}

fn times() -> JobTimes {
    JobTimes {
        cut_s: 185.5,
        air_s: 12.0,
        rapid_s: 12.25,
        dwell_s: 0.0,
        change_s: None,
        changes: 1,
        air_share: 12.0 / 185.5,
        unwinding_s: Some(72.0),
        loading_s: Some(105.25),
        batch: Some(BatchTime { pieces: 40, total_s: 15_000.0 }),
    }
}

fn load(range: [f64; 2]) -> Load {
    Load { range, limit: None, breaks: false, program: 0, line: 13, cutter: Some(1) }
}

/// Eight slices: down, six turns that cut, and away, where no two bodies are near each other.
fn series() -> Series {
    let step_s = 197.75 / 8.0;
    let slice = |k: u32| {
        let cuts = (1..7).contains(&k);
        let ends = |low: f64, high: f64| Some(if cuts { [low, high] } else { [0.0, 0.0] });
        Slice {
            program: 0,
            line: 10 + k,
            cutter: Some(1),
            moment: Moment {
                time_s: step_s * f64::from(k),
                block: 8 + k,
                removal_mm3_s: if cuts { 137.1 } else { 0.0 },
                power: ends(12.25, if k == 3 { 24.5 } else { 20.0 }),
                force: ends(1.5, 9.75),
                torque: ends(90.0, 410.0),
                axial: ends(0.0, 6.5),
                radius_mm: cuts.then_some(27.25),
                clearance_mm: (k < 7).then(|| 4.5 * f64::from(k)),
                engagement: None,
                spring: None,
            },
        }
    };
    Series { step_s, starts_s: vec![0.0], slices: (0..8).map(slice).collect(), found_s: vec![Some(2.0 * step_s)] }
}

/// A rapid and a cut.
fn blocks() -> Blocks {
    let row = |block, line, start_s, taken_s, air_s| BlockRow {
        program: 0,
        line,
        times: BlockTime { block, start_s, taken_s, asked_s: taken_s, air_s },
    };
    Blocks { a_row: 1, rows: vec![row(8, 10, 0.0, 12.25, 12.25), row(9, 11, 12.25, 185.5, 12.0)] }
}

pub(crate) fn run() -> Run {
    let clearance = |moving: &str, fixed: &str, least_mm| Clearance {
        moving: moving.to_owned(),
        fixed: fixed.to_owned(),
        cutter: 1,
        least_mm,
        program: 0,
        line: 13,
        station_mm: -8.0,
    };
    Run {
        title: "Reel core, first side".to_owned(),
        verdict: Verdict::Stop,
        assumed: vec![Assumed {
            key: "machine.turns".to_owned(),
            value: "iso".to_owned(),
            because: "not stated".to_owned(),
        }],
        not_checked: vec![NotChecked {
            what: "the live center".to_owned(),
            because: "no tailstock is described".to_owned(),
            how_to_add: "[tailstock]".to_owned(),
        }],
        grid: Grid {
            station_first: -11.875,
            station_step: 0.25,
            stations: 360,
            angle_step: 0.6,
            angles: 600,
            bytes: 3_456_000,
        },
        blank_mm3: 113_097.336,
        removed_mm3: 20_345.25,
        left_mm3: 92_752.086,
        programs: vec![ProgramRun {
            file: "groove.nc".to_owned(),
            lines: 412,
            blocks: 398,
            removed_mm3: 20_345.25,
            time: Some(ProgramTime { cut_s: 185.5, air_s: 12.0, rapid_s: 12.25, dwell_s: 0.0, change_s: None }),
            extents: Some(Extents {
                station_mm: [-1.5, 75.0],
                y_mm: [0.0, 0.0],
                z_mm: [20.0, 60.0],
                turn_deg: [0.0, 4320.0],
            }),
            winding: Some(Winding { start_deg: 0.0, end_deg: 4320.0, turns: 12.0 }),
            systems: vec![0],
        }],
        cutters: vec![CutterTimes { cutter: 1, cut_s: 185.5, air_s: 12.0, rapid_s: 12.25 }],
        times: Some(times()),
        loads: Loads {
            power: Some(load([12.25, 24.5])),
            torque: Some(load([90.0, 410.0])),
            force: Some(load([1.5, 9.75])),
            axial: Some(load([0.0, 6.5])),
            spring: None,
        },
        series: Some(series()),
        blocks: Some(blocks()),
        findings: vec![finding("holder-hits")],
        clearances: vec![clearance("shank", "jaws", 4.5), clearance("holder", "chuck", -2.345)],
        zero_window: Some(window()),
        preparation: Some(preparation()),
        target: None,
        maps: vec![MapFile { name: "remaining-radius".to_owned(), unit: "mm".to_owned(), dtype: "<f4".to_owned() }],
    }
}

fn preparation() -> Preparation {
    let shown = Some(Shown { x: 3.0, y: 0.0, z: 60.0, a: Some(0.0) });
    let effect = |what: &str, value, unit| BudgetEffect { what: what.to_owned(), value, unit };
    Preparation {
        changes: vec![CutterChange { program: 0, line: 7, cutter: 1, shown, wound_deg: Some(0.0) }],
        wound_deg: Some(4320.0),
        first_cut: Some(FirstCut { program: 0, line: 12, cutter: 1, station_mm: 3.0, height_mm: 24.5, shown }),
        wood: Some(Wood {
            stations: [1.5, 75.0],
            radii: [25.0, 20.0],
            is_skin: false,
            is_from_skin: false,
            by_cutter: [(1, [25.0, 20.0])].into(),
            spare_mm: 1.0,
            round_mm: 51.0,
            square_mm: Some(51.0),
            outline: vec![[0.0, 25.0], [40.0, 20.0], [75.0, 25.0]],
        }),
        doubt: Doubt { x: 0.5, y: 0.5, z: 0.5, a_deg: 1.0, runout: 0.5 },
        budget: vec![BudgetRow {
            error: "A zero, or a blank that slips".to_owned(),
            off: 1.0,
            unit: "°",
            effects: vec![
                effect("edges step at radius 25 by", 0.436, "mm"),
                effect("and at radius 20 by", 0.349, "mm"),
            ],
        }],
    }
}

fn file(path: &str) -> FileName {
    FileName { path: path.to_owned(), inside: true }
}

/// The run as that of a scene in a repository.
pub(crate) fn outcome() -> Outcome {
    Outcome {
        scene: file("scenes/reel/scene.toml"),
        result: Ok(Proved {
            run: run(),
            rules: Rule::all().collect(),
            files: vec![file("scenes/reel/groove.nc")],
            quotes: vec![Some(Quote::new("G1 X3 A0 F0.4", "G0 Z40"))],
        }),
    }
}

/// A scene with an error in it.
pub(crate) fn refused() -> Outcome {
    let scene = file("scenes/broken.toml");
    let refusal = Refusal { file: scene.clone(), line: Some(3), text: "unknown key `dimeter`".to_owned() };
    Outcome { scene, result: Err(vec![refusal]) }
}
