//! Reading a kept piece. Nothing the file says is taken on trust: sizes before memory is taken, numbers before they are used.

use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;

use dryturn_geom::{Arc, Axis, Facets, Lattice, Lean, Motion, Offset, Pose, angle};
use zip::ZipArchive;

use super::file::{ABOUT, About, FORMAT, HOLE, KeptError, OUTLINE, WHAT, is_number};
use super::past::{Line, Past};
use super::{KeptPiece, NOBODY, Rays, npy};
use crate::grid::RAY_BYTES;

/// Most bytes that the text may have.
const MOST_TEXT: u64 = 16 << 20;
/// Most bytes that all arrays may have.
const MOST_BYTES: u128 = 1 << 30;
/// Most of the head of an array, bytes.
const HEAD: u64 = 1 << 16;

type Archive = ZipArchive<BufReader<File>>;

impl KeptPiece {
    /// Reads a piece from its file.
    ///
    /// # Errors
    /// [`KeptError`] tells what is wrong with the file, and what to do.
    pub fn read(path: &Path) -> Result<KeptPiece, KeptError> {
        let file = BufReader::new(File::open(path)?);
        let foreign = |error: zip::result::ZipError| KeptError::Foreign(format!("no readable zip archive ({error})"));
        let mut archive = ZipArchive::new(file).map_err(foreign)?;
        let about = about(&mut archive)?;
        check_sizes(&about)?;
        let rays = rays(&mut archive, &about)?;
        let (length, motions, arcs) = (about.length, about.motions, about.arcs);
        let facets = about.outline.facets().map(|counts| read_facets(&mut archive, counts, about.outline.radius()));
        let facets = facets.transpose()?;
        let mut past = Past { facets, ..about.past()? };
        read_motions(&mut archive, &mut past, motions, arcs)?;
        let kept = KeptPiece { past, rays, length };
        kept.check()?;
        Ok(kept)
    }

    /// Checks what must hold of every piece that was kept.
    fn check(&self) -> Result<(), KeptError> {
        let KeptPiece { past, rays, length } = self;
        if rays.ends.is_empty() {
            return Err(KeptError::Nothing);
        }
        let most = past.stock.swept_radius() as f32 * (1.0 + 1e-6);
        for ray in rays.starts.windows(2) {
            let mut above = most;
            for &[inner, outer] in &rays.ends[ray[0] as usize..ray[1] as usize] {
                if !(0.0 <= inner && inner < outer && outer <= above) {
                    return Err(damaged(format!("a ray holds wood from {inner} to {outer} mm, under {above}")));
                }
                above = inner;
            }
        }
        let hole = past.hole();
        if rays.by.as_flattened().iter().any(|by| *by > hole && *by != NOBODY) {
            return Err(damaged("an end was made by a motion that is not there"));
        }
        let Lattice { first, step, stations, .. } = rays.lattice;
        let last = first + step * (stations - 1) as f64;
        if !(first > -step && last < length + step) {
            return Err(damaged("its rays stand outside of its length"));
        }
        Ok(())
    }
}

fn damaged(message: impl Into<String>) -> KeptError {
    KeptError::Damaged(message.into())
}

fn about(archive: &mut Archive) -> Result<About, KeptError> {
    let mut text = Vec::new();
    let entry = archive.by_name(ABOUT).map_err(|_| KeptError::Foreign(format!("the archive holds no {ABOUT}")))?;
    entry.take(MOST_TEXT + 1).read_to_end(&mut text).map_err(|error| damaged(format!("{ABOUT}: {error}")))?;
    if text.len() as u64 > MOST_TEXT {
        return Err(KeptError::TooLarge(format!("more than {} MiB of {ABOUT}", MOST_TEXT >> 20)));
    }
    // What it is and its format come first: in another format the rest may look otherwise.
    let value: serde_json::Value =
        serde_json::from_slice(&text).map_err(|error| damaged(format!("{ABOUT}: {error}")))?;
    if value["what"] != WHAT {
        return Err(KeptError::Foreign(format!("{ABOUT} is of something else")));
    }
    match value["format"].as_u64() {
        Some(format) if format == u64::from(FORMAT) => {}
        Some(format) if format > u64::from(FORMAT) => {
            return Err(KeptError::Newer(u32::try_from(format).unwrap_or(u32::MAX)));
        }
        _ => return Err(damaged(format!("{ABOUT} names no format"))),
    }
    serde_json::from_value(value).map_err(|error| damaged(format!("{ABOUT}: {error}")))
}

/// Refuses sizes that no piece has before any memory is taken for them.
fn check_sizes(about: &About) -> Result<(), KeptError> {
    let About { stations, angles, stretches, motions, arcs, .. } = *about;
    let rays = stations as u128 * angles as u128;
    let [corners, triangles] = about.outline.facets().unwrap_or_default();
    let facets = corners as u128 * 24 + triangles as u128 * 12;
    let bytes = facets + rays * 4 + stretches as u128 * RAY_BYTES as u128 + motions as u128 * 80 + arcs as u128 * 88;
    if bytes > MOST_BYTES {
        return Err(KeptError::TooLarge(format!("{rays} rays and {motions} motions")));
    }
    let lengths = [about.length, about.pitch, about.step];
    if rays == 0 || !lengths.into_iter().all(|length| length > 0.0 && is_number(length)) || !is_number(about.first) {
        return Err(damaged(format!("a size in {ABOUT} cannot be")));
    }
    Ok(())
}

/// The bytes of an array's numbers, `size` of them each.
fn array(archive: &mut Archive, name: &str, kind: &str, shape: &[usize], size: usize) -> Result<Vec<u8>, KeptError> {
    let name = format!("{name}.npy");
    let wanted = shape.iter().product::<usize>() * size;
    let entry = archive.by_name(&name).map_err(|error| damaged(format!("{name}: {error}")))?;
    let mut bytes = Vec::new();
    let read = entry.take(wanted as u64 + HEAD).read_to_end(&mut bytes);
    read.map_err(|error| damaged(format!("{name}: {error}")))?;
    let numbers = npy::numbers(&bytes, kind, shape).map_err(|message| damaged(format!("{name} {message}")))?;
    if numbers.len() != wanted {
        return Err(damaged(format!("{name} holds {} bytes of numbers, not {wanted}", numbers.len())));
    }
    let head = bytes.len() - wanted;
    bytes.drain(..head);
    Ok(bytes)
}

fn rays(archive: &mut Archive, about: &About) -> Result<Rays, KeptError> {
    let About { pitch, stations, angles, first, step, stretches, motions, .. } = *about;
    let counts = array(archive, "spans", "<u2", &[stations, angles], 2)?;
    let mut starts = Vec::with_capacity(stations * angles + 1);
    starts.push(0u32);
    let mut sum = 0u32;
    for count in counts.as_chunks().0 {
        sum = sum.saturating_add(u32::from(u16::from_le_bytes(*count)));
        starts.push(sum);
    }
    if sum as usize != stretches {
        return Err(damaged(format!("its rays have {sum} stretches, not {stretches}")));
    }
    let ends = array(archive, "ends", "<f4", &[stretches, 2], 4)?;
    let ends = ends.as_chunks::<8>().0.iter().map(|pair| two(pair).map(f32::from_le_bytes)).collect();
    let by = array(archive, "by", "<i4", &[stretches, 2], 4)?;
    let by = by.as_chunks::<8>().0.iter().map(|pair| two(pair).map(|by| number(i32::from_le_bytes(by), motions)));
    let by = by.collect();
    let lattice = Lattice { pitch, stations, angles, first, step };
    Ok(Rays { lattice, turned: 0.0, off: Offset::default(), starts, ends, by })
}

fn two(bytes: &[u8; 8]) -> [[u8; 4]; 2] {
    let [a, b, c, d, e, f, g, h] = *bytes;
    [[a, b, c, d], [e, f, g, h]]
}

/// A maker's number from how the file names it.
fn number(maker: i32, motions: usize) -> u32 {
    match maker {
        OUTLINE => NOBODY,
        HOLE => motions as u32,
        // What is below is none, and found out when all is checked.
        maker => u32::try_from(maker).unwrap_or(NOBODY - 1),
    }
}

/// The numbers of a row.
fn row<const N: usize>(bytes: &[u8]) -> [f64; N] {
    let mut row = [0.0; N];
    row.iter_mut().zip(bytes.as_chunks().0).for_each(|(number, bytes)| *number = f64::from_le_bytes(*bytes));
    row
}

fn read_motions(archive: &mut Archive, past: &mut Past, count: usize, arcs: usize) -> Result<(), KeptError> {
    let poses = array(archive, "motions", "<f8", &[count, 8], 8)?;
    let makers = array(archive, "makers", "<i4", &[count, 4], 4)?;
    let rows = poses.chunks_exact(64).map(row).zip(makers.as_chunks::<16>().0);
    for (block, ([x, y, z, turn, to_x, to_y, to_z, to_turn], maker)) in (0u32..).zip(rows) {
        let [cutter, rapid, source, line] = four(maker);
        let numbers = [x, y, z, turn, to_x, to_y, to_z, to_turn];
        let is_sound = numbers.into_iter().all(is_number)
            && (cutter as usize) < past.cutters.len()
            && (source as usize) < past.sources.len()
            && rapid < 2;
        if !is_sound {
            return Err(damaged(format!("motion {block} cannot be")));
        }
        let (from, to) = (Pose { x, y, z, turn }, Pose { x: to_x, y: to_y, z: to_z, turn: to_turn });
        past.motions.push(Motion { from, to, arc: None, block, cutter: cutter as u16, rapid: rapid == 1 });
        past.lines.push(Line { source, line });
    }
    let rows = array(archive, "arcs", "<f8", &[arcs, 11], 8)?;
    for numbers in rows.chunks_exact(88).map(row::<11>) {
        let (motion, arc) = arc(&numbers).ok_or_else(|| damaged("an arc cannot be"))?;
        past.motions.get_mut(motion).ok_or_else(|| damaged("an arc belongs to no motion"))?.arc = Some(arc);
    }
    Ok(())
}

/// The facets of a blank that came from a mesh, none of them farther from its centre line than a radius, mm.
fn read_facets(archive: &mut Archive, [corners, triangles]: [usize; 2], radius: f64) -> Result<Facets, KeptError> {
    let bytes = array(archive, "corners", "<f8", &[corners, 3], 8)?;
    let corners: Vec<[f64; 3]> = bytes.chunks_exact(24).map(row).collect();
    let most = radius * (1.0 + 1e-9);
    if !corners.iter().all(|&[x, y, z]| is_number(x) && angle::hypot(y, z) <= most) {
        return Err(damaged("a corner of its blank cannot be"));
    }
    let bytes = array(archive, "triangles", "<u4", &[triangles, 3], 4)?;
    let number = |bytes: &[u8; 4]| u32::from_le_bytes(*bytes);
    let triangle = |three: &[u8]| -> Option<[u32; 3]> {
        let [a, b, c] = three.as_chunks().0 else { return None };
        Some([a, b, c].map(number)).filter(|all| all.iter().all(|corner| (*corner as usize) < corners.len()))
    };
    let triangles = bytes.chunks_exact(12).map(triangle).collect::<Option<Vec<_>>>();
    let triangles = triangles.filter(|all| !all.is_empty());
    let triangles = triangles.ok_or_else(|| damaged("a triangle of its blank cannot be"))?;
    Ok(Facets { corners, triangles })
}

fn four(bytes: &[u8; 16]) -> [u32; 4] {
    let mut four = [0; 4];
    four.iter_mut().zip(bytes.as_chunks().0).for_each(|(number, bytes)| *number = u32::from_le_bytes(*bytes));
    four
}

fn arc(numbers: &[f64; 11]) -> Option<(usize, Arc)> {
    let [motion, one, other, a, b, c, d, start, sweep, across, up] = *numbers;
    let axes = [axis(one)?, axis(other)?];
    let is_sound = numbers.iter().all(|number| is_number(*number)) && motion >= 0.0 && axes[0] != axes[1];
    is_sound.then_some((
        motion as usize,
        Arc { axes, center: [a, b], reach: [c, d], start, sweep, lean: Lean { across, up } },
    ))
}

fn axis(number: f64) -> Option<Axis> {
    [Axis::X, Axis::Y, Axis::Z, Axis::Turn].get(number as usize).copied().filter(|_| number >= 0.0)
}
