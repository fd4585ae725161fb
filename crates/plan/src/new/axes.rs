//! Which word turns the blank, and along which the axis lies.

use dryturn_program::{BlockFlags, Description, Program};

use super::Reading;

/// Places of X and Y among the words.
pub(super) const X: usize = 0;
pub(super) const Y: usize = 1;
pub(super) const Z: usize = 2;
/// Places of the rotary words.
pub(super) const ROTARY: std::ops::Range<usize> = 3..6;

/// How the words of the programs lie to the axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Axes {
    /// The word along the axis, and the one across it.
    pub(super) along: usize,
    pub(super) across: usize,
    pub(super) turning: Turning,
}

/// What turns the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Turning {
    /// This rotary word.
    Word(usize),
    /// The word across the axis, wound on a diameter, mm; the program and the line of a move that goes once round, and
    /// whether heights are measured from the skin that it is wound on.
    Wrapped { diameter: f64, program: usize, line: u32, on_skin: bool },
    /// Nothing.
    Nothing,
}

/// How far a word goes over all programs.
pub(super) fn span(readings: &[Reading], of: impl Fn(&Description) -> Option<[f64; 2]>) -> Option<[f64; 2]> {
    let spans = readings.iter().filter_map(|reading| of(&reading.told));
    spans.reduce(|[low, high], [least, greatest]| [low.min(least), high.max(greatest)])
}

/// How far a word goes at feed.
pub(super) fn fed(told: &Description, word: usize) -> Option<[f64; 2]> {
    let fed = told.words[word].as_ref()?.fed?;
    Some([fed.least, fed.greatest])
}

fn width(span: Option<[f64; 2]>) -> f64 {
    span.map_or(0.0, |[low, high]| high - low)
}

/// The rotary words that move, the one that winds farthest first.
pub(super) fn rotary_words(readings: &[Reading]) -> Vec<usize> {
    let way = |word: usize| {
        let moved = |told: &Description| {
            let used = told.words[word].as_ref().filter(|used| used.moves)?;
            used.all.map(|all| [all.least, all.greatest])
        };
        span(readings, moved)
    };
    let mut words: Vec<usize> = ROTARY.filter(|&word| way(word).is_some()).collect();
    words.sort_by(|&one, &other| width(way(other)).total_cmp(&width(way(one))));
    words
}

impl Axes {
    pub(super) fn of(readings: &[Reading], deepest: f64) -> Axes {
        let words = rotary_words(readings);
        let [x, y] = [X, Y].map(|word| width(span(readings, |told| fed(told, word))));
        let is_b = words.first() == Some(&4);
        let (along, across) = if (x == 0.0 && y > 0.0) || (is_b && y > x) { (Y, X) } else { (X, Y) };
        let turning = match words.first() {
            Some(&word) => Turning::Word(word),
            None => wrapped(readings, deepest).unwrap_or(Turning::Nothing),
        };
        let (along, across) = if matches!(turning, Turning::Wrapped { .. }) { (X, Y) } else { (along, across) };
        Axes { along, across, turning }
    }
}

/// Share of the whole width that a move takes that goes once round.
const ONCE_ROUND: f64 = 0.98;

fn wrapped(readings: &[Reading], deepest: f64) -> Option<Turning> {
    let [low, high] = span(readings, |told| fed(told, Y))?;
    if deepest < 0.0 { drawing(readings, high - low, -deepest) } else { winding(readings, high - low) }
}

/// A drawing that is to be wound on: a cut by Y alone, over its whole width, with no other cut joined to it, goes once
/// round, if that makes a blank thicker than the cuts are deep.
fn drawing(readings: &[Reading], width: f64, depth: f64) -> Option<Turning> {
    let diameter = width / std::f64::consts::PI;
    let rings = readings.iter().map(|reading| ring(&reading.program, ONCE_ROUND * width));
    let (program, line) = rings.enumerate().find_map(|(program, line)| Some((program, line?)))?;
    (depth < diameter / 2.0).then_some(Turning::Wrapped { diameter, program, line, on_skin: true })
}

/// Work over an axis whose Y goes farther than any blank of its heights is wide: the shortest cut by Y alone that is
/// wider than such a blank goes once round.
fn winding(readings: &[Reading], width: f64) -> Option<Turning> {
    let [_, highest] = span(readings, |told| told.cutting_z.map(|z| [z.least, z.greatest]))?;
    if width < 4.0 * highest {
        return None;
    }
    let turns = readings.iter().enumerate().flat_map(|(program, reading)| {
        let alone =
            (0..reading.program.blocks.len()).filter_map(|index| Some((alone(&reading.program, index)?, index)));
        alone.map(move |(way, index)| (way, program, reading.program.blocks[index].line))
    });
    let wide = turns.filter(|(way, ..)| *way > 2.0 * highest);
    let (way, program, line) = wide.min_by(|one, other| one.0.total_cmp(&other.0))?;
    Some(Turning::Wrapped { diameter: way / std::f64::consts::PI, program, line, on_skin: false })
}

/// How far a word goes in a block.
fn way(program: &Program, index: usize, word: usize) -> Option<f64> {
    Some((program.blocks.get(index)?.to[word] - program.start_of(index)[word]?).abs())
}

fn is_fed(program: &Program, index: usize) -> bool {
    program.blocks.get(index).is_some_and(|block| !block.flags.has(BlockFlags::RAPID))
}

/// The way of a cut by Y alone.
fn alone(program: &Program, index: usize) -> Option<f64> {
    let still = |word: usize| way(program, index, word) == Some(0.0);
    (is_fed(program, index) && still(X) && still(Z)).then(|| way(program, index, Y)).flatten()
}

/// The line of a straight cut along Y of at least a length that begins under a plunge and ends under a retract.
fn ring(program: &Program, length: f64) -> Option<u32> {
    let sideways = |index: usize| [X, Y].iter().any(|&word| way(program, index, word).unwrap_or(0.0) > 1e-6);
    let joined = |index: usize| is_fed(program, index) && sideways(index);
    let is_ring = |&index: &usize| {
        let is_long = alone(program, index).is_some_and(|way| way >= length);
        is_long && !joined(index + 1) && !index.checked_sub(1).is_some_and(joined)
    };
    (0..program.blocks.len()).find(is_ring).map(|index| program.blocks[index].line)
}
