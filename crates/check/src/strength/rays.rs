//! The outline of a section as its rays have it.

use std::f64::consts::TAU;

use dryturn_carve::Section;
use dryturn_geom::angle;

/// The solid along each of evenly spaced rays from the rotary axis, θ = 0 first: (inner, outer) ends in mm, from the axis
/// out. Points lie as in [`dryturn_carve::Section`].
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Rays(pub(crate) Vec<Vec<(f64, f64)>>);

impl Rays {
    /// Whether a point holds wood. Between two rays with equally many stretches the ends run straight from one to the other;
    /// otherwise the nearer ray speaks.
    pub(crate) fn holds(&self, [y, z]: [f64; 2]) -> bool {
        let count = self.0.len();
        if count == 0 {
            return false;
        }
        let step = TAU / count as f64;
        let (radius, turned) = (angle::hypot(y, z), angle::wrapped(angle::atan2(-y, z)) / step);
        let (before, share) = (turned.floor() as usize % count, turned - turned.floor());
        let [one, other] = [&self.0[before], &self.0[(before + 1) % count]];
        if one.len() != other.len() {
            let nearer = if share < 0.5 { one } else { other };
            return nearer.iter().any(|&(inner, outer)| inner <= radius && radius < outer);
        }
        let chord = Chord::new(share, step);
        let ends = one.iter().zip(other);
        ends.into_iter().any(|(a, b)| chord.radius(a.0, b.0) <= radius && radius < chord.radius(a.1, b.1))
    }

    /// The points (y, z) at which its stretches begin and end, mm.
    pub(crate) fn ends(&self) -> impl Iterator<Item = [f64; 2]> {
        let step = TAU / self.0.len().max(1) as f64;
        self.0.iter().enumerate().flat_map(move |(column, ray)| {
            let (sine, cosine) = angle::sin_cos(column as f64 * step);
            ray.iter().flat_map(|&(inner, outer)| [inner, outer]).map(move |r| [-r * sine, r * cosine])
        })
    }

    /// Its integrals, each ray standing for the sector about it.
    pub(super) fn section(&self) -> Section {
        let step = TAU / self.0.len().max(1) as f64;
        let mut section = Section { ring: [0.0, f64::INFINITY], ..Section::default() };
        for (column, ray) in self.0.iter().enumerate() {
            let (sine, cosine) = angle::sin_cos(column as f64 * step);
            section.ring[0] = section.ring[0].max(ray.first().map_or(f64::INFINITY, |innermost| innermost.0));
            section.ring[1] = section.ring[1].min(ray.first().map_or(0.0, |innermost| innermost.1));
            for &(inner, outer) in ray {
                let power = |n: i32| step * (outer.powi(n) - inner.powi(n)) / f64::from(n);
                let (first, second) = (power(3), power(4));
                section.area += power(2);
                section.first[0] -= first * sine;
                section.first[1] += first * cosine;
                section.second[0] += second * sine * sine;
                section.second[1] += second * cosine * cosine;
                section.second[2] -= second * sine * cosine;
                section.reach = section.reach.max(outer);
                section.walls += 0.5 * step * (outer - inner).powi(3) * (outer + inner);
                section.around += 0.5 * step * (outer + inner) / (outer - inner);
            }
            section.inside += ray.last().map_or(0.0, |(inner, outer)| 0.125 * step * (inner + outer).powi(2));
        }
        section
    }

    /// Least and greatest y and z of its wood; `None` if there is none.
    pub(crate) fn bounds(&self) -> Option<[[f64; 2]; 2]> {
        let widen =
            |a: [[f64; 2]; 2], b: [[f64; 2]; 2]| std::array::from_fn(|k| [a[k][0].min(b[k][0]), a[k][1].max(b[k][1])]);
        self.ends().map(|point| point.map(|at| [at, at])).reduce(widen)
    }
}

/// The straight line between the ends of two rays, met at a share of the angle between them.
struct Chord {
    one: f64,
    other: f64,
    whole: f64,
}

impl Chord {
    fn new(share: f64, step: f64) -> Chord {
        let sine = |angle: f64| angle::sin_cos(angle).0;
        Chord { one: sine((1.0 - share) * step), other: sine(share * step), whole: sine(step) }
    }

    fn radius(&self, one: f64, other: f64) -> f64 {
        let across = one * self.one + other * self.other;
        if across > 0.0 { one * other * self.whole / (one * self.other + other * self.one) } else { 0.0 }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use std::f64::consts::PI;

    use super::*;

    /// The rays of a shape that is given by the ends of its stretches along a direction (y, z).
    pub(crate) fn rays(count: usize, ends: impl Fn([f64; 2]) -> Vec<(f64, f64)>) -> Rays {
        let direction = |column: usize| {
            let (sine, cosine) = angle::sin_cos(TAU * column as f64 / count as f64);
            [-sine, cosine]
        };
        Rays((0..count).map(|column| ends(direction(column))).collect())
    }

    /// A square of the side 2 about the axis.
    pub(crate) fn square([y, z]: [f64; 2]) -> Vec<(f64, f64)> {
        vec![(0.0, y.abs().max(z.abs()).recip())]
    }

    #[test]
    fn flats_are_straight_between_rays() {
        let square = rays(24, square);
        for (point, inside) in
            [([0.999, 0.9], true), ([1.001, 0.1], false), ([-0.4, -0.9999], true), ([0.0, 1.001], false)]
        {
            assert_eq!(square.holds(point), inside, "{point:?}");
        }
        let [[y0, y1], [z0, z1]] = square.bounds().unwrap();
        assert!([-y0, y1, -z0, z1].iter().all(|edge| (edge - 1.0).abs() < 1e-12));
        assert_eq!((Rays(vec![]).bounds(), Rays(vec![vec![]; 24]).bounds()), (None, None));
        assert!(!Rays(vec![]).holds([0.0, 0.0]));
    }

    /// π(b² − a²), π/4 (b⁴ − a⁴), and a square's s² and s⁴/12.
    #[test]
    fn integrals_of_a_section() {
        let off = |value: f64, exact: f64| (value / exact - 1.0).abs();
        let tube = rays(360, |_| vec![(6.0, 10.0)]).section();
        assert!(off(tube.area, PI * 64.0) < 1e-12 && off(tube.second[0], 0.25 * PI * (1e4 - 1296.0)) < 1e-12);
        assert!(tube.ring == [6.0, 10.0] && tube.reach == 10.0 && off(tube.walls, 64.0 * 16.0 * PI) < 1e-12);
        assert!(off(tube.inside, 64.0 * PI) < 1e-12 && off(tube.around, 4.0 * PI) < 1e-12);
        let square = rays(360, square).section();
        assert!(
            off(square.area, 4.0) < 1e-3 && off(square.second[1], 4.0 / 3.0) < 1e-3 && square.first[0].abs() < 1e-9
        );
    }

    #[test]
    fn a_slot_ends_halfway_between_rays() {
        let slotted = Rays((0..24).map(|column| if column == 6 { vec![] } else { vec![(0.0, 5.0)] }).collect());
        // θ = 90° is −y.
        assert!(!slotted.holds([-3.0, 0.0]) && slotted.holds([3.0, 0.0]) && slotted.holds([0.0, 3.0]));
        assert!(!slotted.holds([-3.0, 0.3]) && slotted.holds([-3.0, 0.5]));
    }
}
