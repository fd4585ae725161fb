//! The order of work: cutters and programs one after another, and where the rotary word stands meanwhile.

use dryturn_check::CutterChange;
use dryturn_geom::{Along, Wrap};
use dryturn_scene::{M6, Scene};

use super::holding::{cutter_name, mm};
use crate::course::{all_of, duration};
use crate::run::{ProgramRun, Run};
use crate::text::{plain, trimmed};

/// One thing to do.
pub(super) struct Step {
    pub(super) what: String,
    /// What is said of it beside that.
    pub(super) more: String,
    pub(super) time: String,
    pub(super) is_program: bool,
}

/// The word that turns the blank.
#[derive(Clone, Copy)]
pub(super) struct Turning {
    pub(super) letter: char,
    /// Length of a turn, mm, where the word is a length laid around the blank.
    around: Option<f64>,
}

impl Turning {
    pub(super) fn of(scene: &Scene) -> Turning {
        match scene.machine.wrap {
            Wrap::Rotary(word) => Turning { letter: ['A', 'B', 'C'][word.min(2)], around: None },
            Wrap::Across { diameter } => Turning {
                letter: if scene.machine.along == Along::X { 'Y' } else { 'X' },
                around: Some(std::f64::consts::PI * diameter),
            },
        }
    }

    /// Whether it turns an axis, so that another word may set the cutter across.
    pub(super) fn is_rotary(&self) -> bool {
        self.around.is_none()
    }

    /// What it reads where it has turned the blank so far, degrees.
    pub(super) fn reads(&self, turned: f64) -> String {
        self.around.map_or_else(|| degrees(turned), |around| mm(turned / 360.0 * around))
    }
}

/// All things to do in their order.
pub(super) fn steps(run: &Run, scene: &Scene) -> Vec<Step> {
    let changes = run.preparation.as_ref().map_or(&[][..], |ready| &ready.changes);
    let mut steps = Vec::new();
    let mut is_first = true;
    for (index, program) in run.programs.iter().enumerate() {
        let own_zero = super::ready::own_zero(run, scene, index);
        let mut own: Vec<&CutterChange> = changes.iter().filter(|change| change.program == index).collect();
        // What comes before anything of the program has run comes before it on the page too.
        if own.first().is_some_and(|change| starts_with(change, scene, index)) {
            steps.push(change_step(own.remove(0), scene, is_first));
        }
        is_first = false;
        steps.push(program_step(index, program, scene, own_zero));
        steps.extend(own.into_iter().map(|change| within(change, program, scene)));
    }
    steps
}

/// Whether a cutter is the one that the scene puts in before a program.
fn starts_with(change: &CutterChange, scene: &Scene, program: usize) -> bool {
    scene.programs.get(program).is_some_and(|entry| entry.cutter == Some(change.cutter))
}

fn name_of(number: u32, scene: &Scene) -> String {
    let cutter = scene.cutters.iter().find(|cutter| cutter.number == number);
    cutter.map_or(String::new(), |cutter| {
        let out = cutter.stickout.map_or(String::new(), |stickout| format!(", {} out of the holder", mm(stickout)));
        format!("{}{out}", cutter_name(cutter))
    })
}

fn change_step(change: &CutterChange, scene: &Scene, is_first: bool) -> Step {
    let stands = if is_first { Stands::AtTheStart } else { Stands::Before };
    Step {
        what: format!("Put in cutter {}: {}.", change.cutter, name_of(change.cutter, scene)),
        more: standing(change, scene, stands),
        time: scene.machine.change_seconds.filter(|_| !is_first).map_or(String::new(), duration),
        is_program: false,
    }
}

fn within(change: &CutterChange, program: &ProgramRun, scene: &Scene) -> Step {
    let how = match scene.controller.m6 {
        M6::Stops => "The program stops for it.",
        M6::Changes => "The machine changes it.",
        M6::Ignored => "The controller passes over the change.",
    };
    Step {
        what: format!(
            "… before line {} of {} cutter {} comes in: {}.",
            change.line,
            plain(&program.file),
            change.cutter,
            name_of(change.cutter, scene)
        ),
        more: format!("{how} {}", standing(change, scene, Stands::Within)),
        time: scene.machine.change_seconds.map_or(String::new(), duration),
        is_program: false,
    }
}

fn program_step(index: usize, program: &ProgramRun, scene: &Scene, own_zero: Option<String>) -> Step {
    let turning = Turning::of(scene);
    let winding = program.winding.filter(|winding| winding.start_deg != winding.end_deg);
    let winds = winding.map(|winding| {
        let [start, end] = [winding.start_deg, winding.end_deg].map(|turned| turning.reads(turned));
        format!("{} goes from {start} to {end}.", turning.letter)
    });
    let parts = scene.programs.get(index).is_some_and(|entry| entry.parts.is_some());
    let parts = parts.then_some("It parts the piece: stand clear, and keep a hand at the stop.".to_owned());
    Step {
        what: format!("Run {}.", plain(&program.file)),
        more: [own_zero, winds, parts].into_iter().flatten().collect::<Vec<_>>().join(" "),
        time: program.time.map_or(String::new(), |time| duration(all_of(&time))),
        is_program: true,
    }
}

/// An angle as the controller shows it.
pub(super) fn degrees(value: f64) -> String {
    format!("{}°", trimmed(value, 3))
}

#[derive(Clone, Copy)]
enum Stands {
    AtTheStart,
    Before,
    /// In the midst of a program, which counts on from where it stands.
    Within,
}

/// What the word that turns the blank reads while the cutter is changed, and what to do about that.
fn standing(change: &CutterChange, scene: &Scene, stands: Stands) -> String {
    let Some(at) = change.wound_deg else { return String::new() };
    let turning = Turning::of(scene);
    let (letter, reads) = (turning.letter, turning.reads(at));
    match (stands, at) {
        (Stands::AtTheStart, _) => format!("{letter} reads {reads}."),
        (_, 0.0) => format!("{letter} stands at {reads}: leave it there."),
        (Stands::Within, _) => {
            let do_not = format!("Do not zero {letter} here: the program counts on from there.");
            format!("{letter} stands at {reads}: lock it or home it. {do_not}")
        }
        (Stands::Before, _) => format!("{letter} stands at {reads}: lock it or home it. {}", rest(turning, at)),
    }
}

/// Angles nearer to a whole turn than this are one, degrees.
const WHOLE: f64 = 1e-6;

/// Why, or why not, the word may be zeroed where it stands.
fn rest(turning: Turning, at: f64) -> String {
    let (letter, off) = (turning.letter, off_turn(at));
    if off < WHOLE {
        format!("That is a whole number of turns, so {letter} may be zeroed here.")
    } else {
        format!("Do not zero {letter} here: all that follows would stand {} off.", turning.reads(off))
    }
}

/// Where the word that turns the blank stands at the end and how it is undone.
pub(super) fn winding(run: &Run, scene: &Scene) -> Option<String> {
    let turning = Turning::of(scene);
    let letter = turning.letter;
    let end = run.preparation.as_ref()?.wound_deg?;
    let back = run.times.as_ref().and_then(|times| times.unwinding_s)?;
    let reads = turning.reads(end);
    if end.abs() < WHOLE || back == 0.0 {
        let last = run.programs.iter().rev().find_map(|program| program.winding)?.end_deg;
        let zeroed =
            if (last - end).abs() < WHOLE { String::new() } else { format!(", zeroed at {},", turning.reads(last)) };
        return Some(format!("{letter} ends at {reads}{zeroed} and need not be turned back."));
    }
    let turns = trimmed(end / 360.0, 2);
    let off = off_turn(end);
    let zero = if off < WHOLE {
        format!("Or zero {letter} where it stands: it is a whole number of turns.")
    } else {
        format!("Before it is zeroed again it must be brought to a whole turn, {} on or back.", turning.reads(off))
    };
    Some(format!(
        "{letter} ends at {reads}, wound up by {turns} turns. With the cutter clear of the wood, G0 {letter}0 turns it back \
         in {}. {zero}",
        duration(back)
    ))
}

/// How far an angle is off the nearest whole turn, degrees.
fn off_turn(at: f64) -> f64 {
    let over = at.rem_euclid(360.0);
    over.min(360.0 - over)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_whole_turn_may_be_zeroed_between_programs() {
        let turning = |letter| Turning { letter, around: None };
        assert_eq!(rest(turning('A'), 8640.0), "That is a whole number of turns, so A may be zeroed here.");
        assert_eq!(rest(turning('B'), 8730.0), "Do not zero B here: all that follows would stand 90° off.");
        let laid = Turning { letter: 'Y', around: Some(150.0) };
        assert_eq!(
            rest(laid, 8730.0).replace('\u{a0}', " "),
            "Do not zero Y here: all that follows would stand 37.5 mm off."
        );
    }
}
