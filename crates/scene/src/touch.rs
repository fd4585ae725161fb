//! Where a cutter's tip comes to stand when it is let down on the blank over the rotary axis.
//!
//! The height is the greatest, over all points of the blank under the cutter, of their height less that of the cutter's
//! lower face over its tip there. It is sought on a field of rays under the cutter that is drawn closer around the best of
//! them again and again.

use dryturn_geom::{Flutes, angle};

/// Rays to either side of the best, along the axis and around it.
const HALF: i32 = 8;
/// How often the field is drawn closer, and how much: to less than a part in a million.
const CLOSER: u32 = 14;
const BY: f64 = 3.0;

/// How far the wood reaches from the axis, mm, at a station (mm) and an angle θ (radians); `None` where there is none.
pub(crate) type Outermost<'a> = dyn Fn(f64, f64) -> Option<f64> + 'a;

/// Height of the tip over the axis, mm, at a station (mm) with an angle θ (radians) on top; `None` where there is nothing
/// to come down on.
pub(crate) fn height(wood: &Outermost<'_>, flutes: &Flutes, station: f64, turn: f64) -> Option<f64> {
    let radius = flutes.radius();
    let (mut best, mut at) = (None, [0.0, 0.0]);
    let mut spread = [radius, std::f64::consts::FRAC_PI_2];
    for _ in 0..CLOSER {
        let from = at;
        // Of equals the one nearest to the middle stays, where most room is to go on.
        for i in outward() {
            for j in outward() {
                let [along, around] = [from[0] + spread[0] * part(i), from[1] + spread[1] * part(j)];
                let Some(height) = over(wood, flutes, [station, turn], [along, around]) else { continue };
                if best.is_none_or(|best| height > best) {
                    (best, at) = (Some(height), [along, around]);
                }
            }
        }
        spread = spread.map(|spread| spread / BY);
    }
    best
}

/// Steps to both sides, the nearest first.
fn outward() -> impl Iterator<Item = i32> {
    std::iter::once(0).chain((1..=HALF).flat_map(|step| [step, -step]))
}

fn part(step: i32) -> f64 {
    f64::from(step) / f64::from(HALF)
}

/// Where the tip stands when the cutter rests on the outermost point of a ray, if that lies under it.
fn over(wood: &Outermost<'_>, flutes: &Flutes, [station, turn]: [f64; 2], [along, around]: [f64; 2]) -> Option<f64> {
    let outer = wood(station + along, turn + around)?;
    let (sine, cosine) = angle::sin_cos(around);
    let lower = flutes.height_at(angle::hypot(along, outer * sine));
    lower.is_finite().then_some(outer * cosine - lower)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::{Section, Shape, Stock};

    fn cutter(shape: Shape) -> Flutes {
        Flutes::new(shape, 3.0, 20.0).unwrap()
    }

    fn outline(stock: &Stock) -> impl Fn(f64, f64) -> Option<f64> {
        |station, theta| Some(stock.spans(station, theta).as_slice().last()?.1)
    }

    #[track_caller]
    fn assert_height(stock: &Stock, flutes: &Flutes, station: f64, turn: f64, expected: f64) {
        let found = height(&outline(stock), flutes, station, turn).unwrap();
        assert!((found - expected).abs() < 1e-4, "{found} is not {expected}");
    }

    #[test]
    fn on_a_round_a_flat_a_corner_and_past_the_end() {
        let (flat, ball) = (cutter(Shape::Flat), cutter(Shape::Ball));
        let round = Stock::round(25.0, 100.0);
        assert_height(&round, &flat, 50.0, 0.0, 25.0);
        assert_height(&round, &ball, 50.0, 1.0, 25.0);
        let square = Stock { section: Section::Polygon { apothem: 20.0, sides: 4 }, ..round.clone() };
        assert_height(&square, &ball, 50.0, 0.0, 20.0);
        assert_height(&square, &flat, 50.0, std::f64::consts::FRAC_PI_4, 20.0 * 2f64.sqrt());
        // Turned by 10° a ball rests on the slope, its centre 20 + 3 from the flat; a flat cutter with its edge.
        let (s, c) = angle::sin_cos(angle::radians(10.0));
        assert_height(&square, &ball, 50.0, angle::radians(10.0), 23.0 / c - 3.0);
        assert_height(&square, &flat, 50.0, angle::radians(10.0), (20.0 + 3.0 * s) / c);
        // Half over the end a ball rests on the edge.
        assert_height(&round, &ball, 102.0, 0.0, 25.0 - (3.0 - 5f64.sqrt()));
        assert_eq!(height(&outline(&round), &flat, 103.5, 0.0), None);
    }
}
