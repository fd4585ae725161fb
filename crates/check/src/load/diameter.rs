//! How thick a cutter is where it cuts.

use dryturn_geom::{Flutes, Primitive};

/// Greatest cutting diameter up to a height over the tip, mm: of a ball 2√(h(D − h)) up to its middle. 0 where nothing cuts
/// so low, as at the very point of a cone.
pub(super) fn diameter_below(flutes: &Flutes, height: f64) -> f64 {
    let parts = flutes.parts().iter().filter(|part| part.bottom <= height);
    let widest = |part: &dryturn_geom::ConvexPart| {
        let top = height.min(part.top);
        part.primitives.iter().map(move |primitive| greatest_radius(primitive, top)).fold(0.0, f64::max)
    };
    2.0 * parts.map(widest).fold(0.0, f64::max)
}

/// Greatest radius of a body up to a height, mm.
fn greatest_radius(primitive: &Primitive, height: f64) -> f64 {
    let (foot, widest) = match *primitive {
        Primitive::Cylinder { from, .. } => (from, from),
        Primitive::Frustum { from, from_radius, to, to_radius } => {
            (from, if to_radius > from_radius { to } else { from })
        }
        Primitive::Sphere { radius, center } => (center - radius, center),
        Primitive::RoundedDisc { tube, center, .. } => (center - tube, center),
    };
    if height < foot { 0.0 } else { primitive.radius_at(height.min(widest)).unwrap_or(0.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::{Shape, angle};

    #[track_caller]
    fn is(shape: Shape, depth: f64, diameter: f64) {
        let flutes = Flutes::new(shape.clone(), 3.0, 20.0).unwrap();
        let found = diameter_below(&flutes, depth);
        assert!((found - diameter).abs() < 1e-6, "{shape:?} {depth} mm deep: {found}, not {diameter}");
    }

    #[test]
    fn of_every_shape() {
        is(Shape::Flat, 0.1, 6.0);
        // Effective diameter of a ball end, 2√(a_p(D − a_p)): any handbook of milling, from memory.
        is(Shape::Ball, 1.0, 4.472_136);
        is(Shape::Ball, 5.0, 6.0);
        is(Shape::Bull { corner: 1.0 }, 0.5, 4.0 + 3f64.sqrt());
        is(Shape::Bull { corner: 1.0 }, 0.0, 4.0);
        let (half_angle, drill) = (angle::radians(30.0), angle::radians(59.0));
        is(Shape::Vee { half_angle, tip_radius: 0.0 }, 1.0, 2.0 * half_angle.tan());
        is(Shape::Vee { half_angle, tip_radius: 0.0 }, 0.0, 0.0);
        is(Shape::Drill { half_angle: drill }, 1.0, 2.0 * drill.tan());
        is(Shape::Drill { half_angle: drill }, 9.0, 6.0);
        is(Shape::Taper { half_angle: angle::radians(5.0), tip_radius: 0.5, ball: true }, 0.5, {
            // On the cone, over the tangent point.
            let (sine, cosine) = angle::sin_cos(angle::radians(5.0));
            2.0 * (0.5 * cosine + (0.5 - 0.5 * (1.0 - sine)) * sine / cosine)
        });
    }

    #[test]
    fn a_form_that_narrows_upward_keeps_its_foot() {
        let profile = vec![(0.0, 0.0), (0.0, 3.0), (4.0, 3.0), (4.0, 1.5), (12.0, 2.5)];
        is(Shape::Form { profile: profile.clone() }, 1.0, 6.0);
        is(Shape::Form { profile }, 10.0, 6.0);
    }
}
