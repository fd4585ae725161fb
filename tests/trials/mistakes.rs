//! The mistakes that shops make, each as a change to a good job.
//!
//! A mistake says by the trade's own reasoning which jobs it can be made in, and which rules would be the right answer.
//! Two are right where both tell the cause, or where it is one rule's luck which of two places is reached first.

use crate::loads;
use crate::program::Step;
use crate::program::Word::{A, X, Z};
use crate::shape::Shape;
use crate::shop::{
    Cutter, FACEPLATE_RADIUS, Form, Height, Holding, JAW_HEIGHT, Job, Kind, QUILL, Rotary, Section, Unit,
};

/// A mistake.
pub(crate) struct Mistake {
    pub(crate) name: &'static str,
    /// The rules that name it.
    pub(crate) right: &'static [&'static str],
    /// The job with the mistake in it, where it can be made.
    pub(crate) make: fn(&Job) -> Option<Job>,
}

/// Any part of what moves against what holds the blank: which part is lowest there is a matter of lengths.
const HITS: [&str; 4] = ["cutter-hits", "shank-hits", "holder-hits", "spindle-hits"];
/// A shape that is turned or shifted against the one meant is too low on one flank and too high on the other.
const SHAPE: [&str; 2] = ["gouge", "leftover"];

/// All of them.
pub(crate) const ALL: &[Mistake] = &[
    Mistake { name: "Z zeroed on the skin, not on the axis", right: &["zero-height"], make: zeroed_on_the_skin },
    Mistake { name: "Z zeroed on the axis, not on the skin", right: &["zero-height"], make: zeroed_on_the_axis },
    Mistake { name: "Z zero 1 mm low", right: &["gouge"], make: zero_low },
    Mistake { name: "Z zero 1 mm high", right: &["leftover"], make: zero_high },
    Mistake { name: "Y zero 1 mm off", right: &SHAPE, make: zero_aside },
    Mistake { name: "X zero inside the jaws", right: &HITS, make: zero_in_the_jaws },
    // The nut sinks into whatever stands highest beside the cut, jaws or wood.
    Mistake { name: "cutter pushed up into the collet", right: &["holder-hits", "holder-in-blank"], make: pushed_up },
    Mistake { name: "inch program, no G20", right: &["wrong-units"], make: inch_unstated },
    Mistake { name: "millimetre program under G20", right: &["wrong-units"], make: millimetres_as_inches },
    Mistake { name: "posted for the other turn", right: &["mirrored"], make: other_turn },
    Mistake { name: "posted flat", right: &["flat-program"], make: posted_flat },
    Mistake { name: "rotary words lost", right: &["leftover"], make: rotary_lost },
    Mistake { name: "posted for another rotary word", right: &["wrong-rotary-word"], make: other_word },
    // The moves run into the chuck, or, zeroed at the free end, out of the travel or past the wood; zeroed in the
    // middle they cut, but not the shape.
    Mistake {
        name: "posted for the other chuck side",
        right: &[
            "cutter-hits",
            "shank-hits",
            "holder-hits",
            "spindle-hits",
            "out-of-reach",
            "cuts-nothing",
            "leftover",
        ],
        make: other_side,
    },
    Mistake { name: "blank slipped 7° at a cutter change", right: &SHAPE, make: slipped },
    Mistake { name: "A zeroed off a whole turn", right: &["rezero-off-turn"], make: zeroed_off_turn },
    Mistake { name: "A counts ten thousand turns", right: &["wound-up"], make: wound },
    Mistake { name: "spindle never started", right: &["spindle-still"], make: never_started },
    Mistake { name: "spindle stopped too early", right: &["spindle-still"], make: stopped_early },
    Mistake { name: "no feed", right: &["no-feed"], make: no_feed },
    Mistake { name: "a pass at rapid", right: &["rapid-in-blank"], make: pass_at_rapid },
    Mistake { name: "a retract left out", right: &["rapid-in-blank"], make: no_retract },
    // Before anything is cut the same rapid is one over the blank under its corners.
    Mistake { name: "retract under the skin", right: &["rapid-in-blank", "swing"], make: low_retract },
    Mistake { name: "flat cutter in place of the right one", right: &SHAPE, make: flat_instead },
    Mistake { name: "thicker cutter in the collet", right: &["gouge"], make: thicker },
    Mistake { name: "length of another cutter", right: &["wrong-length"], make: other_length },
    Mistake { name: "a program left out", right: &["leftover"], make: left_out },
    // What was to be round is met at its corners, from above or by a rapid past them.
    Mistake { name: "square stock not rounded first", right: &["rapid-in-blank", "swing"], make: not_rounded },
    Mistake { name: "blank too thin", right: &["blank-too-small"], make: too_thin },
    Mistake { name: "blank too short", right: &["blank-too-small"], make: too_short },
    Mistake { name: "held by its tip", right: &["poor-grip"], make: held_by_its_tip },
    Mistake { name: "square stock in three jaws", right: &["poor-grip"], make: three_jaws },
    Mistake { name: "long blank without tailstock", right: &["slender"], make: no_tailstock },
    Mistake { name: "quill run out", right: &["center-overextended"], make: quill_out },
    Mistake { name: "screws in the way", right: &["cutter-hits"], make: screws_in_the_way },
    Mistake { name: "bed too near", right: &["swing"], make: bed_too_near },
    Mistake { name: "pass run on into the tailstock", right: &HITS, make: into_the_tailstock },
    Mistake { name: "pass run on into the jaws", right: &HITS, make: into_the_jaws },
    Mistake { name: "lower than the machine reaches", right: &["out-of-reach"], make: too_low },
    Mistake { name: "farther than the machine reaches", right: &["out-of-reach"], make: too_far },
    Mistake { name: "necked down before it is turned", right: &["thin-neck"], make: loads::necked_first },
    Mistake { name: "cut through, and nothing says so", right: &["loose-piece"], make: loads::cut_through },
    Mistake { name: "a drive too weak for the cut", right: &["stall"], make: loads::weak_drive },
    Mistake { name: "held by next to nothing", right: &["stall"], make: loads::hardly_held },
    Mistake { name: "four times the feed, a small spindle", right: &["overload"], make: loads::small_spindle },
    Mistake { name: "plunged at the feed of the cut", right: &["plunge"], make: loads::plunged_fast },
];

/// A cut: its program and step, where it leads to, and the cutter.
pub(crate) struct Cut<'a> {
    program: usize,
    step: usize,
    pub(crate) x: f64,
    z: f64,
    a: f64,
    pub(crate) cutter: &'a Cutter,
}

pub(crate) fn cuts(job: &Job) -> Vec<Cut<'_>> {
    let mut all = Vec::new();
    for (index, program) in job.programs.iter().enumerate() {
        for (step, [x, _, z, a]) in program.cuts() {
            let changed = program.steps[..step].iter().rev().find_map(|step| match step {
                Step::Change(number) => Some(*number),
                _ => None,
            });
            let cutter = job.cutter(changed.unwrap_or(program.cutter));
            all.push(Cut { program: index, step, x, z, a, cutter });
        }
    }
    all
}

fn least(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::MAX, f64::min)
}

/// The job with a change, where the change makes sense.
pub(crate) fn changed(job: &Job, sensible: bool, change: impl FnOnce(&mut Job)) -> Option<Job> {
    sensible.then(|| {
        let mut job = job.clone();
        change(&mut job);
        job
    })
}

fn wrapped(job: &Job) -> bool {
    matches!(job.machine.rotary, Rotary::Wrapped(_))
}

/// Whether the blank turns at least once while it is cut.
fn turns_while_cut(job: &Job) -> bool {
    let turns = cuts(job).windows(2).any(|pair| pair[0].program == pair[1].program && pair[0].a != pair[1].a);
    turns
        && matches!(job.kind, Kind::Turned | Kind::Stepped | Kind::Ringed | Kind::Spiral | Kind::Openwork)
        && !job.programs[0].indexed
}

/// Height of the jaws over the axis, where there are any.
fn jaw_top(job: &Job) -> Option<f64> {
    matches!(job.holding, Holding::Chuck { .. }).then(|| job.blank.across / 2.0 + JAW_HEIGHT)
}

/// Whether a jaw comes up under a cut, or would if the cut lay over the jaws: turned work passes all of them.
fn meets_a_jaw(job: &Job, cut: &Cut<'_>) -> bool {
    let Holding::Chuck { jaws, .. } = job.holding else { return true };
    let apart = 360.0 / f64::from(jaws);
    let off = (cut.a + apart / 2.0).rem_euclid(apart) - apart / 2.0;
    matches!(job.kind, Kind::Turned | Kind::Stepped | Kind::Ringed) || off.abs() < 8.0
}

/// Height of what holds the blank beside station 0.
fn holding_top(job: &Job) -> f64 {
    match job.holding {
        Holding::Chuck { .. } => job.blank.across / 2.0 + JAW_HEIGHT,
        Holding::Faceplate { .. } => FACEPLATE_RADIUS,
        Holding::Centers => 8.0,
    }
}

fn zeroed_on_the_skin(job: &Job) -> Option<Job> {
    let skin = Height::Surface(job.blank.corner());
    changed(job, job.posted.height == Height::Axis, |job| job.machine.height = skin)
}

fn zeroed_on_the_axis(job: &Job) -> Option<Job> {
    changed(job, matches!(job.posted.height, Height::Surface(_)), |job| job.machine.height = Height::Axis)
}

fn zero_low(job: &Job) -> Option<Job> {
    changed(job, job.target.is_some(), |job| job.machine.height = Height::At(job.posted.height.over_axis() - 1.0))
}

fn zero_high(job: &Job) -> Option<Job> {
    changed(job, job.target.is_some(), |job| job.machine.height = Height::At(job.posted.height.over_axis() + 1.0))
}

/// Turned work comes out the same, and so do faces that are milled over their edges.
fn zero_aside(job: &Job) -> Option<Job> {
    changed(job, matches!(job.kind, Kind::Fluted | Kind::Spiral), |job| job.machine.y = 1.0)
}

/// The first cut lands 5 mm inside whatever holds the blank, if it runs lower than that stands.
fn zero_in_the_jaws(job: &Job) -> Option<Job> {
    let cuts = cuts(job);
    let edge = |cut: &Cut<'_>| cut.x - cut.cutter.diameter / 2.0;
    let first = least(cuts.iter().map(edge));
    let nearest = || cuts.iter().filter(|cut| edge(cut) < first + 0.01 && meets_a_jaw(job, cut));
    let lowest = least(nearest().map(|cut| cut.z));
    changed(job, lowest < holding_top(job) - 1.0, |job| job.machine.x -= first + 5.0)
}

/// The nut ends up 3 mm under the jaws that it passes, or under the skin around a deep hole.
fn pushed_up(job: &Job) -> Option<Job> {
    let cuts = cuts(job);
    let low = |cut: &&Cut<'_>| cut.z + cut.cutter.stickout;
    let over_jaws = |cut: &&Cut<'_>| cut.x < 9.0 && meets_a_jaw(job, cut) && !matches!(cut.cutter.form, Form::Vee(_));
    let deep = |cut: &&Cut<'_>| cut.cutter.form == Form::Drill;
    let lowest = |pick: &dyn Fn(&&Cut<'_>) -> bool, top: f64| {
        let cut = cuts.iter().filter(pick).min_by(|a, b| low(a).total_cmp(&low(b)))?;
        Some((cut.cutter.number, top - 3.0 - cut.z))
    };
    let beside_jaws = jaw_top(job).and_then(|top| lowest(&over_jaws, top));
    let (number, stickout) = beside_jaws.or_else(|| lowest(&deep, job.blank.across / 2.0))?;
    // A collet grips a cutter by its shank, or a little way down its flutes.
    changed(job, stickout > 14.0 && stickout < job.cutter(number).stickout, |job| {
        for cutter in job.cutters.iter_mut().filter(|cutter| cutter.number == number) {
            cutter.stickout = stickout;
            cutter.flute = cutter.flute.min(stickout - 1.0);
        }
    })
}

fn inch_unstated(job: &Job) -> Option<Job> {
    changed(job, job.posted.unit == Unit::Inch, |job| job.posted.stated = None)
}

fn millimetres_as_inches(job: &Job) -> Option<Job> {
    changed(job, job.posted.unit == Unit::Millimetre, |job| job.posted.stated = Some(Unit::Inch))
}

/// Only a spiral with a model to hold it against can tell left from right.
fn other_turn(job: &Job) -> Option<Job> {
    changed(job, job.kind == Kind::Spiral, |job| job.posted = job.posted.reversed())
}

fn posted_flat(job: &Job) -> Option<Job> {
    let angles: Vec<f64> = cuts(job).iter().map(|cut| cut.a).collect();
    let wound = angles.iter().fold(f64::MIN, |most, &angle| most.max(angle)) - least(angles.iter().copied());
    let flat = job.posted.wrapped(job.blank.across);
    changed(job, !wrapped(job) && turns_while_cut(job) && wound >= 360.0, |job| job.posted = flat)
}

/// All faces or flutes are cut on top of each other.
fn rotary_lost(job: &Job) -> Option<Job> {
    let indexed = matches!(job.kind, Kind::Faceted | Kind::Fluted | Kind::TwoSided);
    changed(job, indexed, |job| job.posted.rotary = Rotary::Lost)
}

fn other_word(job: &Job) -> Option<Job> {
    let Rotary::Word(letter) = job.posted.rotary else { return None };
    changed(job, true, |job| job.posted.rotary = Rotary::Word(if letter == 'A' { 'B' } else { 'A' }))
}

fn other_side(job: &Job) -> Option<Job> {
    changed(job, true, |job| job.posted.chuck = if job.posted.chuck == '-' { '+' } else { '-' })
}

/// Whether the programs before and after a change both shape the same faces or grooves; turned work may stand anyhow.
fn feels_a_turn_between(job: &Job) -> bool {
    let lofted = matches!(job.target.as_ref().map(|target| &target.shape), Some(Shape::Loft(_)));
    lofted && job.programs.len() > 1
}

fn slipped(job: &Job) -> Option<Job> {
    changed(job, feels_a_turn_between(job), |job| job.programs[1].slip = 7.0)
}

/// The blank is turned by hand to be looked at, and A is zeroed where it then stands.
fn zeroed_off_turn(job: &Job) -> Option<Job> {
    changed(job, feels_a_turn_between(job) && job.posted.rotary == Rotary::Word('A'), |job| {
        let last = cuts(job).iter().rfind(|cut| cut.program == 0).map_or(0.0, |cut| cut.a);
        let whole = (last / 360.0).round() * 360.0;
        job.programs[0].steps.push(Step::Rapid(vec![A(whole + 97.0)]));
        job.programs[1].steps.insert(0, Step::ZeroRotary);
    })
}

fn wound(job: &Job) -> Option<Job> {
    changed(job, !wrapped(job) && turns_while_cut(job), |job| {
        job.posted.turns_before = 10_000.0;
        job.machine.turns_before = 10_000.0;
    })
}

fn never_started(job: &Job) -> Option<Job> {
    changed(job, true, |job| {
        job.programs.iter_mut().for_each(|program| program.steps.retain(|step| *step != Step::Spindle));
    })
}

fn stopped_early(job: &Job) -> Option<Job> {
    changed(job, true, |job| {
        let cuts = job.programs[0].cuts();
        job.programs[0].steps.insert(cuts[cuts.len() / 2].0, Step::Stop);
    })
}

fn no_feed(job: &Job) -> Option<Job> {
    changed(job, true, |job| {
        for step in job.programs.iter_mut().flat_map(|program| &mut program.steps) {
            if let Step::Feed(_, speed) = step {
                *speed = None;
            }
        }
    })
}

/// All feed moves up to the first retract.
fn pass_at_rapid(job: &Job) -> Option<Job> {
    changed(job, true, |job| {
        let first = job.programs[0].cuts()[0].0;
        for step in &mut job.programs[0].steps[first..] {
            match step {
                Step::Feed(words, _) => *step = Step::Rapid(std::mem::take(words)),
                _ => break,
            }
        }
    })
}

/// Where the way to the next cut leads through wood that still stands.
fn no_retract(job: &Job) -> Option<Job> {
    let next_door = matches!(job.kind, Kind::Faceted | Kind::TwoSided | Kind::Fluted | Kind::Lettered | Kind::Openwork);
    let many_starts = job.kind == Kind::Spiral && job.programs[0].steps.len() > 20;
    let steps = &job.programs[0].steps;
    let rises = |step: &Step| matches!(step, Step::Rapid(words) if matches!(words[..], [Z(_)]));
    let turns = |step: &Step| matches!(step, Step::Rapid(words) if matches!(words[..], [A(_)] | [_, A(_)]));
    let first = job.programs[0].cuts()[0].0;
    let retract = (first..steps.len() - 1).rfind(|&index| rises(&steps[index]) && turns(&steps[index + 1]));
    changed(job, (next_door || many_starts) && retract.is_some(), |job| {
        retract.map(|index| job.programs[0].steps.remove(index));
    })
}

fn low_retract(job: &Job) -> Option<Job> {
    changed(job, true, |job| {
        let low = job.blank.corner() - 2.0;
        for step in &mut job.programs[0].steps {
            let Step::Rapid(words) = step else { continue };
            if let [Z(height)] = &mut words[..] {
                *height = height.min(low);
            }
        }
    })
}

/// The last program that gives the piece its shape.
fn shaping(job: &Job) -> Option<usize> {
    job.target.as_ref().and_then(|_| job.programs.iter().rposition(|program| program.shapes))
}

/// A flat one of the same diameter: it cuts deeper beside the middle.
fn flat_instead(job: &Job) -> Option<Job> {
    let number = job.programs[shaping(job)?].cutter;
    let rounded = job.cutter(number).form != Form::Flat;
    changed(job, rounded, |job| {
        job.cutters.iter_mut().filter(|cutter| cutter.number == number).for_each(|cutter| cutter.form = Form::Flat);
    })
}

/// Felt where the cutter leaves its own width behind.
fn thicker(job: &Job) -> Option<Job> {
    let number = job.programs[shaping(job)?].cutter;
    let own_width = matches!(job.kind, Kind::Stepped | Kind::Fluted | Kind::Spiral);
    let width = own_width && !matches!(job.cutter(number).form, Form::Vee(_));
    changed(job, width, |job| {
        job.cutters.iter_mut().filter(|cutter| cutter.number == number).for_each(|cutter| cutter.diameter += 2.0);
    })
}

fn other_length(job: &Job) -> Option<Job> {
    let other = job.cutters[0].number;
    let mut job = job.clone();
    let lengths = job.programs.iter_mut().flat_map(|program| &mut program.steps);
    let last = lengths.filter(|step| matches!(step, Step::Length(_))).last()?;
    if *last == Step::Length(other) {
        return None;
    }
    *last = Step::Length(other);
    Some(job)
}

fn left_out(job: &Job) -> Option<Job> {
    let shaping = shaping(job)?;
    changed(job, job.programs.len() > 1, |job| {
        job.programs.remove(shaping);
    })
}

fn not_rounded(job: &Job) -> Option<Job> {
    changed(job, job.programs[0].name == "round" && job.programs.len() > 1, |job| {
        job.programs.remove(0);
    })
}

fn too_thin(job: &Job) -> Option<Job> {
    let greatest = job.target.as_ref()?.greatest_radius();
    changed(job, true, |job| job.blank.across = 2.0 * greatest - 3.0)
}

fn too_short(job: &Job) -> Option<Job> {
    let end = job.target.as_ref()?.span[1];
    changed(job, true, |job| job.blank.length = job.hold() + end - 8.0)
}

fn held_by_its_tip(job: &Job) -> Option<Job> {
    let Holding::Chuck { hold, jaws } = job.holding else { return None };
    let little = (job.blank.across / 5.0).min(hold - 3.0);
    changed(job, job.tailstock.is_none(), |job| {
        job.blank.length -= hold - little;
        job.holding = Holding::Chuck { hold: little, jaws };
    })
}

fn three_jaws(job: &Job) -> Option<Job> {
    let Holding::Chuck { hold, .. } = job.holding else { return None };
    changed(job, job.blank.section == Section::Square, |job| job.holding = Holding::Chuck { hold, jaws: 3 })
}

fn no_tailstock(job: &Job) -> Option<Job> {
    let long = job.free_end() > 3.0 * 2.0 * job.blank.corner();
    let chucked = matches!(job.holding, Holding::Chuck { .. });
    changed(job, job.tailstock.is_some() && chucked && long, |job| job.tailstock = None)
}

fn quill_out(job: &Job) -> Option<Job> {
    changed(job, job.tailstock.is_some(), |job| job.tailstock = Some(QUILL + 8.0))
}

/// Screws as long as they come, on a circle just outside the thinnest place they reach.
fn screws_in_the_way(job: &Job) -> Option<Job> {
    let Holding::Faceplate { .. } = job.holding else { return None };
    let lowest = least(cuts(job).iter().filter(|cut| cut.x < 34.0).map(|cut| cut.z));
    let (screw_circle, screw_length) = (lowest + 1.0, 38.0);
    changed(job, screw_circle < FACEPLATE_RADIUS - 3.0, |job| {
        job.holding = Holding::Faceplate { screw_circle, screw_length }
    })
}

fn bed_too_near(job: &Job) -> Option<Job> {
    changed(job, true, |job| job.bed = job.blank.corner() - 2.0)
}

/// The farthest cut of the last program runs on past the free end.
fn into_the_tailstock(job: &Job) -> Option<Job> {
    let end = job.free_end() + 16.0;
    let program = job.programs.len() - 1;
    let cuts = cuts(job);
    let last = cuts.iter().filter(|cut| cut.program == program).min_by(|a, b| b.x.total_cmp(&a.x))?;
    changed(job, job.tailstock.is_some(), |job| {
        let on = Step::Feed(vec![X(end)], Some(1000.0));
        job.programs[program].steps.insert(last.step + 1, on);
    })
}

/// The cut nearest the chuck runs on toward it, under its jaws, and the blank turns once.
fn into_the_jaws(job: &Job) -> Option<Job> {
    let (top, cuts) = (jaw_top(job)?, cuts(job));
    let first = cuts.iter().min_by(|a, b| a.x.total_cmp(&b.x))?;
    changed(job, first.z < top - 2.0, |job| {
        let on = [vec![X(-6.0)], vec![A(first.a + 360.0)], vec![A(first.a)], vec![X(first.x)]];
        let on = on.map(|words| Step::Feed(words, Some(1000.0)));
        job.programs[first.program].steps.splice(first.step + 1..first.step + 1, on);
    })
}

fn too_low(job: &Job) -> Option<Job> {
    let lowest = least(cuts(job).iter().map(|cut| cut.z + cut.cutter.stickout));
    changed(job, true, |job| job.reach_z[0] = lowest + 4.0)
}

fn too_far(job: &Job) -> Option<Job> {
    let farthest = -least(cuts(job).iter().map(|cut| -cut.x));
    changed(job, true, |job| job.reach_x[1] = farthest - 10.0)
}
