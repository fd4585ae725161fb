//! What breaks or overtaxes the machine.

use super::{Cost, Needs, Rule};
use crate::finding::Severity::{Error, Warning};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "shank-hits",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Obstacle,
        of_scene: false,
        summary: "the shank of a cutter runs into what stands around the blank",
        when: "An error when the shank meets anything described by more than 0.02 mm.",
        why: "A shank does not cut: it bends, the collet is strained, and what it meets is pushed aside.",
        quiet: "Keep the program clear of it, or take a cutter with a thinner shank.",
        keys: &[],
    },
    Rule {
        name: "holder-hits",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Obstacle,
        of_scene: false,
        summary: "the collet nut or what is above it runs into what stands around the blank",
        when: "An error when the holder meets anything described by more than 0.02 mm.",
        why: "The nut turns with the spindle: it grinds into the chuck and bends the spindle.",
        quiet: "Let the cutter stick out further, keep the stations further from the holding, or cut less deep there.",
        keys: &[],
    },
    Rule {
        name: "spindle-hits",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Obstacle,
        of_scene: false,
        summary: "the spindle, or what hangs on it, runs into what stands around the blank",
        when: "An error when the spindle body, or a body of [[moving]], meets anything described by more than 0.02 mm.",
        why: "The whole weight and drive of the gantry is behind it: steps are lost at the best, the spindle is bent \
              at the worst.",
        quiet: "Let the cutter stick out further, or keep the program clear; fasten hoses and boots higher.",
        keys: &[],
    },
    Rule {
        name: "near-miss",
        cost: Cost::Machine,
        gravest: Warning,
        needs: Needs::Obstacle,
        of_scene: false,
        summary: "two bodies pass closer than is comfortable",
        when: "A warning, one for each pair of bodies, when they come nearer than the distance asked for without \
               touching.",
        why: "A set-up is never quite as measured: a zero a millimetre off turns a near miss into a hit.",
        quiet: "Give it more room; or, where the distance is known to be enough, lower the number for that body alone: \
                near = { jaws = 0.5 }.",
        keys: &["checks.near = 2"],
    },
    Rule {
        name: "out-of-reach",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Reach,
        of_scene: false,
        summary: "the program goes further than the machine travels",
        when: "An error for each axis and end of travel that is passed.",
        why: "The controller stops in the middle of the cut, or the axis runs against its end and loses its place.",
        quiet: "Move the blank and its zero, shorten the program, or give the real travel under [machine] reach.",
        keys: &["machine.reach"],
    },
    Rule {
        name: "wrong-length",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the length offset is that of another cutter",
        when: "An error when G43 calls a length (H) that is not that of the cutter in the spindle, or calls none \
               where lengths are in use.",
        why: "The tip then hangs lower or higher than the program thinks by the difference of the two cutters.",
        quiet: "Let H carry the number of the cutter, as in T2 M6 followed by G43 H2.",
        keys: &["controller.tool_length = \"none\""],
    },
    Rule {
        name: "unknown-place",
        cost: Cost::Machine,
        gravest: Warning,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "moves could not be looked at, because nobody knows where they start",
        when: "A warning, one a program, when cutting moves, or moves between them, start from a place that neither \
               the program nor the scene tells.",
        why: "What was not looked at is not known to be safe, and the machine starts from wherever it happens to stand.",
        quiet: "Say under [machine] where it stands at the start, or let the program move every word to a place of its \
                own before the first cut.",
        keys: &["machine.start", "machine.home"],
    },
    Rule {
        name: "not-understood",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "a code or word that this controller does not take",
        when: "An error that stops the run when the code changes how the machine moves; with --lenient the run goes on \
               and the error is told. A warning or a note where the code moves nothing.",
        why: "One controller stops at it, the next skips it and goes on with the wrong motion.",
        quiet: "Take the code out, write the program for this controller, or say under [controller] what it takes.",
        keys: &["controller.not_understood", "controller.drops"],
    },
    Rule {
        name: "wrong-rotary-word",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the program turns a word that turns nothing here",
        when: "An error when the program moves a rotary word that the scene does not name as the one that turns the \
               blank.",
        why: "The blank stands still while the cutter goes on as if it turned, round and round in one place.",
        quiet: "Name the word under [machine] rotary, or write the program for the word this machine has.",
        keys: &["machine.rotary = \"A\""],
    },
    Rule {
        name: "center-overextended",
        cost: Cost::Machine,
        gravest: Warning,
        needs: Needs::Tailstock,
        of_scene: true,
        summary: "the quill of the tailstock is out far",
        when: "A note from 3.2 mm, 1/8 inch, on; a warning when it is out further than it is thick (common practice, \
               no source).",
        why: "A quill that is out springs aside under the cut, and the piece chatters and comes out tapered.",
        quiet: "Move the tailstock up and draw the quill back, or raise the number for a stout one.",
        keys: &["checks.center_overextended = 3.2"],
    },
    Rule {
        name: "flat-program",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the program never turns the blank; it was written for a flat table",
        when: "An error when nothing turns although Y moves over more than the diameter of the blank, or over about \
               its circumference; otherwise a note. Quiet where the program says it is indexed.",
        why: "Cut on a round blank that stands still, a flat drawing runs off both of its sides and into the bed.",
        quiet: "Post the program for the rotary axis; if Y is meant to turn the blank, write rotary = \"Y\" under \
                [machine]; if the blank is turned by hand between cuts, write indexed = true for the program.",
        keys: &["machine.rotary = \"A\"", "program.indexed = false"],
    },
    Rule {
        name: "overload",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Power,
        of_scene: false,
        summary: "the cut asks the spindle for more power than it has",
        when: "The wood taken in a second times the specific cutting force of the material, a range: a warning where the \
               most it may be passes the power of the spindle, an error where the least does. The ranges of the \
               materials are planning defaults, from memory; chips under 0.1 mm raise the upper end, those of 0.05 mm \
               and less to twice.",
        why: "The spindle slows down or stalls, the teeth take thicker chips each, and the cutter breaks.",
        quiet: "Lower F, the depth or the stepover; or give the range of your own wood as cutting in blank.material.",
        keys: &["machine.spindle_power", "blank.material.cutting"],
    },
    Rule {
        name: "stall",
        cost: Cost::Machine,
        gravest: Error,
        needs: Needs::Torque,
        of_scene: false,
        summary: "the cut turns or pushes the blank with more than holds it",
        when: "A warning where the most that the cut may be passes what is given, an error where the least does: the \
               torque about the rotary axis beside the least of what axis, chuck, faceplate or drive center hold; the \
               force along the axis beside what the live center holds. The least is the mean over a turn of the \
               cutter, the most the peak of one tooth; forces are planning defaults, from memory.",
        why: "The axis loses steps or the blank slips in its holding, and all that follows is cut in the wrong place.",
        quiet: "Lower F or the depth, hold the blank better, or give what really holds it.",
        keys: &["machine.rotary_torque", "chuck.torque", "faceplate.torque", "drive.torque", "tailstock.force"],
    },
];
