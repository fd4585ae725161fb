//! The G and M codes: which are taken, in which modal group, and what the others would be.

use crate::program::Setup;

/// A modal group: two codes of one group may not share a line (NISTIR 6556 Table 4).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Group {
    NonModal,
    Motion,
    Plane,
    Distance,
    ArcDistance,
    FeedMode,
    Units,
    Compensation,
    ToolLength,
    Retract,
    System,
    PathControl,
    Stopping,
    ToolChange,
    Spindle,
    Coolant,
    Override,
    /// M98 and M99.
    Call,
}

/// How many groups there are.
pub(crate) const GROUPS: usize = Group::Call as usize + 1;

/// A code that is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NotTaken {
    /// What it is, to follow "G81 is ".
    pub(crate) what: &'static str,
    pub(crate) effect: Effect,
    /// What to write instead, or empty.
    pub(crate) help: &'static str,
}

/// What leaving a code out does to the motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Effect {
    /// Nothing.
    None,
    /// Nothing that moves, but the machine does something else.
    Aside,
    /// The motion is another one, now or later.
    Motion,
    /// The words of this line do not mean what they say in the mode in force.
    Line,
    /// The same, on every line that follows, until another motion code.
    Mode,
}

/// The group of a G code, given as ten times its number.
pub(crate) fn g_group(tenths: u32) -> Result<Group, NotTaken> {
    let group = match tenths {
        40 | 100 | 280 | 281 | 300 | 301 | 520 | 530 | 920 | 921 | 922 | 923 => Group::NonModal,
        0 | 10 | 20 | 30 | 730 | 800 => Group::Motion,
        _ if is_cycle(tenths) => Group::Motion,
        170 | 180 | 190 => Group::Plane,
        200 | 210 => Group::Units,
        400 | 410 | 420 => Group::Compensation,
        430 | 490 => Group::ToolLength,
        980 | 990 => Group::Retract,
        540 | 550 | 560 | 570 | 580 | 590 | 591 | 592 | 593 => Group::System,
        610 | 611 | 640 => Group::PathControl,
        900 | 910 => Group::Distance,
        901 | 911 => Group::ArcDistance,
        930 | 940 => Group::FeedMode,
        _ => return Err(g_not_taken(tenths)),
    };
    Ok(group)
}

/// Whether a code is a canned cycle, G80 excepted.
pub(crate) fn is_cycle(tenths: u32) -> bool {
    tenths == 730 || matches!(tenths, 810..=890) && tenths.is_multiple_of(10)
}

/// What a controller that lacks part of the language makes of a code of a group; G40 and G49 cancel what it never has.
pub(crate) fn lacks(setup: &Setup, group: Group, tenths: u32) -> Option<NotTaken> {
    let missing = match group {
        Group::Motion => is_cycle(tenths) && !setup.canned,
        Group::Compensation => tenths != 400 && !setup.compensation,
        Group::ToolLength => tenths != 490 && !setup.tool_length,
        Group::Retract => !setup.canned,
        _ => false,
    };
    let help = match group {
        Group::Compensation => "if the controller takes it, say so in the scene: [controller] compensation = true",
        Group::ToolLength => "if the controller takes it, say so in the scene: [controller] tool_length = \"table\"",
        _ => "if the controller takes it, say so in the scene: [controller] canned = true",
    };
    missing.then(|| NotTaken { help, ..g_not_taken(tenths) })
}

/// What a code would turn off that never is on here, so that it changes nothing, to follow "G69 turns off ". G50 with
/// axis words is another code on some controllers, and the standard knows none of these.
pub(crate) fn idle_cancel(tenths: u32, with_axes: bool) -> Option<&'static str> {
    match tenths {
        150 => Some("polar coordinates"),
        500 | 501 if !with_axes => Some("scaling or mirroring"),
        690 => Some("a turned coordinate system"),
        970 => Some("a constant cutting speed"),
        _ => None,
    }
}

fn g_not_taken(tenths: u32) -> NotTaken {
    use Effect::{Line, Mode, Motion, None};
    let (what, effect) = match tenths {
        50..=53 => ("a spline", Mode),
        70 | 80 => ("diameter or radius mode of a lathe, or not in the standard", Motion),
        120 | 130 => ("a circular pocket", Line),
        330 | 331 => ("synchronised motion", Mode),
        380..=389 => ("probing, and where a probe touches cannot be foretold", Mode),
        410 | 411 | 420 | 421 => ("cutter compensation", Motion),
        430..=432 => ("a tool length offset", Motion),
        500 | 501 | 510 | 511 => ("scaling or mirroring", Motion),
        680 => ("turning the coordinate system", Motion),
        760 => ("a canned cycle", Mode),
        _ if is_cycle(tenths) => ("a canned cycle", Mode),
        950 => ("feed per turn", Motion),
        960 => ("a spindle speed mode", Motion),
        980 | 990 => ("the retract height of canned cycles", None),
        _ => ("not in the standard", Line),
    };
    let help = match tenths {
        500 | 501 => "to turn it off, write the code without axis words",
        950 => "write G94 and the feed per turn times the spindle's speed as F",
        411 | 421 => "write G41 or G42 with a D word, and the diameter in the cutter table",
        431 | 432 => "write G43 with an H word",
        _ => "",
    };
    NotTaken { what, effect, help }
}

/// The group of an M code.
pub(crate) fn m_group(code: u32) -> Result<Group, NotTaken> {
    let group = match code {
        0 | 1 | 2 | 30 | 60 => Group::Stopping,
        6 => Group::ToolChange,
        3..=5 => Group::Spindle,
        7..=9 => Group::Coolant,
        48 | 49 => Group::Override,
        98 | 99 => Group::Call,
        _ => return Err(m_not_taken(code)),
    };
    Ok(group)
}

fn m_not_taken(code: u32) -> NotTaken {
    use Effect::{Aside, Motion};
    let (what, effect) = match code {
        10 | 11 => ("a clamp, on many machines that of the rotary axis", Aside),
        19 => ("a spindle orientation", Aside),
        50..=53 => ("a feed or speed override", Aside),
        62..=68 => ("an output or input of the controller", Aside),
        70..=73 => ("saving or restoring modes", Motion),
        97 => ("a call of lines of this program", Motion),
        _ => ("not in the standard", Motion),
    };
    let help = if code == 97 { "write a subprogram of its own, called by M98" } else { "" };
    NotTaken { what, effect, help }
}

/// What a letter without a use of its own would be, to follow "E is ".
pub(crate) fn letter_not_taken(letter: u8) -> Option<&'static str> {
    match letter {
        b'E' => Some("not a word of the standard; its numbers have no exponent"),
        b'U' | b'V' | b'W' => Some("not an axis of the standard"),
        _ => None,
    }
}

/// A code as it is written: ten times 38.2 is `38.2`.
pub(crate) fn g_name(tenths: u32) -> String {
    match tenths % 10 {
        0 => format!("G{}", tenths / 10),
        decimal => format!("G{}.{decimal}", tenths / 10),
    }
}
