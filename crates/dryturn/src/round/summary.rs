//! What a written program comes to, for whoever runs it.

use std::path::Path;

use dryturn_check::{Finding, Severity};
use dryturn_geom::units::LengthUnit;
use dryturn_plan::round::{Account, Coupon, Request, Work};
use dryturn_plan::{Draft, Measure};
use dryturn_report::{CAUTION, machine_lines, number, plain, trimmed};

use crate::output::run_of;
use crate::sections::{paragraph, section};

/// What is told of.
pub(super) struct Told<'a> {
    pub(super) request: &'a Request,
    pub(super) draft: &'a Draft,
    pub(super) account: &'a Account,
    pub(super) output: &'a Path,
}

impl Told<'_> {
    /// One line: the verdict and the job.
    pub(super) fn verdict(&self) -> String {
        let mark = if self.draft.is_sound() { "○ PROVED" } else { "■ STOP" };
        let title = self.draft.job.scene.title.as_deref().unwrap_or_default();
        format!("{mark}  {}\n", plain(title))
    }

    /// Why a program was not written.
    pub(super) fn refusal(&self) -> String {
        let mut text = self.verdict();
        section(&mut text, "Found", &self.findings(Severity::Error));
        paragraph(&mut text, 0, "Nothing was written.");
        text
    }

    /// All of it; `scene` is where the scene was kept.
    pub(super) fn text(&self, scene: Option<&Path>) -> String {
        let mut text = self.verdict();
        let run = run_of(&self.draft.job, &self.draft.proof);
        section(&mut text, "At the machine", &machine_lines(&run));
        section(&mut text, "The cut", &self.cut());
        section(&mut text, "What it leaves", &self.leaves());
        if let Some(coupon) = &self.account.coupon {
            section(&mut text, "How to measure it", &self.measuring(coupon));
        }
        section(&mut text, "Found", &self.findings(Severity::Warning));
        section(&mut text, "Not checked, so not known to be safe", &self.unseen());
        text.push('\n');
        let beside = scene.map_or(String::new(), |scene| format!(" and {}, the scene to complete", scene.display()));
        paragraph(&mut text, 0, &format!("Written: {}{beside}", self.output.display()));
        text.push('\n');
        paragraph(&mut text, 0, CAUTION);
        text
    }

    /// A volume, with its unit: of inches, in their cube.
    fn volume(&self, mm3: f64) -> String {
        let (side, unit) = match self.request.posting.unit {
            LengthUnit::Millimetre => (10.0, "cm³"),
            LengthUnit::Inch => (LengthUnit::Inch.in_mm(), "in³"),
        };
        format!("{} {unit}", number(mm3 / (side * side * side), 1))
    }

    fn told(&self, mm: f64) -> Measure {
        Measure { mm, unit: self.request.posting.unit }
    }

    fn cut(&self) -> Vec<String> {
        let Account { heights, swept_radius, .. } = self.account;
        let step = (swept_radius - heights.last().copied().unwrap_or(0.0)) / heights.len().max(1) as f64;
        let rotary = self.request.posting.rotary_letter();
        let speed = self.request.told_speed(self.account);
        let swept = self.told(*swept_radius);
        let (count, step) = (heights.len(), self.told(step));
        if let Work::Cylinder { .. } = self.request.work {
            let passes = if count == 1 { "pass" } else { "passes" };
            let [along, down] = self.account.removal_rates.map(|mm3| self.volume(mm3));
            vec![
                format!(
                    "{count} {passes} of {step} from radius {swept}, which the blank sweeps, off and bent as it may be"
                ),
                format!("{} turns a pass, {} a turn", self.account.turns_a_pass, self.told(self.account.advance)),
                format!("{speed}; {rotary} turns at up to {} °/min", number(self.account.turning.ceil(), 0)),
                format!(
                    "at the most {along} of wood a minute along a pass, and {down} where it begins: there all of the cutter cuts"
                ),
                self.winding(rotary),
            ]
        } else {
            let levels = if count == 1 { "level" } else { "levels" };
            vec![
                format!("each face in {count} {levels} of {step} from radius {swept}, two cuts across the grain first"),
                speed,
                format!("{rotary} stands still while it cuts and ends at {rotary}0"),
            ]
        }
    }

    fn winding(&self, rotary: char) -> String {
        let turns = number(self.account.wound_turns.abs(), 0);
        let zeroed =
            if matches!(self.request.work, Work::Cylinder { rezero: true, .. }) { ", zeroed there" } else { "" };
        format!("{rotary} ends {turns} turns on{zeroed}, at {rotary}{:.0}", self.account.rotary_shown)
    }

    fn leaves(&self) -> Vec<String> {
        let request = self.request;
        let to = self.told(request.work.to());
        let [first, last] = self.account.truth.span.map(|mm| self.told(mm));
        let what = match request.work {
            Work::Cylinder { .. } => format!("a cylinder of {to}"),
            Work::Prism { faces, .. } => format!("{faces} faces, {to} across"),
            Work::Coupon { .. } => format!("two flats, {to} apart, and two slots"),
        };
        let (rays, worst) =
            (number(self.account.truth.rays as f64, 0), trimmed(1000.0 * self.account.truth.worst_mm, 2));
        let proof = &self.draft.proof;
        let [removed, left] =
            [proof.carved.blank_mm3() - proof.carved.left_mm3(), proof.carved.left_mm3()].map(|mm3| self.volume(mm3));
        vec![
            format!("{what} from station {first} to {last}, at most {worst} µm off on {rays} rays"),
            format!("of the blank {left}; {removed} become shavings"),
        ]
    }

    fn findings(&self, least: Severity) -> Vec<String> {
        let told = |found: &Finding| {
            let line = found.lines.map_or(String::new(), |(first, _)| format!(" (line {first})"));
            format!("{} {}{line}: {} → {}", found.severity.word(), found.rule, found.text, found.cure)
        };
        self.draft.proof.findings.iter().filter(|found| found.severity >= least).map(told).collect()
    }

    /// What the proof could not look at, all in one paragraph: the scene beside the program is where it is described.
    fn unseen(&self) -> Vec<String> {
        let rows: Vec<_> = self.draft.proof.not_checked.iter().map(|row| row.what.as_str()).collect();
        if rows.is_empty() {
            Vec::new()
        } else {
            vec![format!("{}: describe them in the scene, and prove it", rows.join(", "))]
        }
    }

    fn measuring(&self, coupon: &Coupon) -> Vec<String> {
        let posting = &self.request.posting;
        let (flats, step) = (self.told(coupon.flats), self.told(coupon.step));
        let across = posting.across_letter();
        let sign = if posting.along == dryturn_geom::Along::Y { "−" } else { "+" };
        vec![
            format!("F, from flat to flat: {flats} if Z0 is right. (F − {flats}) / 2 is how far Z0 lies too high: set it so much lower, below nought higher."),
            "T, the wood that stands between the two slots, the jaws of the caliper set in from the free end; and S, the width of a slot.".to_owned(),
            format!("T + S: {step} if {across}0 is right, whatever the cutter's size. (T + S − {step}) / 2 is how far {across}0 lies to the {sign}{across} side: move it so much the other way."),
            format!("S beside the cutter's own diameter shows how far that runs out, or is worn."),
        ]
    }
}
