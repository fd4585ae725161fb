//! What the file of a kept piece holds: a zip archive of NPY arrays, and a text that tells the rest.
//!
//! | array | kind | shape | |
//! |---|---|---|---|
//! | `spans` | u2 | stations, angles | how many stretches of solid each ray has |
//! | `ends` | f4 | stretches, 2 | inner and outer end of each, from the outside in, mm |
//! | `by` | i4 | stretches, 2 | who made them: a row of `makers`, −1 the outline, −2 a bore or a dimple |
//! | `motions` | f8 | motions, 8 | x, y, z in mm and turn in radians, from and to |
//! | `arcs` | f8 | arcs, 11 | row of `motions`, both coordinates (0 … 3), centre, reach, start, sweep, lean across and up |
//! | `corners` | f8 | corners, 3 | of a blank that came from a mesh: station, y, z in mm |
//! | `triangles` | u4 | triangles, 3 | rows of `corners` |
//! | `makers` | i4 | motions, 4 | cutter, whether a rapid, program and line of each motion |
//!
//! All are in the frame of the piece with stations from its end. `about.json` holds the rest: [`About`].

use dryturn_geom::{Bow, Facets, Flutes, FlutesError, Offset, Section, Shape, Stock, angle};
use serde::{Deserialize, Serialize};

use super::past::{Hole, Past, Source, bare};
use crate::job::{Cutter, Dimple};

/// Number of the file's format; it grows when a reader of the format before would be misled.
pub(super) const FORMAT: u32 = 1;
/// What tells such a file from others.
pub(super) const WHAT: &str = "a piece kept by dryturn";
pub(super) const ABOUT: &str = "about.json";
/// In the file, the outline's own ends and those of holes.
pub(super) const OUTLINE: i32 = -1;
pub(super) const HOLE: i32 = -2;

/// Why a kept piece cannot be put back.
#[derive(Debug, thiserror::Error)]
pub enum KeptError {
    /// The system refused.
    #[error("it cannot be read: {0}")]
    Read(#[from] std::io::Error),
    /// It is something else.
    #[error("it is not a piece that was kept: {0}")]
    Foreign(String),
    /// It is from a later version.
    #[error("it was kept in format {0}, and this version knows format {FORMAT}")]
    Newer(u32),
    /// It is damaged.
    #[error("it is damaged: {0}")]
    Damaged(String),
    /// It is too much.
    #[error("it holds {0}, more than can be put back")]
    TooLarge(String),
    /// There is nothing of it.
    #[error("nothing is left of the piece")]
    Nothing,
}

impl KeptError {
    /// What to do about it.
    pub fn help(&self) -> &'static str {
        match self {
            KeptError::Read(_) => "check that the file is there and may be read",
            KeptError::Foreign(_) => {
                "name the kept.npz that `dryturn prove … --out DIR` of the set-up before has written"
            }
            KeptError::Newer(_) => "prove the set-up before with this version, or take a newer one for both",
            KeptError::Damaged(_) => "prove the set-up before once more with --out, and take the kept.npz it writes",
            KeptError::TooLarge(_) => "prove the set-up before on a coarser pitch",
            KeptError::Nothing => "look at what the set-up before leaves",
        }
    }
}

/// What the text tells: lengths in mm, angles in radians.
#[derive(Debug, Deserialize, Serialize)]
pub(super) struct About {
    pub(super) what: String,
    pub(super) format: u32,
    pub(super) length: f64,
    pub(super) pitch: f64,
    pub(super) stations: usize,
    pub(super) angles: usize,
    pub(super) first: f64,
    pub(super) step: f64,
    pub(super) stretches: usize,
    pub(super) motions: usize,
    pub(super) arcs: usize,
    pub(super) outline: Outline,
    pub(super) holes: Vec<HoleText>,
    pub(super) cutters: Vec<CutterText>,
    pub(super) sources: Vec<SourceText>,
}

#[derive(Debug, Deserialize, Serialize)]
pub(super) struct Outline {
    section: SectionText,
    bore: f64,
    start: f64,
    length: f64,
    turned: f64,
    near: [f64; 2],
    far: [f64; 2],
    bow: [f64; 2],
}

#[derive(Debug, Deserialize, Serialize)]
#[serde(rename_all = "lowercase")]
enum SectionText {
    Round {
        radius: f64,
    },
    Polygon {
        apothem: f64,
        sides: u32,
    },
    /// Facets, none farther from the centre line than this.
    Mesh {
        radius: f64,
        corners: usize,
        triangles: usize,
    },
}

#[derive(Debug, Deserialize, Serialize)]
pub(super) struct HoleText {
    apex: f64,
    slope: f64,
    center: [f64; 2],
}

#[derive(Debug, Deserialize, Serialize)]
pub(super) struct CutterText {
    #[serde(with = "ShapeText")]
    shape: Shape,
    radius: f64,
    length: f64,
}

#[derive(Deserialize, Serialize)]
#[serde(remote = "Shape", rename_all = "lowercase")]
enum ShapeText {
    Flat,
    Ball,
    Bull { corner: f64 },
    Vee { half_angle: f64, tip_radius: f64 },
    Taper { half_angle: f64, tip_radius: f64, ball: bool },
    Drill { half_angle: f64 },
    Form { profile: Vec<(f64, f64)> },
}

#[derive(Debug, Deserialize, Serialize)]
pub(super) struct SourceText {
    set_up: String,
    program: String,
}

fn pair(offset: Offset) -> [f64; 2] {
    [offset.y, offset.z]
}

fn offset([y, z]: [f64; 2]) -> Offset {
    Offset { y, z }
}

impl Outline {
    /// Radius of a round one, apothem, or a bound of its facets, mm.
    pub(super) fn radius(&self) -> f64 {
        match self.section {
            SectionText::Round { radius } | SectionText::Mesh { radius, .. } => radius,
            SectionText::Polygon { apothem, .. } => apothem,
        }
    }

    /// How many corners and triangles it has, where it came from a mesh.
    pub(super) fn facets(&self) -> Option<[usize; 2]> {
        match self.section {
            SectionText::Mesh { corners, triangles, .. } => Some([corners, triangles]),
            _ => None,
        }
    }

    /// The outline of a blank, or of the facets it came from.
    pub(super) fn of(stock: &Stock, facets: &Facets) -> Outline {
        let radii = facets.corners.iter().map(|[_, y, z]| angle::hypot(*y, *z));
        let section = match stock.section {
            Section::Round { radius } => SectionText::Round { radius },
            Section::Polygon { apothem, sides } => SectionText::Polygon { apothem, sides },
            Section::Solid(_) => SectionText::Mesh {
                radius: radii.fold(0.0, f64::max),
                corners: facets.corners.len(),
                triangles: facets.triangles.len(),
            },
        };
        let Stock { bore, start, length, turned, near, far, bow, .. } = *stock;
        let bow = [bow.amount, bow.angle];
        Outline { section, bore, start, length, turned, near: pair(near), far: pair(far), bow }
    }

    fn stock(self) -> Stock {
        let section = match self.section {
            SectionText::Round { radius } => Section::Round { radius },
            SectionText::Polygon { apothem, sides } => Section::Polygon { apothem, sides },
            // Until there is a solid of its facets.
            SectionText::Mesh { radius, .. } => Section::Round { radius },
        };
        Stock {
            section,
            bore: self.bore,
            start: self.start,
            length: self.length,
            turned: self.turned,
            near: offset(self.near),
            far: offset(self.far),
            bow: Bow { amount: self.bow[0], angle: self.bow[1] },
        }
    }

    /// Whether every number is one that a blank has.
    fn is_sound(&self) -> bool {
        let (size, sides) = match self.section {
            SectionText::Polygon { sides, .. } => (self.radius(), sides),
            _ => (self.radius(), 3),
        };
        let [near, far, bow] = [self.near, self.far, self.bow];
        let all = [self.start, self.turned].into_iter().chain([near, far, bow].into_iter().flatten());
        let above = [size, self.length].into_iter().all(|number| number > 0.0 && number < MOST);
        above && (0.0..MOST).contains(&self.bore) && (3..=360).contains(&sides) && all.into_iter().all(is_number)
    }
}

/// No length or angle of a kept piece is greater.
pub(super) const MOST: f64 = 1e9;

/// Whether it is a number that a piece can have.
pub(super) fn is_number(number: f64) -> bool {
    number.abs() < MOST
}

impl CutterText {
    pub(super) fn of(cutter: &Cutter) -> CutterText {
        let flutes = &cutter.flutes;
        CutterText { shape: flutes.shape().clone(), radius: flutes.radius(), length: flutes.length() }
    }

    fn cutter(self) -> Result<Cutter, FlutesError> {
        Flutes::new(self.shape, self.radius, self.length).map(bare)
    }
}

impl HoleText {
    pub(super) fn of(hole: &Hole) -> HoleText {
        HoleText { apex: hole.cone.apex, slope: hole.cone.slope, center: pair(hole.center) }
    }

    fn hole(&self) -> Hole {
        Hole { cone: Dimple { apex: self.apex, slope: self.slope }, center: offset(self.center) }
    }

    fn is_sound(&self) -> bool {
        [self.apex, self.slope].into_iter().chain(self.center).all(is_number)
    }
}

impl SourceText {
    pub(super) fn of(source: &Source) -> SourceText {
        SourceText { set_up: source.set_up.clone(), program: source.program.clone() }
    }
}

impl About {
    /// The past without its motions.
    pub(super) fn past(self) -> Result<Past, KeptError> {
        let unsound = |what: &str| KeptError::Damaged(format!("{what} of {ABOUT} cannot be"));
        if !self.outline.is_sound() {
            return Err(unsound("the outline"));
        }
        if !self.holes.iter().all(HoleText::is_sound) {
            return Err(unsound("a hole"));
        }
        let cutters = self.cutters.into_iter().map(CutterText::cutter).collect::<Result<_, _>>();
        let source = |SourceText { set_up, program }| Source { set_up, program };
        Ok(Past {
            stock: self.outline.stock(),
            facets: None,
            holes: self.holes.iter().map(HoleText::hole).collect(),
            cutters: cutters.map_err(|error| KeptError::Damaged(format!("a cutter cannot be: {error}")))?,
            motions: Vec::new(),
            lines: Vec::new(),
            sources: self.sources.into_iter().map(source).collect(),
        })
    }
}
