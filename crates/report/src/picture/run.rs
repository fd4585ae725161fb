//! The run drawn: clearance, load and radius over the time of the programs, in three strips that share one axis.
//!
//! What is known of a load is a band from its low to its high end. Over the strips stand the findings, at the time at which
//! their worst place is passed, the programs, and the cutters.

mod lanes;
mod strips;

use super::canvas::Align;
use super::canvas::mixed;
use super::layout::{decimals, multiples, round_step};
use super::page::Page;
use super::style::{BODY, HEADING, INK, PAPER, RULE, SOFT_INK, TITLE};
use crate::map::MapError;
use crate::run::{Run, Series};
use crate::text::number;

const WIDTH: i32 = 1600;
const LEFT: f32 = 96.0;
const RIGHT: f32 = 1504.0;
/// Where the lanes over the strips begin, and the strips.
const LANES: f32 = 122.0;
const STRIPS: f32 = lanes::HEIGHT + LANES + 52.0;
/// Heights of the strips: clearance, load, radius; and from one to the next.
const HEIGHTS: [f32; 3] = [150.0, 230.0, 150.0];
const GAP: f32 = 54.0;
/// Room under the strips for the axis.
const FOOT: f32 = 84.0;

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

fn drawn(run: &Run, series: &Series) -> Option<Page> {
    let height = STRIPS + HEIGHTS.iter().sum::<f32>() + 2.0 * GAP + FOOT;
    let mut page = Page::new(WIDTH, height.ceil() as i32)?;
    let clock = Clock { run, series, end_s: series.step_s * series.slices.len() as f64 };
    titles(&mut page, &clock);
    let bottom = STRIPS + HEIGHTS.iter().sum::<f32>() + 2.0 * GAP;
    let tops = [0, 1, 2].map(|strip| STRIPS + HEIGHTS[..strip].iter().map(|height| height + GAP).sum::<f32>());
    for (top, height) in tops.into_iter().zip(HEIGHTS) {
        page.rectangle((LEFT, top), (RIGHT, top + height), mixed(PAPER, [255; 3], 200));
    }
    lanes::draw(&mut page, &clock, LANES, &tops);
    strips::clearance(&mut page, &clock, tops[0], HEIGHTS[0]);
    strips::load(&mut page, &clock, tops[1], HEIGHTS[1]);
    strips::radius(&mut page, &clock, tops[2], HEIGHTS[2]);
    axis(&mut page, &clock, bottom);
    Some(page)
}

fn titles(page: &mut Page, clock: &Clock<'_>) {
    page.write(&clock.run.title, (LEFT, 62.0), Align::Left, TITLE, INK, RIGHT - LEFT);
    page.write("The run", (LEFT, 94.0), Align::Left, HEADING, INK, RIGHT - LEFT);
    let after = LEFT + page.width_of("The run", HEADING) + 18.0;
    let told = "clearance, load and radius over the time of the programs; what is known as a range is a band";
    page.write(told, (after, 94.0), Align::Left, BODY, SOFT_INK, RIGHT - after);
}

/// The time under the strips, in seconds, minutes or hours.
fn axis(page: &mut Page, clock: &Clock<'_>, bottom: f32) {
    let (unit, name) = match clock.end_s {
        end if end < 120.0 => (1.0, "seconds"),
        end if end < 7200.0 => (60.0, "minutes"),
        _ => (3600.0, "hours"),
    };
    let end = clock.end_s / unit;
    let step = round_step(end / 14.0);
    for value in multiples(step, 0.0, end) {
        let x = clock.across(value * unit);
        page.line(vec![(x, bottom), (x, bottom + 8.0)], 1.0, RULE);
        page.write(&number(value, decimals(step)), (x, bottom + 27.0), Align::Center, BODY, INK, 100.0);
    }
    let told = format!("{name} from the start of the first program, loading and unwinding left aside");
    page.write(&told, (LEFT, bottom + 56.0), Align::Left, BODY, SOFT_INK, RIGHT - LEFT);
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
        if std::env::var_os("UPDATE_PICTURES").is_some() {
            std::fs::write("tests/data/run.svg", &drawn.svg).unwrap();
        }
        assert_eq!(drawn.svg, std::fs::read_to_string("tests/data/run.svg").unwrap());
        assert_eq!(drawn.png, picture(&sample::run()).png);
        assert!(drawn.png.starts_with(b"\x89PNG"));
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
