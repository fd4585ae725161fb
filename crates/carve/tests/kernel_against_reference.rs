//! The kernel against a slow reference that certifies itself and shares no code with it, on random rays under random
//! motions of every cutter: near the axis, below it, off it, over many turns. Run with `--nocapture` for the table.

#![expect(clippy::print_stdout, clippy::tests_outside_test_module, reason = "the worst errors are for reading")]

mod reference;

use dryturn_carve::removed;
use rayon::prelude::*;
use reference::walks::{Case, FAMILIES, Family, case};
use reference::{Removed, worst_difference};

/// Rays of each family.
const RAYS: u64 = 2000;

/// What is claimed of every ray end, mm.
const CLAIM: f64 = 1e-3;

/// Grazing rays may be answered either way within what a few nanometres of cutter decide, and by this much more, mm.
const GRAZING_CLAIM: f64 = 1e-3;

struct Outcome {
    number: u64,
    hit: bool,
    grazing: bool,
    error: f64,
}

fn outcome(family: Family, number: u64) -> Outcome {
    let Case { flutes, from, to, station, theta, outer, .. } = case(family, number);
    let found = removed(&flutes, &from, &to, station, theta, outer);
    let truth: Removed = reference::removed(&flutes, &from, &to, station, theta, outer);
    let error = if truth.grazing { truth.strays(&found) } else { worst_difference(&found, &truth.spans) };
    Outcome { number, hit: !truth.spans.is_empty(), grazing: truth.grazing, error }
}

#[test]
fn every_ray_end_is_within_a_micron() {
    let mut failures = Vec::new();
    for family in FAMILIES {
        let outcomes: Vec<Outcome> = (0..RAYS).into_par_iter().map(|number| outcome(family, number)).collect();
        let worst = |grazing: bool| {
            let of_kind = outcomes.iter().filter(|outcome| outcome.grazing == grazing);
            of_kind.map(|outcome| outcome.error).fold(0.0, f64::max)
        };
        let hits = outcomes.iter().filter(|outcome| outcome.hit).count();
        let grazing = outcomes.iter().filter(|outcome| outcome.grazing).count();
        println!(
            "{family:?}: {RAYS} rays, {hits} met, worst {:.4} µm; {grazing} grazing, worst {:.4} µm",
            1e3 * worst(false),
            1e3 * worst(true)
        );
        assert!(hits as u64 * 2 >= RAYS, "{family:?}: only {hits} rays are met");
        let claim = |outcome: &&Outcome| outcome.error > if outcome.grazing { GRAZING_CLAIM } else { CLAIM };
        failures.extend(outcomes.iter().filter(claim).map(|outcome| {
            format!("{family:?} {}: off by {} mm, grazing {}", outcome.number, outcome.error, outcome.grazing)
        }));
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
