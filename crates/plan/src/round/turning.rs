//! A cylinder: passes along the turning blank.

use super::plan::Passes;
use super::request::{Request, Winding};
use crate::path::{Path, Place};

/// How far the cutter draws back from the shoulder before it is lifted, mm.
const DRAW_BACK: f64 = 0.5;

/// Turns of one pass: the step down, one at rest, one for each advance, and one at rest.
pub(super) fn turns_of_a_pass(advances: usize) -> usize {
    advances + 3
}

/// Cuts all passes; begins at the end away from the jaws.
pub(super) fn cut(request: &Request, passes: &Passes, winding: Winding, path: &mut Path) {
    let [near, far] = passes.ends;
    let mut standing = passes.swept;
    path.feed(Place { z: standing, ..path.at }, standing);
    for (index, &height) in passes.heights.iter().enumerate() {
        let told = [standing, height].map(|mm| request.told(mm));
        path.say(format!("pass {} of {}: radius {} to {}", index + 1, passes.heights.len(), told[0], told[1]));
        let sense = if winding == Winding::BackAndForth && index % 2 == 1 { -360.0 } else { 360.0 };
        let ends = if index % 2 == 0 { [far, near] } else { [near, far] };
        pass(path, passes, (ends, sense), (standing, height));
        standing = height;
    }
    let back = DRAW_BACK.min((far - near) / 2.0);
    let toward = if path.at.x == near { back } else { -back };
    path.say("away from the shoulder, and up".to_owned());
    path.feed(Place { x: path.at.x + toward, ..path.at }, 0.0);
    path.lift(passes.safe);
}

/// One pass from end to end, the wood still standing to one radius, down to another.
fn pass(path: &mut Path, passes: &Passes, (ends, turn): ([f64; 2], f64), (standing, height): (f64, f64)) {
    let mut on = |x: f64| {
        let to = Place { x, z: height, a: path.at.a + turn, ..path.at };
        path.feed(to, standing);
    };
    on(ends[0]);
    on(ends[0]);
    for advance in 1..=passes.advances {
        on(ends[0] + (ends[1] - ends[0]) * advance as f64 / passes.advances as f64);
    }
    on(ends[1]);
}
