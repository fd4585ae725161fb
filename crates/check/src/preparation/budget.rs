//! What a zero, a blank or a machine that is a little off does to this piece: closed forms of plane geometry.
//!
//! Legend, lengths in mm: e what is off · r a radius of the piece · b the radius of a ball · ρ that of a flat face.

use std::collections::BTreeSet;
use std::f64::consts::{PI, TAU};

use dryturn_geom::{Along, Motion, Motions, Shape, Wrap, angle};
use dryturn_scene::{Cutter, Doubt, Job};

use super::{CutterChange, Wood};
use crate::digits::short;

/// Something that is off, and what that does.
#[derive(Clone, Debug, PartialEq)]
pub struct BudgetRow {
    /// What is off.
    pub error: String,
    /// By how much, mm or degrees; 0 where it is as it is.
    pub off: f64,
    /// Unit of that.
    pub unit: &'static str,
    /// What it does.
    pub effects: Vec<BudgetEffect>,
}

/// One thing that it does.
#[derive(Clone, Debug, PartialEq)]
pub struct BudgetEffect {
    /// What changes, or comes to be.
    pub what: String,
    /// By or to how much.
    pub value: f64,
    /// `mm`, `°`, `min` or `turns`.
    pub unit: &'static str,
}

/// Play of the rotary axis where the scene gives none, degrees.
const PLAY: f64 = 0.1;

/// What the rows are worked out from.
struct Piece<'a> {
    job: &'a Job,
    wood: &'a Wood,
    /// Greatest and least radius that is worked.
    radii: [f64; 2],
    /// Stations that are worked.
    length: f64,
    /// Cutters that come into the spindle.
    cutters: Vec<&'a Cutter>,
    /// Greatest number that the rotary word grows to, degrees; `None` where none turns the blank.
    wound: Option<f64>,
    /// The word along the axis, what sets the cutter across it, and the word that turns the blank.
    words: [String; 3],
}

/// How the budget names what is set along the axis, across it and around it.
fn words(job: &Job) -> [String; 3] {
    let machine = &job.scene.machine;
    let [along, across] = if machine.along == Along::X { ["X", "Y"] } else { ["Y", "X"] };
    match machine.wrap {
        Wrap::Rotary(word) => [along.to_owned(), format!("{across} zero"), ["A", "B", "C"][word.min(2)].to_owned()],
        Wrap::Across { .. } => [along.to_owned(), "cutter across the axis".to_owned(), across.to_owned()],
    }
}

/// The budget of a job.
pub(super) fn rows(job: &Job, wood: &Wood, changes: &[CutterChange], doubt: &Doubt) -> Vec<BudgetRow> {
    let piece = Piece::of(job, wood, changes);
    let rows = [
        Some(piece.height(doubt.z)),
        Some(piece.across(doubt.y)),
        Some(row(
            format!("{} zero", piece.words[0]),
            doubt.x,
            "mm",
            vec![mm("everything lies off along the axis by", doubt.x)],
        )),
        Some(piece.turned(doubt.a_deg)),
        Some(piece.rise(doubt.z)),
        Some(piece.skew(doubt.y)),
        Some(piece.play()),
        Some(row(
            "blank off centre, or bent",
            doubt.runout,
            "mm",
            vec![mm("the clean round it leaves shrinks by", 2.0 * doubt.runout)],
        )),
        piece.digits(),
    ];
    rows.into_iter().flatten().filter(|row| !row.effects.is_empty()).collect()
}

fn row(error: impl Into<String>, off: f64, unit: &'static str, effects: Vec<BudgetEffect>) -> BudgetRow {
    BudgetRow { error: error.into(), off, unit, effects }
}

fn mm(what: impl Into<String>, value: f64) -> BudgetEffect {
    BudgetEffect { what: what.into(), value, unit: "mm" }
}

fn degrees(what: impl Into<String>, value: f64) -> BudgetEffect {
    BudgetEffect { what: what.into(), value: angle::degrees(value), unit: "°" }
}

/// The radius of a ball at the tip.
fn ball(cutter: &Cutter) -> Option<f64> {
    match *cutter.flutes.shape() {
        Shape::Ball => Some(cutter.flutes.radius()),
        Shape::Taper { tip_radius, ball: true, .. } => Some(tip_radius),
        _ => None,
    }
}

/// The radius of a flat face.
fn face(cutter: &Cutter) -> Option<f64> {
    match *cutter.flutes.shape() {
        Shape::Flat => Some(cutter.flutes.radius()),
        Shape::Bull { corner } => Some(cutter.flutes.radius() - corner).filter(|face| *face > 0.0),
        _ => None,
    }
}

/// The greater of two radii and, if it is another, the lesser.
fn both([greatest, least]: [f64; 2]) -> impl Iterator<Item = f64> + use<> {
    [Some(greatest), (least < 0.9 * greatest).then_some(least)].into_iter().flatten()
}

/// What an angle turns a radius by.
fn radius_told(radius: f64) -> String {
    format!("at radius {}", short(radius))
}

impl<'a> Piece<'a> {
    fn of(job: &'a Job, wood: &'a Wood, changes: &[CutterChange]) -> Piece<'a> {
        let used: BTreeSet<u32> = changes.iter().map(|change| change.cutter).collect();
        Piece {
            job,
            wood,
            radii: wood.radii,
            length: wood.stations[1] - wood.stations[0],
            cutters: job.scene.cutters.iter().filter(|cutter| used.contains(&cutter.number)).collect(),
            wound: wound(job),
            words: words(job),
        }
    }

    /// The radii at which a turn is told: the greatest and, if it is another, the least.
    fn told(&self) -> impl Iterator<Item = f64> + use<> {
        both(self.radii)
    }

    /// Greatest and least radius that a cutter leaves where the piece is worked, as far as any of it is to be seen in the end.
    fn left_by(&self, cutter: &Cutter) -> [f64; 2] {
        let [greatest, least] = self.radii;
        let left = self.wood.by_cutter.get(&cutter.number).copied().unwrap_or(self.radii);
        left.map(|radius| radius.clamp(least, greatest))
    }

    /// Cutters that part.
    fn parting(&self) -> impl Iterator<Item = &'a Cutter> {
        let job = self.job;
        let programs = job.scene.programs.iter().enumerate().filter(|(_, entry)| entry.parts.is_some());
        let last = move |(program, _): (usize, _)| {
            let block = job.blocks_of(program).next_back()?;
            job.scene.cutters.get(usize::from(job.cutter_index(block)?))
        };
        programs.filter_map(last)
    }

    fn height(&self, e: f64) -> BudgetRow {
        let mut effects = vec![mm("every diameter grows or shrinks by", 2.0 * e)];
        for cutter in &self.cutters {
            if let Shape::Vee { half_angle, .. } = *cutter.flutes.shape() {
                let wider = 2.0 * e * angle::tan(half_angle);
                effects.push(mm(format!("lines of cutter {} are wider or narrower by", cutter.number), wider));
            }
        }
        if self.parting().any(|cutter| face(cutter).is_some()) {
            effects.push(mm("set high, a pip is left where it parts, ⌀", 2.0 * e));
        }
        row("Z zero", e, "mm", effects)
    }

    fn across(&self, e: f64) -> BudgetRow {
        let mut effects = Vec::new();
        for cutter in &self.cutters {
            let name = format!("cutter {}", cutter.number);
            if let Some(b) = ball(cutter) {
                let radii = self.left_by(cutter);
                // Most where it cuts nearest to the axis.
                let least =
                    self.wood.by_cutter.get(&cutter.number).map_or(radii[1], |radii| radii[1].min(self.radii[1]));
                let grown = angle::hypot(e, least + b) - (least + b);
                effects.push(mm(format!("{name} leaves every radius greater by no more than"), grown));
                for r in both(radii) {
                    let turned = angle::atan2(e, r + b);
                    effects.push(degrees(format!("its lines lie turned {} by", radius_told(r)), turned));
                }
            }
            if let Some(face) = face(cutter).filter(|face| e < *face) {
                let chord = 2.0 * (face * face - e * e).sqrt();
                effects.push(mm(format!("a turn of {name} covers, instead of {} mm,", short(2.0 * face)), chord));
            }
            if matches!(cutter.flutes.shape(), Shape::Drill { .. }) {
                effects.push(mm(format!("holes of {name} miss the axis by"), e));
            }
            if matches!(cutter.flutes.shape(), Shape::Vee { .. }) {
                let turned = angle::atan2(e, self.radii[0]);
                effects.push(degrees(format!("lines of {name} lie turned by"), turned));
            }
        }
        if self.job.scene.programs.iter().any(|entry| entry.indexed) {
            effects.push(mm("what is cut from two sides misses itself by", 2.0 * e));
        }
        let pips = self.parting().filter_map(ball).map(|b| 2.0 * (angle::hypot(e, b) - b));
        effects.extend(pips.map(|pip| mm("a pip is left where it parts, ⌀", pip)));
        row(self.words[1].clone(), e, "mm", effects)
    }

    fn turned(&self, by: f64) -> BudgetRow {
        let step = |r| mm(format!("edges step {} by", radius_told(r)), angle::radians(by) * r);
        let lead = lead(self.job);
        let along = (lead > 0.0).then(|| {
            let what = format!("what winds by {} mm a turn lies off along the axis by", short(lead));
            mm(what, lead * by / 360.0)
        });
        let effects = self.told().map(step).chain(along).collect();
        row(format!("{} zero, or a blank that slips", self.words[2]), by, "°", effects)
    }

    fn rise(&self, e: f64) -> BudgetRow {
        let length = short(self.length);
        row(
            "axis that rises end to end",
            e,
            "mm",
            vec![mm(format!("over {length} mm the diameter tapers by"), 2.0 * e)],
        )
    }

    fn skew(&self, e: f64) -> BudgetRow {
        let b = self.cutters.iter().filter_map(|cutter| ball(cutter)).reduce(f64::min).unwrap_or(0.0);
        let drift = degrees("lines along the piece drift, end to end, by", angle::atan2(e, self.radii[0] + b));
        row("axis that leans aside end to end", e, "mm", vec![drift])
    }

    fn play(&self) -> BudgetRow {
        let given = self.job.scene.machine.backlash_deg;
        let play = if given > 0.0 { given } else { PLAY };
        let tooth = |r| mm(format!("lines to and fro miss each other {} by", radius_told(r)), angle::radians(play) * r);
        row("play of the rotary axis", play, "°", self.told().map(tooth).collect())
    }

    /// A controller with 32-bit numbers holds 24 of their bits as digits.
    fn digits(&self) -> Option<BudgetRow> {
        let wound = self.wound.filter(|wound| *wound > 0.0 && self.job.scene.controller.numbers_f32)? as f32;
        let step = f64::from(wound.next_up()) - f64::from(wound);
        let effects = vec![mm(
            format!("the surface moves {} in steps of", radius_told(self.radii[0])),
            angle::radians(step) * self.radii[0],
        )];
        Some(row("32-bit numbers, wound up as far as", f64::from(wound), "°", effects))
    }
}

/// The greatest advance of a turn at feed that goes half around the blank or more, mm.
fn lead(job: &Job) -> f64 {
    let motions = (0..job.count()).filter_map(|block| job.motion(block)).filter(|motion| !motion.rapid);
    let lead = |motion: Motion| {
        let turned = (motion.to.turn - motion.from.turn).abs();
        (turned >= PI).then(|| TAU * (motion.to.x - motion.from.x).abs() / turned)
    };
    motions.filter_map(lead).fold(0.0, f64::max)
}

/// The greatest number that the rotary word grows to.
fn wound(job: &Job) -> Option<f64> {
    let mut greatest: Option<f64> = None;
    for run in &job.programs {
        let Wrap::Rotary(word) = run.frame.wrap else { continue };
        for (at, block) in (0..).zip(&run.program.blocks).filter(|(_, block)| !block.is_unknown()) {
            let zero = run.program.shown_during(at).map_or(0.0, |shown| shown.offset[3 + word]);
            greatest = Some(greatest.unwrap_or(0.0).max((block.to[3 + word] - zero).abs()));
        }
    }
    greatest
}
