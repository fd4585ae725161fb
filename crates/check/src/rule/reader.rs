//! What the reader says of the text of a program. Names are those of [`dryturn_program::Kind`].

use super::{Cost, Needs, Rule};
use crate::finding::Severity::{self, Error, Warning};

/// The parts in which rules of the reader differ.
struct Said {
    summary: &'static str,
    when: &'static str,
    why: &'static str,
    quiet: &'static str,
}

const fn rule(name: &'static str, cost: Cost, gravest: Severity, keys: &'static [&'static str], said: Said) -> Rule {
    let Said { summary, when, why, quiet } = said;
    Rule { name, cost, gravest, needs: Needs::Nothing, of_scene: false, summary, when, why, quiet, keys }
}

pub(super) const RULES: &[Rule] = &[
    rule(
        "position",
        Cost::Machine,
        Error,
        &["machine.home", "machine.start"],
        Said {
            summary: "a place that cannot be known",
            when: "A note or an error when a line moves from, or to, a place that depends on something nobody told: \
                   machine zero, an offset kept in the controller, a place before the first move.",
            why: "Where the cutter goes then depends on how the machine was left the last time.",
            quiet: "Say under [machine] where home lies and where the machine starts, or let the program state the \
                    place itself.",
        },
    ),
    rule(
        "cutter",
        Cost::Machine,
        Error,
        &["controller.m6 = \"stops\""],
        Said {
            summary: "a cutter number or a cutter change that is unclear",
            when: "An error when a T word is no cutter number; a note where it is not certain that the cutter is \
                   changed.",
            why: "The wrong cutter in the spindle has the wrong width and hangs at the wrong height.",
            quiet: "Write T with the number and M6 on the same line, and say under [controller] what M6 does.",
        },
    ),
    rule(
        "unreadable",
        Cost::Piece,
        Error,
        &[],
        Said {
            summary: "text that is no word, number or comment",
            when: "An error at text that cannot be read as a letter with a number.",
            why: "The controller stops there in the middle of the job, or skips what was a move.",
            quiet: "Correct the line, or put the text in brackets if it is a comment.",
        },
    ),
    rule(
        "number",
        Cost::Piece,
        Error,
        &["controller.numbers = \"f32\""],
        Said {
            summary: "a number that cannot stand there",
            when: "An error when a number is out of range, or negative or broken where it must not be.",
            why: "The controller stops, or takes another number in its place.",
            quiet: "Correct the number, or the formula it comes from.",
        },
    ),
    rule(
        "expression",
        Cost::Piece,
        Error,
        &["controller.expressions = false"],
        Said {
            summary: "a formula or parameter that has no value",
            when: "An error when a formula cannot be read, divides by zero, or asks for a parameter that was never set.",
            why: "What a move becomes then differs from one controller to the next.",
            quiet: "Correct the formula, or set the parameter before it is used.",
        },
    ),
    rule(
        "flow",
        Cost::Piece,
        Error,
        &["controller.subprograms = false", "controller.budget"],
        Said {
            summary: "a call, loop or condition that leads nowhere",
            when: "An error when a subprogram is missing, a loop is not closed, or a jump has no aim.",
            why: "Part of the job is left out, or the machine repeats it for ever.",
            quiet: "Close what is open, and keep the subprograms in the same file.",
        },
    ),
    rule(
        "compensation",
        Cost::Piece,
        Error,
        &["controller.compensation"],
        Said {
            summary: "cutter radius compensation that cannot be carried out",
            when: "An error when G41 or G42 starts, ends or turns a corner in a way that leaves no path, or where the \
                   cutter is too thick for the shape.",
            why: "The controller stops in the wood, or cuts a path of its own.",
            quiet: "Start and end compensation on a straight move clear of the wood, or export the program with the \
                    compensation worked out.",
        },
    ),
    rule(
        "cycle",
        Cost::Piece,
        Error,
        &["controller.canned = false"],
        Said {
            summary: "a drilling cycle without what it needs",
            when: "An error when a canned cycle lacks its depth, its clear height or its step.",
            why: "The cutter goes down to a depth that was left over from another cycle.",
            quiet: "Give Z, R and, where it is a pecking cycle, Q on its first line.",
        },
    ),
    rule(
        "conflict",
        Cost::Piece,
        Error,
        &[],
        Said {
            summary: "two words on a line that exclude each other",
            when: "An error when a line holds two codes of one group, or a letter twice.",
            why: "One controller obeys the first, another the last.",
            quiet: "Keep one of them, or write two lines.",
        },
    ),
    rule(
        "no-motion",
        Cost::Piece,
        Error,
        &[],
        Said {
            summary: "axis words that move nothing, or a move without what it needs",
            when: "An error when words for axes stand where no motion is in force, or a code that needs one has none.",
            why: "The controller stops, or makes a rapid of it.",
            quiet: "Write G0, G1, G2 or G3 on the line, or take the words out.",
        },
    ),
    rule(
        "arc",
        Cost::Piece,
        Error,
        &["controller.arc_slack = 0.005", "controller.arcs = true"],
        Said {
            summary: "an arc that cannot be",
            when: "An error when the ends of an arc do not lie at one distance from its center, or no circle fits; the \
                   slack is that of the controller.",
            why: "Controllers refuse such an arc, or close the gap with a jerk that shows in the piece.",
            quiet: "Export with more decimals, or with lines for arcs; raise the slack to what the controller takes.",
        },
    ),
    rule(
        "feed",
        Cost::Piece,
        Error,
        &[],
        Said {
            summary: "a feed word that is missing or unclear",
            when: "An error when F is missing where the mode needs it, as under G93, or cannot be a feed.",
            why: "The cutter stands in the wood and burns it, or runs far too fast.",
            quiet: "Write F on the line; under G93 on every line.",
        },
    ),
    rule(
        "modes",
        Cost::Piece,
        Warning,
        &[],
        Said {
            summary: "modes that are used and never stated",
            when: "A note, one a program, when units, plane, distance or feed mode are taken as the controller has them \
                   at power on.",
            why: "The program before may have left other modes behind: inches for millimetres, or steps for places.",
            quiet: "Begin the program with a line such as G21 G17 G90 G94.",
        },
    ),
    rule(
        "line-length",
        Cost::Piece,
        Error,
        &["controller.line_limit = 256"],
        Said {
            summary: "a line longer than the controller takes",
            when: "An error when a line holds more characters than the controller reads.",
            why: "The end of the line is lost, and with it a word or half a number.",
            quiet: "Break the line, or give the controller's own limit.",
        },
    ),
    rule(
        "budget",
        Cost::Piece,
        Error,
        &["controller.budget"],
        Said {
            summary: "more moves, steps or calls than a program is allowed",
            when: "An error when loops and calls go beyond the budget; nothing after that is known.",
            why: "Mostly a loop never ends, and the machine would repeat it until someone stops it.",
            quiet: "Check what ends the loop; if so much is meant, raise the budget.",
        },
    ),
    rule(
        "block-delete",
        Cost::Piece,
        Warning,
        &["controller.block_delete = false"],
        Said {
            summary: "lines that a switch at the controller leaves out",
            when: "A note, one a program, when lines begin with a stroke (/).",
            why: "Whether those lines run depends on how the switch stands that day.",
            quiet: "Say under [controller] how the switch stands, or take the strokes out.",
        },
    ),
    rule(
        "end",
        Cost::Piece,
        Warning,
        &[],
        Said {
            summary: "how the program ends",
            when: "A warning when the program ends without M2 or M30, or goes on after its end.",
            why: "The file may have been cut off on its way to the machine.",
            quiet: "Copy the file again, or write M30 as its last line.",
        },
    ),
    rule(
        "not-a-program",
        Cost::Piece,
        Error,
        &[],
        Said {
            summary: "a file that holds no program",
            when: "An error when the file is empty, holds no command, or is not text.",
            why: "Nothing would be cut; mostly the wrong file was named.",
            quiet: "Name the file that was exported for the machine.",
        },
    ),
    rule(
        "comment",
        Cost::Finish,
        Error,
        &[],
        Said {
            summary: "a comment that is not closed, or opened twice",
            when: "A warning or an error when the brackets of a comment do not match.",
            why: "A controller may take the rest of the line for a comment, or the comment for words.",
            quiet: "Close the bracket, or put the comment after a semicolon.",
        },
    ),
    rule(
        "line-number",
        Cost::Finish,
        Error,
        &[],
        Said {
            summary: "a line number that is none",
            when: "A note or an error when an N word is negative, broken or too large.",
            why: "Controllers that look for a line by its number find another one, or refuse the line.",
            quiet: "Number the lines again, or leave the numbers out.",
        },
    ),
    rule(
        "unused-word",
        Cost::Finish,
        Warning,
        &[],
        Said {
            summary: "a word that nothing on its line uses",
            when: "A warning when a letter stands where no code takes it.",
            why: "It moves nothing here; something may be missing beside it.",
            quiet: "Take the word out, or add the code it belongs to.",
        },
    ),
    rule(
        "percent",
        Cost::Finish,
        Warning,
        &[],
        Said {
            summary: "a percent line out of place",
            when: "A note or a warning when % stands elsewhere than before and after the program.",
            why: "Some controllers end the program at it, and leave out what follows.",
            quiet: "Keep one % line before the program and one after it, or none.",
        },
    ),
    rule(
        "more",
        Cost::Finish,
        Error,
        &[],
        Said {
            summary: "how much more there was to say",
            when: "When the reader has more to say of one program than anyone reads; as grave as the gravest left out.",
            why: "The list above it is not complete; mostly the first few have one cause.",
            quiet: "Mend what stands first, and prove again.",
        },
    ),
];
