//! The shape wanted, read from its file and put in its place on the blank.

mod profile;

use dryturn_geom::units::LengthUnit;
use dryturn_geom::{Side, angle};

use crate::error::SceneError;
use crate::mesh::{Mesh, MeshError};
use crate::model::Target;

/// The shape wanted, in the blank frame while θ on top is 0: x is the station, a point of the ray θ at the radius r is at
/// (x, −r sin θ, r cos θ), mm.
#[derive(Clone, Debug, PartialEq)]
pub enum TargetShape {
    /// Turned: (station, radius) of its outline, stations never falling, straight lines between; closed by the axis.
    Profile(Vec<[f64; 2]>),
    /// A closed mesh, counter-clockwise seen from outside in a right-handed frame; with the chuck on the plus side, where
    /// the blank frame is left-handed, its triangles have been turned to match.
    Mesh(Mesh),
}

impl Target {
    /// Reads the file and puts the shape in its place. Also says what is worth noting of it, each a sentence or two.
    ///
    /// # Errors
    /// [`SceneError`] where the file cannot be read, or does not hold a closed shape that reaches past station 0.
    pub fn read(&self, chuck: Side) -> Result<(TargetShape, Vec<String>), SceneError> {
        let mut notes = Vec::new();
        let is_profile = self.path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
        let shape = if is_profile { self.profile()? } else { self.mesh(chuck, &mut notes)? };
        let [first, last] = shape.extent();
        let [from, to] = self.compared(&shape);
        if from < to {
            return Ok((shape, notes));
        }
        Err(self.refuse(
            format!("the shape lies at stations {first:.3} to {last:.3} mm, where nothing is compared"),
            "check target.place and target.span, and the unit of the file",
        ))
    }

    /// First and last station that is compared, mm: the span, or the shape's own extent past station 0.
    pub fn compared(&self, shape: &TargetShape) -> [f64; 2] {
        let [first, last] = shape.extent();
        let [from, to] = self.span.unwrap_or([0.0, f64::INFINITY]);
        [first.max(from), last.min(to)]
    }

    fn refuse(&self, message: String, help: &str) -> SceneError {
        SceneError::File { path: self.path.display().to_string(), message, help: help.to_owned() }
    }

    fn profile(&self) -> Result<TargetShape, SceneError> {
        if self.place_axis != 0 {
            return Err(self.refuse(
                "a profile has stations and radii, and no other axis".to_owned(),
                "leave target.place.axis out",
            ));
        }
        let mut rows = profile::rows(&self.path, self.units.unwrap_or(LengthUnit::Millimetre))?;
        let way = if self.place_flip { -1.0 } else { 1.0 };
        for row in &mut rows {
            row[0] = self.place_x + way * row[0];
        }
        if self.place_flip {
            rows.reverse();
        }
        Ok(TargetShape::Profile(rows))
    }

    fn mesh(&self, chuck: Side, notes: &mut Vec<String>) -> Result<TargetShape, SceneError> {
        let refuse = |error: MeshError| self.refuse(error.to_string(), error.help());
        let mut mesh = Mesh::read_closed(&self.path, self.units).map_err(refuse)?;
        if mesh.volume() < 0.0 {
            notes.push(format!("All faces of {} look inward; they are taken as looking outward.", self.file));
        }
        let (sine, cosine) = angle::sin_cos(angle::radians(self.place_a_deg));
        for corner in &mut mesh.corners {
            let [x, y, z] = self.in_piece(*corner);
            let y = if chuck == Side::Plus { -y } else { y };
            *corner = [x, y * cosine - z * sine, y * sine + z * cosine];
        }
        if mesh.volume() < 0.0 {
            mesh.turn_inside_out();
        }
        Ok(TargetShape::Mesh(mesh))
    }

    /// A point of the file in the piece frame, not yet turned.
    fn in_piece(&self, [x, y, z]: [f64; 3]) -> [f64; 3] {
        let [x, y, z] = match self.place_axis {
            1 => [y, z, x],
            2 => [z, x, y],
            _ => [x, y, z],
        };
        let [x, y] = if self.place_flip { [-x, -y] } else { [x, y] };
        [x + self.place_x, y, z]
    }
}

impl TargetShape {
    /// First and last station, mm.
    pub fn extent(&self) -> [f64; 2] {
        let wider = |[low, high]: [f64; 2], station: f64| [low.min(station), high.max(station)];
        let none = [f64::INFINITY, f64::NEG_INFINITY];
        match self {
            TargetShape::Profile(rows) => rows.iter().map(|row| row[0]).fold(none, wider),
            TargetShape::Mesh(mesh) => mesh.corners.iter().map(|corner| corner[0]).fold(none, wider),
        }
    }
}

#[cfg(test)]
mod tests;
