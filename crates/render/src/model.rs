//! What is shown, and how.

use dryturn_surface::Mesh;

use crate::{Finish, RenderError, View};

/// A body that is shown.
///
/// Its mesh must be closed and its triangles counterclockwise as seen from outside; sections and shadows rest on that.
#[derive(Clone, Debug)]
pub struct Body<'a> {
    /// Its surface, in the piece frame.
    pub mesh: &'a Mesh,
    /// What it is made of.
    pub finish: Finish,
    /// A colour for each triangle, sRGB, in the place of the finish's own.
    pub colors: Option<Vec<[u8; 3]>>,
    /// Whether the section cuts it.
    pub clipped: bool,
    /// Whether it turns with the piece, as chuck and jaws do, and the bed does not.
    pub turns: bool,
}

/// What is shown.
#[derive(Clone, Debug, Default)]
pub struct Model<'a> {
    /// The bodies.
    pub bodies: Vec<Body<'a>>,
    /// How far the piece is turned about its axis, degrees, right-handed about +x of the piece frame.
    pub turned: f64,
}

/// A plane that cuts bodies open: what lies on the side to which the normal points is left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// A point of the plane, mm, in the piece frame.
    pub point: [f64; 3],
    /// Its direction, of any length but zero, in the piece frame; it turns with the piece.
    pub normal: [f64; 3],
}

impl Section {
    /// Across the piece at a station, mm; the end away from the chuck is left out.
    pub fn at_station(station: f64) -> Section {
        Section { point: [station, 0.0, 0.0], normal: [1.0, 0.0, 0.0] }
    }
}

/// What is behind and under the piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// Nothing; the soft shadow on the ground is kept in the picture's alpha.
    Transparent,
    /// One colour, sRGB, with the shadow on it.
    Plain([u8; 3]),
    /// A paper sweep that falls off into grey.
    Studio,
}

/// A dimension line between two points, drawn over everything else.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Where it starts, mm, in the piece frame.
    pub from: [f64; 3],
    /// Where it ends.
    pub to: [f64; 3],
    /// From the points to the line itself, mm, in the piece frame; extension lines bridge it.
    pub offset: [f64; 3],
    /// How far beyond `to` its text stands, mm, on a thin line that goes on from there; `None` has it stand in the middle.
    pub beyond: Option<f64>,
    /// What is written there.
    pub text: String,
}

/// A strip along a border of a picture that is left free of what is shown, as a share of the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Free {
    /// On the left.
    Left(f64),
    /// On the right.
    Right(f64),
    /// At the foot.
    Below(f64),
}

impl Free {
    /// How much narrower and lower the rest is, as shares, and how far its middle lies to the right of and over that of
    /// the picture, as shares of its halves.
    pub(crate) fn shares(self) -> ([f64; 2], [f64; 2]) {
        match self {
            Free::Left(share) => ([share, 0.0], [share, 0.0]),
            Free::Right(share) => ([share, 0.0], [-share, 0.0]),
            Free::Below(share) => ([0.0, share], [0.0, share]),
        }
    }
}

/// How a picture is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// From where.
    pub view: View,
    /// Where bodies are cut open.
    pub section: Option<Section>,
    /// What is behind and under the piece.
    pub ground: Ground,
    /// Passes that are added up, each with its own lights and its own place within the pixel; 1 is a draft,
    /// [`Shot::SAMPLES`] a good picture.
    pub samples: u32,
    /// Dimension lines.
    pub lines: Vec<Line>,
    /// What is left free.
    pub free: Option<Free>,
}

impl Shot {
    /// Passes of a good picture.
    pub const SAMPLES: u32 = 4;
    /// The most pixels along a side; what the adapter cannot draw at a time is drawn in parts.
    pub const MOST: u32 = 32_768;

    /// A picture of the default view on white paper.
    pub fn new(width: u32, height: u32) -> Shot {
        Shot {
            width,
            height,
            view: View::default(),
            section: None,
            ground: Ground::Studio,
            samples: Shot::SAMPLES,
            lines: Vec::new(),
            free: None,
        }
    }

    /// # Errors
    /// [`RenderError::Size`] or [`RenderError::Senseless`].
    pub(crate) fn check(&self, most: u32) -> Result<(), RenderError> {
        let Shot { width, height, .. } = *self;
        if width.min(height) == 0 || width.max(height) > most {
            return Err(RenderError::Size { width, height, most });
        }
        if self.samples == 0 {
            return Err(RenderError::Senseless("a picture takes at least one sample"));
        }
        let numbers = self.section.iter().flat_map(|section| section.point.into_iter().chain(section.normal));
        let lines = self.lines.iter().flat_map(|line| line.from.into_iter().chain(line.to).chain(line.offset));
        if !numbers.chain(lines).all(f64::is_finite) {
            return Err(RenderError::Senseless("sections and dimension lines take finite numbers"));
        }
        if self.section.is_some_and(|section| section.normal.iter().all(|it| it.abs() < 1e-12)) {
            return Err(RenderError::Senseless("a section plane takes a direction that is not zero"));
        }
        let most_free = self.free.map_or(0.0, |free| free.shares().0[0].max(free.shares().0[1]));
        if !(0.0..0.9).contains(&most_free) {
            return Err(RenderError::Senseless("a picture is left free from a share of 0 up to 0.9"));
        }
        self.view.check()
    }
}

/// A picture: red, green, blue and alpha of each pixel, sRGB, alpha apart (not multiplied in), row by row from the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Four bytes a pixel.
    pub rgba: Vec<u8>,
}
