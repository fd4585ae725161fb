//! What `dryturn mesh` takes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Going;

pub(super) const EXAMPLES: &str = "\
Examples:
  dryturn mesh scenes/winch-handle -o handle.stl
  dryturn mesh scenes/winch-handle -o handle.glb --color cutter
  dryturn mesh scenes/winch-handle -o held.3mf --what piece,holding --within 0.02

Exit codes: 0 written · 2 usage, unreadable or invalid input · 130 interrupted";

#[derive(Args, Debug)]
pub(crate) struct MeshArguments {
    /// A scene file, or a folder that holds a scene.toml
    #[arg(value_name = "SCENE")]
    pub(crate) scene: PathBuf,

    /// The file to write; its ending says how: .stl, .ply, .glb or .3mf
    #[arg(long, short, value_name = "FILE")]
    pub(crate) output: PathBuf,

    /// Which bodies; several, with commas between, only as .glb and .3mf, where each keeps its name
    #[arg(long, value_enum, value_delimiter = ',', default_value = "piece", value_name = "BODY")]
    pub(crate) what: Vec<What>,

    /// How far the mesh may stray where that saves triangles, mm; 0 leaves all of them
    #[arg(long, default_value_t = 0.005, value_name = "MM", value_parser = within, allow_negative_numbers = true)]
    pub(crate) within: f64,

    /// What colours tell in .glb and .3mf: the wood, or the cutter that made each spot
    #[arg(long, value_enum, value_name = "COLOR")]
    pub(crate) color: Option<Paint>,

    #[command(flatten)]
    pub(crate) going: Going,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub(crate) enum What {
    /// What is left of the blank
    Piece,
    /// What the programs take off it
    Removed,
    /// The blank before the first cut, bored and dimpled
    Blank,
    /// The shape wanted, as it was read
    Target,
    /// Chuck, jaws, faceplate, screws, drive, tailstock and center
    Holding,
}

impl What {
    /// Whether it takes a carve to know it.
    pub(crate) fn is_carved(self) -> bool {
        matches!(self, What::Piece | What::Removed | What::Blank)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Paint {
    /// The colour of the blank's material
    Wood,
    /// A colour for each cutter
    Cutter,
}

/// A distance that is not below zero.
fn within(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(within) if (0.0..=100.0).contains(&within) => Ok(within),
        _ => Err("write a distance from 0 to 100 mm".to_owned()),
    }
}
