//! The set-up sheet: one page to print and take to the machine.
//!
//! It asks for nothing else: its drawings are in it, its style is named by its hash in the page's own policy, and it has no
//! script. It holds no number that the report does not hold, and nothing of it depends on colour.

mod budget;
mod drawing;
mod end_view;
mod holding;
mod ready;
mod steps;
mod svg;
mod verdict;

use askama::Template;
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use dryturn_scene::Scene;
use sha2::{Digest, Sha256};

use crate::run::Run;
use crate::summary::CAUTION;
use crate::text::plain;
use budget::BudgetLine;
use steps::Step;
use verdict::Told;

/// Why a sheet could not be made.
#[derive(Debug, thiserror::Error)]
#[error("the sheet cannot be put together: {0}")]
pub struct SheetError(#[from] askama::Error);

const STYLE: &str = include_str!("../templates/sheet.css");

#[derive(Template)]
#[template(path = "sheet.html")]
struct Page<'a> {
    title: String,
    style: &'a str,
    style_hash: String,
    about: String,
    verdict: &'static str,
    tally: String,
    open: Vec<Told>,
    more: usize,
    side: String,
    scale: String,
    end: String,
    places: Vec<[String; 2]>,
    cutters: Vec<CutterLine>,
    steps: Vec<Step>,
    times: Vec<String>,
    winding: Option<String>,
    blank: Vec<[String; 2]>,
    budget: Vec<BudgetLine>,
    checks: Vec<String>,
    not_checked: Vec<[String; 2]>,
    cautions: &'a [[&'a str; 2]],
    caution: &'a str,
}

/// A row of the table of cutters.
struct CutterLine {
    number: u32,
    name: String,
    sticks_out: String,
    least: String,
    most: String,
    works: String,
}

/// What is always said, however good the report.
const CAUTIONS: [[&str; 2]; 6] = [
    [
        "Eyes and lungs.",
        "Wear eye or face protection, hearing protection, and a mask that is made for wood dust; run the extraction.",
    ],
    ["First in air.", "Run each program once above the wood before it cuts any, a hand at the stop."],
    [
        "Turning parts.",
        "No gloves, loose sleeves, long hair or jewellery near blank and cutter. Never reach in while either turns. Take the chuck key out.",
    ],
    [
        "Power off.",
        "Cut the power, and wait until all stands still, before a cutter or a blank is touched. Know where the stop is.",
    ],
    ["Stay with it.", "Never leave it running by itself. After a power cut nothing may start again on its own."],
    [
        "Guards and rules.",
        "Keep guards closed and others out of reach. The machine maker's manual, local rules and the word of qualified people come before this page.",
    ],
];

/// The sheet of a scene as it was proved, ended by a line feed.
///
/// # Errors
/// [`SheetError`] where its template cannot be filled; that has not been seen.
pub fn sheet(run: &Run, scene: &Scene) -> Result<String, SheetError> {
    let (side, scale) = drawing::side_view(run, scene);
    let (open, more) = verdict::open(run);
    let page = Page {
        title: plain(&run.title),
        style: STYLE,
        style_hash: format!("sha256-{}", BASE64_STANDARD.encode(Sha256::digest(STYLE.as_bytes()))),
        about: ready::about(scene),
        verdict: verdict::word(run),
        tally: verdict::tally(run),
        open,
        more,
        side,
        scale,
        end: end_view::end_view(scene),
        places: ready::places(run, scene),
        cutters: cutters(run, scene),
        steps: steps::steps(run, scene),
        times: crate::course::times(run).iter().map(|line| capital(line)).collect(),
        winding: steps::winding(run, scene),
        blank: ready::blank(run, scene),
        budget: budget::lines(run),
        checks: ready::checks(run, scene),
        not_checked: run.not_checked.iter().map(|row| [plain(&row.what), plain(&row.because)]).collect(),
        cautions: &CAUTIONS,
        caution: CAUTION,
    };
    Ok(page.render()? + "\n")
}

/// A phrase with its first letter in upper case.
fn capital(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

fn cutters(run: &Run, scene: &Scene) -> Vec<CutterLine> {
    let used = |number: u32| run.cutters.iter().find(|times| times.cutter == number);
    let line = |cutter: &dryturn_scene::Cutter| {
        let times = used(cutter.number)?;
        let [least, most] = holding::stickouts(run, cutter);
        Some(CutterLine {
            number: cutter.number,
            name: holding::cutter_name(cutter),
            sticks_out: cutter.stickout.map_or("not said".to_owned(), holding::mm),
            least,
            most,
            works: crate::course::duration(times.cut_s + times.rapid_s),
        })
    };
    scene.cutters.iter().filter_map(line).collect()
}

#[cfg(test)]
mod tests;
