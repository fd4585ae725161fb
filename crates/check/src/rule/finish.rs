//! What costs more work, or leaves less known than should be.

use super::{Cost, Needs, Rule};
use crate::finding::Severity::{Note, Warning};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "leftover",
        cost: Cost::Finish,
        gravest: Warning,
        needs: Needs::Target,
        of_scene: false,
        summary: "wood stays over the shape wanted",
        when: "A warning where more wood stays over the target than allowed, measured as the shortest distance to its \
               surface; one finding a patch. A note where no cutter of the job can reach.",
        why: "A pass is missing, or the piece needs more sanding than was meant.",
        quiet: "Add the pass that is missing, or say how much may stay.",
        keys: &["target.leftover = 0.3", "target.allowance = 0"],
    },
    Rule {
        name: "cuts-nothing",
        cost: Cost::Finish,
        gravest: Warning,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "a program, or a cutter that was called, takes nothing off",
        when: "A warning when a program removes nothing, or when a cutter makes feed moves and removes nothing.",
        why: "It cuts air: a zero is off, programs run in the wrong order, or the wrong file was taken.",
        quiet: "Check the zeros, the size of the blank and the order of the programs. A finishing pass that only \
                follows another can be accepted.",
        keys: &[],
    },
    Rule {
        name: "wound-up",
        cost: Cost::Finish,
        gravest: Warning,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the rotary axis ends many turns away from its zero",
        when: "A note on how far it winds; a warning when one move without cutting turns it back for more than five \
               minutes, or when its number has grown so large that the controller no longer resolves 0.02 mm around \
               the blank.",
        why: "The blank unwinds in front of you for minutes, and a number with too many digits loses the last ones, \
              which shows as steps.",
        quiet: "Zero the rotary axis again at a whole turn, or write numbers that return by the short way.",
        keys: &["checks.wound_up = { minutes = 5, step = 0.02 }", "controller.numbers = \"f32\""],
    },
    Rule {
        name: "feed-reading",
        cost: Cost::Finish,
        gravest: Warning,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "controllers that count F differently would take very different times",
        when: "A note with the three times when they differ much; a warning where the scene does not say how this \
               controller counts, or where the axis is asked for more than ten times its rapid.",
        why: "Read the wrong way, the cutter crawls and burns the wood, or the blank spins up to full speed under it.",
        quiet: "Say under [machine] how this controller counts, or write the program with G93, which all read alike.",
        keys: &["machine.feed_counts = \"linear\""],
    },
    Rule {
        name: "uphill",
        cost: Cost::Finish,
        gravest: Note,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "a program cuts uphill against the grain",
        when: "A note for each program that is in wood uphill for more than a twentieth of its time there: along the axis \
               with the tip rising. It tells the share of its time, the deepest such cut, and how much of all climbs.",
        why: "The grain runs along the axis: going from thin to thick lifts fibres and tears them out, the more the deeper. \
              A cut that climbs leaves cleaner fibres, but pulls the blank along, as far as the rotary axis has play.",
        quiet: "Cut slopes from thick to thin. A first pass that only roughs can be accepted.",
        keys: &[],
    },
    Rule {
        name: "grid-too-coarse",
        cost: Cost::Finish,
        gravest: Note,
        needs: Needs::Nothing,
        of_scene: true,
        summary: "the grid is coarse for the finest tip or detail",
        when: "A note when a cutter's tip or a detail of the target is narrower than three pitches of the grid.",
        why: "What is told of such places is less certain than elsewhere; nothing changes at the machine.",
        quiet: "Make the grid finer, at the price of time and memory.",
        keys: &["grid.pitch", "checks.grid_too_coarse = 3"],
    },
    Rule {
        name: "accept-unused",
        cost: Cost::Finish,
        gravest: Note,
        needs: Needs::Accept,
        of_scene: true,
        summary: "an [[accept]] of the scene matches nothing",
        when: "A note for each [[accept]] that no finding matches: its rule found nothing, or not in that program or \
               within those lines.",
        why: "An entry left behind would swallow the next finding of that rule, which nobody has looked at.",
        quiet: "Take the entry out of the scene, or correct its program and lines after another look.",
        keys: &["[[accept]]"],
    },
];
