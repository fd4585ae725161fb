//! Every table and key of scene format 1: what it takes, and what it means, with its unit.

use super::Form::{Count, Either, Flag, Length, List, Named, Number, Pair, Rate, Six, Table, Tables, Text, Words};
use super::{Form, Key, TableKeys};
use crate::read::Bound::{Any, NotNegative, Positive, Within};

const fn key(name: &'static str, form: Form, told: &'static str) -> Key {
    Key { name, form, told }
}

const fn table(path: &'static str, keys: &'static [Key]) -> TableKeys {
    TableKeys { path, keys }
}

const UNITS: Form = Words(&["mm", "inch"]);
const STACK: Form = List(&Pair(&Length(Positive)));
const LENGTHS: Form = Pair(&Length(Any));
const LAST_LINE: u64 = u32::MAX as u64;

/// Every table of the format. `zero` tables are listed once and used for the scene and for programs.
pub(crate) const TABLES: &[TableKeys] = &[
    table(
        "",
        &[
            key("format", Count(1, 1), "Format of this file; this version reads 1."),
            key("title", Text, "What the job is called."),
            key(
                "units",
                UNITS,
                "Unit of every length of this file that carries none, rates included. A text may carry its own: \"2 1/4 in\".",
            ),
            key(
                "use",
                List(&Text),
                "Libraries: files of this format without programs. \"shop:NAME\" is one in the shop's folder. Keys of later \
                 ones win, and those of this file over all.",
            ),
            key("machine", Table("machine"), "The machine and its axes."),
            key("controller", Table("controller"), "What the controller understands."),
            key("blank", Table("blank"), "The blank before the first program."),
            key("chuck", Table("chuck"), "The chuck. Its jaw face, or the faceplate's front, is station 0."),
            key("faceplate", Table("faceplate"), "The faceplate; a chuck beside it stands behind it."),
            key("drive", Table("drive"), "The drive center, where the blank is held between centers."),
            key("tailstock", Table("tailstock"), "The tailstock with its live center."),
            key("fixed", Tables("fixed[]"), "Anything else that stands in the way."),
            key("moving", Tables("moving[]"), "Anything else that moves with the spindle: a boot, a hose."),
            key("zero", Table("zero"), "Where program zero (G54) sits."),
            key("cutter", Tables("cutter[]"), "The cutters."),
            key("program", Tables("program[]"), "The programs, in the order they run."),
            key("target", Table("target"), "The shape wanted."),
            key("grid", Table("grid"), "How finely the blank is looked at."),
            key("checks", Table("checks"), "Numbers of the rules."),
            key("batch", Table("batch"), "How many pieces are cut."),
            key("doubt", Table("doubt"), "How far things may be off, to either side."),
            key("accept", Tables("accept[]"), "Findings that are right as they are."),
        ],
    ),
    table(
        "machine",
        &[
            key("along", Words(&["x", "y"]), "Machine axis that the rotary axis lies along."),
            key(
                "rotary",
                Words(&["A", "B", "C", "Y", "X"]),
                "Word that turns the blank: A, B or C in degrees; Y (X when along = \"y\") where it is wrapped, a length of arc.",
            ),
            key("wrap_diameter", Length(Positive), "Diameter that a wrapped word is wound on, mm."),
            key("turns", Words(&["iso", "reversed"]), "Sense of the rotary word: as ISO 841 has it, or the other way."),
            key("chuck_on", Words(&["-x", "+x", "-y", "+y"]), "Side that the chuck stands on."),
            key(
                "feed_counts",
                Words(&["linear", "all", "each"]),
                "What F counts: the linear axes (RS-274), all words alike, or X, Y and Z with the rotary held to its own rate.",
            ),
            key("rapid", Table("machine.rapid"), "Rapid rates."),
            key("accel", Table("machine.accel"), "Accelerations."),
            key("change", Number(NotNegative), "Time that a cutter change takes, s."),
            key("reach", Table("machine.reach"), "How far the machine can travel."),
            key("start", Table("machine.start"), "Where the tip is before the first block, in program words."),
            key("home", Table("machine.home"), "Where machine zero (G28, G30, G53) lies, in the terms of reach."),
            key("bed", Length(Positive), "Depth of the flat bed under the axis, mm."),
            key("spindle", STACK, "Cylinders [diameter, length] from the top of the holder up, mm."),
            key("spindle_power", Number(Positive), "Power of the spindle, W."),
            key("spindle_speed", Number(Positive), "Speed of the spindle where the program gives none, 1/min."),
            key("spindle_switch", Words(&["program", "hand"]), "Who switches the spindle."),
            key("rotary_torque", Number(Positive), "Torque that holds the rotary axis, N·m."),
            key("rise", Length(Within(-100.0, 100.0)), "How far the axis rises toward greater stations, mm in 100 mm."),
            key("skew", Length(Within(-100.0, 100.0)), "How far the axis leans toward +Y, mm in 100 mm."),
            key("backlash", Number(NotNegative), "Play of the rotary axis, degrees."),
        ],
    ),
    table(
        "machine.rapid",
        &[
            key("x", Rate(Positive), "Along the rotary axis, mm/min."),
            key("y", Rate(Positive), "Across the bed, mm/min."),
            key("z", Rate(Positive), "Up and down, mm/min."),
            key("a", Number(Positive), "Turning, degrees/min."),
        ],
    ),
    table(
        "machine.accel",
        &[
            key("x", Length(Positive), "Along the rotary axis, mm/s²."),
            key("y", Length(Positive), "Across the bed, mm/s²."),
            key("z", Length(Positive), "Up and down, mm/s²."),
            key("a", Number(Positive), "Turning, degrees/s²."),
        ],
    ),
    table(
        "machine.reach",
        &[
            key("x", LENGTHS, "Least and greatest station, mm."),
            key("y", LENGTHS, "Least and greatest place across, mm."),
            key("z", LENGTHS, "Least and greatest height of the holder's lower face over the axis, mm."),
            key("a", Pair(&Number(Any)), "Least and greatest rotary word, degrees."),
        ],
    ),
    table(
        "machine.start",
        &[
            key("x", Length(Any), "Word along the rotary axis, mm."),
            key("y", Length(Any), "Word across, mm."),
            key("z", Length(Any), "Height, mm."),
            key("a", Number(Any), "Rotary word, degrees."),
        ],
    ),
    table(
        "machine.home",
        &[
            key("x", Length(Any), "Station, mm."),
            key("y", Length(Any), "Across, mm."),
            key("z", Length(Any), "Height of the holder's lower face over the axis, mm."),
            key("a", Number(Any), "Rotary word, degrees."),
        ],
    ),
    table(
        "controller",
        &[
            key("arcs", Flag, "Whether it takes arcs, G2 and G3."),
            key("canned", Flag, "Whether it takes canned cycles, G81 to G89."),
            key("expressions", Flag, "Whether it takes parameters and expressions."),
            key("subprograms", Flag, "Whether it takes subprograms and loops."),
            key("inverse_time", Flag, "Whether it takes inverse time feed, G93."),
            key("tool_length", Words(&["none", "table"]), "Whether G43 takes its offset from a table."),
            key("compensation", Flag, "Whether it takes cutter radius compensation, G41 and G42."),
            key("not_understood", Words(&["stops", "ignores"]), "What it does with what it does not understand."),
            key("drops", List(&Text), "Codes and letters that it drops without a word: \"S\", \"G64\"."),
            key(
                "m6",
                Words(&["stops", "ignored", "changes"]),
                "What M6 does: waits for a hand, nothing, or the change.",
            ),
            key("dwell", Words(&["s", "ms"]), "Unit of the dwell word."),
            key("line_limit", Count(16, 1_000_000), "Longest line, characters."),
            key("numbers", Words(&["f32", "f64"]), "Width of its numbers."),
            key("block_delete", Flag, "Whether lines that begin with a slash are left out."),
            key(
                "budget",
                Table("controller.budget"),
                "Bounds on what a program may do before it is taken for endless.",
            ),
            key("arc_slack", Length(Within(0.0, 1.0)), "How far the two radii of an arc may differ, mm."),
        ],
    ),
    table(
        "controller.budget",
        &[
            key("steps", Count(1, LAST_LINE), "Lines executed."),
            key("depth", Count(1, 1000), "Depth of subprogram calls."),
            key("blocks", Count(1, LAST_LINE), "Blocks beyond one a line."),
        ],
    ),
    table(
        "blank",
        &[
            key(
                "shape",
                Words(&["round", "tube", "square", "polygon", "mesh", "kept"]),
                "Shape; may follow from the other keys.",
            ),
            key("diameter", Length(Positive), "Diameter of a round blank or a tube, mm."),
            key("bore", Length(Positive), "Diameter of the bore of a tube, mm."),
            key("across_flats", Length(Positive), "Size across the flats: twice from the axis to a flat, mm."),
            key("sides", Count(3, 360), "How many sides a polygon has."),
            key("file", Text, "File of the blank's mesh, or of a piece that was kept."),
            key("units", UNITS, "Unit of the mesh."),
            key("length", Length(Positive), "Whole length, with what is in the jaws, mm."),
            key(
                "material",
                Either(&[Text, Table("blank.material")]),
                "What it is made of: a row of the material table (\"hard maple\"), or values of its own.",
            ),
            key(
                "runout",
                Table("blank.runout"),
                "How far its centre line is off the axis at station 0; turns with it.",
            ),
            key("runout_far", Table("blank.runout_far"), "The same at the free end."),
            key("bow", Table("blank.bow"), "How far it is bent between its ends."),
            key("turned", Number(Any), "Angle of the outward normal of the first flat, degrees."),
            key("flip", Flag, "A kept piece: put back end for end."),
            key("shift", Length(Any), "A kept piece: how much farther out it sits than `hold` says, mm."),
            key("turn", Number(Any), "A kept piece: how far it is turned, degrees."),
            key("off", Table("blank.off"), "A kept piece: how far it is off the axis."),
        ],
    ),
    table(
        "blank.material",
        &[
            key("name", Text, "What it is called."),
            key("wood", Flag, "Whether it is wood."),
            key("density", Number(Positive), "Density, kg/m³."),
            key("modulus", Number(Positive), "Modulus of elasticity along the grain, MPa."),
            key("rigidity", Number(Positive), "Modulus of rigidity, MPa."),
            key("bending", Number(Positive), "Bending strength, MPa."),
            key("shear", Number(Positive), "Shear strength, MPa."),
            key("cutting", Pair(&Number(Positive)), "Specific cutting force, least and greatest, N/mm²."),
        ],
    ),
    table("blank.runout", OFFSET),
    table("blank.runout_far", OFFSET),
    table(
        "blank.bow",
        &[
            key("amount", Length(Any), "At the middle, mm."),
            key("angle", Number(Any), "Toward this angle of the blank, degrees."),
        ],
    ),
    table("blank.off", OFFSET),
    table(
        "chuck",
        &[
            key("hold", Length(NotNegative), "Length of the blank inside the jaws, mm."),
            key("torque", Number(Positive), "Torque at which the blank slips, N·m."),
            key("body", Table("chuck.body"), "The body behind the jaws."),
            key("jaws", Table("chuck.jaws"), "The jaws."),
        ],
    ),
    table("chuck.body", CYLINDER),
    table(
        "chuck.jaws",
        &[
            key("count", Count(1, 12), "How many there are."),
            key("width", Length(Positive), "Width, mm."),
            key("length", Length(Positive), "Length along the axis, mm."),
            key("height", Length(Positive), "How far they reach out from the gripped surface, mm."),
            key("grip", Words(&["outside", "inside"]), "What they grip: the outside, or the bore."),
            key("turned", Number(Any), "Angle of the first jaw, degrees."),
        ],
    ),
    table(
        "faceplate",
        &[
            key("diameter", Length(Positive), "Diameter, mm."),
            key("thickness", Length(Positive), "Thickness, mm."),
            key("torque", Number(Positive), "Torque at which the blank slips, N·m."),
            key("screws", Tables("faceplate.screws[]"), "Its screws: steel in the wood."),
        ],
    ),
    table(
        "faceplate.screws[]",
        &[
            key("radius", Length(NotNegative), "Distance from the axis, mm."),
            key("angle", Number(Any), "Angle of the blank it stands at, degrees."),
            key("diameter", Length(Positive), "Diameter, mm."),
            key("length", Length(Positive), "Depth in the wood, mm."),
        ],
    ),
    table(
        "drive",
        &[
            key("torque", Number(Positive), "Torque at which the blank slips, N·m."),
            key("center", Table("drive.center"), "The drive center."),
            key("body", Table("drive.body"), "What is behind it."),
        ],
    ),
    table(
        "drive.center",
        &[
            key("diameter", Length(Positive), "Diameter, mm."),
            key("length", Length(Positive), "Length out of the body, mm."),
            key("bite", Length(NotNegative), "Depth in the wood, mm."),
        ],
    ),
    table("drive.body", CYLINDER),
    table(
        "tailstock",
        &[
            key("dimple", Length(NotNegative), "Depth of the cone's tip in the blank, mm."),
            key("force", Number(Positive), "Force along the axis, N."),
            key("center", Table("tailstock.center"), "The live center and its quill."),
            key("head", Table("tailstock.head"), "The turning head of the live center, between cone and quill."),
            key("body", Table("tailstock.body"), "The body that the quill comes out of."),
        ],
    ),
    table(
        "tailstock.center",
        &[
            key("angle", Number(Within(5.0, 175.0)), "Included angle of the cone, degrees."),
            key("diameter", Length(Positive), "Greatest diameter of the cone, mm."),
            key("quill", Length(Positive), "Diameter of the quill, mm."),
            key("extension", Length(NotNegative), "How far the quill stands out, mm."),
        ],
    ),
    table("tailstock.head", CYLINDER),
    table(
        "tailstock.body",
        &[
            key("width", Length(Positive), "Width across the bed, mm."),
            key("above", Length(Any), "Top over the axis, mm."),
            key("length", Length(Positive), "Length along the axis, mm."),
        ],
    ),
    table(
        "fixed[]",
        &[
            key("name", Text, "What it is called."),
            key("box", Six(&Length(Any)), "[x0, x1, y0, y1, z0, z1]: stations, across, height over the axis, mm."),
        ],
    ),
    table(
        "moving[]",
        &[
            key("name", Text, "What it is called."),
            key("diameter", Length(Positive), "Diameter, mm."),
            key("from", Length(Any), "Lower end over the holder's lower face, mm."),
            key("to", Length(Any), "Upper end over the holder's lower face, mm."),
        ],
    ),
    table(
        "zero",
        &[
            key("x", Length(Any), ZERO_X),
            key("y", Length(Any), ZERO_Y),
            key("z", HEIGHT, ZERO_Z),
            key("a", Number(Any), ZERO_A),
            key("g55", Table("zero.system"), "The zero of G55; what it does not say is as for G54."),
            key("g56", Table("zero.system"), "The zero of G56."),
            key("g57", Table("zero.system"), "The zero of G57."),
            key("g58", Table("zero.system"), "The zero of G58."),
            key("g59", Table("zero.g59"), "The zero of G59, and of G59.1 to G59.3."),
            key("g59.1", Table("zero.system"), "The zero of G59.1."),
            key("g59.2", Table("zero.system"), "The zero of G59.2."),
            key("g59.3", Table("zero.system"), "The zero of G59.3."),
        ],
    ),
    table(
        "zero.system",
        &[
            key("x", Length(Any), ZERO_X),
            key("y", Length(Any), ZERO_Y),
            key("z", HEIGHT, ZERO_Z),
            key("a", Number(Any), ZERO_A),
        ],
    ),
    table(
        "zero.g59",
        &[
            key("x", Length(Any), ZERO_X),
            key("y", Length(Any), ZERO_Y),
            key("z", HEIGHT, ZERO_Z),
            key("a", Number(Any), ZERO_A),
            key("1", Table("zero.system"), "The zero of G59.1."),
            key("2", Table("zero.system"), "The zero of G59.2."),
            key("3", Table("zero.system"), "The zero of G59.3."),
        ],
    ),
    table(
        "zero.z",
        &[
            key("flat", Flag, "true: on the middle of a flat."),
            key("touch", Table("zero.z.touch"), "Where the tip comes down on the blank as it then is."),
        ],
    ),
    table(
        "zero.z.touch",
        &[
            key("station", Length(Any), "Station at which it is touched off, mm."),
            key("a", Number(Any), "Rotary word at which it is touched off, degrees."),
        ],
    ),
    table(
        "cutter[]",
        &[
            key("number", Count(1, 65_534), "Its T number; otherwise its place in the list."),
            key("name", Text, "What it is called; in a library what scenes take it by."),
            key("from", Text, "Name of a library's cutter that this one is, but for the keys given here."),
            key(
                "shape",
                Words(&["flat", "ball", "bull", "vee", "taper", "drill", "form"]),
                "Shape of its end; bull needs corner, vee angle, taper angle and tip, form profile.",
            ),
            key("diameter", Length(Positive), "Greatest cutting diameter, mm."),
            key("corner", Length(Positive), "Radius of a bull's corner, mm."),
            key(
                "angle",
                Number(Within(0.1, 179.0)),
                "Included angle of a vee or a drill; of one side of a taper; degrees.",
            ),
            key("tip", Length(NotNegative), "Diameter at the tip of a vee or a taper, mm."),
            key("tip_shape", Words(&["ball", "flat"]), "Tip of a taper."),
            key("profile", Text, "CSV file of a form: height, radius from the tip up."),
            key("flute", Length(Positive), "Cutting length above the tip, mm."),
            key(
                "shank",
                Either(&[Length(Positive), STACK]),
                "Diameter of the shank, or cylinders [diameter, length] from the flutes up, mm.",
            ),
            key("stickout", Length(Positive), "From the tip to the holder, mm."),
            key("teeth", Count(1, 100), "How many cutting edges it has."),
            key("cuts_center", Flag, "Whether it cuts straight down."),
            key("holder", STACK, "Collet nut and what is above it: cylinders [diameter, length] upward, mm."),
            key("depth", Length(Positive), "Most that a pass may take, mm."),
            key("width", Length(Positive), "Most that a pass may be wide, mm."),
            key("plunge", Rate(Positive), "Fastest way straight down, mm/min."),
            key("chip", Pair(&Length(NotNegative)), "Least and greatest feed of a tooth, mm."),
            key("length_error", Length(Any), "To try: how far its Z zero is off, mm."),
        ],
    ),
    table(
        "program[]",
        &[
            key("file", Text, "File of the program."),
            key("cutter", Count(0, 65_534), "Number of the cutter that is in the spindle at its start; 0: none."),
            key("zero", Table("zero"), "Where its zeros are, if not where those of the scene are."),
            key("slip", Table("program[].slip"), "To try: what moved since the program before."),
            key("indexed", Flag, "Whether the blank turns only between cuts, by design."),
            key("parts", Table("program[].parts"), "Parting is meant: of the sections it leaves less than a quarter."),
        ],
    ),
    table(
        "program[].slip",
        &[
            key("x", Length(Any), "Along the axis, mm."),
            key("y", Length(Any), "Across, mm."),
            key("z", Length(Any), "Up, mm."),
            key("a", Number(Any), "Turned, degrees."),
        ],
    ),
    table("program[].parts", &[key("min_tab", Length(NotNegative), "Least thickness of the tab that stays, mm.")]),
    table(
        "target",
        &[
            key("file", Text, "A closed mesh (STL, OBJ, PLY, 3MF), or a profile of station, radius (CSV)."),
            key("units", UNITS, "Unit of the file."),
            key("span", LENGTHS, "Stations that are compared, mm."),
            key("after", Count(1, 1000), "Program after which it is compared; otherwise the last."),
            key("gouge", Length(NotNegative), "How far below the target is reported, mm."),
            key("leftover", Length(NotNegative), "How far above it is reported, mm."),
            key("allowance", Length(NotNegative), "Wood that is meant to stay over it, mm."),
            key("place", Table("target.place"), "Where its origin lies."),
        ],
    ),
    table(
        "target.place",
        &[
            key("x", Length(Any), "Station of its origin, mm."),
            key("a", Number(Any), "How far it is turned, degrees."),
            key("axis", Words(&["x", "y", "z"]), "Which of its axes is the rotary axis."),
            key("flip", Flag, "Whether it is put end for end."),
        ],
    ),
    table(
        "grid",
        &[key(
            "pitch",
            Length(Within(0.01, 100.0)),
            "Distance of rays along the axis and around it, from 0.01 to 100 mm.",
        )],
    ),
    table(
        "checks",
        &[
            key(
                "near",
                Either(&[Length(NotNegative), Named(&Length(NotNegative))]),
                "Least distance of bodies that pass each other, mm; or of each by its name.",
            ),
            key("past_axis", Length(NotNegative), "Wood beyond the axis that is a warning, mm."),
            key("slender", Number(Positive), "Free length over greatest diameter from which a tailstock is missed."),
            key("poor_grip", Number(Positive), "Grip over gripped diameter under which a tailstock is missed."),
            key("center_overextended", Length(NotNegative), "How far the quill may stand out, mm."),
            key("grid_too_coarse", Number(Positive), "Pitches that the finest detail should span."),
            key("spring", Length(Positive), "How far the cut may push wood and cutter apart, mm."),
            key("safety", Number(Positive), "Least strength over stress."),
            key("rapid_in_blank", Table("checks.rapid_in_blank"), "From where a rapid in the blank is an error."),
            key("shank_in_blank", Table("checks.shank_in_blank"), "From where a shank in the blank counts."),
            key("wound_up", Table("checks.wound_up"), "From where winding is a warning."),
            key("mirrored", Table("checks.mirrored"), "How much better the mirrored piece must fit."),
        ],
    ),
    table(
        "checks.rapid_in_blank",
        &[key("depth", Length(NotNegative), "Depth, mm."), key("volume", Number(NotNegative), "Volume, mm³.")],
    ),
    table(
        "checks.shank_in_blank",
        &[
            key("warning", Length(NotNegative), "Depth that is a warning, mm."),
            key("error", Length(NotNegative), "Depth that is an error, mm."),
        ],
    ),
    table(
        "checks.wound_up",
        &[
            key("minutes", Number(NotNegative), "Longest time of turning back without a cut, min."),
            key("step", Length(Positive), "Least way on the surface that the controller's number must tell apart, mm."),
        ],
    ),
    table(
        "checks.mirrored",
        &[
            key("ratio", Number(Positive), "Mismatch as it is over mismatch mirrored."),
            key("share", Number(NotNegative), "Least difference of the two, as a share of what is removed."),
        ],
    ),
    table(
        "batch",
        &[
            key("pieces", Count(1, 100_000), "How many pieces are cut."),
            key("loading", Number(NotNegative), "Time to take one out and put the next in, s."),
        ],
    ),
    table(
        "doubt",
        &[
            key("x", Length(NotNegative), "Zero along the axis, mm."),
            key("y", Length(NotNegative), "Zero across, mm."),
            key("z", Length(NotNegative), "Zero in height, mm."),
            key("a", Number(NotNegative), "Zero of the rotary word, degrees."),
            key("runout", Length(NotNegative), "How far the blank's centre may be off, mm."),
        ],
    ),
    table(
        "accept[]",
        &[
            key("rule", Text, "The rule, as the report names it."),
            key("program", Count(1, 1000), "Number of the program."),
            key("lines", Pair(&Count(1, LAST_LINE)), "First and last line of the program."),
            key("why", Text, "Why it is right as it is."),
        ],
    ),
];

const OFFSET: &[Key] = &[key("y", Length(Any), "Across, mm."), key("z", Length(Any), "Up, mm.")];
const CYLINDER: &[Key] =
    &[key("diameter", Length(Positive), "Diameter, mm."), key("length", Length(Positive), "Length, mm.")];
const HEIGHT: Form = Either(&[Words(&["axis", "surface"]), Length(Any), Table("zero.z")]);
const ZERO_X: &str = "Station of program X0 (along the rotary axis), mm.";
const ZERO_Y: &str = "Place of program Y0 across, mm; 0: over the axis.";
const ZERO_Z: &str = "Height of program Z0: \"axis\", \"surface\", a height over the axis in mm, { flat = true }, or { touch = { station = 100, a = 0 } }.";
const ZERO_A: &str = "Angle of the blank that is on top at A0, degrees.";
