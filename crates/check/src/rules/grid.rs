//! `grid-too-coarse`: what is smaller than a few pitches is carved exactly, but seen on few rays or none.

use dryturn_geom::{Shape, angle};
use dryturn_scene::TargetShape;

use crate::digits::{mm, short};
use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};
use crate::stretches::motions;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let grid = evidence.carved.grid();
    let pitch = grid.station_step;
    let least = evidence.job.scene.checks.grid_too_coarse * pitch;
    let cutters = cuts(evidence).into_iter().enumerate().filter_map(|(index, cuts)| {
        let (width, what) = width_of_cut(evidence, index, &cuts)?;
        let number = evidence.cutter_number(u16::try_from(index).ok()?)?;
        (width < least).then(|| Finding {
            cutter: Some(number),
            value: Some(width),
            unit: Some("mm"),
            text: format!(
                "{what} of cutter {number} is {} wide, {} pitches of the grid: maps and volumes show it roughly.",
                mm(width),
                short(width / pitch)
            ),
            ..note(evidence, width)
        })
    });
    let detail = narrowest_detail(evidence).filter(|(_, width)| *width < least).map(|(station, width)| Finding {
        value: Some(width),
        unit: Some("mm"),
        text: format!(
            "The target has a detail {} wide at station {}, {} pitches of the grid.",
            mm(width),
            short(station),
            short(width / pitch)
        ),
        ..note(evidence, width)
    });
    cutters.chain(detail).collect()
}

/// The finding as far as all of them are alike.
fn note(evidence: &Evidence<'_>, width: f64) -> Finding {
    let finer = (width / evidence.job.scene.checks.grid_too_coarse * 100.0).floor() / 100.0;
    Finding {
        cure: format!("Write pitch = {} under [grid] if that detail matters.", short(finer.max(0.01))),
        ..plain("grid-too-coarse", Severity::Note)
    }
}

/// What one cutter does in all.
#[derive(Clone, Copy, Debug, Default)]
struct Cuts {
    /// Way of the tip along and around the blank in blocks that remove wood, mm.
    way: f64,
    removed_mm3: f64,
}

/// One for each cutter of the scene.
fn cuts(evidence: &Evidence<'_>) -> Vec<Cuts> {
    let mut cuts = vec![Cuts::default(); evidence.job.scene.cutters.len()];
    for motion in motions(evidence.job) {
        let removed = evidence.carved.removed_by(motion.block);
        let Some(cuts) = cuts.get_mut(usize::from(motion.cutter)).filter(|_| removed > 0.0) else { continue };
        let (from, to) = (motion.from, motion.to);
        let around = (to.turn - from.turn) * from.z.max(to.z);
        cuts.way += [to.x - from.x, to.y - from.y, around].into_iter().fold(0.0, angle::hypot);
        cuts.removed_mm3 += removed;
    }
    cuts
}

/// How wide a cutter's narrowest cut is, and what to call it; `None` where it removes nothing. A pointed cutter leaves
/// a groove as wide as it goes deep: its section is what it removes over its way, and a triangle.
fn width_of_cut(evidence: &Evidence<'_>, index: usize, cuts: &Cuts) -> Option<(f64, &'static str)> {
    let flutes = &evidence.job.scene.cutters.get(index)?.flutes;
    if cuts.removed_mm3 <= 0.0 {
        return None;
    }
    let line = |half_angle: f64, tip_radius: f64| {
        let section = cuts.removed_mm3 / cuts.way.max(1e-9);
        let (sine, cosine) = angle::sin_cos(half_angle);
        (2.0 * (section * sine / cosine + tip_radius * tip_radius).sqrt()).min(2.0 * flutes.radius())
    };
    Some(match *flutes.shape() {
        Shape::Vee { half_angle, tip_radius } => (line(half_angle, tip_radius), "The mean line"),
        Shape::Taper { tip_radius, .. } if tip_radius > 0.0 => (2.0 * tip_radius, "The tip"),
        _ => (2.0 * flutes.radius(), "The cut"),
    })
}

/// Station and width of a profile's narrowest bead or groove: from one turning of its radius to the next but one.
fn narrowest_detail(evidence: &Evidence<'_>) -> Option<(f64, f64)> {
    let Some(TargetShape::Profile(rows)) = &evidence.job.target else { return None };
    let turnings = turnings(rows);
    turnings
        .windows(3)
        .map(|three| (0.5 * (three[0] + three[2]), three[2] - three[0]))
        .reduce(|a, b| if b.1 < a.1 { b } else { a })
}

/// Stations at which a profile's radius stops rising or falling.
fn turnings(rows: &[[f64; 2]]) -> Vec<f64> {
    let mut turnings = Vec::new();
    let mut rising = None;
    for pair in rows.windows(2) {
        let rise = pair[1][1] - pair[0][1];
        if rise != 0.0 && rising.replace(rise > 0.0).is_some_and(|before| before != (rise > 0.0)) {
            turnings.push(pair[0][0]);
        }
    }
    turnings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_profile_turns_at_the_top_of_a_bead_and_in_a_groove() {
        let rows = [[0.0, 10.0], [5.0, 10.0], [6.0, 12.0], [7.0, 12.0], [8.0, 9.0], [8.4, 9.0], [9.0, 11.0]];
        assert_eq!(turnings(&rows), [7.0, 8.4]);
        assert!(turnings(&[[0.0, 10.0], [50.0, 12.0], [60.0, 14.0]]).is_empty());
    }
}
