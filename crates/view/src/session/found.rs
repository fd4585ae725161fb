//! The finding that is chosen, and how it is found again when the job is proved anew.

use std::sync::Arc;

use dryturn_check::{Finding, Proof};
use dryturn_geom::angle;

use super::Session;
use super::answer::Aim;
use super::carver::Ask;
use crate::spot::Spot;

/// A finding is the same as one before if its lines lie no farther from those, or its place from that one.
const LINES: f64 = 3.0;
const PLACES_MM: f64 = 1.0;

impl Session {
    /// Chooses a finding: everything goes to its place and its moment.
    pub fn choose(&mut self, index: usize) {
        let Some(finding) = self.proof.as_ref().and_then(|proof| proof.findings.get(index).cloned()) else { return };
        let Some(opened) = self.opened.clone() else { return };
        if let Some((program, line)) = finding.program.zip(line_of(&finding)) {
            self.go(opened.blocks_of(program, line).end, true);
        }
        if let Some(spot) = spot_of(&finding) {
            (self.cursor.spot, self.cursor.aim) = (Some(spot), Aim::Finding);
        }
        self.ask_about_spot();
        self.cursor.from = None;
        self.cursor.finding = Some(index);
        self.chosen = Some(finding);
    }

    /// Chooses the next finding in the order of the report, or the one before.
    pub fn choose_next(&mut self, forward: bool) {
        let count = self.in_order.len();
        if count == 0 {
            return;
        }
        let now = self.cursor.finding.and_then(|finding| self.in_order.iter().position(|it| *it == finding));
        let next = match (now, forward) {
            (None, true) => 0,
            (None, false) => count - 1,
            (Some(at), true) => (at + 1) % count,
            (Some(at), false) => (at + count - 1) % count,
        };
        self.choose(self.in_order[next]);
    }

    /// Chooses none any more.
    pub fn leave_finding(&mut self) {
        (self.cursor.finding, self.chosen) = (None, None);
    }

    /// Takes a proof in. The finding that was chosen stays so, wherever it stands now; one that is cured is remembered, for
    /// it may come back.
    pub(super) fn prove(&mut self, proof: Arc<Proof>) {
        self.is_proved = true;
        if let Some(asks) = &self.asks {
            let _ = asks.send(Ask::Proved(Arc::clone(&proof)));
        }
        self.cursor.finding = self.chosen.as_ref().and_then(|chosen| again(chosen, &proof.findings));
        self.in_order = dryturn_report::cost_order(&proof.findings);
        self.proof = Some(proof);
    }
}

/// The line of a finding: that of its worst place.
pub(crate) fn line_of(finding: &Finding) -> Option<u32> {
    finding.worst_line.or(finding.lines.map(|(first, _)| first))
}

/// The place of a finding.
pub(crate) fn spot_of(finding: &Finding) -> Option<Spot> {
    let place = finding.place?;
    let theta = angle::wrapped(angle::radians(place.angle_deg));
    Some(Spot { station: place.station_mm, theta, radius: place.radius_mm })
}

/// Which of some findings is the one that was chosen among others; `None` if it is not there.
fn again(chosen: &Finding, findings: &[Finding]) -> Option<usize> {
    let kind = |it: &Finding| (it.rule, it.program, it.cutter);
    let apart = |it: &Finding| [lines_apart(chosen, it), places_apart(chosen, it)];
    let near = findings.iter().enumerate().filter(|(_, it)| kind(it) == kind(chosen)).filter(|(_, it)| {
        let [lines, places] = apart(it);
        lines <= LINES || places <= PLACES_MM || *it == chosen
    });
    let least = |it: &Finding| apart(it).map(|off| if off.is_finite() { off } else { 0.0 }).iter().sum::<f64>();
    near.min_by(|(_, a), (_, b)| least(a).total_cmp(&least(b))).map(|(index, _)| index)
}

/// Lines from one finding to another, infinite where one of them has none.
fn lines_apart(one: &Finding, other: &Finding) -> f64 {
    let lines = line_of(one).zip(line_of(other));
    lines.map_or(f64::INFINITY, |(a, b)| f64::from(a.abs_diff(b)))
}

/// From the place of one finding to that of another, mm; infinite where one of them has none.
fn places_apart(one: &Finding, other: &Finding) -> f64 {
    spot_of(one).zip(spot_of(other)).map_or(f64::INFINITY, |(a, b)| a.to(&b).across)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_check::{Place, Severity};

    fn finding(rule: &'static str, line: u32, station_mm: f64) -> Finding {
        Finding {
            rule,
            severity: Severity::Error,
            program: Some(0),
            lines: Some((line, line)),
            worst_line: Some(line),
            blocks: 1,
            cutter: Some(1),
            place: Some(Place { station_mm, angle_deg: 10.0, radius_mm: 20.0, shown: None }),
            value: None,
            unit: None,
            text: String::new(),
            cure: String::new(),
            cures: Vec::new(),
            accepted: None,
        }
    }

    #[test]
    fn a_finding_is_found_again_by_its_line_or_its_place_and_no_other_is_taken_for_it() {
        let chosen = finding("holder-hits", 16, 40.0);
        let others = [finding("cutter-hits", 16, 40.0), finding("holder-hits", 90, 4.0)];
        assert_eq!(again(&chosen, &others), None);
        // Ten lines were put in before it.
        let moved = [others[1].clone(), finding("holder-hits", 26, 40.0)];
        assert_eq!(again(&chosen, &moved), Some(1));
        // Another zero of X moved its place.
        let moved = [finding("holder-hits", 18, 43.0), finding("holder-hits", 16, 43.0)];
        assert_eq!(again(&chosen, &moved), Some(1));
        let whole_job = Finding { program: None, lines: None, worst_line: None, place: None, ..chosen };
        assert_eq!(again(&whole_job, &[others[0].clone(), whole_job.clone()]), Some(1));
    }
}
