//! The numbers of the rules.

use std::collections::BTreeMap;

/// Numbers of the rules, as `[checks]` gives them. A default without a word of its own is common practice, no source.
#[derive(Clone, Debug, PartialEq)]
pub struct Checks {
    /// Closest approach that is let pass, mm.
    pub near: f64,
    /// The same for single fixed bodies, by the name the report uses.
    pub near_of: BTreeMap<String, f64>,
    /// What a rapid may shave off before it is an error.
    pub rapid_in_blank: Shaving,
    /// How deep the shank may stand in the wood.
    pub shank_in_blank: Rubbing,
    /// How far beyond the axis wood may go while the blank turns, mm.
    pub past_axis: f64,
    /// What a rotary word that keeps counting may cost.
    pub wound_up: Winding,
    /// Free length over greatest diameter from which a blank wants a tailstock.
    pub slender: f64,
    /// Length in the jaws over the diameter gripped, under which a blank without a tailstock is held badly.
    pub poor_grip: f64,
    /// How far the quill may stand out of the tailstock, mm.
    pub center_overextended: f64,
    /// How much better another reading of a program must fit to be believed.
    pub mirrored: Fit,
    /// How many pitches of the grid the smallest tip should cover.
    pub grid_too_coarse: f64,
    /// How far the blank and the cutter may give way under the cut, mm; `None` takes what may be left over the target,
    /// else 0.3 mm.
    pub spring: Option<f64>,
    /// Least strength of a neck over the stress in it. Clear wood fails at a stress that differs by a fifth from piece to
    /// piece, so twice is little enough (judgement, no source).
    pub safety: f64,
}

/// Wood that a rapid takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shaving {
    /// mm.
    pub depth: f64,
    /// mm³.
    pub volume: f64,
}

/// Depths of a shank in the wood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rubbing {
    /// From here it is a warning, mm.
    pub warning: f64,
    /// From here it is an error, mm.
    pub error: f64,
}

/// What turning back and large numbers may cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Winding {
    /// Longest move that turns the blank back without cutting, minutes.
    pub minutes: f64,
    /// Coarsest step of the blank's surface that the controller's numbers may leave, mm.
    pub step: f64,
}

/// How two readings of the same program compare.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Volume off the target as it is read, over the volume off it as it might be meant.
    pub ratio: f64,
    /// Difference of the two, as a share of what the programs remove.
    pub share: f64,
}

impl Default for Checks {
    fn default() -> Self {
        Checks {
            near: 2.0,
            near_of: BTreeMap::new(),
            rapid_in_blank: Shaving { depth: 0.05, volume: 0.5 },
            shank_in_blank: Rubbing { warning: 0.05, error: 0.3 },
            past_axis: 0.05,
            wound_up: Winding { minutes: 5.0, step: 0.02 },
            slender: 3.0,
            poor_grip: 1.0 / 3.0,
            // 1/8 inch.
            center_overextended: 3.2,
            mirrored: Fit { ratio: 4.0, share: 0.01 },
            grid_too_coarse: 3.0,
            spring: None,
            safety: 2.0,
        }
    }
}

impl Checks {
    /// Closest approach to this fixed body that is let pass, mm.
    pub fn near(&self, fixed: &str) -> f64 {
        self.near_of.get(fixed).copied().unwrap_or(self.near)
    }
}
