//! What can hurt someone.

use super::{Cost, Needs, Rule};
use crate::finding::Severity::{Error, Warning};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "cutter-hits",
        cost: Cost::Person,
        gravest: Error,
        needs: Needs::Obstacle,
        of_scene: false,
        summary: "the flutes run into the holding, or into anything else that stands there",
        when: "An error as soon as the flutes meet jaws, chuck, faceplate, a screw, a center, the tailstock, the bed or \
               a fixed body by more than 0.02 mm, at a feed or at a rapid, with the spindle on or off.",
        why: "A turning cutter that meets steel breaks, and its pieces fly; jaws or a screw torn loose let go of the \
              blank.",
        quiet: "Move the X zero away from the holding, shorten the program or the screws, or describe what stands \
                there as it really is. Jaws of wood that are meant to be cut into can be accepted.",
        keys: &[],
    },
    Rule {
        name: "swing",
        cost: Cost::Person,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the blank cannot turn freely, or a rapid passes where its corners swing",
        when: "An error when the circle that the corners of the blank or of the jaws turn in reaches the bed or a fixed \
               body; and when a rapid, before anything is cut away there, passes over the blank or the jaws lower than \
               their corners stand.",
        why: "What is clear while a flat lies on top is struck by the corner a quarter turn later, with the whole drive \
              of the rotary axis behind it.",
        quiet: "Raise the axis or take smaller stock; retract above the corners, not above the flats, until they are \
                cut away.",
        keys: &[],
    },
    Rule {
        name: "poor-grip",
        cost: Cost::Person,
        gravest: Warning,
        needs: Needs::Holding,
        of_scene: true,
        summary: "the jaws hold the blank badly",
        when: "A warning when jaws stand on corners, when three jaws hold square stock, or when the grip is shorter \
               than a third of the gripped diameter and no tailstock helps (common practice, no source).",
        why: "A blank that works loose is thrown, or creeps along the jaws until the next cut is too deep.",
        quiet: "Turn the stock so that jaws stand on its flats, hold it deeper, or bring up the tailstock.",
        keys: &["checks.poor_grip = 0.3333"],
    },
    Rule {
        name: "slender",
        cost: Cost::Person,
        gravest: Warning,
        needs: Needs::Holding,
        of_scene: true,
        summary: "the blank stands out far without a tailstock",
        when: "A warning when the free length is more than three times the greatest diameter and there is no tailstock \
               (common practice, no source).",
        why: "A long blank held at one end whips and springs away from the cutter, and may be levered out of its jaws.",
        quiet: "Bring up the tailstock, hold a shorter blank, or raise the number for stock that is stiff enough.",
        keys: &["checks.slender = 3"],
    },
    Rule {
        name: "zero-height",
        cost: Cost::Person,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "written for another Z zero, it seems: surface for axis, or the reverse",
        when: "A warning when the heights the program cuts at fit the other zero better; an error when the job tried \
               with the other zero fits far better.",
        why: "The cutter comes down by the radius of the blank too deep or too high: through the axis at the first \
              cut, or only through air.",
        quiet: "Set zero.z to what the program was written for: \"axis\" or \"surface\".",
        keys: &["zero.z", "checks.mirrored.ratio = 4"],
    },
    Rule {
        name: "wrong-units",
        cost: Cost::Person,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the numbers look like inches read as millimetres, or the reverse",
        when: "A warning on evidence such as the program's extents beside the blank; an error when the other unit is \
               tried and fits far better.",
        why: "Everything is 25.4 times too large or too small: the cutter leaves the blank at the first move, or \
              scratches a speck.",
        quiet: "State G20 or G21 in the program's first lines, or export it again in the right unit. Against a stated G21 \
                the wood alone gives no more than a warning; accept it where the work is that small.",
        keys: &["units = \"mm\"", "checks.mirrored.ratio = 4"],
    },
    Rule {
        name: "loose-piece",
        cost: Cost::Person,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "wood is cut right through and something comes loose",
        when: "An error when the part that holds most of the target is severed from the holding, a warning for any other \
               part, a note under 100 mm³; crumbs under 1 mm³ are not told. Wood that hangs by a web thinner than the \
               grid's pitch counts as severed. Of what comes loose and is milled away later only that is seen which is \
               parted across the axis.",
        why: "What nothing holds is caught by the cutter and thrown, or jams between cutter and holding.",
        quiet: "Leave a tab, or say under the program that parting is meant: parts = {}. With parts.min_tab a tab is \
                meant to stay, and cutting through it is told.",
        keys: &["program.parts = {}"],
    },
    Rule {
        name: "thin-neck",
        cost: Cost::Person,
        gravest: Error,
        needs: Needs::Holding,
        of_scene: false,
        summary: "a neck is left that the cuts after it may break",
        when: "Needs a material. Every section of the free length is held against the cuts made while it is there: a \
               warning where bending or torsion at the greatest force comes nearer than the safety factor to the wood's \
               strength in bending or its shear strength along the grain, an error where that force breaks it. The wood \
               is looked at up to 256 times in a run, oftener where it becomes thin. What stands between two looks is \
               at least as strong as at the second; where that is not enough, the section is worked out as each cut \
               meets it. Where parting is meant, sections that are \
               left with less than a quarter, or less than the tab that is to stay, are not held against the cuts: \
               instead a warning where the tab left is thinner than wanted.",
        why: "A neck snaps in an instant: the piece whips round the cutter and flies. Strengths are averages of clear, \
              straight-grained wood; a knot or slanting grain takes half of it away.",
        quiet: "Cut the neck last, take lighter passes after it, support the free end with a center, or leave the neck \
                thicker.",
        keys: &["checks.safety = 2", "program.parts", "blank.material"],
    },
];
