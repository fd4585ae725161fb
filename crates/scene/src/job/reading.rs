//! From the programs' bytes to resolved programs: what the scene tells the reader before the first line.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use dryturn_geom::{Axis, Frame};
use dryturn_program::listing::axes_written;
use dryturn_program::{self as program, Diagnostic, Program, Setup, ToolOffset, line_text};

use super::JobOptions;
use crate::error::{LineRemark, SceneError, Severity};
use crate::model::{Cutter, M6, Scene};

/// Largest program that is read, bytes.
const PROGRAM_LIMIT: u64 = 2 << 30;
/// Most cutters named by number in a message.
const NAMED: usize = 12;

pub(super) fn source_of(path: &Path) -> Result<Vec<u8>, SceneError> {
    let name = path.display().to_string();
    let cannot_read = |source| SceneError::Read { path: name.clone(), source };
    let mut bytes = Vec::new();
    File::open(path).map_err(cannot_read)?.take(PROGRAM_LIMIT + 1).read_to_end(&mut bytes).map_err(cannot_read)?;
    if bytes.len() as u64 > PROGRAM_LIMIT {
        return Err(SceneError::TooLarge { message: format!("{name} is larger than 2 GiB") });
    }
    Ok(bytes)
}

/// Words that stand at their zero because their letter stands in no program, or because they drive nothing here.
pub(super) fn words_at_rest(scene: &Scene, sources: &[Vec<u8>]) -> [bool; 6] {
    let frame = scene.frame_as_set(0);
    let written = sources.iter().fold(0, |mask, source| mask | axes_written(source));
    std::array::from_fn(|word| written & 1 << word == 0 || frame.drive(word).is_none())
}

pub(super) fn key_of(axis: Axis) -> &'static str {
    match axis {
        Axis::X => "x",
        Axis::Y => "y",
        Axis::Z => "z",
        Axis::Turn => "a",
    }
}

/// What the scene's `start` says of a word of the first program.
pub(super) fn given_start(scene: &Scene, frame: &Frame, word: usize) -> Option<f64> {
    let start = &scene.machine.start;
    match frame.drive(word)?.axis {
        Axis::X => start.x,
        Axis::Y => start.y,
        Axis::Z => start.z,
        // A wrapped word counts lengths across the bed.
        Axis::Turn if word < 3 => start.y,
        Axis::Turn => start.a,
    }
}

pub(super) fn read_all(
    scene: &Scene,
    sources: &[Vec<u8>],
    still: &[bool; 6],
    options: JobOptions,
) -> Result<Vec<Program>, SceneError> {
    let mut programs: Vec<Program> = Vec::new();
    let mut remarks = Vec::new();
    for (index, source) in sources.iter().enumerate() {
        let setup = setup(scene, index, programs.last(), still, options);
        let program = program::read(source, &setup);
        if let Some(entry) = scene.programs.get(index) {
            if program.stopped() {
                let errors = program.diagnostics.iter().filter(|d| d.severity == program::Severity::Error);
                remarks.extend(errors.map(|d| remark(&entry.path, source, d)));
            }
            remarks.extend(unknown_cutters(scene, &entry.path, source, &program));
        }
        programs.push(program);
    }
    if remarks.is_empty() { Ok(programs) } else { Err(SceneError::lines(remarks)) }
}

fn setup(scene: &Scene, index: usize, before: Option<&Program>, still: &[bool; 6], options: JobOptions) -> Setup {
    let frame = scene.frame_as_set(index);
    let entry = scene.programs.get(index);
    let first = before.is_none();
    let start = std::array::from_fn(|word| match before {
        None => given_start(scene, &frame, word).or(still[word].then_some(0.0)),
        Some(_) if still[word] && given_start(scene, &frame, word).is_none() => Some(0.0),
        Some(before) => carried_over(scene, index, before, word),
    });
    let cutter = match entry.and_then(|entry| entry.cutter) {
        Some(number) => Some(number),
        None if first => None,
        None => before.and_then(|before| before.end_cutter),
    };
    let stickout = |cutter: &Cutter| Some((cutter.number, cutter.stickout?));
    let diameter = |cutter: &Cutter| (cutter.number, 2.0 * cutter.flutes.radius());
    Setup {
        origins: origins(scene, index, before),
        g92: g92(scene, index, before),
        start,
        machine_zero: scene.machine_zero(index),
        stickouts: scene.cutters.iter().filter_map(stickout).collect(),
        cutter: cutter.filter(|&number| number != 0),
        m6_ignored: scene.controller.m6 == M6::Ignored,
        block_delete: scene.controller.block_delete,
        arc_slack_mm: scene.controller.arc_slack,
        arcs: scene.controller.arcs,
        inverse_time: scene.controller.inverse_time,
        line_limit: scene.controller.line_limit as usize,
        dwell_milliseconds: scene.controller.dwell_milliseconds,
        lenient: options.lenient,
        rotary_words: std::array::from_fn(|k| frame.drive(3 + k).is_some()),
        max_blocks: u64::from(scene.controller.budget.blocks),
        max_steps: scene.controller.budget.steps,
        max_depth: scene.controller.budget.depth,
        not_understood: scene.controller.not_understood,
        drops: scene.controller.drops.clone(),
        expressions: scene.controller.expressions,
        subprograms: scene.controller.subprograms,
        canned: scene.controller.canned,
        tool_length: scene.controller.tool_length_table,
        compensation: scene.controller.compensation,
        tool_offset: before.map_or(ToolOffset::ByHand, |before| before.end_tool_offset),
        diameters: scene.cutters.iter().map(diameter).collect(),
        parameters: before.map(|before| before.parameters.clone()).unwrap_or_default(),
    }
}

/// Origins in terms of the program's own G54. An origin that the program before put elsewhere stays where it put it.
fn origins(scene: &Scene, index: usize, before: Option<&Program>) -> [[f64; 6]; 9] {
    let mut origins = scene.origins(index);
    if let (Some(before), Some(last)) = (before, index.checked_sub(1)) {
        let set_up = scene.origins(last);
        for (system, origin) in origins.iter_mut().enumerate() {
            for (word, place) in origin.iter_mut().enumerate() {
                *place += before.end_origins[system][word] - set_up[system][word];
            }
        }
    }
    origins
}

/// The G92 offset that the program before left, but where the scene says of this program where its zero lies.
fn g92(scene: &Scene, index: usize, before: Option<&Program>) -> [f64; 6] {
    let (Some(before), Some(entry)) = (before, scene.programs.get(index)) else { return [0.0; 6] };
    let frame = scene.frame_as_set(index);
    let is_set = |word: usize| {
        let axis = frame.drive(word).map(|drive| drive.axis);
        entry.zeros.systems.iter().any(|keys| match axis {
            Some(Axis::X) => keys.x.is_some(),
            Some(Axis::Y) => keys.y.is_some(),
            Some(Axis::Z) => keys.z.is_some(),
            Some(Axis::Turn) => keys.a_deg.is_some(),
            None => false,
        })
    };
    std::array::from_fn(|word| if is_set(word) { 0.0 } else { before.end_g92[word] })
}

/// Where the program before left a word, in terms of this program's zero: the machine stands still between them.
fn carried_over(scene: &Scene, index: usize, before: &Program, word: usize) -> Option<f64> {
    let (old, new) = (scene.frame_as_set(index.checked_sub(1)?), scene.frame_as_set(index));
    match (old.drive(word), new.drive(word)) {
        (Some(old), Some(new)) => Some((old.offset + old.scale * before.end[word]? - new.offset) / new.scale),
        _ => before.end[word],
    }
}

fn unknown_cutters(scene: &Scene, path: &Path, source: &[u8], program: &Program) -> Vec<LineRemark> {
    let mut known: Vec<String> = scene.cutters.iter().take(NAMED).map(|cutter| cutter.number.to_string()).collect();
    if scene.cutters.len() > NAMED {
        known.push("…".to_owned());
    }
    let missing = |&(&number, _): &(&u32, _)| number != 0 && scene.cutter_by_number(number).is_none();
    let tell = |(number, at): (&u32, &program::CutterUse)| LineRemark {
        path: path.display().to_string(),
        line: at.line as usize,
        text: line_text(source, at.line).into_owned(),
        span: at.span.start as usize..at.span.end as usize,
        message: format!("the scene has no cutter {number}"),
        label: "called here".to_owned(),
        help: Some(format!(
            "it has {} {}; add a [[cutter]] with number = {number}",
            if known.len() == 1 { "cutter" } else { "cutters" },
            known.join(", ")
        )),
        severity: Severity::Error,
    };
    program.facts.cutters.iter().filter(missing).map(tell).collect()
}

pub(super) fn remark(path: &Path, source: &[u8], diagnostic: &Diagnostic) -> LineRemark {
    LineRemark {
        path: path.display().to_string(),
        line: diagnostic.line as usize,
        text: line_text(source, diagnostic.line).into_owned(),
        span: diagnostic.span.clone(),
        message: diagnostic.message.clone(),
        label: String::new(),
        help: diagnostic.help.as_ref().map(|help| help.clone().into_owned()),
        severity: match diagnostic.severity {
            program::Severity::Error => Severity::Error,
            program::Severity::Warning => Severity::Warning,
            program::Severity::Note => Severity::Note,
        },
    }
}
