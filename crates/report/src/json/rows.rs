//! The file format as structs: these fields, these names, this order. Doc comments become the schema's descriptions.

use super::preparation::PreparationRow;
use super::{FORMAT, Number};
use schemars::JsonSchema;
use serde::Serialize;

/// What a run of dryturn found out about one scene. Lengths are millimetres, angles degrees; stations count from the
/// jaw face; θ is the angle of a ray of the blank. A field that a run cannot fill is null.
#[derive(Serialize, JsonSchema)]
pub(super) struct Report {
    /// Number of this format.
    #[schemars(extend("const" = FORMAT))]
    pub(super) format: u32,
    /// Title of the scene.
    pub(super) title: String,
    /// `stop`: at least one error. `caution`: a warning, or holding or holder not described. `clear`: neither.
    pub(super) verdict: VerdictName,
    /// What the scene did not say and what was taken in its place.
    pub(super) assumed: Vec<AssumedRow>,
    /// What was not looked at; never to be taken as safe.
    pub(super) not_checked: Vec<NotCheckedRow>,
    /// The grid of rays the blank was carved on.
    pub(super) grid: GridRow,
    /// Volume of the blank before the first block, counted after bore and dimple, mm³.
    pub(super) blank_mm3: Number,
    /// Volume cut away, mm³.
    pub(super) removed_mm3: Number,
    /// Volume left, mm³; blank = removed + left, to rounding.
    pub(super) left_mm3: Number,
    /// The programs in the order they ran.
    pub(super) programs: Vec<ProgramRow>,
    /// How long each cutter works, by its number.
    pub(super) cutters: Vec<CutterRow>,
    /// How long all programs take, and pieces one after another; null where that was not worked out.
    pub(super) job: Option<JobRow>,
    /// The greatest of each load.
    pub(super) loads: LoadsRow,
    /// The course of the run in equal slices of its time, column by column; null where that was not worked out.
    pub(super) series: Option<SeriesRow>,
    /// When blocks come and what they take, column by column; null where that was not worked out.
    pub(super) blocks: Option<BlocksRow>,
    /// What was found, the dearest first.
    pub(super) findings: Vec<FindingRow>,
    /// The closest approach of each described pair of bodies, for each cutter.
    pub(super) clearances: Vec<ClearanceRow>,
    /// How far each zero may be off before bodies meet; null where it is not known what holds the blank.
    pub(super) zero_window: Option<ZeroWindowRow>,
    /// What a person gets ready before the run; null where that was not worked out.
    pub(super) preparation: Option<PreparationRow>,
    /// How the piece compares with the target; null without one.
    pub(super) target: Option<TargetRow>,
    /// The maps written beside the report.
    pub(super) maps: Vec<MapRow>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum VerdictName {
    Clear,
    Caution,
    Stop,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum SeverityName {
    Note,
    Warning,
    Error,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct AssumedRow {
    /// The key of the scene file.
    pub(super) key: String,
    /// The value taken, as text.
    pub(super) value: String,
    /// Where it comes from.
    pub(super) because: String,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct NotCheckedRow {
    /// What was not looked at.
    pub(super) what: String,
    /// Why not.
    pub(super) because: String,
    /// What to write in the scene to have it looked at; null where nothing helps.
    pub(super) how_to_add: Option<String>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct GridRow {
    /// Station of the first row, mm.
    pub(super) station_first: Number,
    /// From one row to the next, mm.
    pub(super) station_step: Number,
    /// Number of rows.
    pub(super) stations: usize,
    /// From one column to the next, degrees; column 0 lies at θ = 0.
    pub(super) angle_step: Number,
    /// Number of columns.
    pub(super) angles: usize,
    /// Memory the carved blank takes, bytes.
    pub(super) bytes: u64,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct ProgramRow {
    /// Path as the scene names it.
    pub(super) file: String,
    /// Lines of text.
    pub(super) lines: u64,
    /// Blocks that move something.
    pub(super) blocks: u64,
    /// Volume it cut away, mm³.
    pub(super) removed_mm3: Number,
    /// How long it takes at the machine; null where that was not worked out.
    pub(super) time: Option<TimeRow>,
    /// How far the tip reaches; null where nothing moves.
    pub(super) extents: Option<ExtentsRow>,
    /// How the rotary word winds; null where it does not move.
    pub(super) winding: Option<WindingRow>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct TimeRow {
    /// Feed moves, seconds.
    pub(super) cut_s: Number,
    /// Of these, moves that take no wood, seconds.
    pub(super) air_s: Number,
    /// Rapids, seconds.
    pub(super) rapid_s: Number,
    /// Dwells, seconds.
    pub(super) dwell_s: Number,
    /// Cutter changes, seconds; null where nobody said how long one takes.
    pub(super) change_s: Option<Number>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct CutterRow {
    /// Number of the cutter.
    pub(super) cutter: u32,
    /// Feed moves, seconds.
    pub(super) cut_s: Number,
    /// Of these, moves that take no wood, seconds.
    pub(super) air_s: Number,
    /// Rapids, seconds.
    pub(super) rapid_s: Number,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct JobRow {
    /// Feed moves, seconds.
    pub(super) cut_s: Number,
    /// Of these, moves that take no wood, seconds.
    pub(super) air_s: Number,
    /// Rapids, seconds.
    pub(super) rapid_s: Number,
    /// Dwells, seconds.
    pub(super) dwell_s: Number,
    /// Cutter changes, seconds; null where there are any and nobody said how long one takes.
    pub(super) change_s: Option<Number>,
    /// Cutter changes, how many.
    pub(super) changes: u32,
    /// Share of the feed time in which no wood is taken, 0 … 1.
    pub(super) air_share: Number,
    /// Taking a piece out and putting the next blank in, seconds; null where nobody said.
    pub(super) loading_s: Option<Number>,
    /// Turning the blank's axis back by rapid from where the last program leaves it to where the first starts, seconds; null
    /// where nothing moves.
    pub(super) unwinding_s: Option<Number>,
    /// A batch; null where the scene asks for none.
    pub(super) batch: Option<BatchRow>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct BatchRow {
    /// How many pieces.
    pub(super) pieces: u32,
    /// All of it, seconds: programs, loading and unwinding of each piece, and cutter changes, with the change back to the
    /// first cutter; what nobody said how long it takes is not in it.
    pub(super) total_s: Number,
}

/// The greatest of each load over the run; null where it is not known.
#[derive(Serialize, JsonSchema)]
pub(super) struct LoadsRow {
    /// Power at the spindle, W.
    pub(super) power_w: Option<LoadRow>,
    /// Torque about the rotary axis, N·mm.
    pub(super) torque_nmm: Option<LoadRow>,
    /// Main cutting force, N.
    pub(super) force_n: Option<LoadRow>,
    /// Push on the wood along the axis, toward the center or off the chuck, N.
    pub(super) axial_n: Option<LoadRow>,
    /// How far piece and cutter spring apart, mm.
    pub(super) spring_mm: Option<LoadRow>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct LoadRow {
    /// The low end of what it may be.
    pub(super) low: Number,
    /// The high end.
    pub(super) high: Number,
    /// What there is to bear it, or what is allowed; null where nobody said.
    pub(super) limit: Option<Number>,
    /// Whether the wood breaks before this load is reached; the high end of a spring is then where it does.
    pub(super) breaks: bool,
    /// Number of the program, from 1.
    pub(super) program: usize,
    /// Line of the block, from 1.
    pub(super) line: u32,
    /// Number of the cutter; null where the spindle is empty.
    pub(super) cutter: Option<u32>,
}

/// Equal slices of the time of the programs. All columns have a number for each slice; what is not known is null.
#[derive(Serialize, JsonSchema)]
pub(super) struct SeriesRow {
    /// How long a slice is, seconds.
    pub(super) step_s: Number,
    /// When each program begins, seconds.
    pub(super) starts_s: Vec<Number>,
    /// When the slice begins, seconds.
    pub(super) time_s: Vec<Number>,
    /// Number of the program under way then, from 1.
    pub(super) program: Vec<usize>,
    /// Line of the block under way then, from 1.
    pub(super) line: Vec<u32>,
    /// Number of the cutter in the spindle then; null where it is empty.
    pub(super) cutter: Vec<Option<u32>>,
    /// Wood taken, mean over the slice, mm³/s.
    pub(super) removal_mm3_s: Vec<Number>,
    /// Radius at which wood is cut, mean by volume, mm.
    pub(super) radius_mm: Vec<Option<Number>>,
    /// How the cutter stands in the wood, of the stroke that takes the most in the slice; null where none does.
    pub(super) engagement: EngagementRow,
    /// Least distance of any two bodies, mm; 50 stands for 50 and more.
    pub(super) clearance_mm: Vec<Option<Number>>,
    /// Greatest power at the spindle, W; null where it is known nowhere.
    pub(super) power_w: Option<BandRow>,
    /// Greatest main cutting force, N; null where it is known nowhere.
    pub(super) force_n: Option<BandRow>,
    /// Greatest torque about the rotary axis, N·mm; null where it is known nowhere.
    pub(super) torque_nmm: Option<BandRow>,
    /// Greatest push on the wood along the axis, toward the center or off the chuck, N; null where it is known nowhere.
    pub(super) axial_n: Option<BandRow>,
    /// Greatest distance by which piece and cutter spring apart, mm; null where it is known nowhere.
    pub(super) spring_mm: Option<BandRow>,
}

/// The blocks in their order. All columns have a number for each row, which stands for one block where there are no more than
/// rows were asked for, and otherwise for some of one program that follow each other.
#[derive(Serialize, JsonSchema)]
pub(super) struct BlocksRow {
    /// How many blocks a row stands for; the last row of a program may stand for fewer.
    pub(super) blocks_a_row: u32,
    /// Number of the program, from 1.
    pub(super) program: Vec<usize>,
    /// Line of the first block, from 1.
    pub(super) line: Vec<u32>,
    /// When it begins, seconds from the start of the first program.
    pub(super) start_s: Vec<Number>,
    /// What they take, speeding up and slowing down, seconds; what cannot be told is not in it.
    pub(super) taken_s: Vec<Number>,
    /// What they ask for by their feeds, and rapids by their rates, with no regard to acceleration, seconds.
    pub(super) asked_s: Vec<Number>,
    /// Of what they take, the share in which no wood is taken, rapids included, seconds.
    pub(super) air_s: Vec<Number>,
}

/// How the cutter stands in the wood, column by column.
#[derive(Serialize, JsonSchema)]
pub(super) struct EngagementRow {
    /// Width of cut, mm.
    pub(super) width_mm: Vec<Option<Number>>,
    /// Depth of cut, mm.
    pub(super) depth_mm: Vec<Option<Number>>,
    /// Arc in which a tooth is in the wood, degrees.
    pub(super) arc_deg: Vec<Option<Number>>,
    /// What a tooth is fed over the wood, mm.
    pub(super) feed_per_tooth_mm: Vec<Option<Number>>,
    /// Mean thickness of its chip, mm.
    pub(super) chip_mean_mm: Vec<Option<Number>>,
    /// Greatest thickness of its chip, mm.
    pub(super) chip_greatest_mm: Vec<Option<Number>>,
    /// Speed over the wood, mm/s.
    pub(super) speed_mm_s: Vec<Option<Number>>,
    /// Whether the teeth go with the feed; null in a groove and straight down.
    pub(super) climbs: Vec<Option<bool>>,
    /// How it goes with the grain, which runs along the axis: across, along, uphill or downhill.
    pub(super) grain: Vec<Option<&'static str>>,
}

/// The ends of a range, column by column.
#[derive(Serialize, JsonSchema)]
pub(super) struct BandRow {
    /// The low ends.
    pub(super) low: Vec<Option<Number>>,
    /// The high ends.
    pub(super) high: Vec<Option<Number>>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct ExtentsRow {
    /// Least and greatest station of the tip, mm.
    pub(super) station_mm: [Number; 2],
    /// Least and greatest distance of the tip across the bed, mm off the axis.
    pub(super) y_mm: [Number; 2],
    /// Least and greatest height of the tip over the axis, mm.
    pub(super) z_mm: [Number; 2],
    /// Least and greatest angle θ on top, degrees, not brought into one turn.
    pub(super) turn_deg: [Number; 2],
}

#[derive(Serialize, JsonSchema)]
pub(super) struct WindingRow {
    /// The rotary word when the program starts, degrees.
    pub(super) start_deg: Number,
    /// The rotary word when it ends, degrees.
    pub(super) end_deg: Number,
    /// Turns from start to end; the sign is the word's.
    pub(super) turns: Number,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct FindingRow {
    /// Name of the rule.
    pub(super) rule: String,
    /// How bad it is: an `error` would spoil the piece or break something.
    pub(super) severity: SeverityName,
    /// Number of the program, from 1; null where it belongs to none.
    pub(super) program: Option<usize>,
    /// File of the program; null where it belongs to none.
    pub(super) file: Option<String>,
    /// First and last line, from 1; null where it belongs to none.
    pub(super) lines: Option<[u32; 2]>,
    /// Line of the worst place, from 1; null where it is not one of a program.
    pub(super) worst_line: Option<u32>,
    /// How many blocks took part.
    pub(super) blocks: u32,
    /// Number of the cutter in the spindle; null where none matters.
    pub(super) cutter: Option<u32>,
    /// The worst place; null where there is none.
    #[serde(rename = "where")]
    pub(super) place: Option<PlaceRow>,
    /// The worst value; null where the rule has none.
    pub(super) value: Option<Number>,
    /// Unit of the value; null where the rule has none.
    pub(super) unit: Option<String>,
    /// What is wrong, in one sentence.
    pub(super) text: String,
    /// What to do about it.
    pub(super) cure: String,
    /// The least changes that cure a contact, the best first; each was proved against all bodies, not for the wood.
    pub(super) cures: Vec<CureRow>,
    /// Why the scene accepts it; null where it does not.
    pub(super) accepted: Option<String>,
}

/// A change that cures a contact and brings no other.
#[derive(Serialize, JsonSchema)]
pub(super) struct CureRow {
    /// What is changed, as a key of the scene; `program.retract` is the height of the rapids.
    pub(super) what: String,
    /// What it is now; null where the scene has no one number for it.
    pub(super) now: Option<Number>,
    /// The change at which the bodies just touch; `zero.x` is positive away from the chuck.
    pub(super) touching: Number,
    /// The change that leaves the distance which is let pass; null if none within reach does.
    pub(super) with_near: Option<Number>,
    /// Unit of the numbers.
    pub(super) unit: String,
}

#[derive(Serialize, JsonSchema)]
pub(crate) struct PlaceRow {
    /// Station, mm.
    pub(super) station_mm: Number,
    /// Angle θ of the ray of the blank, degrees, 0 … 360.
    pub(super) angle_deg: Number,
    /// Distance from the rotary axis, mm.
    pub(super) radius_mm: Number,
    /// What the controller would show at that moment, in its own unit and winding; null where that is not known.
    pub(super) shown: Option<ShownRow>,
}

#[derive(Serialize, JsonSchema)]
pub(crate) struct ShownRow {
    /// X in the program's unit.
    pub(super) x: Number,
    /// Y in the program's unit.
    pub(super) y: Number,
    /// Z in the program's unit.
    pub(super) z: Number,
    /// The rotary word, degrees; null where a linear word turns the blank.
    pub(super) a: Option<Number>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct ClearanceRow {
    /// The moving body: cutter, shank, holder, spindle, or a name from the scene.
    pub(super) moving: String,
    /// The fixed body: chuck, jaws, faceplate, screw, drive, center, head, quill, tailstock, bed, or a name from the
    /// scene.
    pub(super) fixed: String,
    /// Number of the cutter in the spindle.
    pub(super) cutter: u32,
    /// Least distance, mm; below zero: minus the lift that would free the pair at its worst instant.
    pub(super) least_mm: Number,
    /// Number of the program, from 1.
    pub(super) program: usize,
    /// Line of the block, from 1.
    pub(super) line: u32,
    /// Station of the fixed body's nearest point, mm.
    pub(super) station_mm: Number,
}

/// How far each zero may be off, all else being right, before bodies meet; what the wood makes of it is not in here.
/// Signs are those of the keys of `[zero]`: x is positive further from the chuck, z higher, a where θ on top is greater.
#[derive(Serialize, JsonSchema)]
pub(super) struct ZeroWindowRow {
    /// Least and greatest, mm.
    pub(super) x: [WindowLimitRow; 2],
    /// Least and greatest, mm.
    pub(super) y: [WindowLimitRow; 2],
    /// Least and greatest, mm.
    pub(super) z: [WindowLimitRow; 2],
    /// Least and greatest, degrees.
    pub(super) a: [WindowLimitRow; 2],
    /// What the cutters that have a holder may stick out less and more.
    pub(super) per_cutter: Vec<CutterWindowRow>,
    /// The greatest e for which x, y and z may all be off by up to ± e at once, mm.
    pub(super) together: WindowLimitRow,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct WindowLimitRow {
    /// mm or degrees.
    pub(super) value: Number,
    /// What is hit just beyond it; null where nothing is, as far as was looked: 50 mm, half a turn, or a stickout as
    /// short as the flutes.
    pub(super) ended_by: Option<EndedByRow>,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct EndedByRow {
    /// The moving body.
    pub(super) moving: String,
    /// The fixed body.
    pub(super) fixed: String,
    /// Which jaw or screw, from 1; null for other bodies.
    pub(super) which: Option<u32>,
    /// Number of the cutter in the spindle.
    pub(super) cutter: u32,
    /// Number of the program, from 1.
    pub(super) program: usize,
    /// Line of the block, from 1.
    pub(super) line: u32,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct CutterWindowRow {
    /// Number of the cutter.
    pub(super) cutter: u32,
    /// How much less and more it may stick out, mm.
    pub(super) stickout: [WindowLimitRow; 2],
}

/// How the piece compares with the target.
#[derive(Serialize, JsonSchema)]
pub(super) struct TargetRow {
    /// Volume cut away inside the target, mm³.
    pub(super) gouge_mm3: Number,
    /// Volume left outside the target, mm³.
    pub(super) leftover_mm3: Number,
    /// Deepest gouge by shortest distance, mm.
    pub(super) deepest_gouge_mm: Number,
    /// Thickest leftover by shortest distance, mm.
    pub(super) thickest_leftover_mm: Number,
}

/// A map: `maps/NAME.npy` holds the numbers, `maps/NAME.png` the picture.
#[derive(Serialize, JsonSchema)]
pub(super) struct MapRow {
    /// Name, without folder and ending.
    pub(super) name: String,
    /// Unit of the values; null where they have none.
    pub(super) unit: Option<String>,
    /// Type of the numbers as NPY names it.
    pub(super) dtype: String,
    /// The exact map, relative to the report, C order, [stations, angles].
    pub(super) npy: String,
    /// The drawn map, relative to the report.
    pub(super) png: String,
}

#[derive(Serialize)]
pub(super) struct Timings {
    pub(super) format: u32,
    pub(super) threads: usize,
    pub(super) stages: Vec<Timing>,
    pub(super) total_s: Number,
}

#[derive(Serialize)]
pub(super) struct Timing {
    pub(super) name: &'static str,
    pub(super) seconds: Number,
}
