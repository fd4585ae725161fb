//! `wrong-rotary-word`: a program turns the blank by a word that turns nothing in this scene.

use dryturn_carve::CarveError;
use dryturn_geom::{Axis, Wrap};
use dryturn_program::Block;
use dryturn_scene::Job;

use super::reading::Desk;
use super::words::{Fit, volume};
use crate::digits::short;
use crate::evidence::plain;
use crate::finding::{Finding, Severity};

/// The words a program can move by, in the order blocks hold them.
const LETTERS: [char; 6] = ['X', 'Y', 'Z', 'A', 'B', 'C'];

pub(super) fn findings(desk: &Desk<'_>) -> Result<Vec<Finding>, CarveError> {
    let mut findings = Vec::new();
    for program in 0..desk.evidence.job.programs.len() {
        for word in 0..LETTERS.len() {
            findings.extend(idle_word(desk, program, word)?);
        }
    }
    Ok(findings)
}

/// The word that turns the blank in a program's frame.
fn turning_word(job: &Job, program: usize) -> Option<usize> {
    let frame = &job.programs[program].frame;
    (0..LETTERS.len()).find(|&word| frame.drive(word).is_some_and(|drive| drive.axis == Axis::Turn))
}

/// A word that the program moves and that drives nothing in this scene: the blank does not turn as the program means.
fn idle_word(desk: &Desk<'_>, program: usize, word: usize) -> Result<Option<Finding>, CarveError> {
    let job = desk.evidence.job;
    let run = &job.programs[program];
    if run.frame.drive(word).is_some() {
        return Ok(None);
    }
    let moving: Vec<&Block> = run.program.blocks.iter().filter(|block| block.to[word] != 0.0).collect();
    let Some((first, last)) = moving.first().zip(moving.last()) else { return Ok(None) };
    let (low, high) =
        moving.iter().fold((0.0f64, 0.0f64), |(low, high), block| (low.min(block.to[word]), high.max(block.to[word])));
    let letter = LETTERS[word];
    let turned_by = turning_word(job, program).map_or('A', |word| LETTERS[word]);
    let tried = tried(desk, program, word)?;
    let at = run.program.blocks.iter().position(|block| block.to[word] != 0.0).unwrap_or(0);
    Ok(Some(Finding {
        program: Some(program),
        lines: Some((first.line, last.line)),
        blocks: moving.len() as u32,
        place: desk.evidence.tip_place(run.first_block + at as u32, 1.0),
        value: Some(high - low),
        unit: Some(if word < 3 { "mm" } else { "°" }),
        text: format!(
            "The program moves {letter} over {}{}, but in this scene {turned_by} turns the blank: what {letter} does is \
             left out{tried}.",
            short(high - low),
            if word < 3 { " mm" } else { "°" },
        ),
        cure: format!("Write rotary = \"{letter}\" under [machine] if that word turns the blank."),
        ..plain("wrong-rotary-word", Severity::Error)
    }))
}

/// What would come of it if the word turned the blank, where the scene's own word is not used.
fn tried(desk: &Desk<'_>, program: usize, word: usize) -> Result<String, CarveError> {
    let job = desk.evidence.job;
    let is_used = |program: usize| {
        let moves = |turning: usize| job.programs[program].program.blocks.iter().any(|block| block.to[turning] != 0.0);
        turning_word(job, program).is_some_and(moves)
    };
    let Some(rotary) = word.checked_sub(3).filter(|_| !(0..job.programs.len()).any(is_used)) else {
        return Ok(String::new());
    };
    let Some(other) = desk.read_under(|scene| scene.machine.wrap = Wrap::Rotary(rotary))? else {
        return Ok(String::new());
    };
    let given = desk.as_given()?;
    let takes = |reading: &super::reading::Reading| volume(reading.deeds(job, job.blocks_of(program)).fed);
    let told = match Fit::of(given, &other) {
        Some(fit) => fit.told(),
        None => format!("it would take {} of wood instead of {}", takes(&other), takes(given)),
    };
    Ok(format!("; if {} turned it, {told}", LETTERS[word]))
}
