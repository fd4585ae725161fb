//! The moving body made smaller by a skin: what must still meet a fixed body for a contact to count.

use super::shape::MovingPart;

/// Heights and radii closer than this are one, mm.
const SAME: f64 = 1e-9;

/// The parts of a body, each made smaller by `skin` mm on every face that is a face of the whole body.
///
/// Where two parts meet at a height, the skin must not open a slit between them: the narrower one is lengthened into
/// the wider one instead, and two of one radius stay as they are there.
pub(crate) fn shrunk(parts: &[MovingPart], skin: f64) -> Vec<MovingPart> {
    parts
        .iter()
        .filter_map(|part| {
            let ([low, high], [low_radius, high_radius]) = (part.heights(), part.end_radii());
            let under = meeting(parts, low, |other| (other.heights()[1], other.end_radii()[1]));
            let over = meeting(parts, high, |other| (other.heights()[0], other.end_radii()[0]));
            let rise = skin * step(low_radius, under);
            let fall = skin * step(high_radius, over);
            shrink(part, skin, rise, fall).filter(MovingPart::is_body)
        })
        .collect()
}

/// The widest radius that other parts show at the height `at`.
fn meeting(parts: &[MovingPart], at: f64, end: impl Fn(&MovingPart) -> (f64, f64)) -> Option<f64> {
    parts
        .iter()
        .map(end)
        .filter(|(height, _)| (height - at).abs() < SAME)
        .map(|(_, radius)| radius)
        .max_by(f64::total_cmp)
}

/// By how many skins a face of this radius steps back from a neighbour's.
fn step(radius: f64, neighbour: Option<f64>) -> f64 {
    match neighbour {
        Some(other) if (other - radius).abs() < SAME => 0.0,
        Some(other) if other > radius => -1.0,
        _ => 1.0,
    }
}

fn shrink(part: &MovingPart, skin: f64, rise: f64, fall: f64) -> Option<MovingPart> {
    match *part {
        MovingPart::Cylinder { radius, from, to, rounding } if rounding > skin => Some(MovingPart::Cylinder {
            radius: radius - skin,
            from: from + skin,
            to: to - skin,
            rounding: rounding - skin,
        }),
        MovingPart::Cylinder { radius, from, to, .. } => {
            (radius > skin).then(|| MovingPart::cylinder(radius - skin, from + rise, to - fall))
        }
        MovingPart::Bowl { disc, tube, center, top } => {
            (tube > skin).then_some(MovingPart::Bowl { disc, tube: tube - skin, center, top: top - fall })
        }
        MovingPart::Frustum { from, from_radius, to, to_radius } => {
            let slope = (to_radius - from_radius) / (to - from);
            let inward = skin * (1.0 + slope * slope).sqrt();
            let radius = |height: f64| from_radius + slope * (height - from) - inward;
            let (mut low, mut high) = (from + rise, to - fall);
            // Where the smaller cone comes to its point before the cut, it ends there.
            let point = from + (inward - from_radius) / slope;
            if radius(low) < 0.0 && slope > 0.0 {
                low = point;
            }
            if radius(high) < 0.0 && slope < 0.0 {
                high = point;
            }
            Some(MovingPart::Frustum {
                from: low,
                from_radius: radius(low).max(0.0),
                to: high,
                to_radius: radius(high).max(0.0),
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cylinder_loses_the_skin_on_every_face() {
        let cylinder = MovingPart::cylinder(3.0, 0.0, 20.0);
        let MovingPart::Cylinder { radius, from, to, .. } = shrunk(&[cylinder], 0.02)[0] else { panic!() };
        assert!((radius - 2.98).abs() < 1e-12 && (from - 0.02).abs() < 1e-12 && (to - 19.98).abs() < 1e-12);
    }

    #[test]
    fn no_slit_opens_between_two_parts() {
        let stack = [MovingPart::cylinder(10.0, 35.0, 43.0), MovingPart::cylinder(12.5, 43.0, 63.0)];
        let smaller = shrunk(&stack, 0.02);
        assert!((smaller[0].heights()[1] - 43.02).abs() < 1e-12);
        assert!((smaller[1].heights()[0] - 43.02).abs() < 1e-12);
        let vee = [
            MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: 6.0, to_radius: 6.0 },
            MovingPart::cylinder(6.0, 6.0, 20.0),
        ];
        let smaller = shrunk(&vee, 0.02);
        assert_eq!((smaller[0].heights()[1], smaller[1].heights()[0]), (6.0, 6.0));
    }

    #[test]
    fn a_point_moves_up_by_the_skin_over_the_sine_of_its_side() {
        let vee = MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: 6.0, to_radius: 6.0 };
        let point = shrunk(&[vee], 0.02)[0].heights()[0];
        assert!((point - 0.02 * 2f64.sqrt()).abs() < 1e-12, "{point}");
    }

    #[test]
    fn what_is_thinner_than_two_skins_vanishes() {
        assert!(shrunk(&[MovingPart::cylinder(0.01, 0.0, 5.0), MovingPart::cylinder(3.0, 9.0, 9.03)], 0.02).is_empty());
    }
}
