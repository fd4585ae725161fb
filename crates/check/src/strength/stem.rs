//! How far a cutter bends.

use std::f64::consts::PI;

use dryturn_scene::Cutter;

/// Modulus of cemented carbide and of high-speed steel, MPa (from memory): nobody says which a cutter is made of.
pub(crate) const CUTTER_MODULUS: [f64; 2] = [600_000.0, 210_000.0];
/// Diameter of a full round that bends like the flutes, beside that of the flutes (common practice, no source).
const FLUTES: f64 = 0.8;
/// Slices that the flutes are taken in.
const SLICES: u32 = 24;

/// What a cutter is between its tip and the holder: round lengths from the tip up.
pub(crate) struct Stem {
    lengths: Vec<Length>,
}

/// A round length between two heights over the tip, mm.
struct Length {
    from: f64,
    to: f64,
    /// One over three times the second moment of its section, 1/mm⁴.
    yielding: f64,
}

impl Stem {
    /// `None` where nobody says how far the cutter sticks out.
    pub(crate) fn of(cutter: &Cutter) -> Option<Stem> {
        let (stickout, flutes) = (cutter.stickout?, &cutter.flutes);
        let slice = flutes.length() / f64::from(SLICES);
        let fluted = (0..SLICES).map(|k| {
            let from = f64::from(k) * slice;
            (from, from + slice, 2.0 * FLUTES * flutes.radius_at(from + 0.5 * slice))
        });
        let shank = cutter.shank_cylinders().into_iter().scan(flutes.length(), |from, cylinder| {
            let start = *from;
            *from += cylinder.length;
            Some((start, *from, cylinder.diameter))
        });
        let lengths = fluted.chain(shank).map(|(from, to, diameter)| Length {
            from,
            to: to.min(stickout),
            yielding: (3.0 * PI / 64.0 * diameter.powi(4)).recip(),
        });
        Some(Stem { lengths: lengths.filter(|it| it.yielding.is_finite() && it.to > it.from).collect() })
    }

    /// Least and greatest deflection per force at a height over the tip, mm/N: of carbide, and of high-speed steel.
    pub(crate) fn flexibility(&self, height: f64) -> [f64; 2] {
        let arm = |at: f64| (at - height).max(0.0).powi(3);
        let bends = self.lengths.iter().map(|it| (arm(it.to) - arm(it.from)) * it.yielding);
        let sum: f64 = bends.sum();
        CUTTER_MODULUS.map(|modulus| sum / modulus)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::{Flutes, Shape};
    use dryturn_scene::{CutterLimits, Shank};

    fn cutter(shank: f64, stickout: Option<f64>) -> Cutter {
        Cutter {
            number: 1,
            name: String::new(),
            flutes: Flutes::new(Shape::Flat, 3.0, 20.0).unwrap(),
            shank: Shank::Plain(shank),
            stickout,
            teeth: 2,
            cuts_center: true,
            holder: Vec::new(),
            limits: CutterLimits::default(),
            length_error: 0.0,
            profile: None,
        }
    }

    /// F/3E·(L₂³/I₂ + ((L₁ + L₂)³ − L₂³)/I₁), L₂ the thinner end (stepped cantilever, any handbook).
    #[test]
    fn a_thick_shank_over_thin_flutes() {
        let of = |diameter: f64| PI / 64.0 * f64::powi(diameter, 4);
        let sum = 8000.0 / of(4.8) + (42_875.0 - 8000.0) / of(8.0);
        let [least, greatest] = Stem::of(&cutter(8.0, Some(35.0))).unwrap().flexibility(0.0);
        assert!((least / (sum / 1.8e6) - 1.0).abs() < 1e-12 && (greatest / (sum / 6.3e5) - 1.0).abs() < 1e-12);
        // A force further up has a shorter lever, one in the holder none.
        let stem = Stem::of(&cutter(8.0, Some(35.0))).unwrap();
        assert!((stem.flexibility(20.0)[0] / (3375.0 / of(8.0) / 1.8e6) - 1.0).abs() < 1e-12);
        assert_eq!(stem.flexibility(40.0), [0.0, 0.0]);
        assert!(Stem::of(&cutter(8.0, None)).is_none());
        // Drawn in to the flutes.
        let short = Stem::of(&cutter(8.0, Some(10.0))).unwrap().flexibility(0.0);
        assert!((short[0] / (1000.0 / of(4.8) / 1.8e6) - 1.0).abs() < 1e-12);
    }
}
