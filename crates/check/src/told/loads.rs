//! The loads that matter first.

use super::{Effort, Ends};

/// The greatest of a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// Block in which its high end is the greatest, of equals the first.
    pub block: u32,
    /// Its range there.
    pub range: Ends,
    /// Whether the wood breaks before it is reached; a spring ends there.
    pub breaks: bool,
}

/// The greatest of each load over a run; `None` where it is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LoadSummary {
    /// Power at the spindle, W.
    pub power: Option<Peak>,
    /// Torque about the rotary axis, N·mm.
    pub torque: Option<Peak>,
    /// Main cutting force, N.
    pub force: Option<Peak>,
    /// Push on the wood along the axis, toward the center or off the chuck, N.
    pub axial: Option<Peak>,
    /// How far piece and cutter spring apart, mm.
    pub spring: Option<Peak>,
}

impl LoadSummary {
    pub(super) fn take(&mut self, effort: &Effort) {
        let peak = |range: Option<Ends>| {
            let range = range.filter(|range| range[1].is_finite());
            range.map(|range| Peak { block: effort.block, range, breaks: effort.breaks })
        };
        self.join(&LoadSummary {
            power: peak(effort.power),
            torque: peak(effort.torque),
            force: peak(effort.force),
            axial: peak(effort.axial),
            spring: peak(effort.spring),
        });
    }

    /// Takes in the greatest of the blocks that follow.
    pub(super) fn join(&mut self, later: &LoadSummary) {
        let of = |peak: &mut Option<Peak>, later: Option<Peak>| {
            if let Some(later) = later.filter(|later| peak.is_none_or(|peak| later.range[1] > peak.range[1])) {
                *peak = Some(later);
            }
        };
        of(&mut self.power, later.power);
        of(&mut self.torque, later.torque);
        of(&mut self.force, later.force);
        of(&mut self.axial, later.axial);
        of(&mut self.spring, later.spring);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_of_the_greatest_high_ends_counts() {
        let mut loads = LoadSummary::default();
        for (block, power) in [(1, Some([5.0, 10.0])), (2, Some([9.0, 9.5])), (3, None), (4, Some([1.0, 10.0]))] {
            loads.take(&Effort { block, power, torque: Some([0.0, f64::NAN]), ..Effort::default() });
        }
        assert_eq!(
            loads,
            LoadSummary { power: Some(Peak { block: 1, range: [5.0, 10.0], breaks: false }), ..LoadSummary::default() }
        );
    }
}
