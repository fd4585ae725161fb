//! The one cursor: a moment of the run, a line, and a point of the piece.

use dryturn_carve::is_block;
use dryturn_geom::{Motions, Pose, angle};

use super::Session;
use crate::spot::Spot;

/// Where everyone looks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cursor {
    /// How many blocks have run.
    pub blocks: u32,
    /// The block that is looked at; not always the last that ran, as when one asks who cut a point.
    pub focus: Option<u32>,
    /// The point that is looked at.
    pub spot: Option<Spot>,
    /// The point that is measured from.
    pub from: Option<Spot>,
    /// The finding that is chosen.
    pub finding: Option<usize>,
}

/// How far the cursor goes in one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stride {
    /// To the next block.
    Block,
    /// To the next line that moves something.
    Line,
    /// To the next block of another cutter.
    Cutter,
    /// A hundredth of the run.
    Leap,
}

impl Session {
    /// Goes to the moment when so many blocks have run.
    pub fn go(&mut self, blocks: u32, is_quick: bool) {
        let Some(opened) = self.opened.clone() else { return };
        let blocks = blocks.min(opened.blocks());
        self.cursor.blocks = blocks;
        self.cursor.focus = blocks.checked_sub(1);
        self.cursor.spot = self.tip().map(|tip| Spot {
            station: tip.x,
            theta: angle::wrapped(tip.turn),
            radius: self.shown.as_ref().map_or(0.0, |shown| shown.field.radius(tip.x, tip.turn)),
        });
        self.show(is_quick);
        if !is_quick {
            self.ask_about_spot();
        }
    }

    /// Where the tip stands when so many blocks have run as the cursor says, in the blank frame.
    pub fn tip(&self) -> Option<Pose> {
        let opened = self.opened.as_ref()?;
        let last = self.cursor.blocks.checked_sub(1);
        match last {
            Some(last) => (0..=last).rev().take(1000).find_map(|block| opened.job.motion(block)).map(|it| it.to),
            None => (0..opened.blocks()).take(1000).find_map(|block| opened.job.motion(block)).map(|it| it.from),
        }
    }

    /// Looks at a point of the piece; the moment stays. `is_measured` keeps the point before to measure from.
    pub fn pick(&mut self, spot: Spot, is_measured: bool) {
        self.cursor.from = if is_measured { self.cursor.from.or(self.cursor.spot) } else { None };
        self.cursor.spot = Some(spot);
        self.cursor.finding = None;
        self.cursor.focus = self.owner(&spot);
        self.ask_about_spot();
    }

    /// The block that made the surface at a point, as the piece is shown.
    pub fn owner(&self, spot: &Spot) -> Option<u32> {
        let shown = self.shown.as_ref()?;
        let owner = *shown.field.owners.get(shown.field.nearest(spot.station, spot.theta)?)?;
        is_block(owner).then_some(owner)
    }

    /// Goes to the moment at which the line that is looked at has just run.
    pub fn go_to_focus(&mut self) {
        if let Some(focus) = self.cursor.focus {
            let spot = self.cursor.spot;
            self.go(focus + 1, false);
            self.cursor.spot = spot.or(self.cursor.spot);
            self.ask_about_spot();
        }
    }

    /// Chooses a finding: everything goes to its place and its moment.
    pub fn choose(&mut self, index: usize) {
        let Some(finding) = self.proof.as_ref().and_then(|proof| proof.findings.get(index).cloned()) else { return };
        let Some(opened) = self.opened.clone() else { return };
        let line = finding.worst_line.or(finding.lines.map(|(first, _)| first));
        if let Some((program, line)) = finding.program.zip(line) {
            self.go(opened.blocks_of(program, line).end, false);
        }
        if let Some(place) = finding.place {
            let theta = angle::wrapped(angle::radians(place.angle_deg));
            self.cursor.spot = Some(Spot { station: place.station_mm, theta, radius: place.radius_mm });
            self.ask_about_spot();
        }
        self.cursor.from = None;
        self.cursor.finding = Some(index);
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

    /// Goes a step on, or back.
    pub fn step(&mut self, stride: Stride, forward: bool, is_quick: bool) {
        let Some(opened) = self.opened.clone() else { return };
        let (now, all) = (self.cursor.blocks, opened.blocks());
        let same = |a: u32, b: u32| match stride {
            Stride::Line => opened.line_of(a) == opened.line_of(b),
            _ => opened.job.cutter_index(a) == opened.job.cutter_index(b),
        };
        let next = match stride {
            Stride::Block if forward => (now + 1).min(all),
            Stride::Block => now.saturating_sub(1),
            Stride::Leap => {
                let leap = (all / 100).max(1);
                if forward { (now + leap).min(all) } else { now.saturating_sub(leap) }
            }
            // The last block that ran belongs to what is left.
            _ if forward => (now..all).find(|block| *block > now && !same(*block, now)).unwrap_or(all),
            _ => {
                let last = now.saturating_sub(1);
                (0..last).rev().find(|block| !same(*block, last)).map_or(0, |block| block + 1)
            }
        };
        self.go(next, is_quick);
    }
}
