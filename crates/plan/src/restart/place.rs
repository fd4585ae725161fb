//! All that holds before a line.

use dryturn_geom::Motions;
use dryturn_program::listing::{AXES, Line, Options, parse_line};
use dryturn_program::{BlockFlags, EventKind, Listing, Modal, Program, Setup};
use dryturn_scene::{Job, ProgramRun};

use super::At;
use super::error::RestartError;

/// What holds before a line that can be taken up.
pub(super) struct Taken {
    pub(super) at: At,
    /// Where the line begins in the file.
    pub(super) offset: usize,
    pub(super) modal: Modal,
    /// The number of the F word in force.
    pub(super) feed: Option<f64>,
    pub(super) cutter: Option<u32>,
    /// In G54 terms, mm and degrees.
    pub(super) place: [f64; 6],
    /// What the controller displays, in the unit of the program and degrees.
    pub(super) shown: [f64; 6],
    /// Words that read otherwise than their system alone would have it: G92 or G52 is in force.
    pub(super) displaced: [bool; 6],
    /// Whether the lines that follow take it for granted that G0 is in force.
    pub(super) needs_rapid: bool,
    /// Whether percent signs bound the program.
    pub(super) has_percent: bool,
}

impl Taken {
    pub(super) fn of(job: &Job, at: At) -> Result<Taken, RestartError> {
        let programs = job.programs.len();
        let run = job.programs.get(at.program).ok_or(RestartError::NoProgram { number: at.program + 1, programs })?;
        if run.program.facts.jumps {
            return Err(RestartError::Jumps);
        }
        let setup = Setup::default();
        let listing = Listing::new(&run.source, &run.program, &setup);
        let line = at.line;
        let missing = RestartError::NoLine { line, lines: run.program.lines };
        let ended = run.program.events.iter().any(|event| event.kind == EventKind::End && event.line < line);
        let (Some(span), Some(state)) = (listing.span(line).filter(|_| !ended), listing.state_before(line)) else {
            return Err(missing);
        };
        if state.modal.compensation.is_some() {
            return Err(RestartError::Compensation { line });
        }
        let letter = |word: usize| char::from(AXES[word]);
        if let Some(word) = (0..6).find(|&word| state.place[word].is_none()) {
            return Err(RestartError::Unknown { letter: letter(word), line });
        }
        let modal = state.modal;
        let opening = (1..=listing.len() as u32).find(|line| says(&parsed(&listing, *line)));
        let opening = opening.filter(|line| parsed(&listing, *line).percent.is_some());
        // Its own percent sign comes first already: again, it would end the program.
        let first = opening.filter(|opening| *opening >= line).and_then(|opening| listing.span(opening + 1));
        Ok(Taken {
            at,
            offset: first.unwrap_or(span).start as usize,
            modal,
            feed: feed_said(&listing, run, state.block, line).or_else(|| feed_number(run, state.block)),
            cutter: state.cutter,
            place: state.place.map(Option::unwrap_or_default),
            shown: state.shown.map(Option::unwrap_or_default),
            displaced: std::array::from_fn(|word| (modal.offset[word] - modal.origin[word]).abs() > SAME),
            needs_rapid: needs_rapid(&listing, line)?,
            has_percent: opening.is_some(),
        })
    }
}

/// Offsets nearer than this are the same, mm or degrees: sums of decimal words differ by less.
const SAME: f64 = 1e-9;

fn says(line: &Line) -> bool {
    line.percent.is_some() || line.says_something()
}

fn parsed(listing: &Listing<'_>, line: u32) -> Line {
    parse_line(listing.line(line), line, Options::default())
}

/// The number of an F word that was said since the last block that was fed.
fn feed_said(listing: &Listing<'_>, run: &ProgramRun, block: u32, line: u32) -> Option<f64> {
    let program = &run.program;
    let fed = (0..block as usize).rev().find(|&at| is_fed(program, at)).map_or(0, |at| program.blocks[at].line);
    let words = (fed + 1..line).rev().flat_map(|at| parsed(listing, at).words);
    words.filter(|word| word.letter == b'F' && word.formula.is_none()).map(|word| word.value).next()
}

/// The number of the F word that the last block before was fed by: a rate of lengths in the unit of the program, of
/// degrees where no linear word moved, or one over minutes.
fn feed_number(run: &ProgramRun, block: u32) -> Option<f64> {
    let program = &run.program;
    let before = (0..block as usize).rev().find(|&at| is_fed(program, at))?;
    let block = &program.blocks[before];
    let from = program.start_of(before);
    let is_linear = (0..3).any(|word| from[word].is_none_or(|from| (block.to[word] - from).abs() > SAME));
    let is_length = !block.flags.has(BlockFlags::INVERSE_TIME) && is_linear;
    let unit = if is_length && block.flags.has(BlockFlags::INCH) { 25.4 } else { 1.0 };
    Some(shortest(block.feed, unit))
}

/// The number of fewest decimals that is read as a feed, which is kept as a 32-bit number.
fn shortest(feed: f32, unit: f64) -> f64 {
    let value = f64::from(feed) / unit;
    let rounded = (0..=9).map(|decimals| 10f64.powi(decimals)).map(|scale| (value * scale).round() / scale);
    rounded.into_iter().find(|number| (number * unit) as f32 == feed).unwrap_or(value)
}

fn is_fed(program: &Program, at: usize) -> bool {
    let block = &program.blocks[at];
    !block.flags.has(BlockFlags::RAPID) && !block.feed.is_nan()
}

/// The motion mode a line names, as ten times its G number.
fn motion_mode(line: &Line) -> Option<u32> {
    let code = |value: f64| (value * 10.0).round() as u32;
    let named = line.words.iter().filter(|word| word.letter == b'G').map(|word| code(word.value));
    named.into_iter().find(|&code| matches!(code, 0 | 10 | 20 | 30 | 380..=389 | 730 | 800..=890))
}

/// Whether the lines from one on take it for granted that G0 is in force.
fn needs_rapid(listing: &Listing<'_>, line: u32) -> Result<bool, RestartError> {
    let mut mode = Some(10);
    for at in 1..line {
        let before = parsed(listing, at);
        if !before.settings.is_empty() {
            return Err(RestartError::Parameter { line: at });
        }
        mode = motion_mode(&before).or(mode);
    }
    for at in line..=listing.len() as u32 {
        let next = parsed(listing, at);
        if motion_mode(&next).is_some() {
            return Ok(false);
        }
        if next.words.iter().any(|word| AXES.contains(&word.letter)) {
            return match mode {
                Some(0) => Ok(true),
                Some(10) => Ok(false),
                other => {
                    Err(RestartError::Mode { line: at, mode: format!("G{}", f64::from(other.unwrap_or(0)) / 10.0) })
                }
            };
        }
    }
    Ok(false)
}

/// Words that any program of a job commands.
pub(super) fn commanded(job: &Job) -> impl Iterator<Item = usize> + '_ {
    (0..6).filter(|&word| job.programs.iter().any(|run| run.program.facts.commanded[word].is_some()))
}

/// A Z of the program at which the tip passes over everything: as high as the program goes itself, and over what the blank
/// sweeps; mm in G54 terms.
pub(super) fn safe_height(job: &Job, taken: &Taken) -> f64 {
    let blocks = job.blocks_of(taken.at.program).filter_map(|block| job.motion(block));
    let highest =
        blocks.map(|motion| motion.from.z.max(motion.to.z)).fold(job.scene.swept_radius() + CLEARANCE, f64::max);
    (highest - job.programs[taken.at.program].frame.zero.z).max(taken.place[2])
}

/// How far over the blank the tip passes at the least, mm.
const CLEARANCE: f64 = 5.0;
