//! From a request to a proved program.

use std::f64::consts::PI;

use dryturn_check::RunOptions;
use dryturn_geom::angle;

use super::coupon::{self, Coupon};
use super::request::{Request, SAME, Tool, Work};
use super::truth::Truth;
use super::{facing, head, turning};
use crate::blank::Section;
use crate::draft::{Draft, scene_of};
use crate::error::PlanError;
use crate::path::{Pace, Path, Place, layers};
use crate::scene::{Setting, text as scene_text};
use crate::writer::{Frills, write};

/// What a program comes to, beside what its proof says. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Account {
    /// Greatest radius that the blank sweeps.
    pub swept_radius: f64,
    /// Height at which the tip travels by rapid.
    pub safe_height: f64,
    /// Heights of the passes, the last the one asked for.
    pub heights: Vec<f64>,
    /// Advance as it came out: a whole number of turns a pass, or of rows a face.
    pub advance: f64,
    /// Turns of each pass; 0 where the blank is at rest.
    pub turns_a_pass: usize,
    /// How far the blank is wound up at the end, turns.
    pub wound_turns: f64,
    /// What the controller shows for the rotary word at the end, degrees.
    pub rotary_shown: f64,
    /// Greatest rate at which the rotary axis turns, degrees/min.
    pub turning: f64,
    /// Slowest that the cut goes over the wood, mm/min, where the rotary axis turns too slowly for the speed asked for.
    pub slowed: Option<f64>,
    /// Most that is removed where a pass goes on along the axis, and where it begins and all of the cutter steps down over
    /// a turn, mm³/min, were the wood round; 0 where the blank is at rest.
    pub removal_rates: [f64; 2],
    /// How true the piece comes out.
    pub truth: Truth,
    /// The sizes of a coupon, where one is cut.
    pub coupon: Option<Coupon>,
}

/// A cut slower than this share of the speed asked for is told.
const SLOWED: f64 = 0.99;

/// What all passes share; mm.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Passes {
    /// Stations of the tip at both ends of a pass.
    pub(super) ends: [f64; 2],
    /// Heights.
    pub(super) heights: Vec<f64>,
    /// Greatest radius that the blank sweeps.
    pub(super) swept: f64,
    /// Height of rapids.
    pub(super) safe: f64,
    /// Advances in a pass.
    pub(super) advances: usize,
    /// One of them.
    pub(super) advance: f64,
    pub(super) tool: Tool,
}

/// Less is nothing, mm³.
const LEAST_CUT: f64 = 1e-3;
/// Most lines of a program.
const MOST_LINES: usize = 200_000;

impl Passes {
    fn of(request: &Request, tool: Tool) -> Result<Passes, PlanError> {
        if request.length + SAME < 2.0 * tool.radius {
            let [length, diameter] = [request.length, 2.0 * tool.radius].map(|mm| request.told(mm));
            return Err(PlanError::Short { length, diameter });
        }
        let asked = request.advance.unwrap_or(tool.flat);
        if asked >= 2.0 * tool.flat - SAME {
            let [advance, flat] = [asked, 2.0 * tool.flat].map(|mm| request.told(mm));
            return Err(PlanError::Advance { advance, flat });
        }
        let depth = request.depth.unwrap_or(tool.radius / 2.0);
        let swept = request.blank.swept_radius();
        let ends = [request.from + tool.radius, (request.end() - tool.radius).max(request.from + tool.radius)];
        let way = ends[1] - ends[0];
        let advances = (way / asked - 1e-9).ceil().max(0.0) as usize;
        let lines = (advances as f64 + 3.0) * ((swept - request.work.to() / 2.0) / depth).ceil().max(1.0);
        if lines > MOST_LINES as f64 {
            return Err(PlanError::Long { lines: lines as usize });
        }
        let is_round = matches!(request.work, Work::Cylinder { .. });
        let advance = if is_round && advances > 0 { way / advances as f64 } else { asked };
        let heights = layers(swept, request.work.to() / 2.0, depth);
        let deepest = heights.first().map_or(0.0, |first| swept - first);
        if deepest > tool.flute + SAME {
            return Err(PlanError::Deep { depth: request.told(deepest), flute: request.told(tool.flute) });
        }
        Ok(Passes { ends, heights, swept, safe: swept + request.clearance, advances, advance, tool })
    }

    fn start(&self) -> Place {
        Place { x: self.ends[1], y: 0.0, z: self.safe, a: 0.0 }
    }

    /// π(R² − h²)·p·n at its greatest: the wood of one advance, as often as the blank turns. A turn that steps down ends
    /// with all of the cutter at the new height, so p is its diameter then.
    fn removal_rates(&self, pace: Pace) -> [f64; 2] {
        let greatest = |way: &dyn Fn(f64) -> f64, width: f64| {
            let before = std::iter::once(&self.swept).chain(&self.heights);
            let rates = before.zip(&self.heights).map(|(&standing, &height)| {
                let turn = angle::hypot(way(standing - height), 2.0 * PI * standing);
                let turns = (pace.speed / turn).min(pace.turning / 360.0);
                PI * (standing * standing - height * height) * width * turns
            });
            rates.fold(0.0, f64::max)
        };
        [greatest(&|_| self.advance, self.advance), greatest(&|step| step, 2.0 * self.tool.radius)]
    }
}

/// Writes the program that does what is asked, proves it, and measures what comes out.
///
/// The draft may have findings: [`Draft::is_sound`] says whether it should be kept.
///
/// # Errors
/// [`PlanError`]: the blank does not hold what is asked for, a number is not possible, or the run was interrupted.
pub fn draft(request: &Request, options: &RunOptions<'_>) -> Result<(Draft, Account), PlanError> {
    request.check()?;
    fits(request)?;
    let passes = Passes::of(request, tool_of(request)?)?;
    let pace = Pace { speed: request.speed, turning: request.posting.turning.unwrap_or(f64::INFINITY) };
    let mut path = Path::from(passes.start(), pace);
    let coupon = lay(request, &passes, &mut path)?;
    let mut account = account(request, &passes, &path, coupon);
    if let Work::Cylinder { .. } = request.work {
        account.removal_rates = passes.removal_rates(pace);
    }
    let rezero = matches!(request.work, Work::Cylinder { rezero: true, .. });
    let frills = Frills { head: head::remarks(request, &passes, &account), spindle: request.spindle, rezero };
    let program = write(&path, &request.posting, &frills);
    let scene = scene_text(&setting(request, &head::title(request), passes.start()), &path)?;
    let scene = match &request.held {
        Some(held) => held.over(scene_of(&scene)?).resolved_toml(),
        None => scene,
    };
    let draft = Draft::proved(program, scene, options)?;
    if draft.proof.carved.blank_mm3() - draft.proof.carved.left_mm3() < LEAST_CUT {
        return Err(PlanError::Nothing { asked: request.told(request.work.to()) });
    }
    account.truth =
        if draft.is_sound() { truth(request, &passes, &draft, coupon).claimed()? } else { Truth::default() };
    Ok((draft, account))
}

/// The cutter, read as a scene reads it.
fn tool_of(request: &Request) -> Result<Tool, PlanError> {
    let path = Path::from(Place { x: 0.0, y: 0.0, z: 0.0, a: 0.0 }, Pace { speed: 1.0, turning: 1.0 });
    let scene = scene_of(&scene_text(&setting(request, "", path.at), &path)?)?;
    let flutes = scene.cutters.first().map(|cutter| &cutter.flutes);
    flutes.map_or_else(|| Err(request.no_tool()), |flutes| request.tool(flutes))
}

fn setting<'a>(request: &'a Request, title: &'a str, start: Place) -> Setting<'a> {
    Setting {
        title,
        blank: &request.blank,
        material: request.material.as_deref(),
        cutter: (&request.cutter, request.posting.unit),
        posting: &request.posting,
        file: &request.file,
        indexed: !matches!(request.work, Work::Cylinder { .. }),
        start,
    }
}

/// Whether the blank holds what is asked for wherever its centre line goes.
fn fits(request: &Request) -> Result<(), PlanError> {
    let blank = &request.blank;
    let (asked, over) = match request.work {
        Work::Cylinder { to, .. } => (to, ""),
        Work::Prism { to, faces } => match blank.section {
            // Where every flat of the blank has one that lies along it, it need be no wider than they.
            Section::Polygon { sides, .. } if faces.is_multiple_of(sides) => (to, ""),
            _ => (to / angle::sin_cos(PI / f64::from(faces)).1, " over its corners"),
        },
        Work::Coupon { to } => (to, ""),
    };
    let told = |mm| request.told(mm);
    if asked <= blank.clean() + SAME {
        return Ok(());
    }
    let (clean, runout, bow) = (told(blank.clean().max(0.0)), told(blank.runout), told(blank.bow));
    Err(PlanError::TooLarge { asked: told(asked), over, clean, runout, bow })
}

/// Lays the path.
fn lay(request: &Request, passes: &Passes, path: &mut Path) -> Result<Option<Coupon>, PlanError> {
    match request.work {
        Work::Cylinder { winding, .. } => turning::cut(request, passes, winding, path),
        Work::Prism { faces, .. } => {
            for face in 0..faces {
                path.say(format!("face {} of {faces}", face + 1));
                facing::cut(path, passes, 360.0 * f64::from(face) / f64::from(faces));
            }
            path.rapid(Place { a: 0.0, ..path.at });
        }
        Work::Coupon { .. } => {
            let coupon = Coupon::of(request, passes)?;
            let depth = request.depth.unwrap_or(passes.tool.radius / 2.0);
            coupon::cut(path, passes, &coupon, (request.end(), depth));
            path.rapid(Place { a: 0.0, ..path.at });
            return Ok(Some(coupon));
        }
    }
    Ok(None)
}

fn account(request: &Request, passes: &Passes, path: &Path, coupon: Option<Coupon>) -> Account {
    let (turns_a_pass, rezero) = match request.work {
        Work::Cylinder { rezero, .. } => (turning::turns_of_a_pass(passes.advances), rezero),
        _ => (0, false),
    };
    let word = request.posting.words(&path.at)[3 + request.posting.rotary.min(2)];
    Account {
        swept_radius: passes.swept,
        safe_height: passes.safe,
        heights: passes.heights.clone(),
        advance: passes.advance,
        turns_a_pass,
        wound_turns: path.at.a / 360.0,
        rotary_shown: if rezero { 0.0 } else { word.round() },
        turning: path.fastest,
        slowed: (path.slowest < SLOWED * request.speed).then_some(path.slowest),
        removal_rates: [0.0; 2],
        truth: Truth::default(),
        coupon,
    }
}

/// Measures the proved piece where the whole flat of the cutter has passed.
fn truth(request: &Request, passes: &Passes, draft: &Draft, coupon: Option<Coupon>) -> Truth {
    let rim = passes.tool.radius - passes.tool.flat;
    let span = [request.from + rim, request.end() - rim];
    let radius = request.work.to() / 2.0;
    let on_face = |faces: u32, theta: f64| {
        let (sine, cosine) = angle::sin_cos(facing::aside(faces, theta));
        (radius / cosine, (radius * sine / cosine).abs())
    };
    let carved = &draft.proof.carved;
    match (request.work, coupon) {
        (Work::Prism { faces, .. }, _) => Truth::of(carved, span, |theta| Some(on_face(faces, theta).0)),
        (_, Some(coupon)) => Truth::of(carved, span, |theta| {
            let (meant, y) = on_face(2, theta);
            (y < coupon.slots.y - passes.tool.radius - SAME).then_some(meant)
        }),
        _ => Truth::of(carved, span, |_| Some(radius)),
    }
}

#[cfg(test)]
impl Default for Passes {
    fn default() -> Passes {
        let tool = Tool { radius: 6.0, flat: 6.0, flute: 18.0 };
        Passes { ends: [0.0; 2], heights: vec![], swept: 30.0, safe: 35.0, advances: 0, advance: 3.0, tool }
    }
}
