//! All passages of one part over one ray during one piece.

use dryturn_geom::ConvexPart;
use smallvec::SmallVec;

use super::chord::{Chord, chord};
use super::extreme::{End, Goal, extreme};
use super::instant::{Instant, RayAt, dot};
use super::separate::{apart, closes};
use super::{CLOSE_ENOUGH, SEARCHED_TURN, STANDSTILL};

/// The radii that matter: from the innermost to the outermost solid on the ray, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Range {
    pub(crate) inner: f64,
    pub(crate) outer: f64,
}

impl Range {
    pub(crate) fn is_empty(&self) -> bool {
        self.inner >= self.outer
    }
}

/// Stretches of radii that a cutter passes over, (from, to) in mm, sorted and disjoint.
pub type Passages = SmallVec<[(f64, f64); 2]>;

/// An instant and the chord there, if the ray is met.
type Sample = (Instant, Option<Chord>);

/// The radii within `range` that lie inside the part at any instant of the piece.
pub(crate) fn sweep(part: &ConvexPart, ray: &RayAt<'_>, range: Range) -> Passages {
    let mut passages = Passages::new();
    let Some((from, to)) = over_the_row(part.radius, ray) else { return passages };
    // Where the row enters or leaves the cutter's reach inside the piece it is only touched, whatever rounding says.
    let search = Search { part, ray, range };
    if let Some(chord) = search.settled_at_an_end(from, to) {
        search.add(chord.lo.r, chord.hi.r, &mut passages);
        return passages;
    }
    if let Some(chord) = search.settled_inside() {
        search.add(chord.lo.r, chord.hi.r, &mut passages);
        return passages;
    }
    let turn = ray.piece.by.turn.abs() * (to - from);
    let stretches = (turn / SEARCHED_TURN - 1e-9).ceil().max(1.0);
    let mut first = sample(part, ray, from, from > 0.0);
    for stretch in 1..=stretches as u32 {
        let is_last = f64::from(stretch) == stretches;
        let t = if is_last { to } else { from + (to - from) * (f64::from(stretch) / stretches) };
        let last = sample(part, ray, t, is_last && to < 1.0);
        search.between(&first, &last, &mut passages);
        first = last;
    }
    join(&mut passages);
    passages
}

/// Shares of the piece between which the spindle axis is within `radius` of the ray along the rotary axis.
fn over_the_row(radius: f64, ray: &RayAt<'_>) -> Option<(f64, f64)> {
    let by = ray.piece.by.x;
    if by == 0.0 {
        return (ray.xi.abs() < radius).then_some((0.0, 1.0));
    }
    let (one, two) = ((ray.xi - radius) / by, (ray.xi + radius) / by);
    let (from, to) = (one.min(two).max(0.0), one.max(two).min(1.0));
    (from < to).then_some((from, to))
}

fn sample(part: &ConvexPart, ray: &RayAt<'_>, t: f64, touches_only: bool) -> Sample {
    let at = ray.at(t);
    let found = if touches_only { None } else { chord(part, &at) };
    (at, found)
}

/// Most an entry proved by its tangent plane may be off, mm.
const CERTAIN: f64 = 5e-6;

/// Steps of Newton's method after which the general search takes over.
const MOST_STEPS: usize = 5;

struct Search<'a> {
    part: &'a ConvexPart,
    ray: &'a RayAt<'a>,
    range: Range,
}

impl Search<'_> {
    /// The chord at the end of the piece where the outermost wood is nearest to the spindle axis, if it is all that the
    /// piece takes: the one evaluation that settles most rays.
    #[inline]
    fn settled_at_an_end(&self, from: f64, to: f64) -> Option<Chord> {
        let (first, last) = (self.ray.at(from), self.ray.at(to));
        let aside = |at: &Instant| {
            let [xi, u, _] = at.point(self.range.outer);
            xi * xi + u * u
        };
        let (now, other) = if aside(&first) < aside(&last) { (first, last) } else { (last, first) };
        if now.t != 0.0 && now.t != 1.0 {
            return None;
        }
        let met = chord(self.part, &now)?;
        (self.is_lowest_at_an_end(&now, &met, &other) || closes(self.ray, &now, &met, &other, self.range))
            .then_some(met)
    }

    /// Whether the outer end of the ray is inside the cutter and the tangent plane at its entry shows that the piece has no
    /// lower one, as told at the head of [`settle`](super::settle).
    #[inline]
    fn is_lowest_at_an_end(&self, now: &Instant, met: &Chord, other: &Instant) -> bool {
        let n = &met.lo.n;
        let leaving = dot(n, &self.ray.velocity(now, met.lo.r)) * (other.t - now.t);
        met.hi.r >= self.range.outer - CLOSE_ENOUGH && leaving >= 0.0 && now.along(n) < 0.0 && other.along(n) < 0.0
    }

    /// The chord at an instant within the piece at which the outer end of the ray is inside the cutter and the tangent plane
    /// at the entry proves that no other is lower, as told at the head of [`settle`](super::settle). Newton's method finds
    /// it where the cutter is smooth.
    fn settled_inside(&self) -> Option<Chord> {
        let (first, last) = (self.ray.at(0.0), self.ray.at(1.0));
        let mut t = self.nearest_instant(&first, &last).clamp(0.0, 1.0);
        for _ in 0..MOST_STEPS {
            let now = self.ray.at(t);
            let met = chord(self.part, &now)?;
            if met.hi.r < self.range.outer - CLOSE_ENOUGH {
                return None;
            }
            let n = &met.lo.n;
            let steepness = now.along(n).max(first.along(n)).max(last.along(n));
            if steepness >= 0.0 {
                return None;
            }
            let point = now.point(met.lo.r);
            let velocity = self.ray.velocity(&now, met.lo.r);
            let leaving = dot(n, &velocity);
            let is_at_an_end = (t == 0.0 && leaving >= 0.0) || (t == 1.0 && leaving <= 0.0);
            if is_at_an_end || leaving.abs() * t.max(1.0 - t) <= -CERTAIN * steepness {
                return Some(met);
            }
            let turn = self.ray.piece.by.turn;
            let bend = met.lo.bend.along(&point, &velocity) - met.lo.r * turn * turn * now.along(n);
            let next = (t - leaving / bend).clamp(0.0, 1.0);
            if bend.is_nan() || bend <= 0.0 || next == t {
                return None;
            }
            t = next;
        }
        None
    }

    fn between(&self, first: &Sample, last: &Sample, passages: &mut Passages) {
        let split_at = match (&first.1, &last.1) {
            (Some(a), Some(b)) if self.is_one_passage(a, b) => {
                self.one_passage((first.0, a), (last.0, b), passages);
                return;
            }
            (Some(a), Some(b)) if self.too_short(first, last) => {
                self.add(a.lo.r, a.hi.r, passages);
                self.add(b.lo.r, b.hi.r, passages);
                return;
            }
            (Some(a), Some(b)) => {
                self.add(a.lo.r, a.hi.r, passages);
                self.add(b.lo.r, b.hi.r, passages);
                middle(first, last)
            }
            (Some(met), None) | (None, Some(met)) => {
                let (now, other) = if first.1.is_some() { (&first.0, &last.0) } else { (&last.0, &first.0) };
                self.add(met.lo.r, met.hi.r, passages);
                if self.too_short(first, last) || closes(self.ray, now, met, other, self.range) {
                    return;
                }
                middle(first, last)
            }
            (None, None) => {
                if self.too_short(first, last) || apart(self.part, self.ray, &first.0, &last.0, self.range) {
                    return;
                }
                self.nearest_approach(first, last)
            }
        };
        let between = sample(self.part, self.ray, split_at, false);
        self.between(first, &between, passages);
        self.between(&between, last, passages);
    }

    /// Whether the chords of two instants belong to one passage: they share a radius, or the blank stands still, for then
    /// all instants and radii inside the cutter form one convex set.
    #[inline]
    fn is_one_passage(&self, a: &Chord, b: &Chord) -> bool {
        self.ray.piece.by.turn == 0.0 || a.lo.r.max(b.lo.r) < a.hi.r.min(b.hi.r)
    }

    /// Whether everything between two instants moves less than matters.
    fn too_short(&self, first: &Sample, last: &Sample) -> bool {
        self.ray.travel(self.range.outer, last.0.t - first.0.t) < STANDSTILL
    }

    fn one_passage(&self, first: (Instant, &Chord), last: (Instant, &Chord), passages: &mut Passages) {
        let Range { inner, outer } = self.range;
        let goal = Goal { enough: inner, idle: outer };
        let lo = extreme(End::Lo, self.part, self.ray, first, last, goal);
        if lo >= outer {
            return;
        }
        let goal = Goal { enough: outer, idle: inner };
        let hi = extreme(End::Hi, self.part, self.ray, first, last, goal);
        self.add(lo, hi, passages);
    }

    fn add(&self, lo: f64, hi: f64, passages: &mut Passages) {
        let (lo, hi) = (lo.max(self.range.inner), hi.min(self.range.outer));
        if lo < hi {
            passages.push((lo, hi));
        }
    }

    /// The share of the way at which the outermost solid of the ray is nearest to the spindle axis, seen from above.
    fn nearest_instant(&self, first: &Instant, last: &Instant) -> f64 {
        let (a, b) = (first.point(self.range.outer), last.point(self.range.outer));
        let (by_x, by_u) = (b[0] - a[0], b[1] - a[1]);
        let square = by_x * by_x + by_u * by_u;
        if square > 0.0 { -(a[0] * by_x + a[1] * by_u) / square } else { 0.5 }
    }

    fn nearest_approach(&self, first: &Sample, last: &Sample) -> f64 {
        let share = self.nearest_instant(&first.0, &last.0);
        // Well inside the stretch, so that each half is shorter than the whole.
        let share = if (0.1..=0.9).contains(&share) { share } else { 0.5 };
        first.0.t + share * (last.0.t - first.0.t)
    }
}

fn middle(first: &Sample, last: &Sample) -> f64 {
    0.5 * (first.0.t + last.0.t)
}

/// Sorts the passages and joins those that overlap, or lie closer than anything was looked for.
pub(crate) fn join(passages: &mut Passages) {
    if passages.len() < 2 {
        return;
    }
    passages.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined = Passages::new();
    for &(lo, hi) in passages.iter() {
        match joined.last_mut() {
            Some(last) if lo <= last.1 + STANDSTILL => last.1 = last.1.max(hi),
            _ => joined.push((lo, hi)),
        }
    }
    *passages = joined;
}
