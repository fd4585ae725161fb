//! The run drawn: clearance, loads, spring and radius over the time of the programs, in strips that share one axis.
//!
//! What is known of a load is a band from its low to its high end. Over the strips stand the findings, at the time at which
//! their worst place is passed, the programs, and the cutters.

mod curve;
mod lanes;
mod strips;

use super::canvas::{Align, mixed};
use super::layout::{decimals, multiples, round_step};
use super::page::Page;
use super::style::{HEADING, INK, PAPER, RULE, SOFT_INK, TITLE};
use crate::map::MapError;
use crate::run::{Run, Series};
use crate::text::number;
use lanes::Lanes;
use strips::Strip;

const WIDTH: i32 = 1400;
const LEFT: f32 = 88.0;
const RIGHT: f32 = 1344.0;
/// Height of letters, larger than on a map: the page is wide, and mostly looked at in small.
const TEXT: f32 = 19.0;
/// Where the lanes over the strips begin.
const LANES: f32 = 130.0;
/// From the lanes to the first strip, and from one strip to the next: room for a heading.
const GAP: f32 = 56.0;
/// Room under the strips for the axis.
const FOOT: f32 = 96.0;

/// `run.svg` and `run.png`.
pub struct RunPicture {
    /// The drawing as paths and text.
    pub svg: String,
    /// The same as pixels.
    pub png: Vec<u8>,
}

/// The run drawn; `None` where its course was not worked out, or takes no time. The same run gives the same bytes.
///
/// # Errors
///
/// [`MapError::Encode`] when the PNG cannot be made.
pub fn run_picture(run: &Run) -> Result<Option<RunPicture>, MapError> {
    let Some(series) = run.series.as_ref().filter(|series| !series.slices.is_empty() && series.step_s > 0.0) else {
        return Ok(None);
    };
    let encode = |because: String| MapError::Encode { name: "run".to_owned(), because };
    let page = drawn(run, series).ok_or_else(|| encode("the typefaces cannot be read".to_owned()))?;
    let svg = page.svg(&run.title);
    let png = page.png().ok_or_else(|| encode("no room for the page".to_owned()))?;
    Ok(Some(RunPicture { svg, png: png.map_err(|error| encode(error.to_string()))? }))
}

/// The axis that all strips share.
#[derive(Clone, Copy)]
struct Clock<'a> {
    run: &'a Run,
    series: &'a Series,
    /// When all ends, seconds.
    end_s: f64,
}

impl Clock<'_> {
    /// Where a moment lies across the page.
    fn across(&self, seconds: f64) -> f32 {
        LEFT + (RIGHT - LEFT) * (seconds / self.end_s).clamp(0.0, 1.0) as f32
    }

    /// A place in a program.
    fn place(&self, program: usize, line: u32) -> String {
        let file = self.run.programs.get(program).map_or("", |program| program.file.as_str());
        format!("{file}:{line}")
    }
}

/// Upper and lower edge of a strip on the page.
type Edges = (f32, f32);

fn drawn(run: &Run, series: &Series) -> Option<Page> {
    let clock = Clock { run, series, end_s: series.step_s * series.slices.len() as f64 };
    // How wide words are is asked before it is known how high the page is.
    let lanes = Lanes::new(&Page::new(1, 1)?, &clock);
    let strips = strips::all(&clock);
    let edges = edges(&strips, LANES + lanes.height());
    let bottom = edges.last().map_or(LANES, |(_, bottom)| *bottom);
    let mut page = Page::new(WIDTH, (bottom + FOOT).ceil() as i32)?;
    titles(&mut page, &clock);
    for (top, bottom) in &edges {
        page.rectangle((LEFT, *top), (RIGHT, *bottom), mixed(PAPER, [255; 3], 200));
    }
    axis(&mut page, &clock, &edges);
    for (strip, edges) in strips.iter().zip(&edges) {
        strip.draw(&mut page, &clock, *edges);
    }
    lanes.draw(&mut page, &clock, LANES, &edges);
    Some(page)
}

/// Where each strip stands under the lanes.
fn edges(strips: &[Strip], mut top: f32) -> Vec<Edges> {
    let place = |strip: &Strip| {
        let edges = (top + GAP, top + GAP + strip.height());
        top = edges.1;
        edges
    };
    strips.iter().map(place).collect()
}

fn titles(page: &mut Page, clock: &Clock<'_>) {
    page.write(&clock.run.title, (LEFT, 60.0), Align::Left, TITLE, INK, RIGHT - LEFT);
    page.write("The run", (LEFT, 96.0), Align::Left, HEADING, INK, RIGHT - LEFT);
    let after = LEFT + page.width_of("The run", HEADING) + 18.0;
    let told = "over the time of the programs; what is known as a range is a band";
    page.write(told, (after, 96.0), Align::Left, TEXT, SOFT_INK, RIGHT - after);
}

/// The time under the strips, in seconds, minutes or hours, and faint lines through them.
fn axis(page: &mut Page, clock: &Clock<'_>, edges: &[Edges]) {
    let (unit, name) = match clock.end_s {
        end if end < 120.0 => (1.0, "seconds"),
        end if end < 7200.0 => (60.0, "minutes"),
        _ => (3600.0, "hours"),
    };
    let Some((_, bottom)) = edges.last().copied() else { return };
    let end = clock.end_s / unit;
    let step = round_step(end / 14.0);
    for value in multiples(step, 0.0, end) {
        let x = clock.across(value * unit);
        for (top, bottom) in edges {
            page.line(vec![(x, *top), (x, *bottom)], 1.0, mixed(PAPER, RULE, 60));
        }
        page.line(vec![(x, bottom), (x, bottom + 8.0)], 1.0, RULE);
        page.write(&number(value, decimals(step)), (x, bottom + 29.0), Align::Center, TEXT, INK, 100.0);
    }
    let told = format!("{name} from the start of the first program, {} left aside", left_aside(clock.run));
    page.write(&told, (LEFT, bottom + 64.0), Align::Left, TEXT, SOFT_INK, RIGHT - LEFT);
}

/// What takes time at the machine and not on this axis.
fn left_aside(run: &Run) -> &'static str {
    match run.times.filter(|times| times.changes > 0 && times.change_s.is_none()) {
        Some(_) => "cutter changes, loading and unwinding",
        None => "loading and unwinding",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    /// The picture of a run that has one.
    fn picture(run: &Run) -> RunPicture {
        run_picture(run).unwrap().unwrap()
    }

    #[test]
    fn a_run_is_drawn_as_it_was() {
        let drawn = picture(&sample::run());
        if std::env::var_os("DRYTURN_BLESS").is_some() {
            std::fs::write("tests/data/run.svg", &drawn.svg).unwrap();
        }
        assert_eq!(drawn.svg, std::fs::read_to_string("tests/data/run.svg").unwrap());
        assert_eq!(drawn.png, picture(&sample::run()).png);
        assert!(drawn.png.starts_with(b"\x89PNG"));
    }

    #[test]
    fn the_least_distance_is_that_of_the_closest_approaches() {
        let mut run = sample::run();
        let svg = picture(&run).svg;
        assert!(svg.contains("Clearance, mm: bodies meet, holder to chuck −2.35, groove.nc:13"), "{svg}");
        run.clearances.retain(|pair| pair.least_mm > 0.0);
        assert!(picture(&run).svg.contains("Clearance, mm: 4.50 at the least, shank to jaws, groove.nc:13"));
    }

    #[test]
    fn distances_that_were_not_looked_for_are_said_to_be_cut_off() {
        let mut run = sample::run();
        let told = "50 stands for 50 and more";
        assert!(!picture(&run).svg.contains(told));
        run.series.as_mut().unwrap().slices[2].moment.clearance_mm = Some(50.0);
        let svg = picture(&run).svg;
        assert!(svg.contains(told) && svg.contains(">50+<"), "{svg}");
    }

    #[test]
    fn a_limit_is_drawn_where_the_load_comes_near_it() {
        let mut run = sample::run();
        let limit = |run: &Run| picture(run).svg.contains("the spindle has 30 W");
        assert!(!limit(&run));
        run.loads.power.as_mut().unwrap().limit = Some(30.0);
        assert!(limit(&run));
        run.loads.power.as_mut().unwrap().limit = Some(800.0);
        assert!(!picture(&run).svg.contains("the spindle has"));
    }

    #[test]
    fn changes_that_nobody_timed_are_left_aside() {
        let mut run = sample::run();
        assert!(picture(&run).svg.contains("cutter changes, loading and unwinding left aside"));
        run.times.as_mut().unwrap().change_s = Some(60.0);
        assert!(picture(&run).svg.contains("program, loading and unwinding left aside"));
    }

    #[test]
    fn what_is_not_known_is_said_and_what_is_not_finite_left_out() {
        let mut run = sample::run();
        run.loads = crate::run::Loads::default();
        for slice in &mut run.series.as_mut().unwrap().slices {
            let moment = &mut slice.moment;
            (moment.power, moment.torque) = (None, None);
            (moment.radius_mm, moment.clearance_mm) = (Some(f64::NAN), Some(f64::INFINITY));
        }
        let svg = picture(&run).svg;
        for told in ["no two bodies are described", "a material whose cutting force is known", "no wood is cut"] {
            assert!(svg.contains(told), "{told}");
        }
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
        run.series = None;
        assert!(run_picture(&run).unwrap().is_none());
    }

    #[test]
    fn a_flood_of_findings_and_strange_programs_do_no_harm() {
        let mut run = sample::run();
        let series = run.series.as_mut().unwrap();
        run.findings = (0..500).map(|_| sample::finding("holder-hits")).collect();
        series.found_s = (0..500).map(|k| Some(f64::from(k % 90) * 2.0)).collect();
        series.starts_s = vec![0.0, 1.0, 1.0, 1e9];
        run.programs[0].file = "<b>&\u{202e}".repeat(40);
        let svg = picture(&run).svg;
        assert!(!svg.contains("<b>") && !svg.contains('\u{202e}'));
    }
}
