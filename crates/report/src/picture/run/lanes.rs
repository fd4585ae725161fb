//! The lanes over the strips: findings, programs, cutters.

use super::super::canvas::{Align, Colour, mixed};
use super::super::page::Page;
use super::super::style::{HUES, INK, PAPER, SOFT_INK};
use super::{Clock, Edges, LEFT, RIGHT, TEXT};
use dryturn_check::{Finding, Severity};

/// Most rows of findings, and how high each is.
const ROWS: usize = 4;
const ROW: f32 = 25.0;
/// From a mark to its rule, and from one finding to the next.
const BESIDE: f32 = 6.0;
const APART: f32 = 14.0;
/// Height of the lane of the programs, and of the cutters.
const PROGRAMS: f32 = 30.0;
const CUTTERS: f32 = 26.0;

/// What stands over the strips.
pub(super) struct Lanes<'a> {
    findings: Vec<Placed<'a>>,
    rows: usize,
}

/// A finding on the page.
struct Placed<'a> {
    found: &'a Finding,
    /// Where its worst place is passed.
    x: f32,
    /// The row its mark and its name stand in, and how far they reach; `None` where there is no room for them.
    row: Option<usize>,
    span: (f32, f32),
}

impl<'a> Lanes<'a> {
    /// The gravest findings take their places first, of equals the earliest; those that are accepted are left out.
    pub(super) fn new(page: &Page, clock: &Clock<'a>) -> Lanes<'a> {
        let mut found: Vec<(f64, &Finding)> = clock
            .run
            .findings
            .iter()
            .zip(&clock.series.found_s)
            .filter(|(found, _)| found.accepted.is_none())
            .filter_map(|(found, at)| Some(((*at)?, found)))
            .collect();
        found.sort_by(|one, other| other.1.severity.cmp(&one.1.severity).then(one.0.total_cmp(&other.0)));
        let mut findings: Vec<Placed<'a>> = Vec::new();
        for (at, found) in found {
            let placed = placed(page, &findings, found, clock.across(at));
            findings.push(placed);
        }
        let rows = findings.iter().filter_map(|placed| placed.row).max().map_or(0, |row| row + 1);
        Lanes { findings, rows }
    }

    pub(super) fn height(&self) -> f32 {
        self.rows as f32 * ROW + PROGRAMS + CUTTERS
    }

    pub(super) fn draw(&self, page: &mut Page, clock: &Clock<'_>, top: f32, strips: &[Edges]) {
        let programs = top + self.rows as f32 * ROW;
        for (index, start) in clock.series.starts_s.iter().enumerate() {
            program(page, clock, index, *start, programs, strips);
        }
        cutters(page, clock, programs + PROGRAMS);
        for placed in &self.findings {
            placed.draw(page, top, strips);
        }
    }
}

/// In the first row with room: the name at the right of its mark, or at the left where it would pass the edge.
fn placed<'a>(page: &Page, others: &[Placed<'_>], found: &'a Finding, x: f32) -> Placed<'a> {
    let half = 0.5 * page.width_of(mark(found).0, TEXT);
    let wide = half + BESIDE + page.width_of(found.rule, TEXT);
    let span = if x + wide > RIGHT + 16.0 { (x - wide, x + half) } else { (x - half, x + wide) };
    let is_free = |row: &usize| {
        let mut beside = others.iter().filter(|other| other.row == Some(*row));
        beside.all(|other| other.span.1 + APART <= span.0 || span.1 + APART <= other.span.0)
    };
    Placed { found, x, row: (0..ROWS).find(is_free), span }
}

fn mark(found: &Finding) -> (&'static str, Colour) {
    match found.severity {
        Severity::Error => ("■", HUES[5]),
        Severity::Warning => ("▲", HUES[0]),
        Severity::Note => ("•", SOFT_INK),
    }
}

impl Placed<'_> {
    /// A note is no more than its mark; of the others a line goes through all strips.
    fn draw(&self, page: &mut Page, top: f32, strips: &[Edges]) {
        let (mark, colour) = mark(self.found);
        if self.found.severity > Severity::Note {
            through(page, self.x, strips, true, colour);
        }
        let Some(row) = self.row else { return };
        let y = top + ROW * row as f32 + 17.0;
        page.write(mark, (self.x, y), Align::Center, TEXT, colour, 40.0);
        let is_left = self.span.0 < self.x - 0.5 * page.width_of(mark, TEXT) - BESIDE;
        let (at, align) = if is_left { (self.span.0, Align::Left) } else { (self.span.1, Align::Right) };
        page.write(self.found.rule, (at, y), align, TEXT, INK, RIGHT - LEFT);
    }
}

fn program(page: &mut Page, clock: &Clock<'_>, index: usize, start: f64, top: f32, strips: &[Edges]) {
    let x = clock.across(start);
    let next = clock.series.starts_s.get(index + 1).map_or(RIGHT, |next| clock.across(*next));
    page.line(vec![(x, top + 3.0), (x, top + PROGRAMS + CUTTERS)], 1.0, INK);
    through(page, x, strips, false, INK);
    let file = clock.run.programs.get(index).map_or("", |program| program.file.as_str());
    page.write(file, (x + 7.0, top + 22.0), Align::Left, TEXT, INK, next - x - 14.0);
}

/// A line through all strips.
fn through(page: &mut Page, x: f32, strips: &[Edges], is_dashed: bool, colour: Colour) {
    for (top, bottom) in strips {
        let points = vec![(x, *top), (x, *bottom)];
        if is_dashed { page.dashed(points, 1.5, colour) } else { page.line(points, 1.0, colour) }
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
        page.rectangle((from, top + 2.0), (to - 1.0, top + CUTTERS - 1.0), mixed(PAPER, hue(clock, cutter), 130));
        let (long, short) = (format!("cutter {cutter}"), cutter.to_string());
        let name = if page.width_of(&long, TEXT) <= to - from - 12.0 { long } else { short };
        page.write(&name, (from + 7.0, top + 19.0), Align::Left, TEXT, INK, to - from - 12.0);
    }
}

/// Of the cutters in the order of their numbers.
fn hue(clock: &Clock<'_>, cutter: u32) -> Colour {
    let place = clock.run.cutters.iter().position(|times| times.cutter == cutter).unwrap_or(0);
    HUES[place % HUES.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    fn lanes(clock: &Clock<'_>, check: impl Fn(&[Placed<'_>])) -> usize {
        let lanes = Lanes::new(&Page::new(1, 1).unwrap(), clock);
        check(&lanes.findings);
        lanes.rows
    }

    #[test]
    fn names_never_lie_on_each_other_nor_beyond_the_edge() {
        let mut run = sample::run();
        run.findings = (0..300).map(|_| sample::finding("rezero-off-turn")).collect();
        let mut series = run.series.take().unwrap();
        series.found_s = (0..300).map(|k| Some(f64::from(k * 37 % 300))).collect();
        let clock = Clock { run: &run, series: &series, end_s: 299.0 };
        let rows = lanes(&clock, |findings| {
            for (at, one) in findings.iter().enumerate().filter(|(_, one)| one.row.is_some()) {
                assert!(one.span.1 <= RIGHT + 16.0);
                let beside = |other: &&Placed<'_>| other.row == one.row;
                assert!(
                    findings[..at].iter().filter(beside).all(|it| it.span.1 < one.span.0 || one.span.1 < it.span.0)
                );
            }
        });
        assert_eq!(rows, ROWS);
    }

    #[test]
    fn without_findings_no_room_is_taken_and_the_gravest_come_first() {
        let mut run = sample::run();
        let mut series = run.series.take().unwrap();
        let finding = |severity| Finding { severity, ..sample::finding("gouge") };
        run.findings = [Severity::Note, Severity::Error, Severity::Warning].map(finding).to_vec();
        series.found_s = vec![Some(10.0), Some(11.0), Some(12.0)];
        let clock = Clock { run: &run, series: &series, end_s: 200.0 };
        let rows = lanes(&clock, |findings| {
            let places: Vec<_> = findings.iter().map(|it| (it.found.severity, it.row)).collect();
            assert_eq!(places, [(Severity::Error, Some(0)), (Severity::Warning, Some(1)), (Severity::Note, Some(2))]);
        });
        assert_eq!(rows, 3);
        run.findings.clear();
        assert_eq!(lanes(&Clock { run: &run, series: &series, end_s: 200.0 }, |_| {}), 0);
    }
}
