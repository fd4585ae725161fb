//! A job: the scene with its programs read, and their motions over the blank.

mod play;
mod reading;

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use dryturn_geom::{Arc, Axis, Drive, Frame, Motion, Motions, Pose, Wrap};
use dryturn_program::{self as program, Block, BlockFlags, NO_ARC, Program, line_text, line_texts};

use crate::error::{LineRemark, SceneError};
use crate::model::{Assumed, NotChecked, Scene};
use crate::target::TargetShape;
use play::Play;
use reading::{given_start, key_of, read_all, remark, source_of, words_at_rest};

/// Letters of the six words.
pub(super) const LETTERS: [char; 6] = ['X', 'Y', 'Z', 'A', 'B', 'C'];
/// Keys of `[zero]` for G55 … G59.3.
const SYSTEMS: [&str; 9] =
    ["zero", "zero.g55", "zero.g56", "zero.g57", "zero.g58", "zero.g59", "zero.g59.1", "zero.g59.2", "zero.g59.3"];

/// How programs are read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct JobOptions {
    /// Whether to go on where a program is not understood; what it says there is then unknown.
    pub lenient: bool,
}

/// A scene with its programs. Block ids count through all programs, the first program's first.
#[derive(Clone, Debug)]
pub struct Job {
    /// The scene; reading the programs has added to what it lists as assumed, not checked and noted.
    pub scene: Scene,
    /// The programs, as the scene lists them.
    pub programs: Vec<ProgramRun>,
    /// The shape wanted, if the scene has one.
    pub target: Option<TargetShape>,
}

/// A program of a job.
#[derive(Clone, Debug)]
pub struct ProgramRun {
    /// The file as written in the scene.
    pub file: String,
    /// Its bytes.
    pub source: Vec<u8>,
    /// What it resolves to.
    pub program: Program,
    /// The frame it runs in, slips and what the axis leans included.
    pub frame: Frame,
    /// Id of its first block in the job.
    pub first_block: u32,
    /// The number of each cutter, as blocks name it, and its index.
    cutters: Vec<(u16, u16)>,
    /// How far each cutter's zero is off, mm, by index.
    length_errors: Vec<f64>,
    /// How far the blank stands from where the rotary axis was sent, radians: before the first block and after each; empty
    /// where the axis has no play.
    lags: Vec<f64>,
}

impl Job {
    /// Reads the programs of a scene.
    ///
    /// # Errors
    /// [`SceneError`] where a program cannot be read, is not understood (unless lenient), or calls a cutter the scene
    /// does not have; where a zero is yet to be touched off ([`Scene::next_touch_off`]).
    pub fn read(scene: Scene, options: JobOptions) -> Result<Job, SceneError> {
        let sources: Vec<Vec<u8>> =
            scene.programs.iter().map(|entry| source_of(&entry.path)).collect::<Result<_, _>>()?;
        Job::from_sources(scene, sources, options)
    }

    /// As [`Job::read`], with the programs' bytes at hand: one for each of the scene's programs, in its order.
    ///
    /// # Errors
    /// As [`Job::read`].
    pub fn from_sources(scene: Scene, sources: Vec<Vec<u8>>, options: JobOptions) -> Result<Job, SceneError> {
        if let Some(at) = scene.next_touch_off() {
            return Err(SceneError::File {
                path: scene.name,
                message: format!("the zero of program {} is touched off on wood that is not cut yet", at.program + 1),
                help: "carve the programs before it, and let the cutter down on what they leave".to_owned(),
            });
        }
        let mut still = words_at_rest(&scene, &sources);
        let mut programs = read_all(&scene, &sources, &still, options)?;
        let commanded = |word: usize| programs.iter().any(|program| program.facts.commanded[word].is_some());
        let silent: [bool; 6] = std::array::from_fn(|word| !commanded(word));
        if (0..6).any(|word| silent[word] && !still[word]) {
            (0..6).for_each(|word| still[word] |= silent[word]);
            programs = read_all(&scene, &sources, &still, options)?;
        }
        let target = scene.target.as_ref().map(|target| target.read(scene.machine.chuck_on)).transpose()?;
        let (target, notes) = target.map_or((None, Vec::new()), |(shape, notes)| (Some(shape), notes));
        let mut job = Job { programs: runs(&scene, programs, sources)?, target, scene };
        job.scene.notes.extend(notes);
        job.tell_of_play();
        job.assume_words_at_rest(&still);
        job.assume_systems();
        job.tell_what_is_unknown();
        Ok(job)
    }

    fn assume_words_at_rest(&mut self, still: &[bool; 6]) {
        let Some(frame) = self.programs.first().map(|run| run.frame) else { return };
        for word in (0..6).filter(|&word| still[word]) {
            let Some(drive) = frame.drive(word) else { continue };
            if given_start(&self.scene, &frame, word).is_some() {
                continue;
            }
            let letter = LETTERS[word];
            self.scene.assumed.push(Assumed {
                key: format!("machine.start.{}", key_of(drive.axis)),
                value: "0".to_owned(),
                because: format!("no program commands {letter}, so it stands at its program zero throughout"),
            });
        }
    }

    fn assume_systems(&mut self) {
        let mut used = [false; 9];
        for (run, entry) in self.programs.iter().zip(&self.scene.programs) {
            for system in run.systems() {
                let given = [&entry.zeros, &self.scene.zeros].map(|zeros| zeros.systems[system] != Default::default());
                used[system] |= system > 0 && given == [false, false];
            }
        }
        for system in (0..9).filter(|&system| used[system]) {
            self.scene.assumed.push(Assumed {
                key: SYSTEMS[system].to_owned(),
                value: "{}".to_owned(),
                because: "a program uses this system and the scene says nothing of it: taken as in G54".to_owned(),
            });
        }
    }

    /// Lists the blocks that are neither carved nor checked.
    fn tell_what_is_unknown(&mut self) {
        for (index, run) in self.programs.iter().enumerate() {
            let number = index + 1;
            let (mut lost, mut lines, mut empty) = (0u32, [u32::MAX, 0], 0u32);
            for (at, block) in run.program.blocks.iter().enumerate() {
                if block.is_unknown() {
                    lost += 1;
                    lines = [lines[0].min(block.line), lines[1].max(block.line)];
                } else if run.cutter(block).is_none() && run.moves(at) {
                    empty += 1;
                }
            }
            if lost > 0 {
                self.scene.not_checked.push(NotChecked {
                    what: format!("unknown places in program {number}"),
                    because: format!(
                        "{} from or to a place nobody knows ({}), and {} neither carved nor checked.",
                        counted(lost, "block moves", "blocks move"),
                        if lines[0] == lines[1] {
                            format!("line {}", lines[0])
                        } else {
                            format!("lines {} to {}", lines[0], lines[1])
                        },
                        if lost == 1 { "is" } else { "are" },
                    ),
                    how_to_add: "[machine]\nstart = { x = 0, y = 0, z = 80, a = 0 }".to_owned(),
                });
            }
            if empty > 0 {
                self.scene.not_checked.push(NotChecked {
                    what: format!("empty spindle in program {number}"),
                    because: format!("{} with no cutter in the spindle.", counted(empty, "block moves", "blocks move")),
                    how_to_add: format!("# for program {number}: the number of the cutter at its start\ncutter = 1"),
                });
            }
        }
    }

    /// Index of the program a block belongs to.
    pub fn program_of(&self, block: u32) -> usize {
        self.programs.partition_point(|run| run.first_block <= block).saturating_sub(1)
    }

    /// The blocks of a program among those of the job; none where there is no such program.
    pub fn blocks_of(&self, program: usize) -> Range<u32> {
        self.programs.get(program).map_or(0..0, |run| {
            let count = u32::try_from(run.program.blocks.len()).unwrap_or(u32::MAX);
            run.first_block..run.first_block.saturating_add(count)
        })
    }

    /// A block of the job; `None` past its end.
    pub fn block(&self, block: u32) -> Option<&Block> {
        let run = self.programs.get(self.program_of(block))?;
        run.program.blocks.get(block.checked_sub(run.first_block)? as usize)
    }

    /// Line of a block in its program, from 1.
    pub fn line_of(&self, block: u32) -> u32 {
        self.block(block).map_or(0, |block| block.line)
    }

    /// Index in the scene's list of the cutter in the spindle during a block; `None` for an empty spindle.
    pub fn cutter_index(&self, block: u32) -> Option<u16> {
        let run = self.programs.get(self.program_of(block))?;
        run.cutter(self.block(block)?)
    }

    fn has(&self, block: u32, flag: BlockFlags) -> bool {
        self.block(block).is_some_and(|block| block.flags.has(flag))
    }

    /// Whether a block is a rapid.
    pub fn is_rapid(&self, block: u32) -> bool {
        self.has(block, BlockFlags::RAPID)
    }

    /// Whether the spindle turns during a block.
    pub fn spindle_on(&self, block: u32) -> bool {
        self.has(block, BlockFlags::SPINDLE_ON)
    }

    /// Whether the feed of a block is inverse time, 1/min.
    pub fn inverse_time(&self, block: u32) -> bool {
        self.has(block, BlockFlags::INVERSE_TIME)
    }

    /// Feed in force during a block, mm/min (degrees/min where no linear word moves; 1/min with
    /// [`Job::inverse_time`]); `None` for a rapid and where none is in force.
    pub fn feed(&self, block: u32) -> Option<f64> {
        self.block(block).map(|block| f64::from(block.feed)).filter(|feed| !feed.is_nan())
    }

    /// How far the blank is turned on from where the word that turns it reads 0, degrees of that word: what a rotary word
    /// shows; of a length laid around the blank its share of the way around.
    pub fn wound(&self, block: u32, pose: &Pose) -> Option<f64> {
        let run = self.programs.get(self.program_of(block))?;
        let Wrap::Across { diameter } = run.frame.wrap else { return self.shown(block, pose)[3] };
        let word = (0..3).find(|&word| run.frame.drive(word).is_some_and(|drive| drive.axis == Axis::Turn))?;
        let unit = if self.has(block, BlockFlags::INCH) { 25.4 } else { 1.0 };
        let around = self.shown(block, pose)[word]? * unit;
        Some(around / (std::f64::consts::PI * diameter) * 360.0)
    }

    /// The same once a program has ended, its last block and where that leaves off given: a zero that was set after it
    /// counts, and one that the end takes back does not.
    pub fn wound_at_the_end(&self, last: u32, pose: &Pose) -> Option<f64> {
        let run = self.programs.get(self.program_of(last))?;
        match run.frame.wrap {
            Wrap::Rotary(word) => Some(self.words(last, pose)?[3 + word] - run.program.end_offset[3 + word]),
            Wrap::Across { .. } => self.wound(last, pose),
        }
    }

    /// What the controller would show for a pose during a block: X, Y, Z in the unit in force and the rotary word in
    /// degrees as it is wound up; the rotary word is `None` where a linear word is wrapped.
    pub fn shown(&self, block: u32, pose: &Pose) -> [Option<f64>; 4] {
        let run = self.programs.get(self.program_of(block));
        let Some((run, words)) = run.zip(self.words(block, pose)) else { return [None; 4] };
        let offset = run.program.shown_during(block.saturating_sub(run.first_block)).map_or([0.0; 6], |s| s.offset);
        let unit = if self.has(block, BlockFlags::INCH) { 25.4 } else { 1.0 };
        let linear = |word: usize| Some((words[word] - offset[word]) / unit);
        let rotary = match run.frame.wrap {
            Wrap::Rotary(index) => Some(words[3 + index] - offset[3 + index]),
            Wrap::Across { .. } => None,
        };
        [linear(0), linear(1), linear(2), rotary]
    }

    /// The words that the machine was sent to where the tip comes to stand at a pose in a block: X, Y, Z in mm, A, B, C in
    /// degrees, from the program's zeros; `None` past the job's end.
    pub fn words(&self, block: u32, pose: &Pose) -> Option<[f64; 6]> {
        let run = self.programs.get(self.program_of(block))?;
        let mut pose = *pose;
        pose.z -= self.cutter_index(block).map_or(0.0, |cutter| run.length_errors[usize::from(cutter)]);
        pose.turn -= run.lags_of(block.checked_sub(run.first_block)? as usize)[1];
        Some(run.frame.words(&pose))
    }

    /// The text of a line (from 1) of a program, without its end.
    pub fn line_text(&self, program: usize, line: u32) -> Cow<'_, str> {
        self.programs.get(program).map_or(Cow::Borrowed(""), |run| line_text(&run.source, line))
    }

    /// The texts of several lines (from 1) of a program, in one pass over it.
    pub fn line_texts(&self, program: usize, lines: &BTreeSet<u32>) -> BTreeMap<u32, Cow<'_, str>> {
        self.programs.get(program).map_or_else(BTreeMap::new, |run| line_texts(&run.source, lines))
    }

    /// What the reader says of a program, each with its line; errors only where the reading was lenient.
    pub fn remarks(&self, program: usize) -> Vec<LineRemark> {
        let Some((run, entry)) = self.programs.get(program).zip(self.scene.programs.get(program)) else {
            return Vec::new();
        };
        run.program.diagnostics.iter().map(|d| remark(&entry.path, &run.source, d)).collect()
    }
}

impl Motions for Job {
    fn count(&self) -> u32 {
        self.programs.last().map_or(0, |run| run.first_block + run.program.blocks.len() as u32)
    }

    fn motion(&self, index: u32) -> Option<Motion> {
        let run = self.programs.get(self.program_of(index))?;
        run.motion(index.checked_sub(run.first_block)? as usize, index)
    }
}

impl ProgramRun {
    /// Coordinate systems that blocks are counted in, 0 for G54 … 8 for G59.3, each once, the first that is used first.
    pub fn systems(&self) -> Vec<usize> {
        let Program { shown, blocks, .. } = &self.program;
        let ends = shown.iter().skip(1).map(|next| next.first_block).chain([blocks.len() as u32]);
        let used = shown.iter().zip(ends).filter(|(shown, end)| shown.first_block < *end);
        let mut systems: Vec<usize> = Vec::new();
        for (shown, _) in used {
            let system = usize::from(shown.system.saturating_sub(1)).min(8);
            if !systems.contains(&system) {
                systems.push(system);
            }
        }
        systems
    }

    /// Index of the cutter in the spindle during a block; there are few.
    fn cutter(&self, block: &Block) -> Option<u16> {
        self.cutters.iter().find(|(number, _)| *number == block.cutter).map(|(_, index)| *index)
    }

    /// The pose a block starts at; `None` where it is not known.
    #[inline(always)]
    fn pose_before(&self, at: usize) -> Option<Pose> {
        match at.checked_sub(1).and_then(|before| self.program.blocks.get(before)) {
            Some(before) => (before.unknown() == 0).then(|| self.frame.pose(&before.to)),
            None => {
                let start = self.program.start_of(at);
                start.iter().all(Option::is_some).then(|| self.frame.pose(&start.map(Option::unwrap_or_default)))
            }
        }
    }

    fn moves(&self, at: usize) -> bool {
        self.motion_of_words(at).is_some()
    }

    /// Poses and block; this and what is made of it is one function to the processor, for every pass over the blocks asks.
    #[inline(always)]
    fn motion_of_words(&self, at: usize) -> Option<(Pose, Pose, &Block)> {
        let block = self.program.blocks.get(at)?;
        if block.is_unknown() {
            return None;
        }
        let (from, to) = (self.pose_before(at)?, self.frame.pose(&block.to));
        (block.arc != NO_ARC || from != to).then_some((from, to, block))
    }

    /// How far the blank stands from where it was sent before and after a block, radians.
    fn lags_of(&self, at: usize) -> [f64; 2] {
        [at, at + 1].map(|at| self.lags.get(at).copied().unwrap_or(0.0))
    }

    /// The motion of one of its blocks, counted from its first, in the name of the block `id` of the job: as
    /// [`Motions::motion`], for passes over all blocks of a program. Handed on through memory it would be waited for.
    #[inline(always)]
    pub fn motion(&self, at: usize, id: u32) -> Option<Motion> {
        let Motion { mut from, mut to, arc, block, cutter, rapid } = self.led(at, id)?;
        if !self.lags.is_empty() {
            let [before, after] = self.lags_of(at);
            from.turn += before;
            to.turn += after;
            // A block that turns back by no more than the play moves nothing.
            if arc.is_none() && from == to {
                return None;
            }
        }
        Some(Motion { from, to, arc, block, cutter, rapid })
    }

    /// The motion of a block on an axis without play.
    #[inline(always)]
    fn led(&self, at: usize, id: u32) -> Option<Motion> {
        let (mut from, mut to, block) = self.motion_of_words(at)?;
        let cutter = self.cutter(block)?;
        let lift = self.length_errors.get(usize::from(cutter)).copied().unwrap_or(0.0);
        from.z += lift;
        to.z += lift;
        let arc = match self.program.arcs.get(block.arc as usize) {
            Some(arc) => Some(mapped(arc, &self.frame, lift)?),
            None => None,
        };
        Some(Motion { from, to, arc, block: id, cutter, rapid: block.flags.has(BlockFlags::RAPID) })
    }
}

fn counted(count: u32, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// An arc of the program's plane in the blank frame: each coordinate keeps its own scale and sign.
fn mapped(arc: &program::Arc, frame: &Frame, lift: f64) -> Option<Arc> {
    let [first, second, _] = arc.plane.axes();
    let drives = [frame.drive(first)?, frame.drive(second)?];
    let center = |k: usize| {
        let Drive { axis, scale, offset } = drives[k];
        offset + scale * arc.center[k] + if axis == Axis::Z { lift } else { 0.0 }
    };
    Some(Arc {
        axes: drives.map(|drive| drive.axis),
        center: [center(0), center(1)],
        reach: drives.map(|drive| drive.scale * arc.radius),
        start: arc.from,
        sweep: arc.sweep,
        lean: frame.lean,
    })
}

fn runs(scene: &Scene, programs: Vec<Program>, sources: Vec<Vec<u8>>) -> Result<Vec<ProgramRun>, SceneError> {
    let mut first_block = 0u32;
    let mut runs = Vec::new();
    let mut play = Play::of(scene);
    let narrow = |number: u32| u16::try_from(number).ok();
    let cutters: Vec<(u16, u16)> =
        scene.cutters.iter().filter_map(|c| Some((narrow(c.number)?, scene.cutter_by_number(c.number)?))).collect();
    for (index, ((program, source), entry)) in programs.into_iter().zip(sources).zip(&scene.programs).enumerate() {
        let next = u32::try_from(program.blocks.len()).ok().and_then(|count| first_block.checked_add(count));
        // Block ids share their number range with the marks of untouched wood.
        let Some(next) = next.filter(|&next| next <= u32::MAX - 16) else {
            return Err(SceneError::TooLarge {
                message: "the programs hold more than four thousand million blocks".into(),
            });
        };
        let mut run = ProgramRun {
            file: entry.file.clone(),
            source,
            program,
            frame: scene.frame(index),
            first_block,
            cutters: cutters.clone(),
            length_errors: scene.cutters.iter().map(|cutter| cutter.length_error).collect(),
            lags: Vec::new(),
        };
        if let Some(play) = &mut play {
            run.lags = run.lags(play);
        }
        runs.push(run);
        first_block = next;
    }
    Ok(runs)
}
