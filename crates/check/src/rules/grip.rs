//! `poor-grip`: jaws on the corners of a blank, and too little of it in the jaws; and what they grip of a kept piece.

use std::f64::consts::{PI, TAU};

use dryturn_geom::{Section, Stock, angle};
use dryturn_scene::{Chuck, Grip, Jaws, Scene};

use crate::bodies::fixed_bodies;
use crate::contact::FixedShape;
use crate::digits::{beside, mm, mm_beside, short};
use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};
use crate::rules::gripped;

/// A blank with more flats than this is gripped as a round one is. Common practice, no source.
const MOST_FLATS: u32 = 8;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let scene = &evidence.job.scene;
    let Some(chuck) = scene.gripping() else { return Vec::new() };
    let stock = scene.stock();
    let corners = chuck.jaws.as_ref().and_then(|jaws| on_corners(jaws, &stock));
    let earlier = gripped::finding(scene, chuck);
    corners.into_iter().chain(short_grip(evidence, chuck, &stock)).chain(earlier).collect()
}

/// Jaws that lie nearer a corner than the middle of a flat.
fn on_corners(jaws: &Jaws, stock: &Stock) -> Option<Finding> {
    let Section::Polygon { sides, .. } = stock.section else { return None };
    if jaws.grip == Grip::Inside || sides > MOST_FLATS {
        return None;
    }
    let flat = TAU / f64::from(sides);
    // From the middle of the nearest flat to the jaw, radians.
    let off = |jaw: u32| {
        let theta = angle::radians(jaws.turned_deg) + TAU * f64::from(jaw) / f64::from(jaws.count);
        let over = (theta - stock.turned).rem_euclid(flat);
        if over > 0.5 * flat { over - flat } else { over }
    };
    let corner = PI / f64::from(sides);
    let badly = (0..jaws.count).filter(|&jaw| off(jaw).abs() > 0.5 * corner + 1e-9).count();
    let worst = angle::degrees((0..jaws.count).map(|jaw| off(jaw).abs()).fold(0.0, f64::max));
    let fits = sides % jaws.count == 0;
    (badly > 0).then(|| Finding {
        value: Some(worst),
        unit: Some("°"),
        text: format!(
            "{badly} of {} jaws grip the blank nearer a corner than the middle of a flat, up to {}° off it.",
            jaws.count,
            short(worst)
        ),
        cure: if fits {
            let turn = short(angle::degrees(off(0)));
            format!("Turn the blank by {turn}° in the jaws, so that each of them lies on a flat.")
        } else {
            format!("{} jaws never all find a flat of {sides}: take others, or turn the held end round.", jaws.count)
        },
        ..plain("poor-grip", Severity::Warning)
    })
}

fn short_grip(evidence: &Evidence<'_>, chuck: &Chuck, stock: &Stock) -> Option<Finding> {
    let scene = &evidence.job.scene;
    let held = chuck.jaws.as_ref().map_or(scene.held(), |jaws| scene.held().min(jaws.length));
    if held <= 0.0 {
        return holds_nothing(scene, chuck);
    }
    let diameter = gripped_diameter(evidence, chuck, stock);
    let (ratio, least) = (held / diameter, scene.checks.poor_grip);
    let wanted = scene.tailstock.is_none();
    let [held_mm, least_mm] = mm_beside(held, least * diameter);
    (wanted && ratio < least).then(|| Finding {
        value: Some(ratio),
        unit: Some("diameters"),
        text: format!(
            "The chuck holds {held_mm} mm of the blank, {} times the {} it grips, without a tailstock.",
            beside(ratio, least)[0],
            mm(diameter)
        ),
        cure: format!("Hold {least_mm} mm at the least, or support the free end with a live center."),
        ..plain("poor-grip", Severity::Warning)
    })
}

/// Jaws that hold nothing of the blank, where that is said and not only left open.
fn holds_nothing(scene: &Scene, chuck: &Chuck) -> Option<Finding> {
    let shift = scene.blank.shift();
    let is_said = shift != 0.0 || scene.given.contains_key("chuck.hold");
    let begins = if scene.blank_start() > 0.0 {
        format!("begins {} in front of the jaws", mm(scene.blank_start()))
    } else {
        "begins at the front of the jaws".to_owned()
    };
    is_said.then(|| Finding {
        value: Some(0.0),
        unit: Some("diameters"),
        text: format!("The blank {begins}: the chuck holds nothing of it."),
        cure: if chuck.hold > 0.0 {
            format!("Shift it out by less than the {} of [chuck] hold.", mm(chuck.hold))
        } else {
            "Write in the scene how much of it the jaws hold: [chuck] hold.".to_owned()
        },
        ..plain("poor-grip", Severity::Warning)
    })
}

/// Across what the jaws touch, mm; without jaws across the corners.
fn gripped_diameter(evidence: &Evidence<'_>, chuck: &Chuck, stock: &Stock) -> f64 {
    if chuck.jaws.as_ref().is_some_and(|jaws| jaws.grip == Grip::Inside) {
        return 2.0 * stock.bore;
    }
    let gripped = fixed_bodies(&evidence.job.scene).into_iter().filter_map(|body| match body.shape {
        FixedShape::Jaw { inner, .. } => Some(inner),
        _ => None,
    });
    2.0 * gripped.reduce(f64::max).unwrap_or(stock.corner_radius())
}
