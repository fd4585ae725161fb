//! The piece as a solid: a closed mesh with its real edges.
//!
//! # Theory
//!
//! A carved blank is a lattice of rays with solid along them. Between four neighbouring rays stands a **column**, on
//! each of its sides a **strip** between two rays. Going out from the axis along a strip, the surface enters it at an
//! end of one ray and leaves it at the next end of either: a **segment**. Around a column the segments of its four
//! sides close into **loops**. Every loop becomes one vertex of the mesh and every end of a ray one face, whose corners
//! are the loops of the four columns around the ray. That is dual contouring (Ju et al., *Dual contouring of Hermite
//! data*, SIGGRAPH 2002), with loops in the place of a table of signs and rays that are not sampled.
//!
//! **Why it bounds a body.** An edge of the mesh is a segment. A segment has two ends, thus two faces, and lies between
//! two columns, thus has two vertices; both faces run along it in opposite sense, for the solid lies on one side of it.
//! The faces around a vertex follow its loop, so they form one ring. Nothing of this asks whether the wood makes sense:
//! noise has a sound mesh too. Two matters remain for lists of triangles, in which an edge is known by its vertices
//! alone: edges that would be the same get a vertex in their middle (`twins`), and quadrilaterals whose diagonal would
//! be the same are fanned around one (`faces`). The outermost rows have an empty row beyond them, so the ends of the
//! blank are walls like any other; around the axis the columns close on themselves; the axis, in which all rays of a
//! row meet, is one more line of the lattice.
//!
//! **Walls** that stand between two rays show on neither. There a **level** cuts the column into cells, and the strips
//! beside it are crossed at that radius: the crossing is found by replay, to the owner's own surface (`level`,
//! `crossing`). Columns need not agree about their levels; where only one has a level, the face of the crossing is a
//! triangle.
//!
//! **Vertices** of smooth loops are placed so that the mesh holds the true volume to the fourth order of the pitch;
//! those of sharp loops where the surfaces of the owners meet (`vertex`).
//!
//! **What folds over**, since vertices lie beyond those of the next cell, is drawn back into its cells (`draft`).
//!
//! **What passes through itself** is mended (`mend`): where an edge leaves its cell, or a face strays from the cells of
//! its corners, triangles may meet that should not. Vertices are drawn back into their cells there, and faces cut where
//! cells meet, until none does.
//!
//! **Pictures** need no facets that nobody can tell apart ([`build_seen`]): where it is smooth, blocks of columns share a
//! vertex (`blocks`), and walls are crossed at fewer levels.
//!
//! What the rays do not see, the mesh does not show: a fin thinner than their distance comes out in islands.
//! [`build_with_doubts`] tells where that may be so.
//!
//! # Practice
//!
//! [`build()`] makes the [`Mesh`] of a carved blank and its replay, in the piece frame, [`build_removed()`] that of what is
//! gone; [`Mesh::turned`] and [`Mesh::block`] are plain bodies to stand beside it. [`Mesh::topology`] checks that
//! it bounds a body and tells how many handles and surfaces that has, [`Mesh::crossings`] where it passes through
//! itself; every test of this crate calls both.
//! [`Mesh::thinned`] takes away triangles where the surface is flat, within a bound. [`write_stl`] and [`write_ply`]
//! write it; [`write_glb`] and [`write_3mf`] write several with their names and colours, GLB with normals
//! ([`Mesh::shaded`]).
//!
//! The source is best read in the order in which a mesh is made: `rays`, `skin` (places and normals of their ends),
//! `strip`, `level`, `crossing`, `climb` (a strip's), `complex` (all of these together), `column` (its loops), `cells` and `vertex` with
//! `quadric`, `twins`, `faces`, `draft` (all of these together), `mend` with `piercing`, and `build`, which runs it all,
//! row by row on all threads; the order of rows numbers vertices and triangles.
//!
//! ```
//! use dryturn_carve::{Grid, Job, Replay, RunOptions, carve};
//! use dryturn_geom::{Motion, Side, Stock};
//! use dryturn_surface::build;
//!
//! let stock = Stock::round(10.0, 20.0);
//! let motions: Vec<Motion> = vec![];
//! let job = Job { stock: &stock, dimple: None, cutters: &[], motions: &motions };
//! let options = RunOptions::default();
//! let carved = carve(&job, &Grid::over(&stock, 0.5), &options)?;
//! let mesh = build(&carved, &Replay::new(&job, &options)?, Side::Minus, &options)?;
//! assert_eq!(mesh.topology()?.genus, 0);
//! assert!((mesh.volume_mm3() / (std::f64::consts::PI * 2000.0) - 1.0).abs() < 1e-5);
//! // A prism that lies 5 µm off the round at the most has 100 sides, and 4 · 100 − 4 triangles.
//! assert!(mesh.thinned(0.005, &options)?.triangles.len() < 2 * 396);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![forbid(unsafe_code)]

mod blocks;
mod build;
mod cells;
mod climb;
mod column;
mod complex;
mod crossing;
mod doubts;
mod draft;
mod faces;
mod flat;
mod level;
mod mend;
mod mesh;
mod normals;
mod piercing;
mod place;
mod quadric;
mod ragged;
mod rays;
mod skin;
mod solids;
mod stop;
mod strip;
mod thin;
mod topology;
mod twins;
mod vertex;
mod wood;
mod write;

pub use build::{build, build_removed, build_seen, build_with_doubts};
pub use doubts::Doubts;
pub use mesh::{Kind, Mesh};
pub use normals::Shaded;
pub use topology::{Fault, Topology};
pub use write::{Body, Model, Paint, write_3mf, write_glb, write_ply, write_stl};

pub(crate) use stop::Stop;

/// Why there is no mesh.
#[derive(Debug, thiserror::Error)]
pub enum SurfaceError {
    /// The run was told to end early.
    #[error("the run was interrupted")]
    Cancelled,
    /// The threads could not be started.
    #[error("the worker threads could not be started: {0}")]
    Threads(#[from] rayon::ThreadPoolBuildError),
    /// There are more ends of rays or vertices than can be numbered.
    #[error("the piece has more points than a mesh can number: take a coarser pitch")]
    TooLarge,
}
