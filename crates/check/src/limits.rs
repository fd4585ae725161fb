//! What a scene says there is to bear the loads.

use dryturn_scene::Scene;

/// How far things may spring where nothing else is said, mm.
const SPRING: f64 = 0.3;

/// What the loads of a run are held against; `None` where the scene does not say.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LoadLimits {
    /// Power of the spindle, W.
    pub power: Option<f64>,
    /// The least torque that anything holds about the rotary axis, N·mm.
    pub torque: Option<f64>,
    /// Force along the axis that the center holds, N.
    pub axial: Option<f64>,
    /// How far piece and cutter may spring apart, mm.
    pub spring: Option<f64>,
}

impl LoadLimits {
    /// Those of a scene.
    pub fn of(scene: &Scene) -> LoadLimits {
        LoadLimits {
            power: scene.machine.spindle_power,
            torque: holds(scene).map(|(newton_metres, _)| 1000.0 * newton_metres),
            axial: scene.tailstock.as_ref().and_then(|tailstock| tailstock.force),
            spring: Some(spring(scene)),
        }
    }
}

/// The least torque, N·m, that anything is said to hold about the rotary axis, and what that is.
pub(crate) fn holds(scene: &Scene) -> Option<(f64, &'static str)> {
    let holding = [
        (scene.machine.rotary_torque, "the rotary axis"),
        (scene.chuck.as_ref().and_then(|chuck| chuck.torque), "the chuck"),
        (scene.faceplate.as_ref().and_then(|plate| plate.torque), "the faceplate"),
        (scene.drive.as_ref().and_then(|drive| drive.torque), "the drive center"),
    ];
    let given = holding.into_iter().filter_map(|(torque, by)| Some((torque?, by)));
    given.reduce(|least, other| if other.0 < least.0 { other } else { least })
}

/// How far piece and cutter may spring apart, mm.
pub(crate) fn spring(scene: &Scene) -> f64 {
    scene.checks.spring.or(scene.target.as_ref().map(|target| target.leftover)).unwrap_or(SPRING)
}
