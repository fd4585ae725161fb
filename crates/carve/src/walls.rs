//! Where one surface ends and another begins, between two rays.
//!
//! Two rays agree if their ends, from the outside in, are of the same kinds and owners. Where they do not, the way from
//! the one to the other is halved until each stretch either agrees or is a micrometre short: there is a wall. Rays that
//! agree may still hold a step that a single block has made; where their radii differ by more than any slope to be
//! expected, the half with the greater difference is followed down, and what is left of it at the end tells.

use smallvec::SmallVec;

use crate::replay::{End, Ray, Replay};
use crate::tile::UNTOUCHED;

/// An end of solid beside a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// The end.
    pub end: End,
    /// Unit normal out of the wood, as [`Surface::normal`](crate::Surface::normal); `None` if its owner cannot be found.
    pub normal: Option<[f64; 3]>,
}

/// Radii at a wall that hold wood on one side of it only: the face of the wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Riser {
    /// Radius of its foot, mm.
    pub inner: f64,
    /// Radius of its top, mm.
    pub outer: f64,
    /// Who took the wood on the other side, halfway up; [`UNTOUCHED`] at the ends of the blank.
    pub by: u32,
    /// Unit normal out of the wood there, as [`Surface::normal`](crate::Surface::normal).
    pub normal: Option<[f64; 3]>,
}

/// A place between two rays where the surface changes hands.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// Station, mm.
    pub station: f64,
    /// Angle θ, radians.
    pub theta: f64,
    /// The ends on the side of the first ray and on that of the second, from the outside in, less those that go on
    /// from one side to the other.
    pub sides: [Vec<Edge>; 2],
    /// Its faces, from the axis out; none where the surface only bends or changes its owner.
    pub risers: Vec<Riser>,
}

/// Whether a wall between two rays would matter.
type Matters<'a> = dyn Fn(&Ray, &Ray) -> bool + 'a;

/// Walls are found to this, mm along the axis or around the blank's greatest radius.
const CLOSE: f64 = 1e-3;

/// More than this of a difference in radius, mm a mm between the rays, is looked into for a step.
const STEEP: f64 = 2.0;

/// Differences in radius between the two sides of a wall from here on are faces, mm.
const STEP: f64 = 10.0 * CLOSE;

impl Replay<'_> {
    /// The walls between two rays, in order, each to a micrometre on the greatest radius of the blank.
    ///
    /// The rays are (station in mm, angle θ in radians), and the walls are sought on the straight way from the one to
    /// the other. They should be neighbours: a surface that comes and goes between two rays that agree is not found.
    pub fn walls(&self, from: (f64, f64), to: (f64, f64)) -> Vec<Wall> {
        self.walls_that_matter(from, to, &|_, _| true)
    }

    /// As [`Replay::walls`], without those of a stretch between two rays of which `matters` says no before they are found.
    pub fn walls_that_matter(&self, from: (f64, f64), to: (f64, f64), matters: &Matters<'_>) -> Vec<Wall> {
        let mut walls = Vec::new();
        self.divide(&self.ray(from.0, from.1), &self.ray(to.0, to.1), matters, &mut walls);
        walls
    }

    fn divide(&self, a: &Ray, b: &Ray, matters: &Matters<'_>, walls: &mut Vec<Wall>) {
        let distance = self.distance(a, b);
        let step = step(a, b);
        let is_wall = step.is_none_or(|step| step > STEP);
        let place = (0.5 * (a.station + b.station), 0.5 * (a.theta + b.theta));
        // Numbers too large or none at all have no middle.
        let is_divisible = distance.is_finite() && [a, b].iter().all(|ray| place != (ray.station, ray.theta));
        if distance <= CLOSE || !is_divisible {
            if is_wall {
                walls.push(self.wall(a, b));
            }
            return;
        }
        if step.is_some_and(|step| step <= STEP.max(STEEP * distance)) || !matters(a, b) {
            return;
        }
        let middle = self.ray(place.0, place.1);
        // A steep slope is followed down on one side alone.
        let (before, after) = (step_or_more(a, &middle), step_or_more(&middle, b));
        if step.is_none() || before >= after {
            self.divide(a, &middle, matters, walls);
        }
        if step.is_none() || before < after {
            self.divide(&middle, b, matters, walls);
        }
    }

    fn distance(&self, a: &Ray, b: &Ray) -> f64 {
        let around = self.job().stock.swept_radius() * (b.theta - a.theta).abs();
        around.max((b.station - a.station).abs())
    }

    fn wall(&self, a: &Ray, b: &Ray) -> Wall {
        let (ends_a, ends_b): (Vec<End>, Vec<End>) = (a.ends().collect(), b.ends().collect());
        let is_same = |(one, other): &(&End, &End)| goes_on(one, other) && (one.radius - other.radius).abs() <= STEP;
        let outside = ends_a.iter().zip(&ends_b).take_while(is_same).count();
        let inside = ends_a[outside..].iter().rev().zip(ends_b[outside..].iter().rev()).take_while(is_same).count();
        let edges = |ray: &Ray, ends: &[End]| {
            let changed = &ends[outside..ends.len() - inside];
            changed.iter().map(|&end| Edge { end, normal: self.normal(end.by, ray, end.radius) }).collect()
        };
        Wall {
            station: 0.5 * (a.station + b.station),
            theta: 0.5 * (a.theta + b.theta),
            sides: [edges(a, &ends_a), edges(b, &ends_b)],
            risers: self.risers(a, b),
        }
    }

    fn normal(&self, by: u32, ray: &Ray, radius: f64) -> Option<[f64; 3]> {
        self.surface(by, ray.station, ray.theta, radius).map(|surface| surface.normal)
    }

    fn risers(&self, a: &Ray, b: &Ray) -> Vec<Riser> {
        let mut radii: SmallVec<[f64; 16]> =
            [a, b].iter().flat_map(|ray| ray.solid.iter().flat_map(|s| [s.inner, s.outer])).collect();
        radii.sort_by(f64::total_cmp);
        let mut risers: Vec<Riser> = Vec::new();
        for pair in radii.windows(2) {
            let (inner, outer) = (pair[0], pair[1]);
            let middle = 0.5 * (inner + outer);
            let empty = match (a.holds(middle), b.holds(middle)) {
                (true, false) => b,
                (false, true) => a,
                _ => continue,
            };
            if outer - inner > STEP {
                let by = self.taken_by(empty.station, empty.theta, middle).unwrap_or(UNTOUCHED);
                risers.push(Riser { inner, outer, by, normal: self.face(by, empty, middle) });
            }
        }
        risers
    }

    /// The normal of the face that an owner made beside an empty place.
    fn face(&self, by: u32, empty: &Ray, radius: f64) -> Option<[f64; 3]> {
        let stock = self.job().stock;
        if by == UNTOUCHED && !(stock.start..=stock.end()).contains(&empty.station) {
            return Some([if empty.station < stock.start { -1.0 } else { 1.0 }, 0.0, 0.0]);
        }
        self.normal(by, empty, radius)
    }
}

fn goes_on(a: &End, b: &End) -> bool {
    (a.by, a.is_outer) == (b.by, b.is_outer)
}

/// The greatest difference in radius between two rays that agree, mm; `None` if they do not.
fn step(a: &Ray, b: &Ray) -> Option<f64> {
    if a.ends().count() != b.ends().count() || !a.ends().zip(b.ends()).all(|(one, other)| goes_on(&one, &other)) {
        return None;
    }
    Some(a.ends().zip(b.ends()).map(|(one, other)| (one.radius - other.radius).abs()).fold(0.0, f64::max))
}

fn step_or_more(a: &Ray, b: &Ray) -> f64 {
    step(a, b).unwrap_or(f64::INFINITY)
}
