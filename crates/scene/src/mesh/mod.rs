//! Triangle meshes from files: STL, OBJ, PLY and 3MF, by the ending of the name.
//!
//! Whatever the format, a mesh ends as corners without doubles and triangles that name them. Corners are one only where
//! all three numbers are the same, as exporters write them; nothing is moved. A target or a blank must enclose a solid:
//! [`Mesh::check_closed`] wants every edge to be run through as often one way as the other. A count in a file is never
//! trusted: memory grows with what has been read, and there is a limit to everything.

mod closed;
mod lines;
mod obj;
mod ply;
mod stl;
mod surface;
mod threemf;

use std::collections::HashMap;
use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;

use dryturn_geom::Side;
use dryturn_geom::units::LengthUnit;

pub use closed::OpenMesh;
pub use surface::{Inside, MeshSurface, Near, Point, holds};

/// Largest mesh file that is read, bytes.
const FILE_LIMIT: u64 = 1 << 30;
/// Most triangles of a mesh.
pub(crate) const MOST_TRIANGLES: usize = 20_000_000;
/// Greatest coordinate, mm: 100 m.
const GREATEST: f64 = 1e5;

/// A triangle mesh.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corners, mm; no two are the same.
    pub corners: Vec<[f64; 3]>,
    /// Three corners each, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// Why a mesh cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum MeshError {
    /// The system could not read the file.
    #[error("it cannot be read: {0}")]
    Read(#[from] std::io::Error),
    /// The ending of the name is none of a mesh.
    #[error("its name does not end in stl, obj, ply or 3mf")]
    Ending,
    /// A line of a text is wrong.
    #[error("line {line}: {message}")]
    Line {
        /// Number of the line, from 1.
        line: usize,
        /// What is wrong there.
        message: String,
    },
    /// The file is not what it should be.
    #[error("{0}")]
    Format(String),
    /// More than can be handled.
    #[error("{0}")]
    TooLarge(String),
    /// It does not enclose a solid.
    #[error(transparent)]
    Open(#[from] OpenMesh),
}

impl MeshError {
    /// The way out.
    pub fn help(&self) -> &'static str {
        match self {
            MeshError::Read(_) => "check that the file is there and may be read",
            MeshError::Ending => "export the shape as STL, OBJ, PLY or 3MF",
            MeshError::Line { .. } | MeshError::Format(_) => "export the shape anew",
            MeshError::TooLarge(_) => "export the shape with fewer triangles",
            MeshError::Open(_) => "close the shape in the program it was drawn in, and export it as a solid",
        }
    }
}

fn format<T>(message: impl Into<String>) -> Result<T, MeshError> {
    Err(MeshError::Format(message.into()))
}

impl Mesh {
    /// Reads a mesh. `units` is the unit of its numbers; a 3MF file names its own, which `None` leaves in force, and
    /// `None` takes millimetres for all others.
    ///
    /// # Errors
    /// [`MeshError`]; that it is closed is not asked for here.
    pub fn read(path: &Path, units: Option<LengthUnit>) -> Result<Mesh, MeshError> {
        let file = File::open(path)?;
        let size = file.metadata()?.len();
        if size > FILE_LIMIT {
            return Err(MeshError::TooLarge("the file is larger than 1 GiB".to_owned()));
        }
        let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
        let reader = BufReader::with_capacity(1 << 16, file.take(size));
        let scale = units.unwrap_or(LengthUnit::Millimetre).in_mm();
        let mut gatherer = Gatherer::new(scale);
        match ending.as_deref() {
            Some("stl") => stl::read(reader, size, &mut gatherer)?,
            Some("obj") => obj::read(reader, &mut gatherer)?,
            Some("ply") => ply::read(reader, size, &mut gatherer)?,
            Some("3mf") => threemf::read(reader.into_inner().into_inner(), units, &mut gatherer)?,
            _ => return Err(MeshError::Ending),
        }
        gatherer.finish()
    }

    /// Reads a mesh that encloses a solid.
    ///
    /// # Errors
    /// As [`Mesh::read`], and where it is not closed or encloses nothing.
    pub(crate) fn read_closed(path: &Path, units: Option<LengthUnit>) -> Result<Mesh, MeshError> {
        let mesh = Mesh::read(path, units)?;
        mesh.check_closed()?;
        if mesh.volume() == 0.0 { format("the mesh encloses nothing") } else { Ok(mesh) }
    }

    /// The solid a file holds, from its end at the least station on, in the blank frame; and its length, mm.
    ///
    /// # Errors
    /// As [`Mesh::read_closed`].
    pub(crate) fn solid(path: &Path, units: Option<LengthUnit>, chuck: Side) -> Result<(MeshSurface, f64), MeshError> {
        let mut mesh = Mesh::read_closed(path, units)?;
        let stations = mesh.corners.iter().map(|corner| corner[0]);
        let (first, last) =
            (stations.clone().fold(f64::INFINITY, f64::min), stations.fold(f64::NEG_INFINITY, f64::max));
        for [station, y, _] in &mut mesh.corners {
            *station -= first;
            // With the chuck on the plus side the blank frame is the piece's mirrored.
            *y = if chuck == Side::Plus { -*y } else { *y };
        }
        if mesh.volume() < 0.0 {
            mesh.turn_inside_out();
        }
        Ok((MeshSurface::new(&mesh), last - first))
    }

    /// Volume it encloses, mm³; below zero where its triangles face inward.
    pub fn volume(&self) -> f64 {
        let volume = |&[a, b, c]: &[u32; 3]| {
            let [a, b, c] = [a, b, c].map(|corner| self.corners[corner as usize]);
            let [x, y, z] = cross(b, c);
            (a[0] * x + a[1] * y + a[2] * z) / 6.0
        };
        self.triangles.iter().map(volume).sum()
    }

    /// Turns every triangle around.
    pub(crate) fn turn_inside_out(&mut self) {
        for triangle in &mut self.triangles {
            triangle.swap(1, 2);
        }
    }
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Collects triangles and makes equal corners one.
struct Gatherer {
    scale: f64,
    mesh: Mesh,
    known: HashMap<[u64; 3], u32>,
}

impl Gatherer {
    fn new(scale: f64) -> Gatherer {
        Gatherer { scale, mesh: Mesh::default(), known: HashMap::new() }
    }

    /// The number of a corner given in the file's unit.
    fn corner(&mut self, point: [f64; 3]) -> Result<u32, MeshError> {
        let scale = self.scale;
        // Adding zero makes minus zero plain.
        let point = point.map(|coordinate| coordinate * scale + 0.0);
        if !point.iter().all(|coordinate| coordinate.abs() <= GREATEST) {
            return format("a corner is not at a place within 100 m; is the unit right?");
        }
        let next = self.mesh.corners.len() as u32;
        let number = *self.known.entry(point.map(f64::to_bits)).or_insert(next);
        if number == next {
            self.mesh.corners.push(point);
        }
        Ok(number)
    }

    /// A triangle; one without area is left out, as the edges beside it meet without it.
    fn triangle(&mut self, [a, b, c]: [u32; 3]) -> Result<(), MeshError> {
        if a == b || b == c || c == a {
            return Ok(());
        }
        if self.mesh.triangles.len() >= MOST_TRIANGLES {
            return Err(MeshError::TooLarge(format!("the mesh has more than {MOST_TRIANGLES} triangles")));
        }
        self.mesh.triangles.push([a, b, c]);
        Ok(())
    }

    fn finish(self) -> Result<Mesh, MeshError> {
        if self.mesh.triangles.is_empty() {
            return format("there is no triangle in it");
        }
        Ok(self.mesh)
    }
}

/// Longest line of a text, bytes.
const LINE_LIMIT: u64 = 1 << 20;

#[cfg(test)]
mod tests;
