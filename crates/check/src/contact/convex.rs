//! Least and greatest values of functions of one variable that have but one valley or one hill.

/// Share of the range under which a bracket is a point.
const NARROW: f64 = 1e-13;

/// The place of the least value of a convex function on `range`, found from the sign and size of its slope; `slope`
/// gives the slope at a place, or `None` to stop there.
pub(super) fn valley(range: [f64; 2], mut slope: impl FnMut(f64) -> Option<f64>) -> f64 {
    let [mut low, mut high] = range;
    let Some(mut low_slope) = slope(low).filter(|&s| s < 0.0) else { return low };
    let Some(mut high_slope) = slope(high).filter(|&s| s > 0.0) else { return high };
    let narrow = NARROW * (high - low);
    let enough = 1e-12 * low_slope.abs().max(high_slope);
    let mut moved_low = None;
    for round in 0..100 {
        let width = high - low;
        if width <= narrow {
            break;
        }
        // The secant of the slopes; every third round halves the bracket, so that a kink cannot hold it up.
        let share = if round % 3 == 2 { 0.5 } else { low_slope / (low_slope - high_slope) };
        let place = low + width * share.clamp(1e-3, 1.0 - 1e-3);
        let Some(here) = slope(place) else { return place };
        if here.abs() <= enough {
            return place;
        }
        // An end that stays twice counts half: the next secant then reaches beyond the valley and moves it.
        if here < 0.0 {
            (low, low_slope) = (place, here);
            if moved_low.replace(true) == Some(true) {
                high_slope *= 0.5;
            }
        } else {
            (high, high_slope) = (place, here);
            if moved_low.replace(false) == Some(false) {
                low_slope *= 0.5;
            }
        }
    }
    0.5 * (low + high)
}

/// Root of a rising function on `range` by Newton's steps kept in the bracket; `function` gives value and slope.
pub(super) fn root(range: [f64; 2], start: f64, function: impl Fn(f64) -> (f64, f64)) -> f64 {
    let [mut low, mut high] = range;
    let narrow = 1e-14 * low.abs().max(high.abs());
    let mut place = start;
    for _ in 0..60 {
        let (value, slope) = function(place);
        if value == 0.0 {
            return place;
        }
        if value > 0.0 {
            high = place;
        } else {
            low = place;
        }
        let next = place - value / slope;
        let next = if next > low && next < high { next } else { 0.5 * (low + high) };
        if (next - place).abs() <= narrow {
            return next;
        }
        place = next;
    }
    place
}

/// Ratio of the golden section.
const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// The greatest value of a function with one hill on `range`, and its place.
pub(super) fn hill(range: [f64; 2], mut value: impl FnMut(f64) -> f64) -> (f64, f64) {
    let [low, high] = range;
    let mut best = (low, value(low));
    if high <= low {
        return best;
    }
    let mut offer = |place: f64| {
        let here = value(place);
        if here > best.1 {
            best = (place, here);
        }
        here
    };
    offer(high);
    let (mut a, mut b) = (low, high);
    let (mut c, mut d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut at_c, mut at_d) = (offer(c), offer(d));
    for _ in 0..56 {
        if at_c >= at_d {
            (b, d, at_d) = (d, c, at_c);
            c = b - GOLDEN * (b - a);
            at_c = offer(c);
        } else {
            (a, c, at_c) = (c, d, at_d);
            d = a + GOLDEN * (b - a);
            at_d = offer(d);
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_valley_is_found_inside_at_an_end_and_at_a_kink() {
        assert!((valley([-3.0, 5.0], |x| Some(x.powi(3) - 1.0)) - 1.0).abs() < 1e-9);
        assert_eq!(valley([2.0, 5.0], Some), 2.0);
        assert_eq!(valley([-5.0, -2.0], Some), -2.0);
        let kink = valley([-1.0, 7.0], |x| Some(if x < 0.3 { -1.0 } else { 1e6 }));
        assert!((kink - 0.3).abs() < 1e-10, "{kink}");
    }

    #[test]
    fn a_root_is_found_inside_and_at_both_ends() {
        let cube = |x: f64| (x.powi(3) - 2.0, 3.0 * x * x);
        assert!((root([0.0, 3.0], 1.5, cube) - 2f64.cbrt()).abs() < 1e-13);
        assert!((root([2.0, 3.0], 2.5, cube) - 2.0).abs() < 1e-12);
        assert!((root([0.0, 1.0], 0.5, cube) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_hill_is_found_inside_and_at_an_end() {
        let (place, value) = hill([0.0, 4.0], |x| 2.0 - (x - 1.0).powi(2));
        assert!((place - 1.0).abs() < 1e-6 && (value - 2.0).abs() < 1e-12);
        assert_eq!(hill([0.0, 4.0], |x| x), (4.0, 4.0));
        assert_eq!(hill([1.0, 1.0], |x| x), (1.0, 1.0));
    }
}
