//! Simpler ways to sweep a cutter, which must fail on the very rays that the kernel gets right: if they did not, those rays
//! would be too easy to tell anything.
//!
//! Each way is given all that it does not spoil by itself: what the cutter takes while it stands still and, where it is
//! about one end of a passage, the other end and the passages as the kernel has them. So what is wrong is its own doing.

#![allow(clippy::print_stdout, reason = "the shares are for reading")]

mod reference;

use dryturn_carve::removed;
use dryturn_geom::Pose;
use rayon::prelude::*;
use reference::vectors::vectors;
use reference::walks::{Case, FAMILIES, case, number};
use reference::worst_difference;
use std::sync::LazyLock;

/// Rays of each family.
const RAYS: u32 = 300;

/// An answer is wrong from here on, mm.
const WRONG: f64 = 1e-3;

type Spans = Vec<(f64, f64)>;

/// A question and the true answer.
struct Ray {
    case: Case,
    truth: Spans,
}

impl Ray {
    /// By how much a method gets it wrong, mm.
    fn error(&self, method: fn(&Case) -> Spans) -> f64 {
        worst_difference(&method(&self.case), &self.truth)
    }
}

/// Random rays that are met and where a few nanometres do not decide the answer.
static WALKS: LazyLock<Vec<Ray>> = LazyLock::new(|| {
    let cases: Vec<Case> =
        FAMILIES.into_iter().flat_map(|family| (0..RAYS).map(move |k| case(family, number(0, k)))).collect();
    let asked = cases.into_par_iter().filter_map(|case| {
        let truth = reference::removed(&case.flutes, &case.from, &case.to, case.station, case.theta, case.outer);
        let is_clear = !truth.grazing && !truth.spans.is_empty();
        is_clear.then_some(Ray { case, truth: truth.spans })
    });
    asked.collect()
});

/// What the cutter covers of the ray while it stands still.
fn at_instant(case: &Case, pose: &Pose) -> Spans {
    removed(&case.flutes, pose, pose, case.station, case.theta, case.outer).to_vec()
}

/// What the kernel says.
fn exact(case: &Case) -> Spans {
    removed(&case.flutes, &case.from, &case.to, case.station, case.theta, case.outer).to_vec()
}

/// Poses along the way of a case, no farther apart than so many degrees and millimetres.
fn poses(case: &Case, degrees: f64, mm: f64) -> Vec<Pose> {
    let (from, to) = (&case.from, &case.to);
    let way = [to.x - from.x, to.y - from.y, to.z - from.z].iter().map(|by| by * by).sum::<f64>().sqrt();
    let count = ((to.turn - from.turn).abs().to_degrees() / degrees).max(way / mm).ceil().max(1.0);
    (0..=count as u32).map(|k| from.toward(to, f64::from(k) / count)).collect()
}

/// Cuts the way into short stretches and takes the lowest and the highest radius met at the two ends of each.
fn ends_only(case: &Case) -> Spans {
    ends_of(case, &poses(case, 0.2, 0.5))
}

/// The same with stretches of 1°, however far the tip moves meanwhile.
fn ends_at_each_degree(case: &Case) -> Spans {
    ends_of(case, &poses(case, 1.0, f64::INFINITY))
}

fn ends_of(case: &Case, poses: &[Pose]) -> Spans {
    let met: Vec<Spans> = poses.iter().map(|pose| at_instant(case, pose)).collect();
    let hulls = met.windows(2).filter_map(|pair| {
        let both = pair.iter().flatten();
        both.copied().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    });
    joined(hulls.collect())
}

/// Takes what a convex cutter meets over a long stretch for one passage if it meets the ray at both ends.
fn one_passage_a_stretch(case: &Case) -> Spans {
    let is_convex = case.flutes.parts().len() == 1;
    let swept = |pair: &[Pose]| {
        let passages = exact(&Case { from: pair[0], to: pair[1], ..case.clone() });
        let is_met = pair.iter().all(|pose| !at_instant(case, pose).is_empty());
        match (passages.first(), passages.last()) {
            (Some(first), Some(last)) if is_convex && is_met => vec![(first.0, last.1)],
            _ => passages,
        }
    };
    joined(poses(case, 45.0, f64::INFINITY).windows(2).flat_map(swept).collect())
}

/// Sweeps short stretches exactly, but passes over those at whose two ends the ray is not met.
fn both_ends_missed_is_nothing(case: &Case) -> Spans {
    let poses = poses(case, 1.0, f64::INFINITY);
    let stretches = poses.windows(2).filter(|pair| pair.iter().any(|pose| !at_instant(case, pose).is_empty()));
    let swept = |pair: &[Pose]| removed(&case.flutes, &pair[0], &pair[1], case.station, case.theta, case.outer);
    joined(stretches.flat_map(swept).collect())
}

/// Takes the signs of the upper end's rate for the whole story, as if it had no more than one maximum in two degrees.
fn upper_end_by_signs(case: &Case) -> Spans {
    by_stretches(case, 2.0, |stretch, (lo, _)| Some((lo, -by_signs(|t| Some(-stretch.chord(t)?.1))?)))
}

/// The same for the lower end. There it does: where nothing but the turn moves, that can be proved.
fn lower_end_by_signs(case: &Case) -> Spans {
    by_stretches(case, 2.0, |stretch, (_, hi)| Some((by_signs(|t| Some(stretch.chord(t)?.0))?, hi)))
}

/// Takes the tangents of the lower end over time for bounds from below, and rests as soon as it is close to where they
/// meet. But a turn and a move together may bend that end the other way.
fn lower_end_by_tangents(case: &Case) -> Spans {
    by_stretches(case, 5.0, |stretch, (_, hi)| Some((by_tangents(|t| Some(stretch.chord(t)?.0))?, hi)))
}

/// A part of the way of a case, from 0 to 1.
struct Stretch<'a> {
    case: &'a Case,
    from: Pose,
    to: Pose,
}

impl Stretch<'_> {
    /// What a convex cutter takes from the ray at an instant, if anything.
    fn chord(&self, t: f64) -> Option<(f64, f64)> {
        at_instant(self.case, &self.from.toward(&self.to, t)).first().copied()
    }
}

/// Sweeps stretches of so many degrees, and those in which a convex cutter takes one passage by a way that may fail: it is
/// given the passage and answers with its own, if it has any.
fn by_stretches(case: &Case, degrees: f64, way: impl Fn(&Stretch<'_>, (f64, f64)) -> Option<(f64, f64)>) -> Spans {
    let is_convex = case.flutes.parts().len() == 1;
    let swept = |pair: &[Pose]| {
        let stretch = Stretch { case, from: pair[0], to: pair[1] };
        let passages = exact(&Case { from: pair[0], to: pair[1], ..case.clone() });
        match *passages {
            [passage] if is_convex => vec![way(&stretch, passage).unwrap_or(passage)],
            _ => passages,
        }
    };
    joined(poses(case, degrees, f64::INFINITY).windows(2).flat_map(swept).collect())
}

/// A value at an instant and its rate there.
#[derive(Clone, Copy)]
struct Sample {
    t: f64,
    value: f64,
    rate: f64,
}

/// A value at an instant, with its rate just after it or, in the second half, just before it; a miss is infinitely high.
fn sample(value: &impl Fn(f64) -> Option<f64>, t: f64) -> Option<Sample> {
    let step = if t < 0.5 { 1e-7 } else { -1e-7 };
    let now = value(t)?;
    let near = value(t + step).unwrap_or(f64::INFINITY);
    Some(Sample { t, value: now, rate: (near - now) / step })
}

/// The least value between 0 and 1 if its rate changes sign but once; a miss counts as falling toward the end that hits.
/// `None` if neither does.
fn by_signs(value: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    let (first, last) = (sample(&value, 0.0), sample(&value, 1.0));
    let is_first_hit = first.is_some();
    match (first, last) {
        (None, None) => return None,
        (Some(first), _) if first.rate >= 0.0 => return Some(first.value),
        (_, Some(last)) if last.rate <= 0.0 => return Some(last.value),
        _ => {}
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        let falls = sample(&value, middle).map_or(!is_first_hit, |now| now.rate < 0.0);
        if falls { low = middle } else { high = middle }
    }
    value(if is_first_hit { low } else { high })
}

/// The least value between 0 and 1 if it lies over its tangents. `None` if an end misses.
fn by_tangents(value: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    const CLOSE: f64 = 2e-5;
    let (mut low, mut high) = (sample(&value, 0.0)?, sample(&value, 1.0)?);
    for _ in 0..60 {
        let best = low.value.min(high.value);
        if low.rate >= 0.0 || high.rate <= 0.0 {
            return Some(best);
        }
        let width = high.t - low.t;
        let share = (high.value - low.value - high.rate * width) / ((low.rate - high.rate) * width);
        if low.value + low.rate * share * width > best - CLOSE {
            return Some(best);
        }
        let now = sample(&value, low.t + share.clamp(0.01, 0.99) * width)?;
        if now.rate < 0.0 { low = now } else { high = now }
    }
    Some(low.value.min(high.value))
}

fn joined(mut spans: Spans) -> Spans {
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined = Spans::new();
    for (lo, hi) in spans {
        match joined.last_mut() {
            Some(last) if lo <= last.1 => last.1 = last.1.max(hi),
            _ => joined.push((lo, hi)),
        }
    }
    joined
}

/// The share of random rays that a method gets wrong; prints by how much at the worst.
fn share_of_failures(name: &str, method: fn(&Case) -> Spans) -> f64 {
    let errors: Vec<f64> = WALKS.par_iter().map(|ray| ray.error(method)).collect();
    let wrong = errors.iter().filter(|error| **error > WRONG).count();
    let worst = errors.iter().copied().fold(0.0, f64::max);
    println!("{name}: {wrong} of {} rays wrong, worst {worst:.3} mm", errors.len());
    wrong as f64 / errors.len() as f64
}

/// The rays of the table that a method gets wrong.
fn named_failures(method: fn(&Case) -> Spans) -> Vec<&'static str> {
    let rays = vectors().into_iter().map(|row| (row.name, Ray { case: row.case, truth: row.spans.to_vec() }));
    rays.filter(|(_, ray)| ray.error(method) > WRONG).map(|(name, _)| name).collect()
}

#[test]
fn the_ends_of_short_stretches_are_not_enough() {
    assert!(share_of_failures("ends only", ends_only) > 0.2);
    let failed = named_failures(ends_only);
    assert!(["N1", "N3", "N9"].iter().all(|name| failed.contains(name)), "{failed:?}");
}

#[test]
fn nor_are_those_of_each_degree() {
    assert!(share_of_failures("ends at each degree", ends_at_each_degree) > 0.4);
    let failed = named_failures(ends_at_each_degree);
    assert!(["N2", "N4", "N5", "N8", "N12"].iter().all(|name| failed.contains(name)), "{failed:?}");
}

#[test]
fn a_long_stretch_may_hold_two_passages() {
    assert!(share_of_failures("one passage a stretch", one_passage_a_stretch) > 0.005);
    assert_eq!(named_failures(one_passage_a_stretch), ["N6", "N7", "N13"]);
}

#[test]
fn what_is_missed_at_both_ends_may_be_met_between() {
    assert!(share_of_failures("both ends missed", both_ends_missed_is_nothing) > 0.01);
    assert_eq!(named_failures(both_ends_missed_is_nothing), ["N3"]);
}

#[test]
fn the_upper_end_may_have_two_maxima() {
    let upper = share_of_failures("upper end by signs", upper_end_by_signs);
    let lower = share_of_failures("lower end by signs", lower_end_by_signs);
    assert!(upper > 0.004 && lower < 0.001, "{upper} {lower}");
}

#[test]
fn tangents_over_time_are_no_bounds() {
    assert!(share_of_failures("lower end by tangents", lower_end_by_tangents) > 0.001);
    assert_eq!(named_failures(lower_end_by_tangents), ["N1", "N10"]);
}

#[test]
fn the_kernel_cuts_named_rays_as_dense_sampling_does() {
    for vector in vectors() {
        let found = exact(&vector.case);
        assert_eq!(found.len(), vector.spans.len(), "{}: {found:?}", vector.name);
        for (a, b) in found.iter().zip(vector.spans) {
            // The numbers are given to four decimals of input, so to about 1 µm.
            let off = (a.0 - b.0).abs().max((a.1 - b.1).abs());
            assert!(off < 1e-3, "{}: {found:?} for {:?}", vector.name, vector.spans);
        }
    }
}

#[test]
fn the_kernel_gets_all_of_them() {
    assert_eq!(share_of_failures("the kernel", exact), 0.0);
    assert!(named_failures(exact).is_empty());
}
