//! Writing a kept piece. Rays are written as they are looked at, so that a large piece need never be open as a whole.

use std::io::{self, Write};

use dryturn_geom::{Axis, Facets, Lattice, Motion};
use rayon::prelude::*;
use zip::write::{SimpleFileOptions, StreamWriter};
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::ends::{self, Wood};
use super::file::{ABOUT, About, CutterText, FORMAT, HOLE, HoleText, OUTLINE, Outline, SourceText, WHAT};
use super::npy;
use super::past::{Past, Programs};
use crate::carved::{Band, Carved};
use crate::dexel::Dexel;
use crate::job::{CarveError, Job, RunOptions};
use crate::plan::look;
use crate::replay::Replay;
use crate::tile::{EARLIER, PREPARED, Span, UNTOUCHED};

/// A carved piece on its way into a file.
pub struct Keeping<'a> {
    carved: &'a Carved,
    past: Past,
    /// The number that holes go by in the blank.
    hole: u32,
    /// Of each block of the job its number among the motions.
    numbers: Vec<u32>,
    wood: Wood,
    lattice: Lattice,
    length: f64,
    /// Whether its columns go round the other way than the piece's.
    is_mirrored: bool,
}

impl<'a> Keeping<'a> {
    /// What is to be kept of a job that has been carved on a grid of a pitch, mm. With the chuck on the plus side the frame
    /// of the blank is the piece's mirrored. `None` where nothing is left, and of a blank that nobody
    /// knows more of.
    ///
    /// # Errors
    /// As [`Replay::new`].
    pub fn of(
        job: &Job<'_>,
        carved: &'a Carved,
        programs: Programs<'_>,
        (pitch, is_mirrored): (f64, bool),
        options: &RunOptions<'_>,
    ) -> Result<Option<Keeping<'a>>, CarveError> {
        let replay = Replay::new(job, options)?;
        let go_on = || look(options.cancel);
        let Some(wood) = ends::of(carved, &replay, &go_on)? else { return Ok(None) };
        let Some((past, numbers)) = Past::with(job, programs) else { return Ok(None) };
        let cut_off = wood.stations[0] - job.stock.start;
        let past = past.along(-cut_off);
        let past = if is_mirrored { past.mirrored() } else { past };
        let grid = carved.grid();
        let own = job.stock.lattice().filter(|own| own.pitch == pitch);
        let first = own.map_or(0.5 * grid.station_step, |own| own.first);
        let [first_row, last_row] = wood.rows;
        let lattice = Lattice {
            pitch,
            stations: last_row - first_row + 1,
            angles: grid.angles,
            first: first + first_row as f64 * grid.station_step - cut_off,
            step: grid.station_step,
        };
        let hole = (past.motions.len() - carried(&numbers, &past)) as u32;
        let length = wood.stations[1] - wood.stations[0];
        Ok(Some(Keeping { carved, past, hole, numbers, wood, lattice, length, is_mirrored }))
    }

    /// Writes it; the bytes do not depend on when. An archive that is given up tries to end all the same, so `to` had better
    /// take everything after its first refusal.
    ///
    /// # Errors
    /// Those of `to`.
    pub fn write(&self, to: &mut dyn Write) -> io::Result<()> {
        let mut zip = ZipWriter::new_stream(to);
        let (past, lattice) = (&self.past, &self.lattice);
        let stretches = self.stretches();
        let about = self.about(stretches)?;
        begin(&mut zip, ABOUT, about.len())?;
        zip.write_all(&about)?;
        array(&mut zip, "spans", "<u2", &[lattice.stations, lattice.angles])?;
        self.rays(&mut zip, |ray, bytes| bytes.extend((spans(ray).count() as u16).to_le_bytes()))?;
        array(&mut zip, "ends", "<f4", &[stretches, 2])?;
        self.rays(&mut zip, |ray, bytes| {
            spans(ray).for_each(|it| bytes.extend([it.inner, it.outer].map(f32::to_le_bytes).as_flattened()));
        })?;
        array(&mut zip, "by", "<i4", &[stretches, 2])?;
        self.rays(&mut zip, |ray, bytes| {
            let by = |it: Span| [it.inner_by, it.outer_by].map(|by| self.maker(by).to_le_bytes());
            spans(ray).for_each(|it| bytes.extend(by(it).as_flattened()));
        })?;
        array(&mut zip, "motions", "<f8", &[past.motions.len(), 8])?;
        past.motions.iter().try_for_each(|motion| zip.write_all(numbers(&poses(motion)).as_flattened()))?;
        array(&mut zip, "arcs", "<f8", &[arcs(past).count(), 11])?;
        arcs(past).try_for_each(|arc| zip.write_all(numbers(&arc).as_flattened()))?;
        array(&mut zip, "makers", "<i4", &[past.motions.len(), 4])?;
        for (motion, line) in past.motions.iter().zip(&past.lines) {
            let row = [u32::from(motion.cutter), u32::from(motion.rapid), line.source, line.line];
            zip.write_all(row.map(u32::to_le_bytes).as_flattened())?;
        }
        if let Some(Facets { corners, triangles }) = &past.facets {
            array(&mut zip, "corners", "<f8", &[corners.len(), 3])?;
            corners.iter().try_for_each(|corner| zip.write_all(numbers(corner).as_flattened()))?;
            array(&mut zip, "triangles", "<u4", &[triangles.len(), 3])?;
            triangles.iter().try_for_each(|it| zip.write_all(it.map(u32::to_le_bytes).as_flattened()))?;
        }
        zip.finish().map(drop).map_err(io::Error::from)
    }

    fn about(&self, stretches: usize) -> io::Result<Vec<u8>> {
        let Lattice { pitch, stations, angles, first, step } = self.lattice;
        let past = &self.past;
        let outline = Outline::of(&past.stock, past.facets.as_ref().unwrap_or(&Facets::default()));
        let about = About {
            what: WHAT.to_owned(),
            format: FORMAT,
            length: self.length,
            pitch,
            stations,
            angles,
            first,
            step,
            stretches,
            motions: past.motions.len(),
            arcs: arcs(past).count(),
            outline,
            holes: past.holes.iter().map(HoleText::of).collect(),
            cutters: past.cutters.iter().map(CutterText::of).collect(),
            sources: past.sources.iter().map(SourceText::of).collect(),
        };
        Ok(serde_json::to_vec_pretty(&about)?)
    }

    /// How many stretches of solid there are on the rays that are kept.
    fn stretches(&self) -> usize {
        let of_row = |band: &Band<'_>, row| self.row(band, row).iter().map(|ray| spans(ray).count()).sum::<usize>();
        self.bands().map(|band| band.rows().into_par_iter().map(|row| of_row(&band, row)).sum::<usize>()).sum()
    }

    /// Writes what `put` makes of each ray that is kept, in the order of the file; rows are made side by side.
    fn rays(&self, to: &mut dyn Write, put: impl Fn(&Dexel<'_>, &mut Vec<u8>) + Sync) -> io::Result<()> {
        let bytes_of = |band: &Band<'_>, row: usize| {
            let mut bytes = Vec::new();
            self.row(band, row).iter().for_each(|ray| put(ray, &mut bytes));
            bytes
        };
        self.bands().try_for_each(|band| {
            let rows: Vec<Vec<u8>> = band.rows().into_par_iter().map(|row| bytes_of(&band, row)).collect();
            rows.iter().try_for_each(|bytes| to.write_all(bytes))
        })
    }

    /// The rows that are kept, opened one part after the other.
    fn bands(&self) -> impl Iterator<Item = Band<'a>> {
        let [first, last] = self.wood.rows;
        let kept = self.carved.bands().map(move |rows| rows.start.max(first)..rows.end.min(last + 1));
        kept.filter(|rows| !rows.is_empty()).map(|rows| self.carved.band(rows))
    }

    /// The rays of a row in the order of the file.
    fn row<'b>(&self, band: &'b Band<'_>, row: usize) -> Vec<Dexel<'b>> {
        let mut rays: Vec<Dexel<'b>> = band.row(row).collect();
        if self.is_mirrored {
            rays[1..].reverse();
        }
        rays
    }

    /// The maker of an end, as the file names it.
    fn maker(&self, owner: u32) -> i32 {
        match owner {
            UNTOUCHED => OUTLINE,
            PREPARED => HOLE,
            EARLIER.. if owner - EARLIER == self.hole => HOLE,
            EARLIER.. => (owner - EARLIER) as i32,
            block => self.numbers[block as usize] as i32,
        }
    }
}

/// How many of the motions a job has added.
fn carried(numbers: &[u32], past: &Past) -> usize {
    numbers.first().map_or(0, |first| past.motions.len() - *first as usize)
}

fn spans(ray: &Dexel<'_>) -> impl Iterator<Item = Span> {
    ray.spans().filter(|span| span.outer > span.inner)
}

fn numbers<const N: usize>(values: &[f64; N]) -> [[u8; 8]; N] {
    values.map(f64::to_le_bytes)
}

fn poses(motion: &Motion) -> [f64; 8] {
    let Motion { from, to, .. } = motion;
    [from.x, from.y, from.z, from.turn, to.x, to.y, to.z, to.turn]
}

/// The arcs among the motions, each behind the number of its motion.
fn arcs(past: &Past) -> impl Iterator<Item = [f64; 11]> {
    past.motions.iter().filter_map(|motion| {
        let arc = motion.arc?;
        let [one, other] = arc.axes.map(axis_number);
        let ([a, b], [c, d]) = (arc.center, arc.reach);
        Some([f64::from(motion.block), one, other, a, b, c, d, arc.start, arc.sweep, arc.lean.across, arc.lean.up])
    })
}

fn axis_number(axis: Axis) -> f64 {
    match axis {
        Axis::X => 0.0,
        Axis::Y => 1.0,
        Axis::Z => 2.0,
        Axis::Turn => 3.0,
    }
}

type Archive<'a, 'b> = ZipWriter<StreamWriter<&'a mut (dyn Write + 'b)>>;

/// How hard it is packed, 1 … 9: what is written after every run had better be written soon. The usual 6 takes twice as long
/// over a rod of four million rays, and saves 3 in 1000 of the room.
const PACKED: i64 = 5;

/// Begins a file of the archive, of about so many bytes.
fn begin(zip: &mut Archive<'_, '_>, name: &str, bytes: usize) -> io::Result<()> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(PACKED))
        .last_modified_time(DateTime::default())
        .large_file(bytes > u32::MAX as usize);
    Ok(zip.start_file(name, options)?)
}

/// Begins an array.
fn array(zip: &mut Archive<'_, '_>, name: &str, kind: &str, shape: &[usize]) -> io::Result<()> {
    begin(zip, &format!("{name}.npy"), 8 * shape.iter().product::<usize>())?;
    zip.write_all(&npy::head(kind, shape))
}
