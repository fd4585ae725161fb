//! What `dryturn still` takes.

mod asked;

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Going;
pub(crate) use asked::{Cut, Moment, Size, sight};

pub(super) const EXAMPLES: &str = "\
Examples:
  dryturn still scenes/winch-handle -o handle.png
  dryturn still scenes/winch-handle -o handle.html
  dryturn still scenes/winch-handle -o open.png --section lengthwise --view front
  dryturn still scenes/kite-reel -o early.png --at groove.nc:12 --holding
  dryturn still scenes/choir-stand -o gap.png --color gap --dimensions
  dryturn still scenes/marble-lift -o round.apng --turntable 48 --size 900x600

Exit codes: 0 written · 2 usage, unreadable or invalid input, nothing to draw with · 130 interrupted";

#[derive(Args, Debug)]
pub(crate) struct StillArguments {
    /// A scene file, or a folder that holds a scene.toml
    #[arg(value_name = "SCENE")]
    pub(crate) scene: PathBuf,

    /// The file to write: .png is a picture, .apng goes round (with --turntable), .html is a page to turn it by hand, for
    /// which of all that follows only --view, --at and what concerns the picture that stands in where browsers cannot show it,
    /// --size, --samples and --adapter, mean something
    #[arg(long, short, value_name = "FILE")]
    pub(crate) output: PathBuf,

    /// Width and height in pixels [default: 1800x1200]
    #[arg(long, value_name = "SIZE")]
    pub(crate) size: Option<Size>,

    /// From where: turn,tilt in degrees and, if wanted, a distance in mm, as in 30,20 or 30,20,400; or three-quarter,
    /// front, back, above, below, end (the free one), chuck, standing (on the chuck's end; standing,30,15 too). Turn 0 is
    /// the operator's side with the chuck at the left; 90 is the free end
    #[arg(long, default_value = "three-quarter", allow_hyphen_values = true, value_name = "VIEW", value_parser = sight)]
    pub(crate) view: dryturn_render::View,

    /// Cut it open: at a station in mm, lengthwise, or along a plane such as y=0 or 40,0,0/1,0,1 (a point, and a
    /// direction; x is the station, z is up). What lies toward the eye is left out; with a direction, what it points to
    #[arg(long, allow_hyphen_values = true, value_name = "WHERE")]
    pub(crate) section: Option<Cut>,

    /// The piece as it stands once this line of this program has run, as in finial.nc:120 or 2:120; line 0 is before it
    #[arg(long, value_name = "PROGRAM:LINE")]
    pub(crate) at: Option<Moment>,

    /// What colours tell
    #[arg(long, value_enum, default_value_t = Tint::Wood, value_name = "WHAT")]
    pub(crate) color: Tint,

    /// Leave out the card that explains the colours
    #[arg(long)]
    pub(crate) no_legend: bool,

    /// Show what holds it: chuck, jaws, faceplate, drive, tailstock, center, as far as the scene describes them
    #[arg(long)]
    pub(crate) holding: bool,

    /// Draw its length, its greatest diameter, and that of the thinnest place between thicker ones
    #[arg(long)]
    pub(crate) dimensions: bool,

    /// What it stands before [default: studio]
    #[arg(long, value_enum, value_name = "GROUND")]
    pub(crate) ground: Option<Backdrop>,

    /// Passes that add up to the picture: more make shadows softer; 1 is a draft
    #[arg(long, default_value_t = dryturn_render::Shot::SAMPLES, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=256))]
    pub(crate) samples: u32,

    /// So many views all around: into FILE-001.png and so on, or as one picture that moves into an .apng
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(2..=720))]
    pub(crate) turntable: Option<u32>,

    /// The graphics adapter to draw with: a part of its name or its number, as `dryturn doctor` lists them
    #[arg(long, value_name = "NAME")]
    pub(crate) adapter: Option<String>,

    #[command(flatten)]
    pub(crate) going: Going,
}

impl StillArguments {
    /// The size of a picture.
    pub(crate) fn size(&self) -> Size {
        self.size.unwrap_or(Size { width: 1800, height: 1200 })
    }
}

/// What the colours of the piece tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Tint {
    /// Nothing: it looks like what it is made of
    Wood,
    /// The cutter that made each spot
    Cutter,
    /// The distance to the target's surface: gouged, or left over
    Gap,
    /// The distance to the axis
    Radius,
    /// When each spot was cut
    Age,
}

/// What is behind the piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Backdrop {
    /// Nothing but its soft shadow
    Transparent,
    /// White
    Plain,
    /// A sweep of paper
    Studio,
}
