//! Where a mesh may not show the piece as it is.

use rayon::prelude::*;

use crate::rays::{End, Rays, is_solid};

/// Places, in the piece frame, mm, at which a mesh is not to be trusted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Doubts {
    /// Where the mesh still passes through itself: a corner of one triangle of each pair.
    pub crossings: Vec<[f64; 3]>,
    /// Where there is wood, or none, over less than a pitch on one ray alone of three side by side, but goes on across
    /// them, as thin. What is thinner than the rays are apart they may miss in part, so that it comes out in pieces: a
    /// finer grid tells. The tip of what grows thicker is not thin.
    pub thin: Vec<[f64; 3]>,
}

impl Doubts {
    /// Whether there is nothing to say.
    pub fn is_empty(&self) -> bool {
        self.crossings.is_empty() && self.thin.is_empty()
    }

    /// The same of the mirrored mesh.
    pub(crate) fn mirrored(mut self) -> Doubts {
        self.crossings.iter_mut().chain(&mut self.thin).for_each(|place| place[1] = -place[1]);
        self
    }
}

/// Where the rays show what is thinner than they are apart, in the blank frame.
pub(crate) fn thin(rays: &Rays) -> Vec<[f64; 3]> {
    let of_row = |row: usize| (0..rays.angles).flat_map(move |column| of_ray(rays, row, column)).collect();
    let found: Vec<Vec<[f64; 3]>> = (1..rays.rows() - 1).into_par_iter().map(of_row).collect();
    found.concat()
}

fn of_ray(rays: &Rays, row: usize, column: usize) -> Vec<[f64; 3]> {
    let ends = rays.ends(row, column);
    let along = [(row - 1, column), (row + 1, column)];
    let around = [(row, rays.before(column)), (row, column + 1)];
    let is_short = |pair: &[End]| (f64::MIN_POSITIVE..rays.pitch()).contains(&(pair[1].radius() - pair[0].radius()));
    let is_thin = |pair: &&[End]| {
        let (from, to) = (pair[0].radius(), pair[1].radius());
        let here = is_solid(ends, 0.5 * (from + to));
        let lacks = |&(row, column): &(usize, usize)| {
            let there = rays.ends(row, column);
            let is_met = there.iter().any(|end| (from..=to).contains(&end.radius()));
            !is_met && is_solid(there, 0.5 * (from + to)) != here
        };
        let is_as_thin = |&(row, column): &(usize, usize)| {
            let there = rays.ends(row, column);
            let is_same = |other: &&[End]| is_solid(there, 0.5 * (other[0].radius() + other[1].radius())) == here;
            let meets = |other: &&[End]| other[0].radius() <= to && other[1].radius() >= from;
            there.windows(2).any(|other| is_short(other) && is_same(&other) && meets(&other))
        };
        let is_alone = |beside: &[(usize, usize); 2]| beside.iter().all(lacks);
        // It goes on the one way and is alone the other way.
        is_short(pair)
            && match (is_alone(&along), is_alone(&around)) {
                (true, false) => around.iter().any(is_as_thin),
                (false, true) => along.iter().any(is_as_thin),
                _ => false,
            }
    };
    let middle = |pair: &[End]| rays.point(row, column, 0.5 * (pair[0].radius() + pair[1].radius()));
    ends.windows(2).filter(is_thin).map(|pair| middle(pair).to_array()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rays(of: impl Fn(usize, usize) -> Vec<f32>) -> Rays {
        let mut rays = Rays::new(-0.5, 0.5, 24);
        rays.close_row(Vec::new()).unwrap();
        for row in 0..4 {
            let ray = |column| of(row, column).into_iter().map(|radius| End { radius, by: 0 }).collect();
            rays.close_row((0..24).map(ray).collect()).unwrap();
        }
        rays.close_row(Vec::new()).unwrap();
        rays
    }

    #[test]
    fn what_one_ray_of_three_shows_alone_is_thin() {
        // A rod along the axis that only the rays of one column meet.
        let rod = rays(|_, column| if column == 7 { vec![4.0, 6.0, 6.2] } else { vec![4.0] });
        let found = thin(&rod);
        // The rays of the first and the last row have none beyond to go on to; those between have.
        assert_eq!(found.len(), 4);
        assert!(found.iter().all(|place| (place[1].hypot(place[2]) - 6.1).abs() < 1e-6));
        // A slit all round.
        let slit = rays(|row, _| if row == 1 { vec![4.0, 4.1, 6.0] } else { vec![6.0] });
        assert_eq!(thin(&slit).len(), 24);
    }

    #[test]
    fn what_goes_on_beside_a_ray_or_is_thick_is_not() {
        assert!(
            thin(&rays(|_, column| if (7..9).contains(&column) { vec![4.0, 6.0, 6.2] } else { vec![4.0] })).is_empty()
        );
        assert!(thin(&rays(|_, column| if column == 7 { vec![4.0, 6.0, 6.6] } else { vec![4.0] })).is_empty());
        assert!(thin(&rays(|_, _| vec![4.0, 6.0, 6.1])).is_empty());
        // The tip of a lip that is thicker on the ray before.
        let lip = |row, column| match (row, column) {
            (2, 7) => vec![4.0, 5.9, 6.0],
            (1, 7) => vec![4.0, 5.0, 6.0],
            _ => vec![4.0],
        };
        assert!(thin(&rays(lip)).is_empty());
        let speck = rays(|row, column| if (row, column) == (2, 7) { vec![4.0, 6.0, 6.2] } else { vec![4.0] });
        assert!(thin(&speck).is_empty());
    }
}
