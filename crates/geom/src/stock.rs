//! The blank before it is cut, as spans of solid along rays from the rotary axis.
//!
//! The section keeps its nominal size and shape at every station; runout and bow shift it off the axis without tilting
//! it. For a blank of 500 mm that is bowed by 5 mm the tilt it leaves out would change a radius by 0.01 %.

use std::any::Any;
use std::fmt::Debug;
use std::sync::Arc;

use crate::angle;

/// Spans of solid along one ray, (inner radius, outer radius) in mm, sorted and disjoint.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spans {
    spans: [(f64, f64); 2],
    count: usize,
    /// All of them, where the first two are not: of solids only.
    all: Vec<(f64, f64)>,
}

impl Spans {
    fn push(&mut self, inner: f64, outer: f64) {
        if outer > inner {
            self.spans[self.count] = (inner, outer);
            self.count += 1;
        }
    }

    /// The spans, from the axis out.
    pub fn as_slice(&self) -> &[(f64, f64)] {
        if self.all.is_empty() { &self.spans[..self.count] } else { &self.all }
    }
}

/// A blank of any shape: what its rays see of it. Its stations count from its own end in the holding.
pub trait Solid: Debug + Send + Sync + Any {
    /// The solid along a line that runs out from a point of the rotary axis, which lies off the solid's own centre line by
    /// minus `shift`: (from, to) in mm, sorted and disjoint. `direction` is the sine and cosine of the line's angle θ.
    fn spans(&self, station: f64, direction: (f64, f64), shift: Offset) -> Vec<(f64, f64)>;

    /// How high a point (station, y, z) lies over the surface, mm, and the normal out of the solid there.
    fn surface(&self, point: [f64; 3]) -> (f64, [f64; 3]);

    /// Greatest distance from the centre line over the stations from this one on, mm.
    fn greatest_radius(&self, from: f64) -> f64;

    /// As [`Solid::spans`], with who made each end; by itself a solid is all of one make.
    fn made(&self, station: f64, direction: (f64, f64), shift: Offset) -> Vec<Made> {
        let plain = |(inner, outer)| Made { inner, outer, by: [None; 2] };
        self.spans(station, direction, shift).into_iter().map(plain).collect()
    }

    /// As [`Solid::surface`], of the surface that one maker left near a point; `None` where it left none.
    fn surface_by(&self, _maker: u32, _point: [f64; 3]) -> Option<(f64, [f64; 3])> {
        None
    }

    /// Who took the wood at a place that holds none, given by its station (mm), the sine and cosine of its angle θ and its
    /// radius (mm); `None` outside its own outline, and where it has not been made by anyone.
    fn taken_by(&self, _station: f64, _direction: (f64, f64), _radius: f64) -> Option<u32> {
        None
    }

    /// What a maker is called; `None` where it was no line of a program.
    fn maker(&self, _maker: u32) -> Option<Maker<'_>> {
        None
    }

    /// The programs that were run over it before, as (set-up, file).
    fn programs(&self) -> Vec<(&str, &str)> {
        Vec::new()
    }

    /// Its facets, where it is made of such; counter-clockwise as seen from outside.
    fn facets(&self) -> Option<Facets> {
        None
    }

    /// Bytes that it takes, where that is worth counting.
    fn bytes(&self) -> u64 {
        0
    }

    /// A bound on the distance of anything of it from the centre line, mm.
    fn bound(&self) -> f64 {
        self.greatest_radius(f64::NEG_INFINITY)
    }

    /// The rays that it is known on to the last bit, if there are any.
    fn lattice(&self) -> Option<Lattice> {
        None
    }
}

/// A closed surface of triangles: corners (station, y, z) in mm, and three of them for each triangle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facets {
    /// The corners.
    pub corners: Vec<[f64; 3]>,
    /// The triangles.
    pub triangles: Vec<[u32; 3]>,
}

/// A line of a program of an earlier set-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Maker<'a> {
    /// Which of the solid's programs it is, from 0.
    pub index: usize,
    /// What the set-up is called.
    pub set_up: &'a str,
    /// File of the program, as its scene names it.
    pub program: &'a str,
    /// Line, from 1.
    pub line: u32,
}

/// A stretch of solid along a ray, and who made its ends: a number that the solid itself can tell more of, or `None` for
/// its own outline. Radii in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Made {
    /// End nearer to the axis.
    pub inner: f64,
    /// End farther out.
    pub outer: f64,
    /// Who made the inner and the outer end.
    pub by: [Option<u32>; 2],
}

/// Rays at even stations and angles, the first column at θ = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lattice {
    /// The pitch that was asked for, mm.
    pub pitch: f64,
    /// Number of rows.
    pub stations: usize,
    /// Number of columns.
    pub angles: usize,
    /// How far the first row lies from the solid's end in the holding, mm.
    pub first: f64,
    /// From row to row, mm.
    pub step: f64,
}

/// A [`Solid`] that is shared. Two are the same only if they are one.
#[derive(Clone, Debug)]
pub struct AnySolid(pub Arc<dyn Solid>);

impl PartialEq for AnySolid {
    fn eq(&self, other: &AnySolid) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

/// The cross section of a blank, about its own centre line.
#[derive(Clone, Debug, PartialEq)]
pub enum Section {
    /// Another at every station.
    Solid(AnySolid),
    /// A disc.
    Round {
        /// Radius, mm.
        radius: f64,
    },
    /// A regular polygon.
    Polygon {
        /// Half the size across flats, mm.
        apothem: f64,
        /// Number of sides, 3 or more.
        sides: u32,
    },
}

/// A shift of the centre line off the rotary axis, in machine Y and Z while θ on top is 0, mm; it turns with the blank.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Offset {
    /// Across the bed.
    pub y: f64,
    /// Up.
    pub z: f64,
}

/// A bend of the centre line: a parabola that is zero at both ends of the blank.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Bow {
    /// Greatest shift, midway, mm.
    pub amount: f64,
    /// Angle θ it bends toward, radians.
    pub angle: f64,
}

/// A blank: a straight or slightly bent bar, perhaps bored.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Outline of the section.
    pub section: Section,
    /// Radius of the bore, mm; 0 for a solid bar.
    pub bore: f64,
    /// Station of the end in the holding, mm (0 or below).
    pub start: f64,
    /// Whole length, mm.
    pub length: f64,
    /// Angle θ of the outward normal of the first flat, radians.
    pub turned: f64,
    /// Shift of the centre line at station 0.
    pub near: Offset,
    /// Shift of the centre line at the free end.
    pub far: Offset,
    /// Bend of the centre line.
    pub bow: Bow,
}

impl Stock {
    /// A true round bar from station 0, running true.
    pub fn round(radius: f64, length: f64) -> Stock {
        Stock {
            section: Section::Round { radius },
            bore: 0.0,
            start: 0.0,
            length,
            turned: 0.0,
            near: Offset::default(),
            far: Offset::default(),
            bow: Bow::default(),
        }
    }

    /// Station of the free end, mm.
    pub fn end(&self) -> f64 {
        self.start + self.length
    }

    /// Greatest radius of the section about its own centre, mm: half the diameter, the corner of a polygon, or the greatest
    /// over the stations from 0 on.
    pub fn corner_radius(&self) -> f64 {
        self.greatest_radius(0.0)
    }

    fn greatest_radius(&self, from: f64) -> f64 {
        match &self.section {
            Section::Round { radius } => *radius,
            Section::Polygon { apothem, sides } => apothem / angle::sin_cos(std::f64::consts::PI / f64::from(*sides)).1,
            Section::Solid(AnySolid(solid)) => solid.greatest_radius(from - self.start),
        }
    }

    /// Least radius of the section about its own centre, mm: half the diameter, or half the size across flats; as
    /// [`Stock::corner_radius`] where it is another at every station.
    pub fn flat_radius(&self) -> f64 {
        match &self.section {
            Section::Round { radius } => *radius,
            Section::Polygon { apothem, .. } => *apothem,
            Section::Solid(_) => self.corner_radius(),
        }
    }

    /// A bound on the greatest radius the blank sweeps about the rotary axis, mm.
    ///
    /// The shift of the centre line is bounded by its parts, so a bowed blank may stay a little inside.
    pub fn swept_radius(&self) -> f64 {
        let runout = angle::hypot(self.near.y, self.near.z).max(angle::hypot(self.far.y, self.far.z));
        let behind = self.center_shift(self.start);
        let outline = self.solid().map_or_else(|| self.greatest_radius(self.start), |solid| solid.bound());
        outline + runout.max(angle::hypot(behind.y, behind.z)) + self.bow.amount.abs()
    }

    /// The solid along the ray at a station (mm) and angle θ (radians), and who made it, where the section is a solid's.
    pub fn made(&self, station: f64, theta: f64) -> Option<Vec<Made>> {
        let solid = self.solid()?;
        let made = |station| solid.made(station - self.start, angle::sin_cos(theta), self.center_shift(station));
        Some(if self.holds(station) { made(station) } else { Vec::new() })
    }

    /// The solid that the section is, if it is another at every station.
    pub fn solid(&self) -> Option<&dyn Solid> {
        match &self.section {
            Section::Solid(AnySolid(solid)) => Some(solid.as_ref()),
            _ => None,
        }
    }

    /// The rays that the blank is known on to the last bit, if there are any.
    pub fn lattice(&self) -> Option<Lattice> {
        self.solid()?.lattice()
    }

    /// Whether the blank runs straight along the axis, so that every section of it is the same.
    pub fn is_even(&self) -> bool {
        self.near == self.far && self.bow.amount == 0.0 && !matches!(self.section, Section::Solid(_))
    }

    /// Whether a station lies within the blank's length.
    pub fn holds(&self, station: f64) -> bool {
        station >= self.start && station <= self.end()
    }

    /// Shift of the centre line at a station, mm.
    pub fn center_shift(&self, station: f64) -> Offset {
        let along = if self.end() > 0.0 { station / self.end() } else { 0.0 };
        let share = (station - self.start) / self.length;
        let bend = self.bow.amount * 4.0 * share * (1.0 - share);
        let (sine, cosine) = angle::sin_cos(self.bow.angle);
        Offset {
            y: self.near.y + (self.far.y - self.near.y) * along - bend * sine,
            z: self.near.z + (self.far.z - self.near.z) * along + bend * cosine,
        }
    }

    /// The solid along the ray at a station (mm) and angle θ (radians); empty outside the blank's length.
    pub fn spans(&self, station: f64, theta: f64) -> Spans {
        let mut spans = Spans::default();
        if !self.holds(station) {
            return spans;
        }
        let center = self.center_shift(station);
        let outline = match &self.section {
            Section::Round { radius } => disc_span(center, theta, *radius),
            Section::Polygon { apothem, sides } => polygon_span(center, theta, *apothem, *sides, self.turned),
            Section::Solid(AnySolid(solid)) => {
                let all = solid.spans(station - self.start, angle::sin_cos(theta), center);
                return Spans { all, ..Spans::default() };
            }
        };
        let Some((inner, outer)) = outline else { return spans };
        match disc_span(center, theta, self.bore).filter(|_| self.bore > 0.0) {
            Some((from, to)) => {
                spans.push(inner, from.min(outer));
                spans.push(to.max(inner), outer);
            }
            None => spans.push(inner, outer),
        }
        spans
    }
}

/// Part of a ray from the axis, at an angle θ (radians), inside a disc whose centre is shifted off it: (from, to) in mm.
pub fn disc_span(center: Offset, theta: f64, radius: f64) -> Option<(f64, f64)> {
    let (sine, cosine) = angle::sin_cos(theta);
    let along = center.z * cosine - center.y * sine;
    let across = center.y * cosine + center.z * sine;
    let square = radius * radius - across * across;
    if square < 0.0 {
        return None;
    }
    let half = square.sqrt();
    let (inner, outer) = ((along - half).max(0.0), along + half);
    (outer > inner).then_some((inner, outer))
}

/// Part of a ray from the axis inside a regular polygon: the overlap of its half planes.
fn polygon_span(center: Offset, theta: f64, apothem: f64, sides: u32, turned: f64) -> Option<(f64, f64)> {
    let (mut inner, mut outer) = (0.0f64, f64::INFINITY);
    for side in 0..sides {
        let normal = turned + std::f64::consts::TAU * f64::from(side) / f64::from(sides);
        let facing = angle::sin_cos(theta - normal).1;
        let (sine, cosine) = angle::sin_cos(normal);
        let reach = apothem + center.z * cosine - center.y * sine;
        if facing > 1e-12 {
            outer = outer.min(reach / facing);
        } else if facing < -1e-12 {
            inner = inner.max(reach / facing);
        } else if reach < 0.0 {
            return None;
        }
    }
    (outer > inner).then_some((inner, outer))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::radians;
    use std::f64::consts::TAU;

    fn area(stock: &Stock, station: f64) -> f64 {
        let rays = 20_000;
        let step = TAU / f64::from(rays);
        (0..rays)
            .flat_map(|k| stock.spans(station, (f64::from(k) + 0.5) * step).as_slice().to_vec())
            .map(|(inner, outer)| 0.5 * (outer * outer - inner * inner) * step)
            .sum()
    }

    #[test]
    fn sections_have_the_area_they_must() {
        let round = Stock::round(25.0, 100.0);
        assert!((area(&round, 50.0) - std::f64::consts::PI * 625.0).abs() < 1e-6);
        let square = Stock { section: Section::Polygon { apothem: 25.0, sides: 4 }, ..round.clone() };
        assert!((area(&square, 50.0) - 2500.0).abs() < 1e-3);
        let tube = Stock { bore: 10.0, near: Offset { y: 3.0, z: -12.0 }, far: Offset { y: 3.0, z: -12.0 }, ..round };
        assert!((area(&tube, 50.0) - std::f64::consts::PI * 525.0).abs() < 0.01);
    }

    #[test]
    fn the_first_flat_lies_level_on_top() {
        let square = Stock { section: Section::Polygon { apothem: 25.0, sides: 4 }, ..Stock::round(25.0, 100.0) };
        assert!((square.spans(50.0, 0.0).as_slice()[0].1 - 25.0).abs() < 1e-12);
        assert!((square.spans(50.0, radians(45.0)).as_slice()[0].1 - square.corner_radius()).abs() < 1e-9);
        let turned = Stock { turned: radians(45.0), ..square.clone() };
        assert!((turned.spans(50.0, radians(45.0)).as_slice()[0].1 - 25.0).abs() < 1e-12);
    }

    #[test]
    fn runout_and_bow_shift_the_centre_line() {
        let mut stock = Stock::round(25.0, 100.0);
        stock.start = -20.0;
        stock.near = Offset { y: 0.0, z: 1.0 };
        stock.far = Offset { y: 0.0, z: 3.0 };
        assert!((stock.spans(0.0, 0.0).as_slice()[0].1 - 26.0).abs() < 1e-12);
        assert!((stock.spans(80.0, 0.0).as_slice()[0].1 - 28.0).abs() < 1e-12);
        stock.bow = Bow { amount: 0.5, angle: radians(180.0) };
        assert!((stock.spans(30.0, radians(180.0)).as_slice()[0].1 - (25.0 - 1.75 + 0.5)).abs() < 1e-12);
        assert!(stock.swept_radius() >= 28.0);
    }

    #[test]
    fn every_section_of_an_even_blank_is_the_same_to_the_last_bit() {
        let round = Stock::round(25.0, 100.0);
        let off = Offset { y: 0.4, z: -1.3 };
        let even =
            Stock { section: Section::Polygon { apothem: 25.0, sides: 6 }, near: off, far: off, ..round.clone() };
        assert!(even.is_even());
        assert!((0..40).all(|k| {
            let theta = 0.17 * f64::from(k);
            even.spans(3.7 * f64::from(k % 27), theta) == even.spans(50.0, theta)
        }));
        assert!(!Stock { far: Offset::default(), ..even.clone() }.is_even());
        assert!(!Stock { bow: Bow { amount: 0.1, angle: 0.0 }, ..even }.is_even());
    }

    #[test]
    fn there_is_nothing_outside_the_length() {
        let stock = Stock::round(25.0, 100.0);
        assert!(stock.spans(-0.1, 0.0).as_slice().is_empty());
        assert!(stock.spans(100.1, 0.0).as_slice().is_empty());
    }
}
