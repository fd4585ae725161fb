//! The point nearest to a set of planes.
//!
//! The sum of squared distances from planes is least where A v = b with A = Σ n nᵀ (Ju et al., *Dual contouring of
//! Hermite data*, SIGGRAPH 2002). Directions in which the planes hardly differ are left alone: their eigenvalues are
//! small beside the largest. They are found by Jacobi's rotations (Golub and Van Loan, *Matrix Computations*, 8.5).

use glam::{DMat3, DVec3};

/// A plane through a point, with its unit normal.
pub(crate) type Plane = (DVec3, DVec3);

/// The normals of some planes by their main directions.
pub(crate) struct Spread {
    values: [f64; 3],
    directions: [DVec3; 3],
}

/// Sweeps of rotations: each squares the error, from 1 at the most.
const SWEEPS: usize = 8;

impl Spread {
    pub(crate) fn of(planes: &[Plane]) -> Spread {
        let mut a = DMat3::ZERO;
        for (_, n) in planes {
            a += DMat3::from_cols(*n * n.x, *n * n.y, *n * n.z);
        }
        let mut directions = DMat3::IDENTITY;
        for _ in 0..SWEEPS {
            for (p, q) in [(0, 1), (0, 2), (1, 2)] {
                rotate(&mut a, &mut directions, p, q);
            }
        }
        let mut order = [0, 1, 2];
        order.sort_by(|&one, &other| a.col(other)[other].total_cmp(&a.col(one)[one]));
        Spread { values: order.map(|k| a.col(k)[k]), directions: order.map(|k| directions.col(k)) }
    }

    /// In how many directions the planes differ by more than a share of the first.
    pub(crate) fn rank(&self, share: f64) -> usize {
        self.values.iter().filter(|value| **value > share * self.values[0]).count()
    }

    /// The direction in which two of the planes meet, if no more than two directions count.
    pub(crate) fn edge(&self, rank: usize) -> Option<DVec3> {
        (rank == 2).then_some(self.directions[2])
    }

    /// The point nearest to the planes that is reached from another in the first `rank` directions.
    pub(crate) fn solve(&self, planes: &[Plane], from: DVec3, rank: usize) -> DVec3 {
        let pull: DVec3 = planes.iter().map(|(point, normal)| *normal * normal.dot(*point - from)).sum();
        let parts = self.directions.iter().zip(self.values).take(rank);
        from + parts.map(|(direction, value)| *direction * (direction.dot(pull) / value)).sum::<DVec3>()
    }
}

/// Turns the axes p and q so that their mixed term becomes nothing.
fn rotate(a: &mut DMat3, directions: &mut DMat3, p: usize, q: usize) {
    let mixed = a.col(q)[p];
    if mixed == 0.0 {
        return;
    }
    let slope = (a.col(q)[q] - a.col(p)[p]) / (2.0 * mixed);
    let tangent = slope.signum() / (slope.abs() + (slope * slope + 1.0).sqrt());
    let cosine = 1.0 / (tangent * tangent + 1.0).sqrt();
    let sine = tangent * cosine;
    let mut turn = DMat3::IDENTITY;
    turn.col_mut(p)[p] = cosine;
    turn.col_mut(q)[q] = cosine;
    turn.col_mut(q)[p] = sine;
    turn.col_mut(p)[q] = -sine;
    *a = turn.transpose() * *a * turn;
    *directions *= turn;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_planes_meet_in_a_corner_and_two_in_an_edge() {
        let corner = DVec3::new(1.0, -2.0, 0.5);
        let slanted = DVec3::new(0.6, 0.0, 0.8);
        let planes = [(corner + DVec3::Y, DVec3::X), (corner + DVec3::X, DVec3::Y), (corner, slanted)];
        let spread = Spread::of(&planes);
        assert_eq!(spread.rank(0.02), 3);
        assert!((spread.solve(&planes, DVec3::ZERO, 3) - corner).length() < 1e-12);
        let spread = Spread::of(&planes[..2]);
        assert_eq!(spread.rank(0.02), 2);
        let found = spread.solve(&planes[..2], DVec3::new(0.0, 0.0, 7.0), 2);
        assert!((found - DVec3::new(corner.x, corner.y, 7.0)).length() < 1e-12);
    }

    #[test]
    fn a_few_sweeps_leave_no_mixed_terms() {
        let normals = [[0.3, 0.4, 0.9], [0.1, -0.8, 0.5], [0.7, 0.7, -0.1], [0.2, 0.1, 0.6]];
        let planes = normals.map(|n| (DVec3::ZERO, DVec3::from_array(n).normalize()));
        let spread = Spread::of(&planes);
        for (value, direction) in spread.values.iter().zip(spread.directions) {
            let through: DVec3 = planes.iter().map(|(_, n)| *n * n.dot(direction)).sum();
            assert!((through - direction * *value).length() < 1e-12);
        }
    }
}
