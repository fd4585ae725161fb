//! The scene: one job as a person describes it, and the motions its programs make over the blank.
//!
//! # Theory
//!
//! A program alone says where a cutter goes, not over what. The scene adds the machine, the blank, what holds it, the
//! cutters, and where the program zeros sit; with them every word of a program becomes a place in the blank frame:
//!
//! ```text
//! station = zero.x ± X      (+ with the chuck on "-x", − on "+x")
//! y       = zero.y + Y
//! height  = zero.z + Z
//! turn    = zero.a ± A      (+ for "iso", − for "reversed")
//! ```
//!
//! Three rules keep a run honest. What has a sensible default is taken and listed as assumed. What is not described is
//! listed as not checked, and so is every key that nothing looks at yet. What is wrong is refused with the file, the
//! line, a caret and the way out, all problems of a file at once.
//!
//! # Practice
//!
//! [`Scene::load`] reads a scene file, [`Scene::parse`] a text, [`Scene::from_flags`] makes one up for a single program.
//! [`Job::read`] then reads the programs and hands out their motions ([`dryturn_geom::Motions`]).
//! [`Scene::resolved_toml`] writes the scene with every default in its place.
//!
//! ```
//! use dryturn_scene::{LoadOptions, Scene};
//! use std::path::Path;
//!
//! let folder = tempfile::tempdir()?;
//! std::fs::write(folder.path().join("part.nc"), "G0 Z30\nG1 X10 F300\n")?;
//! let text = "format = 1
//! blank = { diameter = 64, length = 200 }
//! program = [{ file = \"part.nc\" }]
//! cutter = [{ diameter = 6 }]
//! ";
//! let scene = Scene::parse(text, "scene.toml", folder.path(), LoadOptions::default())?;
//! assert_eq!(scene.stock().corner_radius(), 32.0);
//! assert_eq!(scene.cutters[0].flutes.length(), 18.0);
//! assert!(scene.not_checked.iter().any(|item| item.what == "holding"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![forbid(unsafe_code)]

mod blank;
mod build;
mod error;
mod flags;
mod job;
pub mod material;
mod mesh;
mod model;
mod not_checked;
mod notes;
mod read;
mod resolved;
mod schema;
mod target;
mod touch;
mod zero;

pub use build::{KeptReader, KeptRefusal, KeptSolid, LoadOptions, PutBack, Seen};
pub use error::{LineRemark, SceneError, Severity};
pub use flags::cutter_keys;
pub use job::{Job, JobOptions, ProgramRun};
pub use mesh::{Inside, Mesh, MeshError, MeshSurface, Near, OpenMesh, Point, holds};
pub use model::*;
pub use schema::{nearest_word, schema};
pub use target::TargetShape;
pub use zero::TouchOff;
