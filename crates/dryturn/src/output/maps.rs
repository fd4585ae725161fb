//! The maps of a run, drawn and written in portions of rows.
//!
//! A portion is opened, turned into the numbers of each map, written and drawn, and let go, so that no map is ever in the
//! memory whole. Maps and rows go side by side on all threads; neither shows in the bytes.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

use dryturn_carve::{BAND_ROWS, Band, Carved, Dexel, PREPARED, UNTOUCHED};
use dryturn_geom::angle;
use dryturn_report::{BORE, Draft, Drawing, Kind, Map, MapFile, Setting, Staging, Values, Whole, WriteError, npy_head};
use dryturn_scene::{Cutter, Job};
use rayon::prelude::*;

use super::{OutputError, title};

/// How the work goes on.
pub(crate) struct Watch<'a> {
    pub(crate) threads: usize,
    pub(crate) interrupted: &'a AtomicBool,
    /// Told the share that is done, 0 … 1.
    pub(crate) progress: &'a (dyn Fn(f64) + Sync),
}

/// One map of the piece: names, unit, and how a ray's value is found.
struct Layer {
    name: &'static str,
    title: &'static str,
    unit: &'static str,
    of: Of,
}

enum Of {
    Measure(fn(&Dexel<'_>) -> f32),
    /// Line of the block that cut last.
    Line,
    /// Number (from 1) of the program that cut last.
    Program,
    /// Number of the cutter that cut last.
    Cutter,
}

const LAYERS: [Layer; 5] = [
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

/// Rays of a portion, about: enough for all threads to have work, little enough to be nothing beside the piece.
const PORTION: usize = 1 << 19;

/// Bytes for each ray of a portion: its tile opened, its numbers on all maps, and the same as the files hold them.
const RAY_BYTES: u64 = 64;

/// Most bytes that the maps of a grid take on their way into the files.
pub(crate) fn bytes(grid: &dryturn_carve::Grid, threads: usize) -> u64 {
    // A band of tiles is not divided.
    let rays = grid.rays().min(PORTION + BAND_ROWS * grid.angles) as u64;
    let pages = threads.min(LAYERS.len()) as u64 * Drawing::PAGE_BYTES;
    rays * RAY_BYTES + LAYERS.len() as u64 * Drawing::SKIN_BYTES + pages
}

/// What the report says of the maps.
pub(crate) fn files() -> Vec<MapFile> {
    let file = |layer: &Layer| MapFile {
        name: layer.name.to_owned(),
        unit: layer.unit.to_owned(),
        dtype: layer.of.kind(&Names::default()).dtype().to_owned(),
    };
    LAYERS.iter().map(file).collect()
}

/// What the categories are called.
#[derive(Default)]
struct Names {
    programs: Vec<(i16, String)>,
    cutters: Vec<(i16, String)>,
}

impl Names {
    fn of(job: &Job) -> Names {
        let programs = (1..).zip(job.programs.iter().map(|run| run.file.clone())).collect();
        let cutters = job.scene.cutters.iter().map(|cutter| (cutter.number as i16, called(cutter))).collect();
        Names { programs, cutters }
    }
}

fn called(cutter: &Cutter) -> String {
    if cutter.name.is_empty() { cutter.number.to_string() } else { format!("{} {}", cutter.number, cutter.name) }
}

impl Of {
    fn kind<'a>(&self, names: &'a Names) -> Kind<'a> {
        match self {
            Of::Measure(_) => Kind::Measures,
            Of::Line => Kind::Lines,
            Of::Program => Kind::Categories(&names.programs),
            Of::Cutter => Kind::Categories(&names.cutters),
        }
    }

    /// The numbers of some rows.
    fn numbers(&self, job: &Job, band: &Band<'_>) -> Numbers {
        match self {
            Of::Measure(value) => Numbers::Measures(per_ray(band, || value)),
            Of::Line => Numbers::Lines(per_ray(band, || owner(|block| job.line_of(block) as i32))),
            Of::Program => Numbers::Codes(per_ray(band, || {
                let code = owner(|block| job.program_of(block) as i32 + 1);
                narrow(code)
            })),
            Of::Cutter => Numbers::Codes(per_ray(band, || narrow(owner(|block| cutter_number(job, block))))),
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
                block => code(block),
            };
            last = (block, code);
        }
        last.1
    }
}

fn narrow(mut code: impl FnMut(&Dexel<'_>) -> i32) -> impl FnMut(&Dexel<'_>) -> i16 {
    move |dexel| code(dexel).clamp(i32::from(i16::MIN), i32::from(i16::MAX)) as i16
}

/// A number for each ray of a band, each row by a function of its own.
fn per_ray<T, F>(band: &Band<'_>, of_row: impl Fn() -> F + Sync) -> Vec<T>
where
    T: Copy + Default + Send,
    F: FnMut(&Dexel<'_>) -> T,
{
    let (rows, columns) = (band.rows(), band.grid().angles);
    let mut numbers = vec![T::default(); rows.len() * columns];
    numbers.par_chunks_mut(columns).zip(rows).for_each(|(numbers, row)| {
        let mut of = of_row();
        numbers.iter_mut().zip(band.row(row)).for_each(|(number, dexel)| *number = of(&dexel));
    });
    numbers
}

enum Numbers {
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
    png: Draft<'a>,
    drawing: Drawing<'a>,
}

/// Writes all maps of a piece into files that are yet to be put in their places.
pub(crate) fn write<'a>(
    staging: &mut Staging<'a>,
    job: &Job,
    carved: &Carved,
    watch: &Watch<'a>,
) -> Result<(), OutputError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(watch.threads).build()?;
    let (title, names) = (title(job), Names::of(job));
    let mut sheets = sheets(staging, job, carved, &title, &names)?;
    let files = pool.install(|| {
        for band in portions(carved) {
            if watch.interrupted.load(Ordering::Relaxed) {
                return Err(WriteError::Interrupted.into());
            }
            (watch.progress)(band.rows().start as f64 / carved.grid().stations as f64);
            let remaining = per_ray(&band, || |dexel: &Dexel<'_>| dexel.radius());
            sheets.par_iter_mut().try_for_each(|sheet| sheet.add(job, &band, &remaining))?;
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
    carved: &Carved,
    title: &'a str,
    names: &'a Names,
) -> Result<Vec<Sheet<'a>>, OutputError> {
    let grid = carved.grid();
    let setting = Setting { title, chuck: job.scene.machine.chuck_on, greatest_radius: job.scene.swept_radius() };
    let mut sheets = Vec::new();
    for layer in &LAYERS {
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
        let (mut npy, png) = (draft("npy")?, draft("png")?);
        npy.write(&npy_head(&map))?;
        sheets.push(Sheet { layer, npy, png, drawing: Drawing::new(&map, &setting)? });
    }
    Ok(sheets)
}

impl Sheet<'_> {
    fn add(&mut self, job: &Job, band: &Band<'_>, remaining: &[f32]) -> Result<(), OutputError> {
        let numbers = self.layer.of.numbers(job, band);
        let values = numbers.values();
        self.drawing.add(&dryturn_report::Band { values, remaining })?;
        Ok(self.npy.write(&values.bytes())?)
    }

    fn finish(self) -> Result<[Whole; 2], OutputError> {
        let Sheet { npy, mut png, drawing, .. } = self;
        let npy = npy.finish()?;
        png.write(&drawing.png()?)?;
        Ok([npy, png.finish()?])
    }
}
