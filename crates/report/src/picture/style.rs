//! Colours, patterns and type sizes of the pictures.
//!
//! Categories take the palette of Okabe and Ito, *Color universal design* (2002), and each has a pattern as well, so
//! that hue is never the only mark. Measures take batlow (Crameri, Shephard and Heron, *The misuse of colour in science
//! communication*, Nature Communications 11, 5444, 2020), whose lightness rises evenly; deviations vik, of the same work,
//! which is lightest in its middle.

use super::canvas::{Colour, mixed};
use crate::batlow::BATLOW;
use crate::vik::VIK;

pub(super) const PAPER: Colour = [252, 251, 247];
pub(super) const INK: Colour = [34, 37, 42];
pub(super) const SOFT_INK: Colour = [92, 96, 102];
pub(super) const RULE: Colour = [150, 152, 154];
/// Rays nothing has cut, in maps of what cut last.
pub(super) const RAW: Colour = [226, 220, 208];

pub(super) const TITLE: f32 = 30.0;
pub(super) const HEADING: f32 = 21.0;
pub(super) const BODY: f32 = 16.0;

/// Orange, sky blue, bluish green, yellow, blue, vermilion, reddish purple.
pub(super) const HUES: [Colour; 7] =
    [[230, 159, 0], [86, 180, 233], [0, 158, 115], [240, 228, 66], [0, 114, 178], [213, 94, 0], [204, 121, 167]];

/// How many patterns there are; with seven hues, 56 categories pass before a pair repeats.
const PATTERNS: usize = 8;

/// Colour of a measure: 0 darkest, 1 lightest.
pub(super) fn measured(share: f64) -> Colour {
    BATLOW[(share.clamp(0.0, 1.0) * 255.0).round() as usize]
}

/// How far from zero the scale of deviations still fades to paper.
pub(super) const FADES: f64 = 0.15;

/// Colour of a deviation: −1 farthest below, 0 as wanted, 1 farthest over.
pub(super) fn deviating(share: f64) -> Colour {
    let share = share.clamp(-1.0, 1.0);
    let colour = VIK[((0.5 * share + 0.5) * 255.0).round() as usize];
    let paper = (1.0 - share.abs() / FADES).max(0.0);
    mixed(colour, PAPER, (paper * 255.0).round() as u8)
}

/// A deviation beyond what is allowed.
pub(super) fn beyond(colour: Colour, x: i32, y: i32) -> Colour {
    if (x - y).rem_euclid(8) < 2 { striped(colour) } else { colour }
}

/// A stripe over a colour.
pub(super) fn striped(colour: Colour) -> Colour {
    if is_light(colour) { mixed(colour, INK, 150) } else { mixed(colour, PAPER, 190) }
}

/// Colour of a category's pixel.
pub(super) fn category(index: usize, x: i32, y: i32) -> Colour {
    let hue = HUES[index % HUES.len()];
    if !marked(index % PATTERNS, x, y) {
        return hue;
    }
    if is_light(hue) { mixed(hue, INK, 120) } else { mixed(hue, PAPER, 150) }
}

/// Colour of a category without its pattern.
pub(super) fn hue(index: usize) -> Colour {
    HUES[index % HUES.len()]
}

/// Whether a dark mark is seen better on a colour than a light one.
fn is_light(colour: Colour) -> bool {
    let [red, green, blue] = colour.map(u32::from);
    red * 3 + green * 6 + blue > 1000
}

/// Whether a pattern has its mark at a pixel.
fn marked(pattern: usize, x: i32, y: i32) -> bool {
    let (column, row) = (x.rem_euclid(12), y.rem_euclid(12));
    let (rising, falling) = ((x + y).rem_euclid(12), (x - y).rem_euclid(12));
    match pattern {
        0 => false,
        1 => rising < 2,
        2 => (4..7).contains(&column) && (4..7).contains(&row),
        3 => falling < 2,
        4 => row < 2,
        5 => column < 2,
        6 => (5..7).contains(&column) && (2..10).contains(&row) || (5..7).contains(&row) && (2..10).contains(&column),
        _ => rising < 2 || falling < 2,
    }
}

/// Where nothing is left: paper with a fine lattice.
pub(super) fn gone(x: i32, y: i32) -> Colour {
    let lattice = (x + y).rem_euclid(9) == 0 || (x - y).rem_euclid(9) == 0;
    if lattice { mixed(PAPER, INK, 95) } else { PAPER }
}

/// A bore or a dimple in maps of what cut last: raw, dotted.
pub(super) fn bore(x: i32, y: i32) -> Colour {
    let dot = x.rem_euclid(6) < 2 && (y + 3 * x.div_euclid(6).rem_euclid(2)).rem_euclid(6) < 2;
    if dot { mixed(RAW, INK, 130) } else { RAW }
}

/// The part held in the jaws: whatever is there, lightly hatched.
pub(super) fn held(colour: Colour, x: i32, y: i32) -> Colour {
    match (x + y).rem_euclid(14) < 2 {
        true if is_light(colour) => mixed(colour, INK, 70),
        true => mixed(colour, PAPER, 130),
        false => colour,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lightness L* of CIE 1976 for sRGB under D65.
    fn lightness(colour: Colour) -> f64 {
        let linear = colour.map(|part| {
            let part = f64::from(part) / 255.0;
            if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        });
        let y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
        if y > 0.008856 { 116.0 * y.cbrt() - 16.0 } else { 903.3 * y }
    }

    #[test]
    fn a_greater_measure_is_never_darker() {
        let steps: Vec<f64> = (0..=255).map(|step| lightness(measured(f64::from(step) / 255.0))).collect();
        // Eight-bit colours: a step may fall back by what one count of green is worth, a tenth of a step's worth a map.
        assert!(steps.windows(2).all(|pair| pair[1] > pair[0] - 0.4));
        assert!(steps.windows(16).all(|run| run[15] > run[0]));
        assert!(steps[255] - steps[0] > 70.0);
    }

    #[test]
    fn a_greater_deviation_is_darker_to_both_sides_and_none_is_paper() {
        assert_eq!(deviating(0.0), PAPER);
        for side in [-1.0, 1.0] {
            let steps: Vec<f64> = (0..=128).map(|step| lightness(deviating(side * f64::from(step) / 128.0))).collect();
            assert!(steps.windows(8).all(|run| run[7] < run[0]), "{steps:?}");
        }
        assert_ne!(deviating(-1.0), deviating(1.0));
    }

    #[test]
    fn what_is_beyond_is_marked_on_light_and_on_dark() {
        for share in [-1.0, -0.3, 0.05, 1.0] {
            let colour = deviating(share);
            let marks = (0..64).filter(|k| beyond(colour, k % 8, k / 8) != colour).count();
            assert_eq!(marks, 16);
        }
    }

    #[test]
    fn no_two_of_56_categories_look_the_same() {
        let tile = |index| (0..144).map(|k| category(index, k % 12, k / 12)).collect::<Vec<_>>();
        let tiles: Vec<_> = (0..56).map(tile).collect();
        for (index, one) in tiles.iter().enumerate() {
            assert!(!tiles[..index].contains(one));
        }
    }

    #[test]
    fn patterns_can_be_told_without_colour() {
        for pattern in 0..PATTERNS {
            let marks = |pattern| (0..144).map(|k| marked(pattern, k % 12, k / 12)).collect::<Vec<_>>();
            assert!((0..pattern).all(|other| marks(other) != marks(pattern)));
        }
    }
}
