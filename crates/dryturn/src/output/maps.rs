//! The maps of a run, drawn and written in portions of rows.
//!
//! A portion is opened, turned into the numbers of each map, written and drawn, and let go, so that no map is ever in the
//! memory whole. Maps and rows go side by side on all threads; neither shows in the bytes.

use std::path::PathBuf;
use std::sync::atomic::Ordering;

use dryturn_carve::{BAND_ROWS, Band, Carved, Dexel, EARLIER, PREPARED, UNTOUCHED};
use dryturn_check::target::Comparison;
use dryturn_check::{Proof, RunOptions, Trace, Traces, WAYS};
use dryturn_geom::{Maker, Motions, angle};
use dryturn_report::{BORE, Draft, Drawing, Kind, Map, MapFile, Setting, Staging, Values, Whole, WriteError, npy_head};
use dryturn_scene::{Cutter, Job};
use rayon::prelude::*;

use super::{OutputError, title};

/// One map of the piece: names, unit, and how a ray's value is found.
pub(super) struct Layer {
    pub(super) name: &'static str,
    pub(super) title: &'static str,
    pub(super) unit: &'static str,
    pub(super) of: Of,
}

pub(super) enum Of {
    Measure(fn(&Dexel<'_>) -> f32),
    /// Signed shortest distance to the target.
    Gap,
    /// How far the piece stands over the target along the ray.
    OverTarget,
    /// Line of the block that cut last.
    Line,
    /// Number (from 1) of the program that cut last.
    Program,
    /// Number of the cutter that cut last.
    Cutter,
    /// Line of the program of an earlier set-up that made what nothing has cut since.
    EarlierLine,
    /// Number (from 1) of that program among all that have been run over the piece before.
    EarlierProgram,
    /// What the block that cut last did, where it is known.
    Trace(fn(&Trace) -> f32),
    /// The radius left, with what springs apart in the block that cut last.
    Sprung,
    /// The way of the block that cut last.
    Way,
}

impl Layer {
    /// A depth along the ray is for other programs; people are shown the distance that counts.
    pub(super) fn is_drawn(&self) -> bool {
        !matches!(self.of, Of::OverTarget)
    }

    /// Whether it holds the piece against the target, which takes its time.
    #[cfg(feature = "view")]
    pub(super) fn is_beside_target(&self) -> bool {
        matches!(self.of, Of::Gap)
    }
}

/// What every piece has.
pub(super) const LAYERS: [Layer; 5] = [
    Layer { name: "remaining-radius", title: "Remaining radius", unit: "mm", of: Of::Measure(|dexel| dexel.radius()) },
    Layer {
        name: "solid-length",
        title: "Solid along the ray",
        unit: "mm",
        of: Of::Measure(|dexel| dexel.spans().map(|span| span.outer - span.inner).sum()),
    },
    Layer { name: "cut-by", title: "Program line that cut last", unit: "", of: Of::Line },
    Layer { name: "cut-by-program", title: "Program that cut last", unit: "", of: Of::Program },
    Layer { name: "cut-by-cutter", title: "Cutter that cut last", unit: "", of: Of::Cutter },
];

/// What a piece beside a target has as well.
pub(super) const BESIDE_TARGET: [Layer; 2] = [
    Layer { name: "gap", title: "Shortest distance to the target", unit: "mm", of: Of::Gap },
    Layer { name: "over-target", title: "Height over the target along the ray", unit: "mm", of: Of::OverTarget },
];

/// What a piece has as well where it is known what its blocks did.
pub(super) const TRACED: [Layer; 5] = [
    Layer { name: "depth-of-cut", title: "Depth of the last cut", unit: "mm", of: Of::Trace(|trace| trace.depth_mm) },
    Layer { name: "chip", title: "Greatest chip of the last cut", unit: "mm", of: Of::Trace(|trace| trace.chip_mm) },
    Layer { name: "way", title: "Way of the last cut", unit: "", of: Of::Way },
    Layer {
        name: "spring",
        title: "Spring of the last cut",
        unit: "µm",
        of: Of::Trace(|trace| 1000.0 * trace.spring_mm),
    },
    Layer { name: "sprung-radius", title: "Radius if it springs the most", unit: "mm", of: Of::Sprung },
];

/// What a piece has as well that was kept from an earlier set-up.
pub(super) const EARLIER_CUT: [Layer; 2] = [
    Layer { name: "kept-from", title: "Line of an earlier set-up that made it", unit: "", of: Of::EarlierLine },
    Layer {
        name: "kept-from-program",
        title: "Program of an earlier set-up that made it",
        unit: "",
        of: Of::EarlierProgram,
    },
];

/// Which maps there are.
#[derive(Clone, Copy)]
struct Chosen {
    beside_target: bool,
    /// Whether the blank was kept from an earlier set-up.
    is_kept: bool,
    /// Those of [`TRACED`].
    traced: [bool; 5],
}

impl Chosen {
    fn of(job: &Job, proof: &Proof) -> Chosen {
        let traces = &proof.told.traces;
        let springs = traces.knows_spring();
        let traced = [traces.knows_depths(), traces.knows_chips(), traces.knows_ways(), springs, springs];
        let is_kept = !job.scene.blank.programs_before().is_empty();
        Chosen { beside_target: job.target.is_some(), is_kept, traced }
    }

    fn layers(self) -> impl Iterator<Item = &'static Layer> {
        let traced = TRACED.iter().zip(self.traced).filter(|(_, is_known)| *is_known).map(|(layer, _)| layer);
        let earlier = EARLIER_CUT.iter().filter(move |_| self.is_kept);
        LAYERS.iter().chain(earlier).chain(BESIDE_TARGET.iter().filter(move |_| self.beside_target)).chain(traced)
    }
}

/// The maps that a proof has.
#[cfg(feature = "view")]
pub(super) fn chosen(job: &Job, proof: &Proof) -> impl Iterator<Item = &'static Layer> {
    Chosen::of(job, proof).layers()
}

/// Rays of a portion, about: enough for all threads to have work, little enough to be nothing beside the piece.
const PORTION: usize = 1 << 19;

/// Bytes for each ray of a portion: its tile opened, its numbers on all maps, and the same as the files hold them.
const RAY_BYTES: u64 = 96;

/// Most bytes that the maps of a grid take on their way into the files.
pub(crate) fn bytes(grid: &dryturn_carve::Grid, threads: usize, has_target: bool) -> u64 {
    // A band of tiles is not divided.
    let rays = grid.rays().min(PORTION + BAND_ROWS * grid.angles) as u64;
    let layers = Chosen { beside_target: has_target, is_kept: true, traced: [true; 5] }.layers().count();
    let pages = threads.min(layers) as u64 * Drawing::PAGE_BYTES;
    rays * RAY_BYTES + layers as u64 * Drawing::SKIN_BYTES + pages
}

/// What the report says of the maps.
pub(crate) fn files(job: &Job, proof: &Proof) -> Vec<MapFile> {
    let file = |layer: &Layer| MapFile {
        name: layer.name.to_owned(),
        unit: layer.unit.to_owned(),
        dtype: layer.of.kind(&Names::default()).dtype().to_owned(),
    };
    Chosen::of(job, proof).layers().map(file).collect()
}

/// What the categories are called.
#[derive(Default)]
pub(super) struct Names {
    programs: Vec<(i16, String)>,
    cutters: Vec<(i16, String)>,
    /// Programs of earlier set-ups.
    earlier: Vec<(i16, String)>,
    ways: Vec<(i16, String)>,
    /// What is allowed below the target and over it, mm.
    allowed: [f64; 2],
}

impl Names {
    pub(super) fn of(job: &Job, target: Option<&Comparison>) -> Names {
        let programs = (1..).zip(job.programs.iter().map(|run| run.file.clone())).collect();
        let cutters = job.scene.cutters.iter().map(|cutter| (cutter.number as i16, cutter_name(cutter))).collect();
        let earlier = job.scene.blank.programs_before();
        let earlier = (1..).zip(earlier.iter().map(|(set_up, file)| format!("{file} ({set_up})")));
        let earlier = earlier.chain([(0, "cut in this set-up".to_owned())]).collect();
        let chord = target.map_or(0.0, |comparison| comparison.chord_mm);
        let allowed = job
            .scene
            .target
            .as_ref()
            .map_or([0.0; 2], |target| [target.gouge + chord, target.allowance + target.leftover + chord]);
        // Where both sides of a groove are cut it is both, straight down neither.
        let other = (0, "groove or plunge".to_owned());
        let ways = (1..).zip(WAYS.map(str::to_owned)).chain([other]).collect();
        Names { programs, cutters, earlier, ways, allowed }
    }
}

pub(crate) fn cutter_name(cutter: &Cutter) -> String {
    if cutter.name.is_empty() { cutter.number.to_string() } else { format!("{} {}", cutter.number, cutter.name) }
}

impl Of {
    pub(super) fn kind<'a>(&self, names: &'a Names) -> Kind<'a> {
        match self {
            Of::Measure(_) | Of::Trace(_) | Of::Sprung => Kind::Measures,
            Of::Gap | Of::OverTarget => Kind::Deviations { below: names.allowed[0], over: names.allowed[1] },
            Of::Line | Of::EarlierLine => Kind::Lines,
            Of::EarlierProgram => Kind::Categories(&names.earlier),
            Of::Program => Kind::Categories(&names.programs),
            Of::Cutter => Kind::Categories(&names.cutters),
            Of::Way => Kind::Categories(&names.ways),
        }
    }

    /// The numbers of some rays.
    pub(super) fn numbers(&self, job: &Job, target: Option<&Comparison>, traces: &Traces, rays: Rays<'_>) -> Numbers {
        let band = rays.band;
        let beside = |of: fn(&Comparison) -> &Vec<f32>| {
            let angles = band.grid().angles;
            let row = |row: usize| target.and_then(|target| of(target).get(row * angles..(row + 1) * angles));
            Numbers::Measures(
                rays.rows().flat_map(|at| row(at).unwrap_or_default().iter().step_by(rays.every)).copied().collect(),
            )
        };
        match self {
            Of::Measure(value) => Numbers::Measures(per_ray(rays, |_| value)),
            Of::Gap => beside(|target| &target.gap),
            Of::OverTarget => beside(|target| &target.over_target),
            Of::Line => Numbers::Lines(per_ray(rays, |_| owner(|block| job.line_of(block) as i32))),
            Of::Program => Numbers::Codes(per_ray(rays, |_| {
                let code = owner(|block| job.program_of(block) as i32 + 1);
                narrow(code)
            })),
            Of::Cutter => Numbers::Codes(per_ray(rays, |_| narrow(owner(|block| cutter_number(job, block))))),
            Of::EarlierLine => {
                Numbers::Lines(per_ray(rays, |_| earlier(job, dryturn_report::UNTOUCHED, |maker| maker.line as i32)))
            }
            Of::EarlierProgram => {
                Numbers::Codes(per_ray(rays, |_| narrow(earlier(job, 0, |maker| maker.index as i32 + 1))))
            }
            // Wood that no block has cut is in no block's trace, and what is not known of a cut is 0 there.
            Of::Trace(of) => Numbers::Measures(per_ray(rays, |row| {
                let mut trace = tracer(job, traces, band.grid().station(row));
                move |dexel: &Dexel<'_>| Some(of(&trace(dexel))).filter(|value| *value > 0.0).unwrap_or(f32::NAN)
            })),
            Of::Sprung => Numbers::Measures(per_ray(rays, |row| {
                let mut trace = tracer(job, traces, band.grid().station(row));
                move |dexel: &Dexel<'_>| match dexel.radius() {
                    gone if gone <= 0.0 => gone,
                    radius => radius + trace(dexel).spring_mm,
                }
            })),
            Of::Way => Numbers::Codes(per_ray(rays, |row| {
                let station = band.grid().station(row);
                narrow(owner(move |block| i32::from(traces.at(block, shares_at(job, block, station)).way)))
            })),
        }
    }
}

fn cutter_number(job: &Job, block: u32) -> i32 {
    let index = job.cutter_index(block).map(usize::from);
    index.and_then(|index| job.scene.cutters.get(index)).map_or(0, |cutter| cutter.number as i32)
}

/// The code of the block that cut a ray last. Neighbours mostly have the same, so that of the last ray is remembered.
fn owner(code: impl Fn(u32) -> i32) -> impl FnMut(&Dexel<'_>) -> i32 {
    let mut last = (UNTOUCHED, dryturn_report::UNTOUCHED);
    move |dexel| {
        let block = dexel.cut_by();
        if block != last.0 {
            let code = match block {
                UNTOUCHED => dryturn_report::UNTOUCHED,
                PREPARED => BORE,
                EARLIER.. => dryturn_report::UNTOUCHED,
                block => code(block),
            };
            last = (block, code);
        }
        last.1
    }
}

/// The code of the line of an earlier set-up that made a ray's outer end, or `since` where a block has cut it since.
fn earlier(job: &Job, since: i32, code: impl Fn(Maker<'_>) -> i32) -> impl FnMut(&Dexel<'_>) -> i32 {
    move |dexel| match dexel.cut_by() {
        UNTOUCHED => dryturn_report::UNTOUCHED,
        PREPARED => BORE,
        owner => match owner.checked_sub(EARLIER) {
            Some(maker) => job.scene.blank.maker(maker).map_or(BORE, &code),
            None => since,
        },
    }
}

/// What the stroke did that cut a ray of a station last. Neighbours mostly have the same, so that of the last ray is
/// remembered.
fn tracer(job: &Job, traces: &Traces, station: f64) -> impl FnMut(&Dexel<'_>) -> Trace {
    let mut last = (UNTOUCHED, Trace::default());
    move |dexel| {
        let block = dexel.cut_by();
        if block != last.0 {
            last = (block, traces.at(block, shares_at(job, block, station)));
        }
        last.1
    }
}

/// The shares of a block's way between which its tip passes a station: on a helix the turn about that, for a stretch of a turn
/// may meet no ray that has all of the depth before it. `None` where it stays near one, within its own width.
fn shares_at(job: &Job, block: u32, station: f64) -> Option<[f64; 2]> {
    let motion = job.motion(block)?;
    let width = job.scene.cutters.get(usize::from(motion.cutter))?.flutes.radius();
    let along = motion.to.x - motion.from.x;
    let turns = (motion.to.turn - motion.from.turn).abs() / std::f64::consts::TAU;
    let around = if turns > 1.0 { 0.5 / turns } else { 0.0 };
    let passes = (station - motion.from.x) / along;
    (along.abs() > width).then(|| [passes - around, passes + around].map(|share| share.clamp(0.0, 1.0)))
}

fn narrow(mut code: impl FnMut(&Dexel<'_>) -> i32) -> impl FnMut(&Dexel<'_>) -> i16 {
    move |dexel| code(dexel).clamp(i32::from(i16::MIN), i32::from(i16::MAX)) as i16
}

/// Rays of a band: of every so many rows of the grid every so many columns.
#[derive(Clone, Copy)]
pub(super) struct Rays<'a> {
    pub(super) band: &'a Band<'a>,
    pub(super) every: usize,
}

impl<'a> Rays<'a> {
    fn all(band: &'a Band<'a>) -> Rays<'a> {
        Rays { band, every: 1 }
    }

    fn rows(self) -> impl Iterator<Item = usize> {
        self.band.rows().filter(move |row| row % self.every == 0)
    }
}

/// A number for each ray, each row (of the grid) by a function of its own.
pub(super) fn per_ray<T, F>(rays: Rays<'_>, of_row: impl Fn(usize) -> F + Sync) -> Vec<T>
where
    T: Copy + Default + Send,
    F: FnMut(&Dexel<'_>) -> T,
{
    let Rays { band, every } = rays;
    let (rows, columns) = (rays.rows().collect::<Vec<_>>(), band.grid().angles.div_ceil(every));
    let mut numbers = vec![T::default(); rows.len() * columns];
    numbers.par_chunks_mut(columns).zip(rows).for_each(|(numbers, row)| {
        let mut of = of_row(row);
        numbers.iter_mut().zip(band.row(row).step_by(every)).for_each(|(number, dexel)| *number = of(&dexel));
    });
    numbers
}

pub(super) enum Numbers {
    Measures(Vec<f32>),
    Lines(Vec<i32>),
    Codes(Vec<i16>),
}

impl Numbers {
    fn values(&self) -> Values<'_> {
        match self {
            Numbers::Measures(values) => Values::Measures(values),
            Numbers::Lines(lines) => Values::Lines(lines),
            Numbers::Codes(codes) => Values::Categories(codes),
        }
    }
}

/// A map under way.
struct Sheet<'a> {
    layer: &'static Layer,
    npy: Draft<'a>,
    /// `None` for a map that is not drawn.
    picture: Option<(Draft<'a>, Drawing<'a>)>,
}

/// Writes all maps of a piece into files that are yet to be put in their places.
pub(crate) fn write(
    staging: &mut Staging<'_>,
    job: &Job,
    proof: &Proof,
    options: &RunOptions<'_>,
) -> Result<(), OutputError> {
    let carved = &proof.carved;
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    let (title, names) = (title(job), Names::of(job, proof.target.as_ref()));
    let mut sheets = sheets(staging, job, proof, &title, &names)?;
    let files = pool.install(|| {
        for band in portions(carved) {
            if options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed)) {
                return Err(WriteError::Interrupted.into());
            }
            if let Some(progress) = options.progress {
                progress(band.rows().start as f64 / carved.grid().stations as f64);
            }
            let remaining = per_ray(Rays::all(&band), |_| |dexel: &Dexel<'_>| dexel.radius());
            sheets.par_iter_mut().try_for_each(|sheet| sheet.add(job, proof, &band, &remaining))?;
        }
        sheets.into_par_iter().map(Sheet::finish).collect::<Result<Vec<_>, _>>()
    })?;
    files.into_iter().flatten().for_each(|file| staging.take(file));
    Ok(())
}

/// The piece in portions of rows, opened one by one.
fn portions(carved: &Carved) -> impl Iterator<Item = Band<'_>> {
    let bands: Vec<_> = carved.bands().collect();
    let rows = bands.first().map_or(1, |rows| rows.len().max(1));
    let at_once = (PORTION / (rows * carved.grid().angles)).max(1);
    let portions: Vec<_> = bands.chunks(at_once).map(|bands| bands[0].start..bands[bands.len() - 1].end).collect();
    portions.into_iter().map(|rows| carved.band(rows))
}

fn sheets<'a, 'b: 'a>(
    staging: &mut Staging<'b>,
    job: &Job,
    proof: &Proof,
    title: &'a str,
    names: &'a Names,
) -> Result<Vec<Sheet<'a>>, OutputError> {
    let grid = proof.carved.grid();
    let setting = Setting { title, chuck: job.scene.machine.chuck_on, greatest_radius: job.scene.swept_radius() };
    let mut sheets = Vec::new();
    for layer in Chosen::of(job, proof).layers() {
        let map = Map {
            name: layer.name,
            title: layer.title,
            unit: layer.unit,
            rows: grid.stations,
            columns: grid.angles,
            station_first: grid.station_first,
            station_step: grid.station_step,
            angle_step: angle::degrees(grid.angle_step),
            kind: layer.of.kind(names),
        };
        let mut draft = |ending| staging.draft(&PathBuf::from(format!("maps/{}.{ending}", layer.name)));
        let mut npy = draft("npy")?;
        npy.write(&npy_head(&map))?;
        let picture = if layer.is_drawn() { Some((draft("png")?, Drawing::new(&map, &setting)?)) } else { None };
        sheets.push(Sheet { layer, npy, picture });
    }
    Ok(sheets)
}

impl Sheet<'_> {
    fn add(&mut self, job: &Job, proof: &Proof, band: &Band<'_>, remaining: &[f32]) -> Result<(), OutputError> {
        let numbers = self.layer.of.numbers(job, proof.target.as_ref(), &proof.told.traces, Rays::all(band));
        let values = numbers.values();
        if let Some((_, drawing)) = &mut self.picture {
            drawing.add(&dryturn_report::Band { values, remaining })?;
        }
        Ok(self.npy.write(&values.bytes())?)
    }

    fn finish(self) -> Result<Vec<Whole>, OutputError> {
        let mut files = vec![self.npy.finish()?];
        if let Some((mut png, drawing)) = self.picture {
            png.write(&drawing.png()?)?;
            files.push(png.finish()?);
        }
        Ok(files)
    }
}
