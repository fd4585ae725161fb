//! The one cursor: a moment of the run, a line, and a point of the piece.

use dryturn_geom::{Motions, Pose, angle};

use super::Session;
use super::answer::Aim;
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
    /// How it came about.
    pub aim: Aim,
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
    /// To the first block of the next cutter, or back to the first of a cutter.
    Cutter,
    /// A hundredth of the run.
    Leap,
}

impl Session {
    /// Goes to the moment when so many blocks have run; `is_quick` if another moment may follow at once, so that only a
    /// coarse piece is asked for until [`Session::settle`].
    pub fn go(&mut self, blocks: u32, is_quick: bool) {
        let Some(opened) = self.opened.clone() else { return };
        let blocks = blocks.min(opened.blocks());
        self.cursor.blocks = blocks;
        self.cursor.focus = blocks.checked_sub(1);
        self.look_at_tip();
        self.leave_finding();
        self.awaits_maker = false;
        self.show(is_quick);
        if !is_quick {
            self.ask_about_spot();
        }
    }

    /// Looks at the point under the tip.
    pub(super) fn look_at_tip(&mut self) {
        self.cursor.aim = Aim::Tip;
        self.cursor.spot = self.tip(self.cursor.blocks).map(|tip| Spot {
            station: tip.x,
            theta: angle::wrapped(tip.turn),
            radius: self.shown.as_ref().map_or(0.0, |shown| shown.field.radius(tip.x, tip.turn)),
        });
    }

    /// Where the tip stands when so many blocks have run, in the blank frame.
    pub fn tip(&self, blocks: u32) -> Option<Pose> {
        let opened = self.opened.as_ref()?;
        match blocks.checked_sub(1) {
            Some(last) => (0..=last).rev().take(1000).find_map(|block| opened.job.motion(block)).map(|it| it.to),
            None => (0..opened.blocks()).take(1000).find_map(|block| opened.job.motion(block)).map(|it| it.from),
        }
    }

    /// Looks at a point of the piece; the moment stays, and the line becomes the one that made it once that is known.
    /// `is_measured` keeps the point before to measure from.
    pub fn pick(&mut self, spot: Spot, aim: Aim, is_measured: bool) {
        self.cursor.from = if is_measured { self.cursor.from.or(self.cursor.spot) } else { None };
        (self.cursor.spot, self.cursor.aim) = (Some(spot), aim);
        self.leave_finding();
        self.awaits_maker = false;
        self.ask_about_spot();
    }

    /// Goes a step on, or back.
    pub fn step(&mut self, stride: Stride, forward: bool, is_quick: bool) {
        let Some(opened) = self.opened.clone() else { return };
        let (now, all) = (self.cursor.blocks, opened.blocks());
        let is_same_line = |a: u32, b: u32| opened.line_of(a) == opened.line_of(b);
        let next = match (stride, forward) {
            (Stride::Block, true) => (now + 1).min(all),
            (Stride::Block, false) => now.saturating_sub(1),
            (Stride::Leap, true) => now.saturating_add((all / 100).max(1)).min(all),
            (Stride::Leap, false) => now.saturating_sub((all / 100).max(1)),
            (Stride::Line, true) => (now..all).find(|block| !is_same_line(*block, now)).unwrap_or(all),
            (Stride::Line, false) => {
                // The last block that ran belongs to what is left.
                let last = now.saturating_sub(1);
                (0..last).rev().find(|block| !is_same_line(*block, last)).map_or(0, |block| block + 1)
            }
            (Stride::Cutter, true) => {
                (now..all).find(|block| opened.begins_cutter(*block)).map_or(all, |block| block + 1)
            }
            (Stride::Cutter, false) => {
                let last = now.saturating_sub(1);
                (0..last).rev().find(|block| opened.begins_cutter(*block)).map_or(0, |block| block + 1)
            }
        };
        self.go(next, is_quick);
    }
}
