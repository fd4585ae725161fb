//! A job that has been read, with what is asked of it again and again.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

use dryturn_carve::Grid;
use dryturn_check::target::Surface;
use dryturn_check::{Times, Work};
use dryturn_geom::{Motions, Side};
use dryturn_program::{Listing, Modal, Setup, Spindle};
use dryturn_render::Finish;
use dryturn_render::live::Shape;
use dryturn_scene::Job;

use crate::eye::{Eye, dot};
use crate::host::{Held, Host};
use crate::shape;

/// Rays of the piece that is shown first: so few that most of the time goes to looking through the blocks.
const FIRST: usize = 8_000;
/// Rays of the piece while it changes quickly.
const COARSE: usize = 60_000;
/// Most rays of the piece as it is looked at.
const FINE: usize = 3_000_000;

/// Millimetres of an inch.
const INCH: f64 = 25.4;
/// A word that moves by less stands still, inches or mm.
const STANDS: f64 = 1e-6;

/// A body that stands beside the piece.
#[derive(Clone)]
pub struct Beside {
    /// What it looks like.
    pub finish: Finish,
    /// Whether it turns with the blank.
    pub turns: bool,
    /// Its triangles.
    pub shape: Arc<Shape>,
}

/// A job that has been read.
pub struct Opened {
    /// The job.
    pub job: Job,
    /// What its carve is made from.
    pub work: Work,
    /// What it is called.
    pub title: String,
    /// What the blank looks like.
    pub finish: Finish,
    /// What holds it.
    pub held: Vec<Beside>,
    /// How far over the axis and under it that reaches as it is seen at first, mm; 0 where nothing holds it.
    pub reach: [f64; 2],
    /// Of each cutter its flutes, and what is above them.
    pub tools: Vec<[Arc<Shape>; 2]>,
    /// When each block begins, and when all ends, seconds.
    starts: Vec<f32>,
    /// Where the lines of each program lie in its bytes.
    lines: Vec<Vec<(u32, u32)>>,
    /// The target's surface; made when it is asked for.
    surface: OnceLock<Option<Surface>>,
}

impl Opened {
    /// Looks through a job once.
    pub fn new(job: Job, host: &dyn Host) -> Opened {
        let times = Times::of(&job);
        let starts = (0..=job.count()).map(|block| times.start(block) as f32).collect();
        drop(times);
        let beside =
            |held: &Held| Beside { finish: held.finish, turns: held.turns, shape: Arc::new(shape::body(&held.mesh)) };
        let held = host.held(&job.scene);
        Opened {
            reach: reach(&held, job.scene.machine.chuck_on),
            work: Work::of(&job.scene),
            title: host.title(&job),
            finish: host.finish(&job.scene),
            held: held.iter().map(beside).collect(),
            tools: job.scene.cutters.iter().map(|it| shape::tool(&job.scene, it).map(Arc::new)).collect(),
            lines: (0..job.programs.len()).map(|program| lines(&job, program)).collect(),
            starts,
            surface: OnceLock::new(),
            job,
        }
    }

    /// The grids that are carved in turn. The last is the one that is looked at: the scene's, or the finest that is still
    /// quick to look at.
    pub fn grids(&self) -> [Grid; 3] {
        [FIRST, COARSE, FINE].map(|most| self.grid(most))
    }

    fn grid(&self, most: usize) -> Grid {
        let mut pitch = self.job.scene.grid.pitch;
        let over = |pitch: f64| Grid::over(&self.work.stock, pitch);
        while over(pitch).rays() > most {
            pitch *= (over(pitch).rays() as f64 / most as f64).sqrt().max(1.02);
        }
        over(pitch)
    }

    /// The surface of the target, if the scene has one. Of a mesh the first call takes a moment.
    pub fn surface(&self) -> Option<&Surface> {
        self.surface.get_or_init(|| self.job.target.as_ref().map(Surface::new)).as_ref()
    }

    /// Number of blocks.
    pub fn blocks(&self) -> u32 {
        self.job.count()
    }

    /// Whether a block is the first of all, or the first with another cutter in the spindle.
    pub fn begins_cutter(&self, block: u32) -> bool {
        let before = block.checked_sub(1);
        before.is_none_or(|before| self.job.cutter_index(before) != self.job.cutter_index(block))
    }

    /// When a block begins, seconds; past the last one when all ends.
    pub fn start_s(&self, block: u32) -> f64 {
        self.starts.get(block as usize).or(self.starts.last()).copied().map_or(0.0, f64::from)
    }

    /// When all ends, seconds.
    pub fn end_s(&self) -> f64 {
        self.start_s(u32::MAX)
    }

    /// The block under way at a moment.
    pub fn block_at(&self, seconds: f64) -> u32 {
        let after = self.starts.partition_point(|start| f64::from(*start) <= seconds) as u32;
        after.saturating_sub(1).min(self.blocks().saturating_sub(1))
    }

    /// Number of lines of a program.
    pub fn line_count(&self, program: usize) -> u32 {
        self.lines.get(program).map_or(0, |lines| lines.len() as u32)
    }

    /// A line of a program, from 1.
    pub fn line(&self, program: usize, line: u32) -> Cow<'_, str> {
        let lines = self.lines.get(program);
        let place = lines.and_then(|lines| lines.get((line as usize).checked_sub(1)?)).copied();
        let bytes = place
            .and_then(|(from, length)| self.job.programs[program].source.get(from as usize..(from + length) as usize));
        String::from_utf8_lossy(bytes.unwrap_or_default())
    }

    /// Program and line of a block.
    pub fn line_of(&self, block: u32) -> (usize, u32) {
        (self.job.program_of(block), self.job.line_of(block))
    }

    /// The blocks of a line, or of the next line that makes any; empty past the last.
    pub fn blocks_of(&self, program: usize, line: u32) -> Range<u32> {
        let all = self.job.blocks_of(program);
        let mut blocks = all.clone();
        let first = blocks.find(|block| self.job.line_of(*block) >= line).unwrap_or(all.end);
        let own = self.job.line_of(first);
        let last = (first..all.end).take_while(|block| self.job.line_of(*block) == own).count() as u32;
        first..first + last
    }

    fn modal(&self, block: u32) -> Option<Modal> {
        let run = self.job.programs.get(self.job.program_of(block))?;
        let own = block.saturating_sub(run.first_block);
        let after = run.program.modals.partition_point(|from| from.first_block <= own);
        Some(run.program.modals.get(after.checked_sub(1)?)?.modal)
    }

    /// The coordinate system in force during a block, as the word that chooses it.
    pub fn system(&self, block: u32) -> String {
        self.modal(block).map_or_else(String::new, |modal| system(modal.system))
    }

    /// The modes in force during a block, as the words that set them.
    pub fn modes(&self, block: u32) -> String {
        let Some(modal) = self.modal(block) else { return String::new() };
        let mut words = vec![
            ["G17", "G18", "G19"][plane(modal.plane)].to_owned(),
            if modal.inch { "G20" } else { "G21" }.to_owned(),
            if modal.incremental { "G91" } else { "G90" }.to_owned(),
            if modal.inverse_time { "G93" } else { "G94" }.to_owned(),
            system(modal.system),
        ];
        words.push(match modal.spindle {
            Spindle::Off => "M5".to_owned(),
            Spindle::Clockwise => "M3".to_owned(),
            Spindle::CounterClockwise => "M4".to_owned(),
        });
        words.extend(modal.speed.map(|speed| format!("S{speed:.0}")));
        words.extend(self.feed_word(block, modal).map(|feed| format!("F{}", (feed * 100.0).round() / 100.0)));
        words.join(" ")
    }

    /// The feed of a block in the unit that its program gives it in.
    fn feed_word(&self, block: u32, modal: Modal) -> Option<f64> {
        let feed = self.job.feed(block)?;
        let is_linear = self.job.motion(block).is_some_and(|motion| {
            let [from, to] = [motion.from, motion.to].map(|pose| self.job.shown(block, &pose));
            let moves = |word: usize| from[word].zip(to[word]).is_some_and(|(from, to)| (from - to).abs() > STANDS);
            motion.arc.is_some() || (0..3).any(moves)
        });
        // Of words that turn alone it counts degrees, and inverse time knows no unit.
        let is_inches = modal.inch && !modal.inverse_time && is_linear;
        Some(if is_inches { feed / INCH } else { feed })
    }
}

/// How far over the axis and under it what holds a piece reaches, mm, as it is seen at first; what turns, all around.
fn reach(held: &[Held], chuck: Side) -> [f64; 2] {
    let [_, up, _] = Eye::over([0.0, 1.0], 1.0, chuck).axes();
    let ends = held.iter().flat_map(|held| {
        let ends = |corner: &[f64; 3]| {
            let (high, far) = (dot(*corner, up), corner[1].hypot(corner[2]));
            if held.turns { [far, far] } else { [high, -high] }
        };
        held.mesh.vertices.iter().map(ends)
    });
    ends.fold([0.0; 2], |[over, under], [high, low]| [f64::max(over, high), f64::max(under, low)])
}

fn plane(plane: dryturn_program::Plane) -> usize {
    match plane {
        dryturn_program::Plane::Xy => 0,
        dryturn_program::Plane::Zx => 1,
        dryturn_program::Plane::Yz => 2,
    }
}

/// G54 is 1, G59.3 is 9.
fn system(number: u8) -> String {
    match number {
        0..=6 => format!("G{}", 53 + u32::from(number.max(1))),
        more => format!("G59.{}", more - 6),
    }
}

fn lines(job: &Job, program: usize) -> Vec<(u32, u32)> {
    let run = &job.programs[program];
    let setup = Setup::default();
    let listing = Listing::new(&run.source, &run.program, &setup);
    let place = |line| listing.span(line).map_or((0, 0), |span| (span.start, span.end - span.start));
    (1..=listing.len() as u32).map(place).collect()
}
