//! How far a point is from a triangle.

use glam::DVec3;

/// Distance of a point from a triangle, by the part of the triangle it lies before (Ericson, *Real-Time Collision
/// Detection*, 5.1.5).
pub(crate) fn from_triangle(point: DVec3, [a, b, c]: [DVec3; 3]) -> f64 {
    let (ab, ac) = (b - a, c - a);
    let from = |corner: DVec3| ((point - corner).dot(ab), (point - corner).dot(ac));
    let ((d1, d2), (d3, d4), (d5, d6)) = (from(a), from(b), from(c));
    let (beyond_c, beyond_b, beyond_a) = (d1 * d4 - d3 * d2, d5 * d2 - d1 * d6, d3 * d6 - d5 * d4);
    let nearest = if d1 <= 0.0 && d2 <= 0.0 {
        a
    } else if d3 >= 0.0 && d4 <= d3 {
        b
    } else if d6 >= 0.0 && d5 <= d6 {
        c
    } else if beyond_c <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        a + ab * (d1 / (d1 - d3))
    } else if beyond_b <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        a + ac * (d2 / (d2 - d6))
    } else if beyond_a <= 0.0 && d4 >= d3 && d5 >= d6 {
        b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)))
    } else {
        let sum = beyond_a + beyond_b + beyond_c;
        a + ab * (beyond_b / sum) + ac * (beyond_c / sum)
    };
    let distance = (point - nearest).length();
    // A triangle without area may have no inside to lie before.
    if distance.is_nan() { (point - a).length() } else { distance }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_of_a_triangle_can_be_the_nearest() {
        let triangle = [DVec3::ZERO, DVec3::new(4.0, 0.0, 0.0), DVec3::new(0.0, 3.0, 0.0)];
        let rows = [
            ([1.0, 1.0, 2.0], 2.0),
            ([-3.0, -4.0, 0.0], 5.0),
            ([7.0, 0.0, 4.0], 5.0),
            ([0.0, 6.0, 4.0], 5.0),
            ([2.0, -3.0, 4.0], 5.0),
            ([-3.0, 1.0, 4.0], 5.0),
            ([2.0 + 3.0, 1.5 + 4.0, 0.0], 5.0),
        ];
        for (point, expected) in rows {
            let found = from_triangle(DVec3::from_array(point), triangle);
            assert!((found - expected).abs() < 1e-12, "{point:?}: {found}");
        }
    }
}
