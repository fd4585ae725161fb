//! What is tried out on a scene without a word of its file being changed.

use dryturn_check::{Cure, Remedy};
use dryturn_scene::{Scene, ZeroHeight};

/// Changes that are tried out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Edits {
    /// All zeros of X so much farther from the jaws, mm.
    pub zero_x: f64,
    /// All zeros of Z so much higher, mm.
    pub zero_z: f64,
    /// Cutters (by number) that stick out so much farther, mm.
    pub stickout: Vec<(u32, f64)>,
}

impl Edits {
    /// Whether nothing is tried.
    pub fn is_empty(&self) -> bool {
        *self == Edits::default()
    }

    /// The cure of a finding as a change, where it is one that can be tried; with the distance that is let pass if there is
    /// such a cure.
    pub fn of_cure(cure: &Cure, cutter: Option<u32>) -> Option<Edits> {
        let by = cure.with_near.unwrap_or(cure.touching);
        match cure.what {
            Remedy::ZeroX => Some(Edits { zero_x: by, ..Edits::default() }),
            Remedy::Stickout => Some(Edits { stickout: vec![(cutter?, by)], ..Edits::default() }),
            _ => None,
        }
    }

    /// These and others.
    pub fn and(&self, more: &Edits) -> Edits {
        let mut both = self.clone();
        both.zero_x += more.zero_x;
        both.zero_z += more.zero_z;
        for (cutter, by) in &more.stickout {
            match both.stickout.iter_mut().find(|(known, _)| known == cutter) {
                Some((_, sum)) => *sum += by,
                None => both.stickout.push((*cutter, *by)),
            }
        }
        both
    }

    /// Makes the changes.
    pub fn apply(&self, scene: &mut Scene) {
        let heights: Vec<f64> = (0..scene.programs.len()).map(|program| scene.zero(program, 0).z).collect();
        let corner = scene.zero(usize::MAX, 0).z;
        let own = scene.programs.iter_mut().zip(heights).map(|(entry, height)| (&mut entry.zeros, height, false));
        for (zeros, height, is_scene) in own.chain([(&mut scene.zeros, corner, true)]) {
            for (system, keys) in zeros.systems.iter_mut().enumerate() {
                let is_first = is_scene && system == 0;
                if keys.x.is_some() || is_first {
                    keys.x = Some(keys.x.unwrap_or(0.0) + self.zero_x);
                }
                if self.zero_z != 0.0 && (keys.z.is_some() || is_first) {
                    let now = match keys.z {
                        Some(ZeroHeight::Height(height)) => height,
                        Some(ZeroHeight::Axis) => 0.0,
                        _ => height,
                    };
                    keys.z = Some(ZeroHeight::Height(now + self.zero_z));
                }
            }
        }
        for cutter in &mut scene.cutters {
            let by = self.stickout.iter().find(|(number, _)| *number == cutter.number).map_or(0.0, |(_, by)| *by);
            cutter.stickout = cutter.stickout.map(|stickout| stickout + by);
        }
    }

    /// What is tried, in words.
    pub fn words(&self) -> String {
        let mut words = Vec::new();
        if self.zero_x != 0.0 {
            words.push(format!("X0 {:+.2} mm", self.zero_x));
        }
        if self.zero_z != 0.0 {
            words.push(format!("Z0 {:+.2} mm", self.zero_z));
        }
        words.extend(self.stickout.iter().map(|(cutter, by)| format!("cutter {cutter} stickout {by:+.2} mm")));
        words.join(", ")
    }
}
