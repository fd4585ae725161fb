//! The lanes over the strips: findings, programs, cutters.

use super::super::canvas::{Align, Colour, mixed};
use super::super::page::Page;
use super::super::style::{BODY, HUES, INK, PAPER, RULE, SOFT_INK};
use super::{Clock, HEIGHTS, RIGHT};
use dryturn_check::{Finding, Severity};

/// Rows of findings, and how high each is.
const ROWS: usize = 3;
const ROW: f32 = 20.0;
/// Height of the lane of the programs, and of the cutters.
const PROGRAMS: f32 = 26.0;
const CUTTERS: f32 = 20.0;
/// Height of all lanes.
pub(super) const HEIGHT: f32 = ROWS as f32 * ROW + PROGRAMS + CUTTERS;
/// Height of letters in a lane.
const SMALL: f32 = 14.0;

pub(super) fn draw(page: &mut Page, clock: &Clock<'_>, top: f32, strips: &[f32; 3]) {
    let programs = top + ROWS as f32 * ROW;
    for (index, start) in clock.series.starts_s.iter().enumerate() {
        program(page, clock, index, *start, programs, strips);
    }
    cutters(page, clock, programs + PROGRAMS);
    findings(page, clock, top, strips);
}

fn program(page: &mut Page, clock: &Clock<'_>, index: usize, start: f64, top: f32, strips: &[f32; 3]) {
    let x = clock.across(start);
    let next = clock.series.starts_s.get(index + 1).map_or(RIGHT, |next| clock.across(*next));
    page.line(vec![(x, top + 2.0), (x, top + PROGRAMS + CUTTERS)], 1.0, INK);
    through(page, x, strips, false, INK);
    let file = clock.run.programs.get(index).map_or("", |program| program.file.as_str());
    page.write(file, (x + 6.0, top + 18.0), Align::Left, BODY, INK, next - x - 12.0);
}

/// A line through all strips.
fn through(page: &mut Page, x: f32, strips: &[f32; 3], is_dashed: bool, colour: Colour) {
    for (top, height) in strips.iter().zip(HEIGHTS) {
        let points = vec![(x, *top), (x, top + height)];
        if is_dashed { page.dashed(points, 1.0, colour) } else { page.line(points, 1.0, colour) }
    }
}

/// A bar for each stretch of time that a cutter is in the spindle.
fn cutters(page: &mut Page, clock: &Clock<'_>, top: f32) {
    let slices = &clock.series.slices;
    for run in slices.chunk_by(|one, other| one.cutter == other.cutter) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else { continue };
        let from = clock.across(first.moment.time_s);
        let to = clock.across(last.moment.time_s + clock.series.step_s);
        let Some(cutter) = first.cutter else { continue };
        page.rectangle((from, top + 2.0), (to - 1.0, top + CUTTERS - 2.0), mixed(PAPER, hue(clock, cutter), 150));
        let name = format!("cutter {cutter}");
        page.write(&name, (from + 6.0, top + 15.0), Align::Left, SMALL, INK, to - from - 10.0);
    }
}

/// Of the cutters in the order of their numbers.
fn hue(clock: &Clock<'_>, cutter: u32) -> Colour {
    let place = clock.run.cutters.iter().position(|times| times.cutter == cutter).unwrap_or(0);
    HUES[place % HUES.len()]
}

/// A mark for each finding that is not accepted, with its rule where there is room.
fn findings(page: &mut Page, clock: &Clock<'_>, top: f32, strips: &[f32; 3]) {
    let mut found: Vec<(f64, &Finding)> = clock
        .run
        .findings
        .iter()
        .zip(&clock.series.found_s)
        .filter(|(found, _)| found.accepted.is_none())
        .filter_map(|(found, at)| Some(((*at)?, found)))
        .collect();
    found.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut ends = [0.0; ROWS];
    for (at, found) in found {
        let (mark, colour) = match found.severity {
            Severity::Error => ("■", HUES[5]),
            Severity::Warning => ("▲", HUES[0]),
            Severity::Note => ("•", SOFT_INK),
        };
        let x = clock.across(at);
        through(page, x, strips, true, if found.severity == Severity::Note { mixed(PAPER, RULE, 150) } else { colour });
        let wide = page.width_of(mark, SMALL) + 4.0 + page.width_of(found.rule, SMALL);
        // Of a name that would pass the right edge the mark stays at its time.
        let Some(row) = (0..ROWS).find(|row| ends[*row] <= x - 6.0).filter(|_| x + wide <= RIGHT + 80.0) else {
            page.write(mark, (x, top + ROWS as f32 * ROW - 4.0), Align::Center, SMALL, colour, 40.0);
            continue;
        };
        let y = top + ROW * row as f32 + 15.0;
        page.write(mark, (x, y), Align::Center, SMALL, colour, 40.0);
        let after = x + 0.5 * page.width_of(mark, SMALL) + 4.0;
        page.write(found.rule, (after, y), Align::Left, SMALL, INK, RIGHT + 80.0 - after);
        ends[row] = x + wide + 10.0;
    }
}
