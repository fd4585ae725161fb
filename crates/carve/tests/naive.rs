//! Simpler ways to sweep a cutter, which must fail on the very rays that the kernel gets right: if they did not, those rays
//! would be too easy to tell anything.

#![allow(clippy::print_stdout, reason = "the shares are for reading")]

mod reference;

use dryturn_carve::removed;
use dryturn_geom::Pose;
use rayon::prelude::*;
use reference::walks::{Case, FAMILIES, case, number};
use reference::worst_difference;

/// Rays of each family.
const RAYS: u32 = 300;

/// An answer is wrong from here on, mm.
const WRONG: f64 = 1e-3;

type Spans = Vec<(f64, f64)>;

/// What the cutter covers of the ray while it stands still.
fn at_instant(case: &Case, pose: &Pose) -> Spans {
    removed(&case.flutes, pose, pose, case.station, case.theta, case.outer).to_vec()
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
    let met: Vec<Spans> = poses(case, 0.2, 0.5).iter().map(|pose| at_instant(case, pose)).collect();
    let hulls = met.windows(2).filter_map(|pair| {
        let both = pair.iter().flatten();
        both.copied().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    });
    joined(hulls.collect())
}

/// Sweeps short stretches exactly, but passes over those at whose two ends the ray is not met.
fn both_ends_missed_is_nothing(case: &Case) -> Spans {
    let poses = poses(case, 1.0, f64::INFINITY);
    let stretches = poses.windows(2).filter(|pair| pair.iter().any(|pose| !at_instant(case, pose).is_empty()));
    let swept = |pair: &[Pose]| removed(&case.flutes, &pair[0], &pair[1], case.station, case.theta, case.outer);
    joined(stretches.flat_map(swept).collect())
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

/// The share of rays that a method gets wrong, and by how much at the worst, mm.
fn failures(name: &str, method: fn(&Case) -> Spans) -> f64 {
    let cases = FAMILIES.into_iter().flat_map(|family| (0..RAYS).map(move |k| case(family, number(0, k))));
    let cases: Vec<Case> = cases.collect();
    let off = cases.par_iter().filter_map(|case| {
        let truth = reference::removed(&case.flutes, &case.from, &case.to, case.station, case.theta, case.outer);
        (!truth.grazing && !truth.spans.is_empty()).then(|| worst_difference(&method(case), &truth.spans))
    });
    let off: Vec<f64> = off.collect();
    let wrong = off.iter().filter(|error| **error > WRONG).count();
    let share = wrong as f64 / off.len() as f64;
    println!("{name}: {wrong} of {} rays wrong, worst {:.3} mm", off.len(), off.iter().copied().fold(0.0, f64::max));
    share
}

#[test]
fn the_ends_of_short_stretches_are_not_enough() {
    assert!(failures("ends only", ends_only) > 0.1);
}

#[test]
fn what_is_missed_at_both_ends_may_be_met_between() {
    assert!(failures("both ends missed", both_ends_missed_is_nothing) > 0.005);
}

#[test]
fn the_kernel_gets_all_of_them() {
    let exact =
        |case: &Case| removed(&case.flutes, &case.from, &case.to, case.station, case.theta, case.outer).to_vec();
    assert!(failures("the kernel", exact) == 0.0);
}
