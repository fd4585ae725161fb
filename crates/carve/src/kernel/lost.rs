//! What neighbouring rays lose to a piece: how much, how deep, and on which side of the cutter's way.

use super::instant::Piece;
use super::lanes::{Aims, LANES};
use super::volume::units_of;

/// The way of a cutter over the wood during a piece, seen from above: along the axis and across the bed.
///
/// A point of the wood at the height h over the axis moves across by h · dφ as the blank turns, so the cutter passes over it
/// by its own dy less that.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Heading {
    /// Station and y of the tip midway, mm.
    x: f64,
    y: f64,
    /// What the tip moves by along and across, mm, and the blank turns by, radians.
    along: f64,
    across: f64,
    turn: f64,
    /// A point nearer to the line of the way than this, times the way, lies on it, mm².
    on_line: f64,
}

/// As good as nothing beside a way, mm.
const ON_LINE: f64 = 1e-9;

impl Heading {
    pub(crate) fn of(piece: &Piece) -> Heading {
        let (from, by) = (&piece.from, &piece.by);
        Heading {
            x: from.x + 0.5 * by.x,
            y: from.y + 0.5 * by.y,
            along: by.x,
            across: by.y,
            turn: by.turn,
            on_line: ON_LINE * (piece.way + from.z.abs() * by.turn.abs()),
        }
    }
}

/// Neighbouring rays before and after a piece.
pub(crate) struct Change<'a> {
    /// Ends of their outermost solid before, and the outer ones after, mm.
    pub(crate) inner: &'a [f32; LANES],
    pub(crate) before: &'a [f32; LANES],
    pub(crate) after: &'a [f32; LANES],
    /// Those, by bit, of which nothing but the outer end has changed.
    pub(crate) lowered: u32,
    /// Units of volume that the others lost.
    pub(crate) cut: &'a [i64; LANES],
}

/// What rays lost together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Lost {
    pub(crate) units: i64,
    /// Twice the units that lay to the left of the way; what lies on it counts half.
    pub(crate) left_twice: i64,
    /// The most wood that the outer end of one of them came down through, mm.
    pub(crate) depth: f32,
}

impl Lost {
    #[inline]
    pub(crate) fn add(&mut self, more: &Lost) {
        self.units += more.units;
        self.left_twice += more.left_twice;
        self.depth = if more.depth > self.depth { more.depth } else { self.depth };
    }
}

/// Adds up what rays have lost at a station, `aims` being how they stand during the piece.
#[inline(always)]
pub(super) fn lost(heading: &Heading, station: f64, aims: &Aims<f64>, change: &Change<'_>) -> Lost {
    let ahead = station - heading.x;
    let (mut units, mut left) = ([0; LANES], [0; LANES]);
    let mut depths = [0.0; LANES];
    for lane in 0..LANES {
        let chosen = i64::from(change.lowered >> lane & 1).wrapping_neg();
        let (before, after) = (change.before[lane], change.after[lane]);
        let lost = ((units_of(before) - units_of(after)) & chosen) + change.cut[lane];
        let r = f64::from(before);
        let (s, c) = (0.5 * (aims.s0[lane] + aims.s1[lane]), 0.5 * (aims.c0[lane] + aims.c1[lane]));
        let aside = -(heading.y + r * s);
        let across = heading.across - r * c * heading.turn;
        let turned = heading.along * aside - across * ahead;
        let is_left = i64::from(turned > heading.on_line) + i64::from(turned >= -heading.on_line);
        units[lane] = lost;
        left[lane] = (lost & -(is_left & 1)) + ((lost << 1) & -(is_left >> 1));
        let floor = if after > change.inner[lane] { after } else { change.inner[lane] };
        let depth = before - floor;
        depths[lane] = if depth > 0.0 { depth } else { 0.0 };
    }
    let mut lost = Lost::default();
    for lane in 0..LANES {
        lost.units += units[lane];
        lost.left_twice += left[lane];
        lost.depth = if depths[lane] > lost.depth { depths[lane] } else { lost.depth };
    }
    lost
}
