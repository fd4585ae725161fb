//! `rezero-off-turn`: the rotary word zeroed again where it is not a whole number of turns from its zero before.
//!
//! A word that has wound up is zeroed again to spare the way back, by G92 or with a key between two programs. All that
//! follows is then turned by what was left over a whole turn. A zero that the scene gives a program of its own is known to
//! whoever wrote it, unless it is just where the program before left the word: then it was zeroed where it stood.

use std::ops::Range;

use dryturn_carve::CarveError;
use dryturn_geom::{Motion, Motions, Turns, Wrap, angle};
use dryturn_scene::Job;

use super::altered::{Change, Map};
use super::reading::{Desk, Reading};
use super::words::{Fit, volume};
use crate::digits::{mm, short};
use crate::evidence::plain;
use crate::finding::{Finding, Severity};

/// Less of a remainder is rounding, degrees.
const WHOLE: f64 = 0.01;
const TURN: f64 = 360.0;
/// Share of the wood taken after the zero that must lie elsewhere for the piece to be another.
const ELSEWHERE: f64 = 0.05;
/// Codes that move a zero.
const CODES: [&str; 3] = ["G92", "G52", "G10"];

/// Blocks that cut from one zero of the rotary word on.
#[derive(Clone, Debug)]
struct Zeroed {
    program: usize,
    blocks: Range<u32>,
    /// Where the zero lies, degrees of the word from the first zero of the job, as far as the scene did not mean it to.
    at: f64,
}

pub(super) fn findings(desk: &Desk<'_>) -> Result<Vec<Finding>, CarveError> {
    let job = desk.evidence.job;
    let cuts = |zeroed: &Zeroed| desk.evidence.carved.removed_mm3(zeroed.blocks.clone()) > 0.0;
    let cutting: Vec<Zeroed> = zeros(job).into_iter().filter(cuts).collect();
    let mut findings = Vec::new();
    for (before, after) in cutting.iter().zip(cutting.iter().skip(1)) {
        let first = cutting.first().map_or(0.0, |first| first.at);
        let [rest, since_first] = [before.at, first].map(|zero| remainder(after.at - zero));
        let is_off = rest.abs() > WHOLE && since_first.abs() > WHOLE;
        if is_off && !is_counted_off(job, before, after) && !is_step(&cutting, after, rest) {
            findings.extend(off_turn(desk, &cutting, before, after, rest)?);
        }
    }
    Ok(findings)
}

/// Degrees over the nearest whole number of turns, −180 … 180.
fn remainder(degrees: f64) -> f64 {
    let rest = degrees - 360.0 * (degrees / 360.0).round();
    if rest == -180.0 { 180.0 } else { rest }
}

/// Whether a program whose blank turns only between cuts goes on from another face.
fn is_counted_off(job: &Job, before: &Zeroed, after: &Zeroed) -> bool {
    let is_indexed = job.scene.programs.get(after.program).is_some_and(|entry| entry.indexed);
    is_indexed && (after.at - before.at).abs() < TURN
}

/// Whether a zero is one of several in a program that go on by the same angle: a pattern is repeated around the blank.
fn is_step(cutting: &[Zeroed], after: &Zeroed, rest: f64) -> bool {
    let steps = cutting.windows(2).filter(|pair| {
        let is_alike = (remainder(pair[1].at - pair[0].at) - rest).abs() <= WHOLE;
        is_alike && pair[1].program == after.program && pair[0].program == after.program
    });
    steps.count() > 1
}

/// The zeros of the rotary word in the order of the job.
fn zeros(job: &Job) -> Vec<Zeroed> {
    let mut found = Vec::new();
    let mut moved = 0.0;
    for (program, run) in job.programs.iter().enumerate() {
        let Wrap::Rotary(word) = run.frame.wrap else { return Vec::new() };
        moved += zeroed_where_it_stood(job, program, 3 + word);
        let origins = job.scene.origins(program);
        let blocks = job.blocks_of(program);
        let starts = run.program.shown.iter().map(|shown| blocks.start.saturating_add(shown.first_block));
        let ends = starts.clone().skip(1).chain([blocks.end]);
        for ((shown, start), end) in run.program.shown.iter().zip(starts.clone()).zip(ends) {
            let system = usize::from(shown.system.saturating_sub(1)).min(8);
            let at = moved + shown.offset[3 + word] - origins[system][3 + word];
            found.push(Zeroed { program, blocks: start.min(end)..end, at });
        }
    }
    found
}

/// Where a program's zero lies from that of the program before, degrees of the word, if it is just where the word then
/// stood; 0 where it is not.
fn zeroed_where_it_stood(job: &Job, program: usize, word: usize) -> f64 {
    let Some(before) = program.checked_sub(1) else { return 0.0 };
    let turn = |program: usize| job.scene.frame_as_set(program).zero.turn;
    let sense = if job.scene.machine.turns == Turns::Iso { 1.0 } else { -1.0 };
    let by = sense * angle::degrees(turn(program) - turn(before));
    // What it reads at the start is a whole number of turns where it was zeroed, less those that the scene left out.
    let reads = job.programs[program].program.start_of(0)[word].filter(|reads| remainder(*reads).abs() <= WHOLE);
    let stood = reads.map_or(0.0, |reads| by + reads);
    // Within its first turn a face is counted off.
    if remainder(by).abs() > WHOLE && stood.abs() > TURN { stood } else { 0.0 }
}

fn off_turn(
    desk: &Desk<'_>,
    cutting: &[Zeroed],
    before: &Zeroed,
    after: &Zeroed,
    rest: f64,
) -> Result<Option<Finding>, CarveError> {
    let job = desk.evidence.job;
    let Some((severity, told)) = on_the_whole_turn(desk, cutting, after, rest)? else { return Ok(None) };
    let removes = |block: &u32| desk.evidence.carved.removed_by(*block) > 0.0;
    let wood: Vec<u32> = after.blocks.clone().filter(removes).collect();
    let ends = wood.first().zip(wood.last());
    let lines = ends.map(|(first, last)| (line_of_zero(job, after, *first), job.line_of(*last)));
    let radius = desk.evidence.job.scene.stock().corner_radius();
    let letter = letter_of(job, after.program);
    let lead = lead_before(desk, before);
    Ok(Some(Finding {
        program: Some(after.program),
        lines,
        blocks: wood.len() as u32,
        cutter: ends.and_then(|(first, _)| desk.evidence.cutter_number(job.cutter_index(*first)?)),
        place: ends.and_then(|(first, _)| desk.evidence.tip_place(*first, 1.0)),
        value: Some(rest.abs()),
        unit: Some("°"),
        text: format!(
            "{letter} is zeroed again at {}°, {}° off a whole turn, and stands off by {} of arc at a radius of {}{}{told}.",
            short(after.at - before.at),
            short(rest.abs()),
            mm(angle::radians(rest.abs()) * radius),
            mm(radius),
            lead.map_or_else(String::new, |lead| format!(
                ", or {} along a lead of {}",
                mm(lead * rest.abs() / 360.0),
                mm(lead)
            )),
        ),
        cure: format!(
            "Turn {letter} on to a whole number of turns, {}°, before it is zeroed again.",
            next_turn(after.at)
        ),
        ..plain("rezero-off-turn", severity)
    }))
}

fn next_turn(at: f64) -> String {
    short(360.0 * if at < 0.0 { (at / 360.0).floor() } else { (at / 360.0).ceil() })
}

fn letter_of(job: &Job, program: usize) -> char {
    match job.programs[program].frame.wrap {
        Wrap::Rotary(word) => ['A', 'B', 'C'][word.min(2)],
        Wrap::Across { .. } => 'A',
    }
}

/// The job with all blocks on this zero turned back by the remainder; `None` where the target wants them as they are.
fn on_the_whole_turn(
    desk: &Desk<'_>,
    cutting: &[Zeroed],
    after: &Zeroed,
    rest: f64,
) -> Result<Option<(Severity, String)>, CarveError> {
    let job = desk.evidence.job;
    let is_after = |zeroed: &Zeroed| zeroed.blocks.start >= after.blocks.start;
    let is_alike = |zeroed: &Zeroed| is_after(zeroed) && remainder(zeroed.at - after.at).abs() <= WHOLE;
    let other = desk.read(turned(job, cutting, -rest, is_alike))?;
    let given = desk.as_given()?;
    let some = ELSEWHERE * desk.evidence.carved.removed_mm3(after.blocks.clone());
    match Fit::of(given, &other) {
        Some(fit) if fit.given - fit.other > some => {
            return Ok(Some((Severity::Error, format!("; on a whole turn {}", fit.told()))));
        }
        Some(fit) if fit.other - fit.given > some => return Ok(None),
        _ => {}
    }
    // Where what came before is the same all round, it may as well be turned on as the rest turned back.
    let on = desk.read(turned(job, cutting, rest, |zeroed| !is_after(zeroed)))?;
    // Whichever of the two is turned, its scallops may lie elsewhere.
    let (earlier, later): (Vec<&Zeroed>, Vec<&Zeroed>) = cutting.iter().partition(|zeroed| !is_after(zeroed));
    let [earlier, later] = [earlier, later].map(|zeroed| scallops(job, &zeroed));
    let elsewhere = Reading::between(given, &other, later).min(Reading::between(given, &on, earlier));
    Ok(Some(if elsewhere < some {
        (Severity::Note, "; what is cut before it or after it is the same all round".to_owned())
    } else {
        (Severity::Error, format!("; on a whole turn {} of the wood would be another", volume(elsewhere)))
    }))
}

/// Height of the scallops that turning leaves, mm: a cutter's lower face half an advance from its middle, at the most.
fn scallops(job: &Job, zeroed: &[&Zeroed]) -> f64 {
    let blocks = zeroed.iter().flat_map(|zeroed| zeroed.blocks.clone());
    let heights = blocks.filter_map(|block| job.motion(block)).filter_map(|motion| {
        let turned = (motion.to.turn - motion.from.turn).abs();
        let half = 0.5 * std::f64::consts::TAU * (motion.to.x - motion.from.x).abs() / turned;
        let flutes = &job.scene.cutters.get(usize::from(motion.cutter))?.flutes;
        let is_turning = !motion.rapid && turned > std::f64::consts::PI && half < flutes.radius();
        is_turning.then(|| flutes.height_at(half))
    });
    // A little more, as the grid of a reading is coarse.
    1.1 * heights.filter(|height| height.is_finite()).fold(0.0, f64::max)
}

/// Some of the blocks turned by degrees of the word.
fn turned(job: &Job, cutting: &[Zeroed], by: f64, which: impl Fn(&Zeroed) -> bool) -> Vec<Change> {
    let sense = if job.scene.machine.turns == Turns::Iso { 1.0 } else { -1.0 };
    let [x, y, z, turn] = Map::SAME;
    let maps = [x, y, z, turn.shifted(sense * angle::radians(by))];
    let chosen = cutting.iter().filter(|zeroed| which(zeroed));
    chosen.map(|zeroed| Change::of_places(zeroed.blocks.clone(), maps)).collect()
}

/// The line that zeroes the word: the first with such a code before the wood is cut, or that of the first cut.
fn line_of_zero(job: &Job, after: &Zeroed, cut: u32) -> u32 {
    let first = job.line_of(cut);
    let before = after.blocks.start.checked_sub(1).filter(|block| job.program_of(*block) == after.program);
    let from = before.map_or(1, |block| job.line_of(block)).min(first);
    let sets = |line: &u32| {
        let text = job.line_text(after.program, *line).to_ascii_uppercase().replace(' ', "");
        CODES.iter().any(|code| text.contains(code))
    };
    (from..=first).rev().find(sets).unwrap_or(first)
}

/// Advance of the longest helix that cuts from a zero on, mm a turn.
fn lead_before(desk: &Desk<'_>, before: &Zeroed) -> Option<f64> {
    let job = desk.evidence.job;
    let turned = |motion: &Motion| (motion.to.turn - motion.from.turn).abs();
    let helix = |motion: &Motion| {
        !motion.rapid
            && turned(motion) > std::f64::consts::PI
            && motion.from.x != motion.to.x
            && desk.evidence.carved.removed_by(motion.block) > 0.0
    };
    let helices = before.blocks.clone().filter_map(|block| job.motion(block)).filter(helix);
    let longest = helices.reduce(|a, b| if turned(&b) > turned(&a) { b } else { a })?;
    Some((longest.to.x - longest.from.x).abs() * std::f64::consts::TAU / turned(&longest))
}
