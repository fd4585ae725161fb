//! How far up a moving body must go to be free.
//!
//! Raised by t, a convex part meets a convex fixed body for t in one interval [α, β], or never. β is the greatest, over
//! the discs of the part's underside, of the fixed body's highest point within the disc's radius of the spindle axis
//! less the disc's height; α is the same seen in a level mirror. A body of several parts is freed by going up from 0
//! through those intervals: a gap between two of them is room enough.

use super::convex::hill;
use super::discs::Discs;
use super::distance::TipBox;
use super::shape::MovingPart;
use super::solid::{Solid, length};

/// Far below any height: a disc that misses the body by some length counts as this less that length, so that a search
/// for the highest place is led to the body.
const MISSED: f64 = -1e9;

/// How far to go up, and the point of the fixed body that asks for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lift {
    /// mm; below zero where the part already hangs over the body.
    pub(crate) rise: f64,
    /// Blank frame, mm.
    pub(crate) point: [f64; 3],
}

/// The greatest rise at which `part` still meets `solid`, the tip at the lowest height of `tip` and anywhere over its
/// ground; the part is widened by `grow` mm and the body heightened by it.
///
/// # Errors
/// Where it passes beside the body: by how much, mm.
pub(crate) fn last_meeting(part: &MovingPart, tip: &TipBox, solid: &Solid, grow: f64) -> Result<Lift, f64> {
    let discs = Discs::underside(part);
    let (height, point) = highest(&discs, tip, solid, grow, 1.0)?;
    Ok(Lift { rise: height + grow - tip.z[0], point })
}

/// The least rise at which `part`, its tip at `tip`, begins to meet `solid`.
fn first_meeting(part: &MovingPart, tip: &TipBox, solid: &Solid) -> Option<f64> {
    let Some(mirrored) = solid.mirrored() else { return Some(f64::NEG_INFINITY) };
    let discs = Discs::upper_side(part);
    highest(&discs, tip, &mirrored, 0.0, -1.0).ok().map(|(height, _)| -height - tip.z[0])
}

/// Greatest, over the discs, of the body's top within their radius less `sign` times their height.
fn highest(discs: &Discs, tip: &TipBox, solid: &Solid, grow: f64, sign: f64) -> Result<(f64, [f64; 3]), f64> {
    let top = |s: f64| {
        let disc = discs.at(s);
        top_within(solid, tip, disc.radius + grow).map(|point| (point[2] - sign * disc.height, point))
    };
    let (place, _) = hill(discs.range(), |s| led(top(s).map(|(height, _)| height)));
    top(place)
}

/// A height, or where there is none one that leads a search for the highest to where there is.
pub(crate) fn led(height: Result<f64, f64>) -> f64 {
    height.unwrap_or_else(|miss| MISSED - miss)
}

/// The highest point of the body within `radius` of a spindle axis that stands anywhere over the ground of `tip`;
/// else, by how much the nearest is missed.
fn top_within(solid: &Solid, tip: &TipBox, radius: f64) -> Result<[f64; 3], f64> {
    match *solid {
        Solid::Below { height } => Ok([middle(tip.x), middle(tip.y), height]),
        Solid::Box { x, y, z } => {
            let ((gx, px), (gy, py)) = (nearest(tip.x, x), nearest(tip.y, y));
            let miss = length(gx, gy) - radius;
            if miss > 0.0 { Err(miss) } else { Ok([px, py, z[1]]) }
        }
        Solid::Cylinder { x, y, z, radius: own } => cylinder_top(x, [y, z], own, tip, radius),
        Solid::Cone { x, slope } => {
            // Its discs across the axis: the top of each is concave in the station.
            let top = |station: f64| cylinder_top([station; 2], [0.0; 2], (station - x[0]) * slope, tip, radius);
            let (place, _) = hill(x, |station| led(top(station).map(|point| point[2])));
            top(place)
        }
        Solid::Bar { x, center, along, half } => {
            let (gx, px) = nearest(tip.x, x);
            let top = bar_top(center, along, half, window(gx, tip.y, radius).unwrap_or(tip.y));
            let miss = length(gx, top.err().unwrap_or(0.0)) - radius;
            top.ok().filter(|_| gx <= radius).map(|(y, z)| [px, y, z]).ok_or(miss)
        }
    }
}

/// Distance between two ranges, 0 where they overlap, and the coordinate of `b` nearest to the middle of `a`.
fn nearest(a: [f64; 2], b: [f64; 2]) -> (f64, f64) {
    ((b[0] - a[1]).max(a[0] - b[1]).max(0.0), middle(a).max(b[0]).min(b[1]))
}

fn middle(range: [f64; 2]) -> f64 {
    0.5 * (range[0] + range[1])
}

/// The offsets a disc reaches at the distance `gx` along the axis from its own.
fn window(gx: f64, y: [f64; 2], radius: f64) -> Option<[f64; 2]> {
    (gx <= radius).then(|| {
        let chord = (radius * radius - gx * gx).sqrt();
        [y[0] - chord, y[1] + chord]
    })
}

fn cylinder_top(x: [f64; 2], axis: [f64; 2], own: f64, tip: &TipBox, radius: f64) -> Result<[f64; 3], f64> {
    let (gx, px) = nearest(tip.x, x);
    let [low, high] = window(gx, tip.y, radius).unwrap_or(tip.y);
    let aside = (low - axis[0]).max(axis[0] - high).max(0.0);
    // Both ways to miss it are counted, so that a search is led past the one to the other.
    let miss = (aside - own).max(0.0) + (gx - radius).max(0.0);
    if miss > 0.0 {
        return Err(miss);
    }
    let y = if low > axis[0] { low } else { high.min(axis[0]) };
    Ok([px, y, axis[1] + (own * own - aside * aside).sqrt()])
}

/// The highest point (y, z) of a turned rectangle over the offsets `window`; else the distance between them.
fn bar_top(center: [f64; 2], along: [f64; 2], half: [f64; 2], window: [f64; 2]) -> Result<(f64, f64), f64> {
    // Turned by quarters until the first side points up and the second to the right or level.
    let ([uy, uz], [hu, hv]) = if along[1].abs() >= along[0].abs() {
        let sign = if along[1] < 0.0 { -1.0 } else { 1.0 };
        ([sign * along[0], sign * along[1]], half)
    } else {
        let sign = if along[0] < 0.0 { -1.0 } else { 1.0 };
        ([-sign * along[1], sign * along[0]], [half[1], half[0]])
    };
    // The other side, a quarter turn to the right: (uz, −uy).
    let corner = |a: f64, b: f64| (center[0] + a * hu * uy + b * hv * uz, center[1] + a * hu * uz - b * hv * uy);
    let (left, right) = (corner(1.0, -1.0), corner(1.0, 1.0));
    let (down_left, down_right) = (corner(-1.0, -1.0), corner(-1.0, 1.0));
    let chain = [down_left.0.min(left.0), down_right.0.max(right.0)];
    let miss = (chain[0] - window[1]).max(window[0] - chain[1]);
    if miss > 0.0 {
        return Err(miss);
    }
    let crest = if left.1 >= right.1 { left } else { right };
    let y = if window[0] > crest.0 {
        window[0]
    } else if window[1] < crest.0 {
        window[1]
    } else {
        return Ok(crest);
    };
    let on = |from: (f64, f64), to: (f64, f64)| {
        let width = to.0 - from.0;
        let share = if width > 0.0 { ((y - from.0) / width).clamp(0.0, 1.0) } else { 1.0 };
        from.1 + (to.1 - from.1) * share
    };
    let z = if y < left.0 {
        on(down_left, left)
    } else if y <= right.0 {
        on(left, right)
    } else {
        on(right, down_right)
    };
    Ok((y, z))
}

/// The least lift that frees the union of `parts` from `solid`; `None` where it does not meet it.
pub(crate) fn free_lift<'a>(parts: impl Iterator<Item = &'a MovingPart>, tip: &TipBox, solid: &Solid) -> Option<Lift> {
    let mut meetings: Vec<(f64, Lift)> = parts
        .filter_map(|part| Some((first_meeting(part, tip, solid)?, last_meeting(part, tip, solid, 0.0).ok()?)))
        .filter(|(first, last)| last.rise > 0.0 && *first <= last.rise)
        .collect();
    meetings.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut lift: Option<Lift> = None;
    for (first, last) in meetings {
        let reached = lift.map_or(0.0, |l| l.rise);
        if first > reached {
            break;
        }
        if last.rise > reached {
            lift = Some(last);
        }
    }
    lift
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contact::shape::{FixedBody, FixedShape};
    use crate::contact::solid::Fixed;
    use dryturn_geom::angle::radians;

    fn point(x: f64, y: f64, z: f64) -> TipBox {
        TipBox { x: [x; 2], y: [y; 2], z: [z; 2] }
    }

    fn lift_of(parts: &[MovingPart], shape: FixedShape, at: [f64; 3], turn: f64) -> f64 {
        let solid = Fixed::new(&FixedBody { row: String::new(), which: 0, shape }).at(radians(turn));
        free_lift(parts.iter(), &point(at[0], at[1], at[2]), &solid).map_or(0.0, |lift| lift.rise)
    }

    fn holder() -> Vec<MovingPart> {
        vec![MovingPart::cylinder(12.5, 35.0, 55.0)]
    }

    fn jaw() -> FixedShape {
        FixedShape::Jaw { x: [-22.0, 0.0], inner: 30.0, outer: 48.0, width: 14.0, angle: 0.0 }
    }

    fn ball() -> Vec<MovingPart> {
        vec![MovingPart::Cylinder { radius: 3.0, from: 0.0, to: 6.0, rounding: 3.0 }]
    }

    fn cone() -> FixedShape {
        FixedShape::ConeX { apex: 183.0, half_angle: radians(30.0), radius: 6.0 }
    }

    // Independently computed by raising the body until a general-purpose collision library called it free.
    #[test]
    fn lifts_match_values_computed_independently() {
        let chuck = FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 };
        let screw = FixedShape::Screw { from: 0.0, to: 25.0, radius: 2.0, offset: 10.0, angle: 0.0 };
        let vee = vec![MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: 6.0, to_radius: 6.0 }];
        let flat = vec![MovingPart::cylinder(3.0, 0.0, 20.0)];
        let cases = [
            (holder(), chuck, [-15.0, 6.0, 1.0], 0.0, 4.0),
            (holder(), jaw(), [5.0, 13.0, 3.0], 37.0, 4.547_210),
            (ball(), cone(), [188.0, 1.0, 0.0], 0.0, 3.271_629),
            (ball(), jaw(), [1.0, 6.0, 45.0], 10.0, 2.554_576),
            (holder(), cone(), [185.0, 2.0, -33.0], 0.0, 4.0),
            (flat, screw, [20.0, 1.0, 9.0], 25.0, 2.050_247),
            (vee, chuck, [-24.0, 5.0, 38.0], 0.0, 1.686_270),
        ];
        for (parts, shape, at, turn, expected) in cases {
            let found = lift_of(&parts, shape, at, turn);
            assert!((found - expected).abs() < 2e-6, "{shape:?}: {found} for {expected}");
        }
    }

    #[test]
    fn a_rim_that_shaves_the_side_of_a_cone_is_led_to_it() {
        let shape = FixedShape::ConeX { apex: 83.0, half_angle: 0.7, radius: 6.0 };
        // The axis of the rim stands aside of the cone's; past its point they overlap for half a millimetre.
        let rim = [MovingPart::cylinder(10.0, 0.0, 20.0)];
        let high = lift_of(&rim, shape, [76.18, -7.16, 0.1], 0.0);
        let sampled = (0..7000)
            .filter_map(|k| {
                let x = 83.0 + 0.001 * f64::from(k);
                let aside = 7.16 - (100.0 - (x - 76.18).powi(2)).max(0.0).sqrt();
                let own = (x - 83.0) * 0.7f64.tan();
                (aside < own && x < 86.18).then(|| (own * own - aside.max(0.0).powi(2)).sqrt())
            })
            .fold(0.0, f64::max);
        assert!(sampled > 0.2 && (high - (sampled - 0.1)).abs() < 1e-4, "{high} for {sampled}");
    }

    #[test]
    fn a_keyhole_cutter_under_a_bar_goes_up_only_to_the_gap() {
        // A head, and a collar 30 under it: the bar fits between, so the collar need not pass it.
        let parts = [MovingPart::cylinder(5.0, 0.0, 4.0), MovingPart::cylinder(9.0, -40.0, -30.0)];
        let bar = FixedShape::Box { x: [3.0, 8.0], y: [-1.0, 1.0], z: [0.0, 3.0] };
        let found = lift_of(&parts, bar, [0.0, 0.0, -1.0], 0.0);
        assert!((found - 4.0).abs() < 1e-12, "{found}");
        let joined = [parts[0], MovingPart::cylinder(4.0, -30.0, 0.0), parts[1]];
        let found = lift_of(&joined, bar, [0.0, 0.0, -1.0], 0.0);
        assert!((found - 44.0).abs() < 1e-12, "{found}");
    }

    #[test]
    fn bodies_side_by_side_need_no_lift() {
        assert_eq!(lift_of(&holder(), jaw(), [20.0, 0.0, 0.0], 0.0), 0.0);
    }

    #[test]
    fn the_bed_is_left_upward() {
        let found = lift_of(&ball(), FixedShape::Below { height: -75.0 }, [0.0, 0.0, -76.5], 0.0);
        assert!((found - 1.5).abs() < 1e-12, "{found}");
    }
}
