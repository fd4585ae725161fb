//! What a cutter removes: bodies of revolution about the spindle axis, standing on the tip.

use crate::angle;

/// The form of the flutes. Lengths in mm, angles in radians.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A cylinder with a flat bottom.
    Flat,
    /// A half ball of the cutter's radius under a cylinder.
    Ball,
    /// A flat bottom rounded into the wall.
    Bull {
        /// Radius of the rounding, above 0 and at most the cutter's radius.
        corner: f64,
    },
    /// A cone, flat at the tip, under a cylinder.
    Vee {
        /// Angle of one side against the spindle axis.
        half_angle: f64,
        /// Radius of the flat at the tip; 0 for a point.
        tip_radius: f64,
    },
    /// A slender cone under a cylinder.
    Taper {
        /// Angle of one side against the spindle axis.
        half_angle: f64,
        /// Radius of the tip, of the ball or of the flat.
        tip_radius: f64,
        /// Whether the tip is a ball tangent to the cone, or a flat.
        ball: bool,
    },
    /// A pointed drill.
    Drill {
        /// Angle of one lip against the spindle axis.
        half_angle: f64,
    },
    /// Any profile, given from the tip up as (height, radius); straight lines between; it may narrow again.
    Form {
        /// Heights never fall; radii are never negative.
        profile: Vec<(f64, f64)>,
    },
}

/// Why a set of numbers is not a cutter.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FlutesError {
    /// A length that must be above zero and finite is not.
    #[error("the {what} must be a length above zero, not {value}")]
    NotPositive {
        /// Which length.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A length is larger than the one that bounds it.
    #[error("the {what} ({value} mm) is more than the {bound} ({limit} mm)")]
    TooLarge {
        /// Which length.
        what: &'static str,
        /// What was given, mm.
        value: f64,
        /// What bounds it.
        bound: &'static str,
        /// The bound, mm.
        limit: f64,
    },
    /// The angle leaves no cone.
    #[error("the angle of one side must lie between 0 and 90 degrees, not at {degrees}")]
    Angle {
        /// What was given, degrees.
        degrees: f64,
    },
    /// The profile of a form cutter is not one.
    #[error("profile row {row}: {what}")]
    Profile {
        /// 1-based row.
        row: usize,
        /// What is wrong with it.
        what: &'static str,
    },
}

/// A simple convex body of revolution about the spindle axis; heights are over the tip, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Primitive {
    /// All points within `radius` of the axis at or above the height `from`.
    Cylinder {
        /// Radius, mm.
        radius: f64,
        /// Lowest height, mm.
        from: f64,
    },
    /// The cone (or upturned cone) between two heights; the radius runs straight between them.
    Frustum {
        /// Lower height, mm.
        from: f64,
        /// Radius at the lower height, mm.
        from_radius: f64,
        /// Upper height, mm; above `from`.
        to: f64,
        /// Radius at the upper height, mm.
        to_radius: f64,
    },
    /// A ball with its centre on the axis.
    Sphere {
        /// Radius, mm.
        radius: f64,
        /// Height of the centre, mm.
        center: f64,
    },
    /// A flat disc fattened by a ball.
    RoundedDisc {
        /// Radius of the disc, mm.
        disc: f64,
        /// Radius of the ball, mm.
        tube: f64,
        /// Height of the disc, mm.
        center: f64,
    },
}

impl Primitive {
    /// Radius of the body at a height, or `None` where it has no section.
    pub fn radius_at(&self, height: f64) -> Option<f64> {
        match *self {
            Primitive::Cylinder { radius, from } => (height >= from).then_some(radius),
            Primitive::Frustum { from, from_radius, to, to_radius } => (from..=to)
                .contains(&height)
                .then(|| from_radius + (to_radius - from_radius) * ((height - from) / (to - from))),
            Primitive::Sphere { radius, center } => half_chord(radius, height - center),
            Primitive::RoundedDisc { disc, tube, center } => half_chord(tube, height - center).map(|h| disc + h),
        }
    }

    /// Lowest height at which the body reaches `distance` from the axis, or `None` if it never does.
    #[inline]
    fn lowest_at(&self, distance: f64) -> Option<f64> {
        match *self {
            Primitive::Cylinder { radius, from } => (distance <= radius).then_some(from),
            Primitive::Frustum { from, from_radius, to, to_radius } => {
                if distance <= from_radius {
                    Some(from)
                } else if distance <= to_radius {
                    Some(from + (to - from) * ((distance - from_radius) / (to_radius - from_radius)))
                } else {
                    None
                }
            }
            Primitive::Sphere { radius, center } => half_chord(radius, distance).map(|h| center - h),
            Primitive::RoundedDisc { disc, tube, center } => {
                half_chord(tube, (distance - disc).max(0.0)).map(|h| center - h)
            }
        }
    }
}

fn half_chord(radius: f64, offset: f64) -> Option<f64> {
    let square = radius * radius - offset * offset;
    (square >= 0.0).then(|| square.sqrt())
}

/// The convex union of a few primitives, cut off flat at `top`.
#[derive(Clone, Debug, PartialEq)]
pub struct ConvexPart {
    /// Height over the tip at which the part ends, mm.
    pub top: f64,
    /// Height over the tip at which the part begins, mm.
    pub bottom: f64,
    /// Greatest radius, mm.
    pub radius: f64,
    /// From the tip up; their union below `top` is convex.
    pub primitives: Vec<Primitive>,
}

impl ConvexPart {
    /// Lowest height over the tip at which the part reaches `distance` from the spindle axis, mm; `None` beyond it.
    #[inline]
    pub fn lowest_at(&self, distance: f64) -> Option<f64> {
        let heights = self.primitives.iter().filter_map(|primitive| primitive.lowest_at(distance));
        heights.filter(|&height| height <= self.top).reduce(f64::min)
    }
}

/// The cutting part of a cutter, from the tip (height 0) up to its flute length.
#[derive(Clone, Debug, PartialEq)]
pub struct Flutes {
    shape: Shape,
    radius: f64,
    length: f64,
    parts: Vec<ConvexPart>,
}

impl Flutes {
    /// The flutes of a `shape` with the greatest cutting `radius` and the flute `length` over the tip, mm.
    ///
    /// # Errors
    /// Where the numbers describe no body, [`FlutesError`] says which of them and why.
    pub fn new(shape: Shape, radius: f64, length: f64) -> Result<Self, FlutesError> {
        positive("radius", radius)?;
        positive("flute length", length)?;
        let parts = parts_of(&shape, radius, length)?;
        Ok(Flutes { shape, radius, length, parts })
    }

    /// The form the flutes were made from.
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// Greatest cutting radius, mm.
    pub fn radius(&self) -> f64 {
        self.radius
    }

    /// Flute length over the tip, mm.
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Convex bodies whose union is the flutes, from the tip up.
    pub fn parts(&self) -> &[ConvexPart] {
        &self.parts
    }

    /// Lowest height over the tip at which the flutes reach `distance` from the spindle axis, mm;
    /// infinite outside the cutter.
    pub fn height_at(&self, distance: f64) -> f64 {
        self.parts.iter().filter_map(|part| part.lowest_at(distance)).fold(f64::INFINITY, f64::min)
    }

    /// Greatest radius of the flutes at a height over the tip, mm; 0 where there are none.
    pub fn radius_at(&self, height: f64) -> f64 {
        self.parts
            .iter()
            .filter(|part| height >= part.bottom && height <= part.top)
            .flat_map(|part| part.primitives.iter().filter_map(|p| p.radius_at(height)))
            .fold(0.0, f64::max)
    }
}

fn positive(what: &'static str, value: f64) -> Result<(), FlutesError> {
    if value > 0.0 && value.is_finite() { Ok(()) } else { Err(FlutesError::NotPositive { what, value }) }
}

fn at_most(what: &'static str, value: f64, bound: &'static str, limit: f64) -> Result<(), FlutesError> {
    if value <= limit { Ok(()) } else { Err(FlutesError::TooLarge { what, value, bound, limit }) }
}

fn side_angle(half_angle: f64) -> Result<f64, FlutesError> {
    let slope = angle::tan(half_angle);
    if half_angle > 0.0 && half_angle < std::f64::consts::FRAC_PI_2 {
        Ok(slope)
    } else {
        Err(FlutesError::Angle { degrees: angle::degrees(half_angle) })
    }
}

fn parts_of(shape: &Shape, radius: f64, length: f64) -> Result<Vec<ConvexPart>, FlutesError> {
    let primitives = match *shape {
        Shape::Flat => vec![Primitive::Cylinder { radius, from: 0.0 }],
        Shape::Ball => {
            vec![Primitive::Sphere { radius, center: radius }, Primitive::Cylinder { radius, from: radius }]
        }
        Shape::Bull { corner } => {
            positive("corner radius", corner)?;
            at_most("corner radius", corner, "radius", radius)?;
            vec![
                Primitive::RoundedDisc { disc: radius - corner, tube: corner, center: corner },
                Primitive::Cylinder { radius, from: corner },
            ]
        }
        Shape::Vee { half_angle, tip_radius } => cone_and_wall(radius, tip_radius, half_angle)?,
        Shape::Drill { half_angle } => cone_and_wall(radius, 0.0, half_angle)?,
        Shape::Taper { half_angle, tip_radius, ball: false } => cone_and_wall(radius, tip_radius, half_angle)?,
        Shape::Taper { half_angle, tip_radius, ball: true } => ball_nosed_taper(radius, tip_radius, half_angle)?,
        Shape::Form { ref profile } => return form_parts(profile, length),
    };
    Ok(vec![part(primitives, 0.0, length, radius)])
}

fn part(mut primitives: Vec<Primitive>, bottom: f64, top: f64, radius: f64) -> ConvexPart {
    primitives.retain(|p| starts_at(p) < top);
    ConvexPart { top, bottom, radius, primitives }
}

fn starts_at(primitive: &Primitive) -> f64 {
    match *primitive {
        Primitive::Cylinder { from, .. } | Primitive::Frustum { from, .. } => from,
        Primitive::Sphere { radius, center } => center - radius,
        Primitive::RoundedDisc { tube, center, .. } => center - tube,
    }
}

fn cone_and_wall(radius: f64, tip_radius: f64, half_angle: f64) -> Result<Vec<Primitive>, FlutesError> {
    let slope = side_angle(half_angle)?;
    if tip_radius != 0.0 {
        positive("tip radius", tip_radius)?;
    }
    at_most("tip radius", tip_radius, "radius", radius)?;
    let wall = Primitive::Cylinder { radius, from: (radius - tip_radius) / slope };
    if tip_radius == radius {
        return Ok(vec![wall]);
    }
    let to = (radius - tip_radius) / slope;
    Ok(vec![Primitive::Frustum { from: 0.0, from_radius: tip_radius, to, to_radius: radius }, wall])
}

/// A ball of the tip radius, tangent to a cone of the given side angle, tangent height ρ(1 − sin α).
fn ball_nosed_taper(radius: f64, tip_radius: f64, half_angle: f64) -> Result<Vec<Primitive>, FlutesError> {
    let slope = side_angle(half_angle)?;
    positive("tip radius", tip_radius)?;
    at_most("tip radius", tip_radius, "radius", radius)?;
    let (sine, cosine) = angle::sin_cos(half_angle);
    let sphere = Primitive::Sphere { radius: tip_radius, center: tip_radius };
    let (from, from_radius) = (tip_radius * (1.0 - sine), tip_radius * cosine);
    let to = from + (radius - from_radius) / slope;
    Ok(vec![
        sphere,
        Primitive::Frustum { from, from_radius, to, to_radius: radius },
        Primitive::Cylinder { radius, from: to },
    ])
}

/// Splits a profile into runs that are convex on their own; the last radius goes on up to the flute length.
fn form_parts(profile: &[(f64, f64)], length: f64) -> Result<Vec<ConvexPart>, FlutesError> {
    check_profile(profile)?;
    let mut points = profile.to_vec();
    if let Some(&(height, radius)) = points.last()
        && height < length
    {
        points.push((length, radius));
    }
    let mut parts: Vec<ConvexPart> = Vec::new();
    let mut steepness = f64::NEG_INFINITY;
    let mut last_end = None;
    for pair in points.windows(2) {
        let [(from, from_radius), (to, to_radius)] = [pair[0], pair[1]];
        if to <= from || from >= length || (from_radius == 0.0 && to_radius == 0.0) {
            last_end = None;
            continue;
        }
        let slope = (to_radius - from_radius) / (to - from);
        let frustum = Primitive::Frustum { from, from_radius, to, to_radius };
        let joins = last_end == Some((from, from_radius)) && slope <= steepness;
        match parts.last_mut().filter(|_| joins) {
            Some(run) => {
                run.primitives.push(frustum);
                run.top = to.min(length);
                run.radius = run.radius.max(to_radius);
            }
            None => {
                let radius = from_radius.max(to_radius);
                parts.push(part(vec![frustum], from, to.min(length), radius));
            }
        }
        steepness = slope;
        last_end = Some((to, to_radius));
    }
    if parts.is_empty() {
        return Err(FlutesError::Profile { row: profile.len(), what: "the profile encloses no body" });
    }
    Ok(parts)
}

fn check_profile(profile: &[(f64, f64)]) -> Result<(), FlutesError> {
    if profile.len() < 2 {
        return Err(FlutesError::Profile { row: profile.len(), what: "at least two rows are needed" });
    }
    let mut above = 0.0;
    for (index, &(height, radius)) in profile.iter().enumerate() {
        let row = index + 1;
        if !(height.is_finite() && radius.is_finite()) {
            return Err(FlutesError::Profile { row, what: "height and radius must be finite numbers" });
        }
        if radius < 0.0 {
            return Err(FlutesError::Profile { row, what: "the radius is below zero" });
        }
        if height < above {
            return Err(FlutesError::Profile { row, what: "the height falls; rows go from the tip up" });
        }
        above = height;
    }
    if profile[0].0 != 0.0 {
        return Err(FlutesError::Profile { row: 1, what: "the first row must be the tip, at height 0" });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::radians;

    #[test]
    fn heights_of_the_plain_shapes() {
        let vee = Flutes::new(Shape::Vee { half_angle: radians(45.0), tip_radius: 0.0 }, 3.0, 10.0).unwrap();
        assert!((vee.height_at(2.0) - 2.0).abs() < 1e-12);
        assert_eq!(vee.height_at(3.1), f64::INFINITY);
        let bull = Flutes::new(Shape::Bull { corner: 1.0 }, 3.0, 10.0).unwrap();
        assert_eq!(bull.height_at(1.5), 0.0);
        assert!((bull.height_at(3.0) - 1.0).abs() < 1e-12);
        assert!((bull.radius_at(0.5) - (2.0 + 0.75f64.sqrt())).abs() < 1e-12);
    }

    #[test]
    fn a_ball_nosed_taper_is_smooth_where_ball_meets_cone() {
        let shape = Shape::Taper { half_angle: radians(5.0), tip_radius: 0.5, ball: true };
        let taper = Flutes::new(shape, 3.0, 40.0).unwrap();
        let [Primitive::Sphere { .. }, Primitive::Frustum { from, from_radius, .. }, Primitive::Cylinder { .. }] =
            taper.parts()[0].primitives[..]
        else {
            panic!("unexpected parts {:?}", taper.parts());
        };
        let sphere_radius = taper.parts()[0].primitives[0].radius_at(from).unwrap();
        assert!((sphere_radius - from_radius).abs() < 1e-12);
    }

    #[test]
    fn a_keyhole_form_splits_into_convex_runs() {
        let profile = vec![(0.0, 0.0), (0.0, 5.0), (4.0, 5.0), (4.0, 2.5), (12.0, 2.5)];
        let keyhole = Flutes::new(Shape::Form { profile }, 5.0, 20.0).unwrap();
        assert_eq!(keyhole.parts().len(), 2);
        assert_eq!(keyhole.radius_at(2.0), 5.0);
        assert_eq!(keyhole.radius_at(8.0), 2.5);
        assert_eq!(keyhole.radius_at(19.0), 2.5);
        assert_eq!(keyhole.height_at(4.0), 0.0);
    }

    #[test]
    fn a_dovetail_narrows_upward_under_its_neck() {
        let profile = vec![(0.0, 6.0), (8.0, 3.0), (10.0, 3.0)];
        let dovetail = Flutes::new(Shape::Form { profile }, 6.0, 10.0).unwrap();
        assert_eq!(dovetail.parts().len(), 2);
        assert!((dovetail.radius_at(4.0) - 4.5).abs() < 1e-12);
    }

    #[test]
    fn impossible_cutters_are_refused() {
        assert!(Flutes::new(Shape::Flat, 0.0, 10.0).is_err());
        assert!(Flutes::new(Shape::Flat, f64::NAN, 10.0).is_err());
        assert!(Flutes::new(Shape::Bull { corner: 4.0 }, 3.0, 10.0).is_err());
        assert!(Flutes::new(Shape::Drill { half_angle: radians(90.0) }, 3.0, 10.0).is_err());
        assert!(Flutes::new(Shape::Form { profile: vec![(0.0, 1.0), (-1.0, 1.0)] }, 3.0, 10.0).is_err());
    }
}
