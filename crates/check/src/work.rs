//! A scene as the carve takes it.

use dryturn_carve::{Cutter, Dimple, Grid, Job};
use dryturn_geom::{Motions, Stock};
use dryturn_scene::Scene;

use crate::bodies;

/// What the carve of a scene is made from, its blocks apart.
#[derive(Clone, Debug)]
pub struct Work {
    /// The blank.
    pub stock: Stock,
    /// Hole of the live center, if there is one.
    pub dimple: Option<Dimple>,
    /// The cutters, in the order of the scene.
    pub cutters: Vec<Cutter>,
    /// The grid that the scene asks for.
    pub grid: Grid,
}

impl Work {
    /// The work of a scene.
    pub fn of(scene: &Scene) -> Work {
        let stock = scene.stock();
        Work {
            dimple: bodies::dimple(scene),
            cutters: bodies::carve_cutters(scene),
            grid: Grid::over(&stock, scene.grid.pitch),
            stock,
        }
    }

    /// The job of carving these blocks.
    pub fn job<'a>(&'a self, motions: &'a dyn Motions) -> Job<'a> {
        Job { stock: &self.stock, dimple: self.dimple, cutters: &self.cutters, motions }
    }
}
