//! What gives way and what breaks: `pushed-off`, `thin-neck`.

use std::f64::consts::PI;

use dryturn_geom::Motions;

use crate::digits::{beside, figures, mm_beside, range_beside, short};
use crate::evidence::Evidence;
use crate::finding::{Finding, Place, Severity};
use crate::strength::{Neck, Pushed, Strain};
use crate::stretches::{Event, Stretch, place, stretches};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings: Vec<Finding> = thin_tabs(evidence).collect();
    if let Some(strain) = evidence.strain {
        findings.extend(pushed_off(evidence, strain));
        findings.extend(thin_necks(evidence, strain));
    }
    findings
}

fn pushed_off(evidence: &Evidence<'_>, strain: &Strain) -> Vec<Finding> {
    let blocks = strain.pushed.iter().flat_map(|pushed| pushed.block..=pushed.last);
    let mut blocks: Vec<u32> = blocks.collect();
    blocks.dedup();
    let events = blocks.into_iter().filter_map(|block| {
        let pushed = strain.worst_of(block)?;
        Some(Event { block, place: place(f64::from(pushed.station)), value: strain.badness(pushed), volume: 0.0 })
    });
    let stretches = stretches(evidence.job, events);
    stretches.iter().filter_map(|stretch| pushed(evidence, strain, stretch)).collect()
}

fn pushed(evidence: &Evidence<'_>, strain: &Strain, stretch: &Stretch<(bool, bool, f64)>) -> Option<Finding> {
    let (block, (is_sure, breaks, greatest)) = (stretch.worst.block, stretch.worst.value);
    let Pushed { ends: [least, _], share, .. } = strain.worst_of(block)?;
    let [springs, allowed] = range_beside([f64::from(*least), greatest], strain.allowed, "mm");
    let stickout =
        evidence.job.cutter_index(block).and_then(|at| evidence.job.scene.cutters.get(usize::from(at))?.stickout);
    let what = if stickout.is_some() { "wood and cutter apart" } else { "the wood aside, the cutter not counted," };
    let until = if breaks { ", at which it breaks" } else { "" };
    Some(Finding {
        place: evidence.tip_place(block, f64::from(*share)),
        value: Some(greatest),
        unit: Some("mm"),
        text: format!("The cut pushes {what} by {springs}{until}; {allowed} mm are allowed."),
        cure: "Cut slender parts last and in lighter passes, or support the blank with a center.".to_owned(),
        ..evidence.over("pushed-off", if is_sure { Severity::Error } else { Severity::Warning }, stretch)
    })
}

/// Weak places that lie side by side are one neck.
fn thin_necks(evidence: &Evidence<'_>, strain: &Strain) -> Vec<Finding> {
    let is_beside = |a: &Neck, b: &Neck| a.program == b.program && place(b.station) - place(a.station) <= 1;
    let necks = strain.necks.chunk_by(is_beside);
    necks
        .filter_map(|neck| thin_neck(evidence, neck.iter().min_by(|a, b| a.factors[1].total_cmp(&b.factors[1]))?))
        .collect()
}

/// Of so little wood, mm², no stress is worth telling.
const NOTHING: f64 = 0.01;

fn thin_neck(evidence: &Evidence<'_>, neck: &Neck) -> Option<Finding> {
    let motion = evidence.job.motion(neck.block)?;
    let breaks = neck.factors[1] < 1.0;
    let range =
        |stress: f64, burden: [f64; 2]| format!("{} to {}", figures(stress * burden[0]), figures(stress * burden[1]));
    let [factor, safety] = beside(neck.factors[1], evidence.job.scene.checks.safety);
    let (bends, twists) =
        (range(neck.stresses.bending, neck.burden.bending), range(neck.stresses.torsion, neck.burden.torque));
    let station = short(neck.station);
    let text = if neck.area < NOTHING {
        format!("The wood at station {station} is cut away to nothing while it holds what is cut: it breaks before.")
    } else {
        let [area, diameter] = [neck.area, neck.diameter].map(short);
        format!(
            "The neck at station {station} has {area} mm² left, as a round of ⌀{diameter}, while cuts go on that bend it \
             with {bends} MPa and twist it with {twists} MPa: its strength is {factor} times that, {safety} is wanted."
        )
    };
    Some(Finding {
        place: Some(Place {
            station_mm: neck.station,
            radius_mm: 0.5 * neck.diameter,
            ..evidence.tip_place(neck.block, 1.0)?
        }),
        value: Some(neck.factors[1]),
        unit: Some("times"),
        text,
        cure: "Cut the neck last, take lighter passes after it, or support the free end.".to_owned(),
        ..evidence.over(
            "thin-neck",
            if breaks { Severity::Error } else { Severity::Warning },
            &Stretch::of_motion(evidence.job, &motion, neck.factors[1]),
        )
    })
}

/// Where parting is meant and a tab is to stay, the thinnest that is left. One that is cut through is `loose-piece`.
fn thin_tabs(evidence: &Evidence<'_>) -> impl Iterator<Item = Finding> {
    let entries = evidence.job.scene.programs.iter().enumerate();
    let wanted = entries.filter_map(|(program, entry)| Some((program, entry.parts?.min_tab?)));
    wanted.filter_map(|(program, least)| {
        let tab = tab(evidence, program)?;
        (tab.diameter > 0.0 && tab.diameter < least * (1.0 - BY_RAYS))
            .then(|| thin_tab(evidence, program, &tab, least))?
    })
}

/// What the diameter of a section may be off by, summed over rays.
const BY_RAYS: f64 = 0.01;

/// The thinnest section between thicker ones that a program leaves.
struct Tab {
    row: usize,
    /// Diameter of the circle of its area, mm.
    diameter: f64,
}

fn tab(evidence: &Evidence<'_>, program: usize) -> Option<Tab> {
    let (grid, blocks, course) = (evidence.carved.grid(), evidence.job.blocks_of(program), evidence.course);
    let [start, end] = [blocks.start, blocks.end].map(|block| course.moments().partition_point(|it| *it < block));
    let area = |row: usize| course.section(row, end).area;
    let mut beyond = 0.0;
    let mut thinnest: Option<(f64, usize)> = None;
    for row in (0..grid.stations).rev().take_while(|row| grid.station(*row) > 0.0) {
        let area = area(row);
        let holds_more = area < beyond && area < course.section(row, start).area;
        if holds_more && thinnest.is_none_or(|(least, _)| area < least) {
            thinnest = Some((area, row));
        }
        beyond = area.max(beyond);
    }
    thinnest.map(|(area, row)| Tab { row, diameter: 2.0 * (area / PI).sqrt() })
}

fn thin_tab(evidence: &Evidence<'_>, program: usize, tab: &Tab, least: f64) -> Option<Finding> {
    let (carved, blocks) = (evidence.carved, evidence.job.blocks_of(program));
    let cut = (0..carved.grid().angles).map(|column| carved.cut_by(tab.row, column));
    let block = cut.filter(|block| blocks.contains(block)).max().unwrap_or(blocks.end.checked_sub(1)?);
    let motion = evidence.job.motion(block)?;
    let station = carved.grid().station(tab.row);
    let [thick, wanted] = mm_beside(tab.diameter, least);
    Some(Finding {
        place: Some(Place { station_mm: station, radius_mm: 0.5 * tab.diameter, ..evidence.tip_place(block, 1.0)? }),
        value: Some(tab.diameter),
        unit: Some("mm"),
        text: format!(
            "The tab left at station {} has the area of a round of ⌀{thick}, thinner than the ⌀{wanted} that is to stay.",
            short(station)
        ),
        cure: "Part less deep, or let a thinner tab stay with parts.min_tab.".to_owned(),
        ..evidence.over("thin-neck", Severity::Warning, &Stretch::of_motion(evidence.job, &motion, tab.diameter))
    })
}
