//! Dimension lines: how long the piece is, and how thick where it is thickest and thinnest.

use dryturn_geom::units::LengthUnit;
use dryturn_render::{Line, View};
use dryturn_surface::Mesh;

use super::frame::Place;

/// The measures of a piece, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Measures {
    /// Least and greatest station.
    pub(super) stations: [f64; 2],
    /// Where it is thickest.
    pub(super) thickest: Thickness,
    /// Where it is thinnest between thicker parts, if it is anywhere.
    pub(super) waist: Option<Thickness>,
}

/// The diameter that the piece turns in at a station, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Thickness {
    pub(super) station: f64,
    pub(super) diameter: f64,
}

/// How much thicker it must be on both sides for a place to be a waist, and what counts as equally thick, mm.
const NOTABLE: f64 = 0.1;
const EQUAL: f64 = 2e-3;

impl Measures {
    /// The measures of a mesh with all of its triangles; stations are told apart by `step` mm. `None` without vertices.
    pub(super) fn of(mesh: &Mesh, step: f64) -> Option<Measures> {
        let (low, high) = mesh.bounds()?;
        let count = ((high[0] - low[0]) / step).ceil().max(1.0) as usize;
        let mut radii = vec![0.0f64; count];
        for [x, y, z] in &mesh.vertices {
            let slice = (((x - low[0]) / step) as usize).min(count - 1);
            radii[slice] = radii[slice].max(y.hypot(*z));
        }
        let station = |slice: usize| low[0] + (slice as f64 + 0.5) * step;
        let at = |slice: usize| Thickness { station: station(slice), diameter: 2.0 * radii[slice] };
        let greatest = radii.iter().copied().fold(0.0, f64::max);
        let thickest = at(middle_of_run(&radii, |radius| radius > greatest - EQUAL)?);
        let waists = valleys(&radii);
        let least = waists.iter().map(|slice| radii[*slice]).fold(f64::INFINITY, f64::min);
        let is_least = |slice: usize, radius: f64| radius < least + EQUAL && waists.contains(&slice);
        let waist = middle_of_numbered_run(&radii, is_least).map(at);
        Some(Measures { stations: [low[0], high[0]], thickest, waist })
    }

    /// Length and greatest diameter, as they are written under a title.
    pub(super) fn size(&self, unit: LengthUnit) -> String {
        let [from, to] = self.stations;
        format!("{} × {}", length(to - from, unit), diameter(self.thickest.diameter, unit))
    }

    /// The lines of a view.
    pub(super) fn lines(&self, view: &View, unit: LengthUnit) -> Vec<Line> {
        let [right, up, back] = view.axes();
        // Seen along the axis no length shows, and only one diameter does.
        if back[0].abs() > 0.97 {
            return vec![self.across(&self.thickest, right, unit)];
        }
        let aside = level(up, right);
        let mut lines = vec![self.along(aside, unit), self.across(&self.thickest, aside, unit)];
        lines.extend(self.waist.map(|waist| self.across(&waist, aside, unit)));
        lines
    }

    /// The length, under the piece.
    fn along(&self, aside: Place, unit: LengthUnit) -> Line {
        let [from, to] = self.stations;
        let beside = 0.5 * self.thickest.diameter + 0.06 * (to - from);
        let at = |station: f64| [station, 0.0, 0.0];
        let offset = aside.map(|part| -beside * part);
        Line { from: at(from), to: at(to), offset, beyond: None, text: length(to - from, unit) }
    }

    /// A diameter, across the piece; its text stands where the piece is no longer.
    fn across(&self, thickness: &Thickness, aside: Place, unit: LengthUnit) -> Line {
        let Thickness { station, diameter: wide } = *thickness;
        let at = |side: f64| [station, 0.5 * side * wide * aside[1], 0.5 * side * wide * aside[2]];
        let beyond = Some(0.5 * (self.thickest.diameter - wide));
        Line { from: at(-1.0), to: at(1.0), offset: [0.0; 3], beyond, text: diameter(wide, unit) }
    }
}

/// The direction square to the axis that is upright in the picture, or across it where the axis itself is upright.
fn level(up: Place, right: Place) -> Place {
    let square = |to: Place| {
        let length = to[1].hypot(to[2]);
        (length > 0.3).then(|| [0.0, to[1] / length, to[2] / length])
    };
    square(up).or_else(|| square(right)).unwrap_or([0.0, 0.0, 1.0])
}

/// The slices with thicker ones on both sides.
fn valleys(radii: &[f64]) -> Vec<usize> {
    let highest = |radii: &mut dyn Iterator<Item = &f64>| -> Vec<f64> {
        radii.scan(0.0f64, |most, radius| Some(std::mem::replace(most, most.max(*radius)))).collect()
    };
    let before = highest(&mut radii.iter());
    let mut after = highest(&mut radii.iter().rev());
    after.reverse();
    let is_valley = |slice: &usize| radii[*slice] > 0.0 && before[*slice].min(after[*slice]) > radii[*slice] + NOTABLE;
    (0..radii.len()).filter(is_valley).collect()
}

/// The middle of the longest run of slices that are alike.
fn middle_of_run(radii: &[f64], is_in: impl Fn(f64) -> bool) -> Option<usize> {
    middle_of_numbered_run(radii, |_, radius| is_in(radius))
}

fn middle_of_numbered_run(radii: &[f64], is_in: impl Fn(usize, f64) -> bool) -> Option<usize> {
    let mut best: Option<(usize, usize)> = None;
    let mut first = 0;
    for (slice, radius) in radii.iter().enumerate() {
        if !is_in(slice, *radius) {
            first = slice + 1;
            continue;
        }
        if best.is_none_or(|(from, to)| slice - first > to - from) {
            best = Some((first, slice));
        }
    }
    best.map(|(from, to)| (from + to) / 2)
}

fn diameter(mm: f64, unit: LengthUnit) -> String {
    format!("⌀ {}", length(mm, unit))
}

fn length(mm: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetre => format!("{} mm", dryturn_report::trimmed(mm, 1)),
        LengthUnit::Inch => format!("{} in", dryturn_report::trimmed(mm / unit.in_mm(), 3)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::frame::dot;
    use super::*;

    /// A mesh that is nothing but points, a ring at each station.
    fn rings(radii: &[f64]) -> Mesh {
        let ring =
            |(slice, radius): (usize, &f64)| [[0.0, *radius], [*radius, 0.0]].map(|[y, z]| [slice as f64 + 0.5, y, z]);
        Mesh { vertices: radii.iter().enumerate().flat_map(ring).collect(), ..Mesh::default() }
    }

    fn thickness(station: f64, diameter: f64) -> Thickness {
        Thickness { station, diameter }
    }

    #[test]
    fn the_thickest_and_the_thinnest_place_are_found() {
        let measures = Measures::of(&rings(&[4.0, 9.0, 9.0, 9.0, 5.0, 3.0, 3.0, 3.0, 6.0, 2.0]), 1.0).unwrap();
        assert_eq!(measures.thickest, thickness(3.0, 18.0));
        // The thin ends are no waist.
        assert_eq!(measures.waist, Some(thickness(7.0, 6.0)));
        assert_eq!(measures.stations, [0.5, 9.5]);
        assert_eq!(measures.size(LengthUnit::Millimetre), "9 mm × ⌀ 18 mm");
    }

    #[test]
    fn a_plain_bar_has_no_waist() {
        assert_eq!(Measures::of(&rings(&[7.0; 20]), 1.0).unwrap().waist, None);
        assert_eq!(Measures::of(&rings(&[9.0, 8.0, 7.0, 6.0]), 1.0).unwrap().waist, None);
        assert_eq!(Measures::of(&Mesh::default(), 1.0), None);
    }

    #[test]
    fn lines_lie_square_to_the_axis_and_to_the_eye() {
        let measures = Measures::of(&rings(&[9.0, 9.0, 3.0, 9.0, 9.0]), 1.0).unwrap();
        for name in View::names() {
            let view = View::named(name).unwrap();
            let lines = measures.lines(&view, LengthUnit::Millimetre);
            assert_eq!(lines.len(), if ["end", "chuck"].contains(&name) { 1 } else { 3 }, "{name}");
            for line in &lines {
                let way: Place = std::array::from_fn(|axis| line.to[axis] - line.from[axis]);
                let seen = dot(way, way).sqrt();
                assert!(dot(way, view.axes()[2]).abs() < 0.97 * seen, "{name}: {line:?}");
            }
        }
    }
}
