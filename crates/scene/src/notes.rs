//! What is worth saying of a scene although nothing is wrong with it.

use crate::model::{BlankShape, Scene, ZeroHeight};

/// The notes of a scene, each a sentence or two.
pub(crate) fn of_scene(scene: &Scene) -> Vec<String> {
    [surface_zero(scene), idle_hold(scene)].into_iter().flatten().collect()
}

fn surface_zero(scene: &Scene) -> Option<String> {
    let zeros = std::iter::once(&scene.zeros).chain(scene.programs.iter().map(|program| &program.zeros));
    let on_surface = zeros.flat_map(|zeros| &zeros.systems).any(|keys| keys.z == Some(ZeroHeight::Surface));
    if !on_surface || scene.blank.is_round() {
        return None;
    }
    let from = match scene.blank.shape {
        BlankShape::Mesh { .. } => Some("from a mesh"),
        BlankShape::Kept(_) => Some("that was kept"),
        _ => None,
    };
    if let Some(from) = from {
        let greatest = scene.stock().corner_radius();
        return Some(format!(
            "The zero is on the \"surface\" of a blank {from}: taken as its greatest radius from station 0 on, \
             {greatest:.3} mm over the axis."
        ));
    }
    let (flat, corner) = (scene.blank.flat_radius(), scene.blank.corner_radius());
    Some(format!(
        "The zero is on the \"surface\" of a blank that is not round: taken as the corner, \
         {corner:.3} mm over the axis. \
         A flat is at {flat:.3} mm ({{ flat = true }}), the axis at 0 (\"axis\")."
    ))
}

fn idle_hold(scene: &Scene) -> Option<String> {
    let chuck = scene.chuck.as_ref().filter(|chuck| chuck.hold > 0.0)?;
    let holder = match (&scene.drive, &scene.faceplate) {
        (Some(_), _) => "[drive]",
        (None, Some(_)) => "[faceplate]",
        (None, None) => return None,
    };
    Some(format!(
        "With {holder} the blank begins at station 0, so the {} mm the chuck is said to hold have no effect.",
        chuck.hold
    ))
}
