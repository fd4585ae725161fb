//! One row of rays beside the target.

use dryturn_carve::{Dexel, Grid, Reader, Span, UNTOUCHED, is_block};
use dryturn_geom::Stock;
use dryturn_scene::{Inside, Near, holds};

use super::compare::Limits;
use super::patches::{Fault, Kind};
use super::surface::{Surface, point_at};

/// What came of a row of rays.
pub(super) struct Row {
    /// Of each ray the signed distance of the end that matters most, mm.
    pub(super) gap: Vec<f32>,
    /// Of each ray how far the piece stands over the target along it, mm.
    pub(super) over: Vec<f32>,
    pub(super) faults: Vec<Fault>,
    /// Half the squares of radii: volume for each mm along the axis and each radian around it.
    pub(super) gouged: f64,
    pub(super) left: f64,
    /// Greatest distance of an end inside the target, and outside.
    pub(super) deepest: f64,
    pub(super) thickest: f64,
}

/// What rays are judged by.
pub(super) struct Judge<'a> {
    pub(super) carved: Reader<'a>,
    /// The blank before anything was cut.
    pub(super) stock: &'a Stock,
    pub(super) surface: &'a Surface,
    pub(super) limits: &'a Limits,
    /// Sines and cosines of the columns' angles.
    pub(super) directions: &'a [(f64, f64)],
}

/// A stretch of a ray where piece and target differ.
pub(super) struct Difference {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) kind: Kind,
    /// Whether an end of the piece bounds it.
    is_at_end: bool,
    /// Who made the end of the piece next to it.
    by: u32,
}

/// The worst of each kind.
#[derive(Default)]
pub(super) struct Worst(pub(super) [Option<Fault>; 3]);

impl Worst {
    pub(super) fn take(&mut self, fault: Option<Fault>) {
        let Some(fault) = fault else { return };
        let known = &mut self.0[fault.kind as usize];
        if known.is_none_or(|known| fault.depth() > known.depth()) {
            *known = Some(fault);
        }
    }

    fn has(&self, kind: Kind) -> bool {
        self.0[kind as usize].is_some()
    }
}

impl Row {
    fn reaches(&mut self, signed: f64) {
        self.deepest = self.deepest.max(-signed);
        self.thickest = self.thickest.max(signed);
    }
}

/// The last point looked at, and its distance: the next one is not much farther.
struct Trail {
    point: [f64; 3],
    distance: f64,
}

impl Judge<'_> {
    pub(super) fn row(&self, row: usize) -> Row {
        let grid = self.carved.grid();
        let insides = self.surface.row(grid.station(row), self.directions);
        let mut result = Row {
            gap: Vec::with_capacity(grid.angles),
            over: Vec::with_capacity(grid.angles),
            faults: Vec::new(),
            gouged: 0.0,
            left: 0.0,
            deepest: 0.0,
            thickest: 0.0,
        };
        let mut trail = Trail { point: [f64::NAN; 3], distance: f64::INFINITY };
        for (column, inside) in insides.iter().enumerate() {
            self.ray(grid, row, column, inside, &mut trail, &mut result);
        }
        result
    }

    fn ray(&self, grid: &Grid, row: usize, column: usize, inside: &Inside, trail: &mut Trail, result: &mut Row) {
        let look = |dexel: Dexel<'_>| (dexel.spans().collect::<Vec<Span>>(), dexel.cut_by());
        let (spans, emptied_by) = self.carved.look(row, column, look);
        let place = |radius: f64| (grid.station(row), grid.theta(column), radius);
        let mut worst = Worst::default();
        let mut gap: Option<f64> = None;
        for (radius, by) in ends(&spans, emptied_by) {
            let near = self.near(place(radius), self.directions[column], trail);
            let signed = if holds(inside, radius) { -near.distance } else { near.distance };
            // No wood lies at the axis of an emptied ray.
            if radius == 0.0 && signed > 0.0 {
                continue;
            }
            result.reaches(signed);
            worst.take(self.fault((row, column), &near, signed, place(radius), by));
            gap = gap.into_iter().chain([signed]).reduce(|a, b| self.limits.worse(a, b));
        }
        let mut missing = [0.0f64; 3];
        let outermost = |spans: &[(f64, f64)]| spans.last().map_or(0.0, |span| span.1);
        let over = spans.first().map_or(0.0, |span| f64::from(span.outer)) - outermost(inside);
        // The blank reached as far as the piece does.
        let short = (-over > self.limits.gouge).then(|| self.outgrown(place(0.0), outermost(inside))).flatten();
        if let Some(radius) = short {
            let near = self.near(place(radius), self.directions[column], trail);
            worst.take(self.fault((row, column), &near, -near.distance, place(radius), UNTOUCHED));
        }
        for Difference { from, to, kind, is_at_end, by } in differences(&spans, inside, emptied_by) {
            missing[kind as usize] += 0.5 * (to - from) * (to + from);
            // Nothing lies farther from the target's surface than the ray takes to get there.
            let farthest = if is_at_end { to - from } else { 0.5 * (to - from) };
            if farthest <= self.limits.tolerance(kind) || (is_at_end && worst.has(kind)) {
                continue;
            }
            for radius in between(from, to, grid.station_step) {
                let near = self.near(place(radius), self.directions[column], trail);
                let signed = if kind == Kind::Leftover { near.distance } else { -near.distance };
                if kind != Kind::Short {
                    result.reaches(signed);
                }
                worst.take(self.fault((row, column), &near, signed, place(radius), by));
            }
        }
        result.gouged += missing[Kind::Gouge as usize];
        result.left += missing[Kind::Leftover as usize];
        for (fault, mm3) in worst.0.into_iter().zip(missing) {
            let volume = mm3 * grid.station_step * grid.angle_step;
            result.faults.extend(fault.map(|fault| Fault { mm3: volume as f32, ..fault }));
        }
        result.over.push(over as f32);
        result.gap.push(gap.unwrap_or(0.0) as f32);
    }

    /// Where the blank ends on a ray on which the target goes on: whoever cut there, the blank is too small.
    fn outgrown(&self, (station, theta, _): (f64, f64, f64), wanted: f64) -> Option<f64> {
        let spans = self.stock.spans(station, theta);
        let radius = spans.as_slice().last()?.1;
        (wanted - radius > self.limits.gouge).then_some(radius)
    }

    fn near(&self, (station, _, radius): (f64, f64, f64), (sine, cosine): (f64, f64), trail: &mut Trail) -> Near {
        let point = [station, -radius * sine, radius * cosine];
        let step = |axis: usize| point[axis] - trail.point[axis];
        let moved = (step(0) * step(0) + step(1) * step(1) + step(2) * step(2)).sqrt();
        let bound = trail.distance + moved;
        let near = self.surface.nearest(point, if bound.is_finite() { bound } else { f64::INFINITY });
        *trail = Trail { point, distance: near.distance };
        near
    }

    fn fault(&self, cell: (usize, usize), near: &Near, signed: f64, place: (f64, f64, f64), by: u32) -> Option<Fault> {
        let kind = self.limits.kind(signed, near.chord, by)?;
        Some(Fault::new(cell, kind, signed, near.chord, place, by))
    }

    /// How far a point of the piece may move without being beyond its tolerance, mm; below 0 where it is.
    pub(super) fn room(&self, place: (f64, f64, f64), inside: &Inside) -> f64 {
        let near = self.surface.nearest(point_at(place.0, place.1, place.2), f64::INFINITY);
        let signed = if holds(inside, place.2) { -near.distance } else { near.distance };
        (signed + self.limits.gouge).min(self.limits.allowance + self.limits.leftover - signed)
    }

    /// A point of the piece that lies on no ray of the grid.
    pub(super) fn point(&self, inside: &Inside, place: (f64, f64, f64), by: u32) -> Option<Fault> {
        let grid = self.carved.grid();
        let near = self.surface.nearest(point_at(place.0, place.1, place.2), f64::INFINITY);
        let signed = if holds(inside, place.2) { -near.distance } else { near.distance };
        let row = ((place.0 - grid.station_first) / grid.station_step).round().clamp(0.0, grid.stations as f64 - 1.0);
        let column = (place.1 / grid.angle_step).round().rem_euclid(grid.angles as f64);
        self.fault((row as usize, column as usize), &near, signed, place, by)
    }
}

/// The ends of solid on a ray and who made them; an emptied ray ends at the axis.
fn ends(spans: &[Span], emptied_by: u32) -> impl Iterator<Item = (f64, u32)> {
    let outer = spans.iter().map(|span| (f64::from(span.outer), span.outer_by));
    let inner = spans.iter().filter(|span| span.inner > 0.0).map(|span| (f64::from(span.inner), span.inner_by));
    let axis = spans.is_empty().then_some((0.0, emptied_by));
    outer.chain(inner).chain(axis)
}

/// Where piece and target differ, from the axis out.
pub(super) fn differences(spans: &[Span], inside: &Inside, emptied_by: u32) -> Vec<Difference> {
    let piece: Vec<(f64, f64)> =
        spans.iter().rev().map(|span| (f64::from(span.inner), f64::from(span.outer))).collect();
    let mut radii: Vec<f64> = piece.iter().chain(inside).flat_map(|&(from, to)| [from, to]).collect();
    radii.sort_by(f64::total_cmp);
    radii.dedup();
    let is_end = |radius: f64| piece.iter().any(|&(from, to)| (from == radius && from > 0.0) || to == radius);
    let mut found = Vec::new();
    for pair in radii.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let middle = 0.5 * (from + to);
        let kind = match (holds(&piece, middle), holds(inside, middle)) {
            (true, false) => Kind::Leftover,
            (false, true) => Kind::Gouge,
            _ => continue,
        };
        let by = owner(spans, middle, emptied_by);
        let never_was = kind == Kind::Gouge && !is_block(by);
        let kind = if never_was { Kind::Short } else { kind };
        found.push(Difference { from, to, kind, is_at_end: is_end(from) || is_end(to), by });
    }
    found
}

/// Who made the end of solid at which a stretch with this radius begins or ends: below the gap or of the solid it lies in.
fn owner(spans: &[Span], radius: f64, emptied_by: u32) -> u32 {
    let radius = radius as f32;
    let below = spans.iter().find(|span| span.inner <= radius);
    match (below, spans.last()) {
        (Some(span), _) => span.outer_by,
        (None, Some(lowest)) => lowest.inner_by,
        (None, None) => emptied_by,
    }
}

/// Radii within a stretch, about a pitch apart; the axis is within it.
fn between(from: f64, to: f64, pitch: f64) -> impl Iterator<Item = f64> {
    let count = ((to - from) / pitch).ceil().max(2.0);
    let first = usize::from(from > 0.0);
    (first..count as usize).map(move |k| from + (to - from) * k as f64 / count)
}
