//! Why no program was written.

use dryturn_check::CarveError;
use dryturn_scene::SceneError;

use crate::measure::Measure;

/// Why no program was written.
#[derive(Debug, thiserror::Error)]
pub enum PlanError {
    /// A number is not one that such a thing can have.
    #[error("{what} cannot be {given}: it must be {must}")]
    Number {
        /// What it is the number of.
        what: &'static str,
        /// The number, with its unit.
        given: String,
        /// What it must be.
        must: String,
    },
    /// There is nothing to cut.
    #[error("nothing would be cut: the blank is no more than {asked} there as it is")]
    Nothing {
        /// Diameter, or size across flats, that is asked for.
        asked: Measure,
    },
    /// The blank does not hold what is asked for.
    #[error(
        "{}{over} is more than this blank leaves all round: {} at the most, its size less twice the {runout} that \
         its centre is off and the {bow} that it is bent",
        asked.beside(*clean),
        clean.beside(*asked)
    )]
    TooLarge {
        /// Diameter, or size across flats, that is asked for.
        asked: Measure,
        /// Where it is measured, if that is not plain.
        over: &'static str,
        /// The greatest that it leaves.
        clean: Measure,
        /// How far its centre is off.
        runout: Measure,
        /// How far it is bent.
        bow: Measure,
    },
    /// A cutter that leaves no flat floor.
    #[error("a cutter shaped as {cutter} leaves no true surface: take a flat one (flat:12), or a bull (bull:12:1)")]
    Shape {
        /// The cutter, as it was given.
        cutter: String,
    },
    /// Ridges would stay.
    #[error("an advance of {advance} leaves ridges: it must be less than the {flat} that the cutter is flat")]
    Advance {
        /// What is asked for.
        advance: Measure,
        /// Width of the flat under the cutter.
        flat: Measure,
    },
    /// The shank would rub where a pass is deeper than the cutter cuts.
    #[error(
        "a pass of {depth} is deeper than the cutter's flutes of {flute}: take less with --depth, or a cutter with longer ones"
    )]
    Deep {
        /// Depth of the deepest pass.
        depth: Measure,
        /// Length of the flutes.
        flute: Measure,
    },
    /// The cutter does not fit between the ends.
    #[error("a length of {length} is too short for a cutter of {diameter}: the whole cutter works between its ends")]
    Short {
        /// What is asked for.
        length: Measure,
        /// Of the cutter.
        diameter: Measure,
    },
    /// The blank ends before the work does.
    #[error("the work ends at station {end}, and the blank at {length}: say how far it stands out with --blank-length")]
    PastTheEnd {
        /// Station of the end of the work.
        end: Measure,
        /// Station of the free end.
        length: Measure,
    },
    /// A coupon needs room for its slots.
    #[error("the flats of this coupon come out {width} wide, and its slots need {needed}: {way_out}")]
    Slim {
        /// Least width of the flats.
        width: Measure,
        /// What the slots need.
        needed: Measure,
        /// What to do.
        way_out: &'static str,
    },
    /// A coupon of this thickness would fall apart.
    #[error("a coupon {asked} thick would break between its slots: ask for {least} or more with --to")]
    Thin {
        /// What is asked for.
        asked: Measure,
        /// What it takes.
        least: Measure,
    },
    /// The program would have more lines than anybody wants.
    #[error("that is a program of {lines} lines: take a greater advance or depth")]
    Long {
        /// How many lines.
        lines: usize,
    },
    /// The scene that holds the blank does not suit.
    #[error("{0}")]
    Held(&'static str),
    /// The scene beside the program cannot be read: a cutter or a material that is not one.
    #[error(transparent)]
    Scene(#[from] SceneError),
    /// The run was interrupted, or takes too much memory.
    #[error(transparent)]
    Carve(#[from] CarveError),
    /// The wood does not come out as it was meant: a fault of dryturn.
    #[error(
        "proved, the piece is {worst_mm:.4} mm off what was asked for at station {station_mm:.2}: this is a fault of dryturn"
    )]
    Untrue {
        /// How far the worst ray is off, mm.
        worst_mm: f64,
        /// Where, mm.
        station_mm: f64,
    },
}
