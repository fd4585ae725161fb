//! What burns or breaks the cutter.

use super::{Cost, Needs, Rule};
use crate::finding::Severity::{Error, Warning};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "shank-in-blank",
        cost: Cost::Cutter,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the shank rubs in wood that the flutes have not cleared",
        when: "Flutes cut first: only what they leave counts. A warning from 0.05 mm deep, an error from 0.3 mm; never \
               where shank and flutes are equally thick.",
        why: "A shank does not cut: it burns the wood, heats the cutter until it breaks, and pushes the piece aside.",
        quiet: "Cut less deep at a time, or take longer flutes or a thinner shank.",
        keys: &["checks.shank_in_blank = { warning = 0.05, error = 0.3 }"],
    },
    Rule {
        name: "holder-in-blank",
        cost: Cost::Cutter,
        gravest: Error,
        needs: Needs::Holder,
        of_scene: false,
        summary: "the collet nut goes into the wood",
        when: "An error when the holder goes more than 0.02 mm into wood that stands there at that moment.",
        why: "The nut burns a groove around the piece, and may lever it out of its holding.",
        quiet: "Let the cutter stick out further, cut less deep, or clear the wood beside it first.",
        keys: &[],
    },
    Rule {
        name: "spindle-in-blank",
        cost: Cost::Cutter,
        gravest: Error,
        needs: Needs::Spindle,
        of_scene: false,
        summary: "the spindle body goes into the wood",
        when: "An error when the spindle, or a body of [[moving]], goes more than 0.02 mm into wood that stands there \
               at that moment.",
        why: "The gantry pushes the blank out of its holding, or stalls and loses its place.",
        quiet: "Let the cutter stick out further, cut less deep, or take a longer cutter.",
        keys: &[],
    },
    Rule {
        name: "rapid-in-blank",
        cost: Cost::Cutter,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "a rapid goes through wood",
        when: "An error when a rapid goes at least 0.05 mm deep and takes at least 0.5 mm³ with it; a note below that.",
        why: "At the speed of a rapid the cutter breaks, or tears the blank out of its holding.",
        quiet: "Retract higher before the rapid, or check the Z zero and the size of the blank.",
        keys: &["checks.rapid_in_blank = { depth = 0.05, volume = 0.5 }"],
    },
    Rule {
        name: "spindle-still",
        cost: Cost::Cutter,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "wood is cut while the spindle stands still",
        when: "An error when wood goes while the program has the spindle stopped. A single note where no program of \
               the job switches the spindle, or where the scene says that a hand does.",
        why: "A cutter that does not turn is pushed through the wood until one of the two breaks.",
        quiet: "Start the spindle (M3) before the first cut and leave it on; or write spindle_switch = \"hand\" under \
                [machine] if the router has its own switch.",
        keys: &["machine.spindle_switch = \"program\""],
    },
    Rule {
        name: "no-feed",
        cost: Cost::Cutter,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "a cutting move without a feed",
        when: "An error, one a program, when a feed move comes before any F word, with F0, or under G93 without an F \
               of its own.",
        why: "One controller stops there with the cutter in the wood, another goes on with whatever feed was in force \
              before the program.",
        quiet: "Put an F word on the line or before it; with G93 every line needs its own.",
        keys: &[],
    },
    Rule {
        name: "too-deep",
        cost: Cost::Cutter,
        gravest: Warning,
        needs: Needs::Limits,
        of_scene: false,
        summary: "a cut is deeper than the cutter is good for",
        when: "A warning where the surface comes down by more than 1.05 times the depth given for the cutter, in one go; \
               plunges left out. The twentieth is for rays that stand aslant and are longer than the cut is deep.",
        why: "A long edge in the wood bends the cutter, packs its flutes with chips, and burns or breaks it.",
        quiet: "Take it in more passes, or give the depth that this cutter is really good for.",
        keys: &["cutter.depth"],
    },
    Rule {
        name: "full-width",
        cost: Cost::Cutter,
        gravest: Warning,
        needs: Needs::Limits,
        of_scene: false,
        summary: "a cut is wider than the cutter is good for",
        when: "A warning where the section of the cut over its depth is more than 1.05 times the width given for the \
               cutter; plunges left out. The twentieth is for volumes that are as good as the grid.",
        why: "With both sides in the wood the chips have no way out, and the teeth have no time to cool.",
        quiet: "Step over by less, enter from beside the wood, or give the width that this cutter is really good for.",
        keys: &["cutter.width"],
    },
    Rule {
        name: "plunge",
        cost: Cost::Cutter,
        gravest: Warning,
        needs: Needs::Limits,
        of_scene: false,
        summary: "the cutter goes straight down faster than it can, or where it cannot cut",
        when: "A warning where wood goes on a way that is mainly down, fed faster than 1.01 times the plunge given for \
               the cutter; the hundredth is for rounding. And where a cutter with cuts_center = false goes down by more than 0.1 mm with wood under its center.",
        why: "At the center the edge hardly moves: it does not cut but presses, burns, and pushes the blank away.",
        quiet: "Write a lower F for the way down, ramp in, or drill a hole first.",
        keys: &["cutter.plunge", "cutter.cuts_center = true"],
    },
    Rule {
        name: "chip-load",
        cost: Cost::Cutter,
        gravest: Warning,
        needs: Needs::Limits,
        of_scene: false,
        summary: "the feed of a tooth lies outside what the cutter is good for",
        when: "A warning where the way over the wood from one tooth to the next is longer than 1.01 times the greatest \
               chip given for the cutter, or shorter than 0.99 times the least for over 5 s of cutting without a break \
               (common practice, no source), ways down left out; the hundredth is for rounding. \
               The blank turns under the cutter, so it is not F alone. Chips that are thin because the cut is narrow do \
               not count.",
        why: "Too much breaks teeth; too little rubs, and rubbing heats and dulls them until the wood burns.",
        quiet: "Change F or S there, or give the chips that this cutter is really good for.",
        keys: &["cutter.chip", "cutter.teeth = 2", "machine.spindle_speed"],
    },
];
