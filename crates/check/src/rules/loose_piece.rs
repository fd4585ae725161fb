//! `loose-piece`: the wood falls into parts, and not by design.

use dryturn_geom::angle;

use crate::digits::short;
use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Place, Severity};
use crate::parts::Loose;

/// A smaller part flies less far, mm³.
const SMALL: f64 = 100.0;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    evidence.loose.iter().filter(|loose| !is_meant(evidence, loose)).map(|loose| loose_piece(evidence, loose)).collect()
}

/// Whether the program parts by design and leaves no tab.
fn is_meant(evidence: &Evidence<'_>, loose: &Loose) -> bool {
    let program = loose.block.map(|block| evidence.job.program_of(block));
    let parts = program.and_then(|program| evidence.job.scene.programs.get(program)).and_then(|entry| entry.parts);
    parts.is_some_and(|parts| parts.min_tab.unwrap_or(0.0) == 0.0)
}

fn loose_piece(evidence: &Evidence<'_>, loose: &Loose) -> Finding {
    let (job, part) = (evidence.job, &loose.part);
    let (from, to) = part.stations;
    let what = if loose.holds_target { "The piece itself" } else { "A part" };
    let unknown =
        if loose.block.is_none() { " Which block severs it could not be found in the memory allowed." } else { "" };
    Finding {
        program: loose.block.map(|block| job.program_of(block)),
        lines: loose.block.map(|block| (job.line_of(block), job.line_of(block))),
        worst_line: loose.block.map(|block| job.line_of(block)),
        blocks: loose.block.map_or(0, |_| 1),
        cutter: loose.block.and_then(|block| job.cutter_index(block)).and_then(|index| evidence.cutter_number(index)),
        place: Some(place(evidence, loose)),
        value: Some(part.volume_mm3),
        unit: Some("mm³"),
        text: format!(
            "{what}, {} cm³ between stations {} and {}, comes loose from what the holding has hold of.{unknown}",
            short(part.volume_mm3 / 1000.0),
            short(from),
            short(to)
        ),
        cure: "Leave a tab and part it by hand, or, if parting is meant, write parts = {} under the program."
            .to_owned(),
        ..plain("loose-piece", severity(loose))
    }
}

fn severity(loose: &Loose) -> Severity {
    match loose.part.volume_mm3 {
        _ if loose.holds_target => Severity::Error,
        volume if volume < SMALL => Severity::Note,
        _ => Severity::Warning,
    }
}

/// A point of the part, and what the controller shows while the cutter severs it.
fn place(evidence: &Evidence<'_>, loose: &Loose) -> Place {
    let (grid, (row, column)) = (evidence.carved.grid(), loose.part.ray);
    let shown = loose.block.and_then(|block| evidence.tip_place(block, 1.0)?.shown);
    Place {
        station_mm: grid.station(row),
        angle_deg: angle::degrees(grid.theta(column)),
        radius_mm: loose.part.radius,
        shown,
    }
}
