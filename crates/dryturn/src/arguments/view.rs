//! What can be typed behind `view`.

use std::path::PathBuf;

use clap::Args;

use super::Going;

pub(super) const EXAMPLES: &str = "\
Examples:
  dryturn view scenes/kite-reel
  dryturn view finial.toml --adapter 1

The window follows the files: save a program or the scene, and it is read and proved again. ? shows the keys. The scene
is carved at its own pitch, or as finely as can be looked at at once.

Exit codes: 0 closed · 2 usage, no such scene, or no window could be opened";

#[derive(Args, Clone, Debug)]
pub(crate) struct ViewArguments {
    /// The scene file, or the folder that holds a scene.toml
    #[arg(value_name = "SCENE")]
    pub(crate) scene: PathBuf,

    /// The graphics adapter that draws the piece: a part of its name or its number, as `dryturn doctor` lists them
    #[arg(long, value_name = "NAME")]
    pub(crate) adapter: Option<String>,

    #[command(flatten)]
    pub(crate) going: Going,
}
