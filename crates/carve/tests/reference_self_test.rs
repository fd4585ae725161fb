//! The slow reference itself, held against closed forms, computed vectors and blunt sampling.

mod reference;

use dryturn_geom::{Flutes, Pose, Shape};
use rayon::prelude::*;
use reference::{TOLERANCE, removed, walks};
use std::f64::consts::TAU;

fn cutter(shape: Shape, diameter: f64, length: f64) -> Flutes {
    Flutes::new(shape, 0.5 * diameter, length).unwrap()
}

/// X, Y, Z in mm and the turn in degrees.
fn pose(row: [f64; 4]) -> Pose {
    Pose { x: row[0], y: row[1], z: row[2], turn: row[3].to_radians() }
}

#[test]
fn timing() {
    for family in walks::FAMILIES {
        let start = std::time::Instant::now();
        let n: u64 = std::env::var("N").map_or(60, |v| v.parse().unwrap());
        let rows: Vec<_> = (0..n)
            .into_par_iter()
            .map(|k| {
                let c = walks::case(family, k);
                let s = std::time::Instant::now();
                let r = removed(&c.flutes, &c.from, &c.to, c.station, c.theta, c.outer);
                if s.elapsed().as_secs_f64() > 0.3 {
                    println!(
                        "  SLOW {family:?} {k} {:?} {:.2}s bracket {:e} graz {}",
                        c.regime,
                        s.elapsed().as_secs_f64(),
                        r.bracket,
                        r.grazing
                    );
                }
                (r, s.elapsed().as_secs_f64(), k, c)
            })
            .collect();
        let hit = rows.iter().filter(|r| !r.0.spans.is_empty()).count();
        let two = rows.iter().filter(|r| r.0.spans.len() > 1).count();
        let graz = rows.iter().filter(|r| r.0.grazing).count();
        let wide = rows.iter().filter(|r| r.0.bracket > TOLERANCE && !r.0.grazing).count();
        let mut slow: Vec<_> = rows.iter().map(|r| (r.1, r.2, r.3.regime, r.0.bracket, r.0.grazing)).collect();
        slow.sort_by(|a, b| b.0.total_cmp(&a.0));
        let total: f64 = rows.iter().map(|r| r.1).sum();
        println!(
            "{family:?} hit {hit} multi {two} grazing {graz} uncertified {wide} mean {:.2} ms wall {:.2}",
            total / n as f64 * 1e3,
            start.elapsed().as_secs_f64()
        );
        for s in &slow[..4] {
            println!("   {s:?}");
        }
    }
}
