//! Where everything stands on the page.

use super::canvas::Area;

/// Room left of the skin, for its angles.
const LEFT: i32 = 128;
/// Room right of the skin, for the legend; long names may take more where the page is not full.
const RIGHT: i32 = 344;
const RIGHT_AT_MOST: i32 = 640;
/// Room over the skin, for titles and the mark of the jaw face.
const TOP: i32 = 164;
/// Room under the skin, for stations and the scale bar.
const BOTTOM: i32 = 142;
/// Most and least size of the skin itself.
const PAGE: [i32; 2] = [1600, 1100];
const WIDEST: f64 = (PAGE[0] - LEFT - RIGHT) as f64;
const TALLEST: f64 = (PAGE[1] - TOP - BOTTOM) as f64;
const NARROWEST: f64 = 400.0;
const LOWEST: f64 = 320.0;

/// The page and the skin on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Layout {
    pub(super) width: i32,
    pub(super) height: i32,
    /// The skin: one turn high, the blank long.
    pub(super) skin: Area,
    /// Station at the left edge of the skin, mm.
    pub(super) first: f64,
    /// Length of the skin, mm.
    pub(super) length: f64,
    /// How many times the way around is drawn wider than the way along; 1 in true proportions.
    pub(super) stretch: f64,
}

impl Layout {
    /// No page is wider or taller, pixels.
    pub(super) const PAGE: [u64; 2] = [PAGE[0] as u64, PAGE[1] as u64];
    /// No skin is wider or taller, pixels.
    pub(super) const SKIN: [u64; 2] = [WIDEST as u64, TALLEST as u64];

    /// From the skin to the legend.
    pub(super) const LEGEND: i32 = 56;

    /// The layout for a blank of a length and a way around (mm).
    ///
    /// The skin keeps its proportions and takes all the room there is; only where it would become a strip too low or
    /// too narrow to read is it stretched. `legend`: pixels it would like.
    pub(super) fn new(first: f64, length: f64, around: f64, legend: i32) -> Layout {
        let scale = (WIDEST / length).min(TALLEST / around);
        let width = (length * scale).max(NARROWEST).round();
        let height = (around * scale).max(LOWEST).round();
        let stretch = (height / around) / (width / length);
        let skin = Area { left: LEFT, top: TOP, width: width as i32, height: height as i32 };
        Layout {
            width: (skin.right() + (Layout::LEGEND + legend).clamp(RIGHT, RIGHT_AT_MOST)).min(PAGE[0]),
            height: skin.bottom() + BOTTOM,
            skin,
            first,
            length,
            // Whole pixels leave a difference of up to a third of a percent; that is true to the eye.
            stretch: if (stretch - 1.0).abs() < 0.01 { 1.0 } else { stretch },
        }
    }

    /// Pixels a millimetre along.
    pub(super) fn scale(&self) -> f64 {
        f64::from(self.skin.width) / self.length
    }

    /// Column of pixels a station falls on.
    pub(super) fn across(&self, station: f64) -> i32 {
        self.skin.left + ((station - self.first) * self.scale()).round() as i32
    }
}

/// The least of 1, 2, 5, 10, 20 … that is at least as great.
pub(super) fn round_step(least: f64) -> f64 {
    let mut power = -9;
    loop {
        for leading in [1.0, 2.0, 5.0] {
            // Parsed, because a product of powers would not be the round number exactly.
            let step = format!("{leading}e{power}").parse().unwrap_or(f64::INFINITY);
            if step >= least * 0.999_999 || power >= 12 {
                return step;
            }
        }
        power += 1;
    }
}

/// How many decimals a multiple of a round step needs.
pub(super) fn decimals(step: f64) -> usize {
    (0..9).find(|&count| step * f64::from(10u32.pow(count as u32)) > 0.999).unwrap_or(9)
}

/// The multiples of a step from one number to another, at most a thousand.
pub(super) fn multiples(step: f64, from: f64, to: f64) -> Vec<f64> {
    let (first, last) = ((from / step - 1e-9).ceil(), (to / step + 1e-9).floor());
    (0..1000).map(|k| first + f64::from(k)).take_while(|&k| k <= last).map(|k| k * step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn proportions_are_true_where_they_can_be() {
        let chunky = Layout::new(-15.0, 200.0, 201.0, 0);
        assert_eq!(chunky.stretch, 1.0);
        let (width, height) = (f64::from(chunky.skin.width), f64::from(chunky.skin.height));
        assert!((width / height - 200.0 / 201.0).abs() < 0.003);
        let long = Layout::new(0.0, 900.0, 201.0, 0);
        assert_eq!((long.width, long.skin.height, long.stretch > 1.0), (1600, 320, true));
        let flat = Layout::new(0.0, 20.0, 900.0, 0);
        assert_eq!((flat.skin.width, flat.height, flat.stretch < 1.0), (400, 1100, true));
    }

    #[test]
    fn stations_fall_where_they_should() {
        let layout = Layout::new(-15.0, 200.0, 201.0, 0);
        assert_eq!(layout.across(-15.0), layout.skin.left);
        assert_eq!(layout.across(185.0), layout.skin.right());
    }

    #[test]
    fn steps_are_round() {
        for (least, step) in [(0.3, 0.5), (1.0, 1.0), (1.1, 2.0), (3.0, 5.0), (7.0, 10.0), (230.0, 500.0)] {
            assert_eq!(round_step(least), step);
        }
        assert_eq!([5.0, 1.0, 0.5, 0.02].map(decimals), [0, 0, 1, 2]);
        assert_eq!(multiples(20.0, -15.0, 61.0), [0.0, 20.0, 40.0, 60.0]);
        assert_eq!(multiples(0.1, 0.0, 0.3).len(), 4);
    }

    proptest! {
        #[test]
        fn every_blank_gets_a_page_of_sensible_size(length in 1e-3f64..1e5, around in 1e-3f64..1e5) {
            let layout = Layout::new(0.0, length, around, 10_000);
            prop_assert!((860..=1600).contains(&layout.width) && (500..=1100).contains(&layout.height));
            prop_assert!(layout.skin.width as u64 <= Layout::SKIN[0] && layout.skin.height as u64 <= Layout::SKIN[1]);
        }

        #[test]
        fn a_round_step_is_just_great_enough(least in 1e-6f64..1e6) {
            let step = round_step(least);
            prop_assert!(step >= least * 0.999_999 && step < least * 2.501);
        }
    }
}
