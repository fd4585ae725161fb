//! Steps of the piece between its rays, judged at their true place.

use dryturn_carve::{Dexel, Ray, Replay, UNTOUCHED};

use super::patches::Fault;
use super::row::{Judge, Worst};

/// Steeper than this between two rays, mm a mm, may be a step.
const STEEP: f64 = 2.0;
/// A lower step shows by being so many times as high as what lies before and behind it.
const ALONE: f32 = 3.0;

/// What is wrong with the steps between a row and the next, and between the rays of the row.
///
/// Looked at are pairs of neighbours that may have a step between them and are not both beyond their tolerance anyway.
pub(super) fn beside(judge: &Judge<'_>, replay: &Replay<'_>, span: [f64; 2], row: usize, gap: &[f32]) -> Vec<Fault> {
    let grid = judge.carved.grid();
    let (from, to) = (grid.station(row), grid.station(row) + grid.station_step);
    if to < span[0] || from > span[1] {
        return Vec::new();
    }
    let lowest = judge.limits.gouge.min(judge.limits.leftover).max(0.01) as f32;
    let outer = |row: usize, column: usize| judge.carved.look(row, column % grid.angles, |dexel| dexel.radius());
    let is_off = |row: usize, column: usize| {
        let gap = f64::from(gap[row * grid.angles + column % grid.angles]);
        gap.is_finite() && judge.limits.kind(gap, 0.0, 0).is_some()
    };
    let mut faults = Vec::new();
    let mut look = |a: (usize, usize), b: (usize, usize), spacing: f64, radii: [f32; 4]| {
        if (is_off(a.0, a.1) && is_off(b.0, b.1)) || !(may_step(spacing, radii, lowest) || differ(judge, a, b)) {
            return;
        }
        let ray = |(row, column): (usize, usize)| (grid.station(row), grid.theta(column));
        faults.extend(on_walls(judge, replay, span, ray(a), ray(b)));
    };
    for column in 0..grid.angles {
        let here = outer(row, column);
        if row + 1 < grid.stations {
            let before = outer(row.saturating_sub(1), column);
            let after = outer((row + 2).min(grid.stations - 1), column);
            look((row, column), (row + 1, column), grid.station_step, [before, here, outer(row + 1, column), after]);
        }
        let around = [column + grid.angles - 1, column, column + 1, column + 2].map(|column| outer(row, column));
        let spacing = f64::from(around[1].max(around[2])) * grid.angle_step;
        look((row, column), (row, column + 1), spacing, around);
    }
    faults
}

/// Whether the outermost radii of two rays, the middle ones of four in a row, may have a step between them.
fn may_step(spacing: f64, [before, a, b, after]: [f32; 4], lowest: f32) -> bool {
    let high = (b - a).abs();
    let beside = (a - before).abs().max((after - b).abs());
    f64::from(high) > STEEP * spacing || (high > lowest && high > ALONE * beside)
}

/// Whether two rays hold another number of ends.
fn differ(judge: &Judge<'_>, a: (usize, usize), b: (usize, usize)) -> bool {
    let angles = judge.carved.grid().angles;
    let ends = |(row, column): (usize, usize)| {
        let count = |dexel: Dexel<'_>| dexel.spans().map(|span| if span.inner > 0.0 { 2u32 } else { 1 }).sum::<u32>();
        judge.carved.look(row, column % angles, count)
    };
    ends(a) != ends(b)
}

/// Most points of a face that are looked at before its place is sought.
const FEW: u32 = 64;

/// Whether a face between two rays may be beyond its tolerance somewhere, wherever between them it stands: a distance
/// changes by no more than the way from one point to another.
fn may_be_off(judge: &Judge<'_>, a: &Ray, b: &Ray) -> bool {
    let (station, theta) = (0.5 * (a.station + b.station), 0.5 * (a.theta + b.theta));
    let inside = judge.surface.inside(station, theta);
    let ends: Vec<f64> = [a, b].iter().flat_map(|ray| ray.ends().map(|end| end.radius)).collect();
    let is_face = |radius: f64| a.holds(radius) != b.holds(radius);
    let mut radii = [&[0.0], ends.as_slice()].concat();
    radii.sort_by(f64::total_cmp);
    radii.windows(2).filter(|pair| is_face(0.5 * (pair[0] + pair[1]))).any(|pair| {
        let aside = 0.5 * (b.station - a.station).abs().max(pair[1] * (b.theta - a.theta).abs());
        let mut radius = pair[0];
        for _ in 0..FEW {
            let room = judge.room((station, theta, radius), &inside) - aside;
            if room <= 0.0 {
                return true;
            }
            if radius >= pair[1] {
                return false;
            }
            radius = (radius + room).min(pair[1]);
        }
        true
    })
}

/// Points of the faces between two rays, a pitch apart and at both ends.
fn on_walls(judge: &Judge<'_>, replay: &Replay<'_>, span: [f64; 2], a: (f64, f64), b: (f64, f64)) -> Vec<Fault> {
    let pitch = judge.carved.grid().station_step;
    let mut faults = Vec::new();
    for wall in replay.walls_that_matter(a, b, &|a, b| may_be_off(judge, a, b)) {
        if !(span[0]..=span[1]).contains(&wall.station) {
            continue;
        }
        let inside = judge.surface.inside(wall.station, wall.theta);
        let mut worst = Worst::default();
        for riser in wall.risers.iter().filter(|riser| riser.by != UNTOUCHED) {
            let count = ((riser.outer - riser.inner) / pitch).ceil().max(1.0) as usize;
            for k in 0..=count {
                let radius = riser.inner + (riser.outer - riser.inner) * k as f64 / count as f64;
                worst.take(judge.point(&inside, (wall.station, wall.theta, radius), riser.by));
            }
        }
        faults.extend(worst.0.into_iter().flatten());
    }
    faults
}
