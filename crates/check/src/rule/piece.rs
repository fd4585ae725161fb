//! What spoils the piece.

use super::{Cost, Needs, Rule};
use crate::finding::Severity::{Error, Note, Warning};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "gouge",
        cost: Cost::Piece,
        gravest: Error,
        needs: Needs::Target,
        of_scene: false,
        summary: "the piece is cut into the shape wanted",
        when: "An error where the piece lies deeper in the target than allowed, measured as the shortest distance to \
               its surface; one finding a patch. The facets of a mesh widen what is allowed, and the text says by how \
               much.",
        why: "Wood cannot be put back.",
        quiet: "Check the zeros, the size of the cutter and the lines named; check whether the target stands where it \
                should; or allow more.",
        keys: &["target.gouge = 0.05"],
    },
    Rule {
        name: "blank-too-small",
        cost: Cost::Piece,
        gravest: Error,
        needs: Needs::Target,
        of_scene: true,
        summary: "the shape wanted does not fit into the blank as it is held",
        when: "An error when the target stands out of the raw blank, at its side or beyond its free end, by more than \
               a gouge may be.",
        why: "The piece comes out with a flat, a hollow or an end missing, after all the work has been done.",
        quiet: "Take a larger blank, hold it further out, or move the target with target.place.",
        keys: &["target.gouge = 0.05", "target.place", "target.span"],
    },
    Rule {
        name: "past-axis",
        cost: Cost::Piece,
        gravest: Warning,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the tip goes below the rotary axis",
        when: "A note; a warning when wood more than 0.05 mm beyond the axis goes while the blank turns. A note again \
               where the program says that parting is meant.",
        why: "Beyond the axis the wood comes from the other side: a neck is cut through, or the shape is cut twice. \
              Mostly it is a Z zero on the surface where the axis was meant.",
        quiet: "Check the Z zero; if parting is meant, write parts = {} for the program.",
        keys: &["checks.past_axis = 0.05", "program.parts"],
    },
    Rule {
        name: "mirrored",
        cost: Cost::Piece,
        gravest: Error,
        needs: Needs::Target,
        of_scene: false,
        summary: "turned the other way, the job would fit the target far better",
        when: "An error when what does not match the target shrinks to a fourth and less with the rotary axis reversed, \
               and the difference is more than a hundredth of what the program removes.",
        why: "Spirals come out left-handed and lettering back to front; nobody sees it before the piece is done.",
        quiet: "Set turns under [machine] to how this machine is wired, or mirror the program.",
        keys: &["machine.turns = \"iso\"", "checks.mirrored = { ratio = 4, share = 0.01 }"],
    },
    Rule {
        name: "rezero-off-turn",
        cost: Cost::Piece,
        gravest: Error,
        needs: Needs::Nothing,
        of_scene: false,
        summary: "the rotary axis is zeroed again, but not after whole turns",
        when: "An error when G92, or the zero of the next program, puts the rotary zero somewhere that is not a whole \
               number of turns from where it was; the rest is told in degrees and in mm around the blank. A note where \
               what is cut afterwards is the same all round.",
        why: "What is cut afterwards stands turned against what was cut before.",
        quiet: "Turn to a whole number of turns before zeroing, or leave the zero where it is.",
        keys: &["zero.a", "program.zero"],
    },
    Rule {
        name: "pushed-off",
        cost: Cost::Piece,
        gravest: Error,
        needs: Needs::Holding,
        of_scene: false,
        summary: "the cut pushes wood and cutter further apart than allowed",
        when: "Needs a material. Bending and twist of the wood as it is at that stretch of the block, held as the scene \
               says, and the bending of the cutter where its stickout is known: a warning where they may come to more \
               than allowed at the greatest force, an error where they do at the least. Where the wood would break \
               first, it is told how far it springs until then. Where parting is meant, what is parted may spring: the \
               cuts into a groove of which less than a quarter, or than the tab, is left.",
        why: "The cutter takes less than it should, leaves marks, or is drawn in and takes too much; the size is \
              off most in the middle of slender work.",
        quiet: "Cut slender parts last and in lighter passes, support the blank with a center, let the cutter stick out \
                less, or allow more with checks.spring.",
        keys: &["checks.spring = target.leftover, else 0.3", "blank.material", "cutter.stickout"],
    },
    Rule {
        name: "set-up",
        cost: Cost::Piece,
        gravest: Note,
        needs: Needs::Nothing,
        of_scene: true,
        summary: "something in the scene is worth a second look",
        when: "A note where the scene can be read in more ways than one, or says something that has no effect; and of a \
               piece kept from an earlier set-up, which lines made what the jaws grip.",
        why: "The set-up at the machine must be the one that was proved.",
        quiet: "Write the key named in the way the note proposes; nothing else to do if it is meant.",
        keys: &[],
    },
];
