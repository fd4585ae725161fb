//! Whether a mesh passes through itself.
//!
//! All triangles are put in boxes, and these in an order in which neighbours lie near each other (Morton's). A tree of
//! boxes over that order leads from every few triangles to those that they might meet, each pair once; these are looked at
//! pair by pair. Two triangles pass through each other if they have more in common than the corners they share. Which
//! side of a plane a point lies on is told exactly (Shewchuk, *Adaptive precision floating-point arithmetic and fast robust
//! geometric predicates*, Discrete Comput. Geom. 18, 1997).

mod boxes;
mod pair;

use dryturn_carve::RunOptions;
use rayon::prelude::*;
use smallvec::SmallVec;

use crate::mesh::Mesh;
use crate::{Stop, SurfaceError};
use boxes::{Boxed, FEW, Tree, near_each_other};
use pair::{Facet, pass_through};

/// Two triangles, the lower one first.
pub(crate) type Pair = (u32, u32);

impl Mesh {
    /// The pairs of triangles that pass through each other or lie upon each other, in order. Where there are none the
    /// mesh is embedded; touching corners and edges do not count.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop, [`SurfaceError::Threads`] if no thread could be started.
    pub fn crossings(&self, options: &RunOptions<'_>) -> Result<Vec<(u32, u32)>, SurfaceError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        let stop = Stop::new(options, 1);
        pool.install(|| piercings(self, (0..self.triangles.len() as u32).collect(), &stop))
    }
}

/// The pairs among some triangles that pass through each other, in order.
///
/// # Errors
/// [`SurfaceError::Cancelled`] if told to stop.
pub(crate) fn piercings(mesh: &Mesh, among: Vec<u32>, stop: &Stop<'_>) -> Result<Vec<Pair>, SurfaceError> {
    /// Leaves between two looks at whether to stop.
    const BATCH: usize = 1024;
    let boxed = near_each_other(mesh, among);
    let search = Search { mesh, boxed: &boxed, tree: Tree::over(&boxed) };
    let leaves: Vec<usize> = (0..boxed.len().div_ceil(FEW)).collect();
    let of_batch = |batch: &[usize]| {
        stop.check()?;
        Ok(batch.iter().flat_map(|leaf| search.pairs_of(*leaf)).collect())
    };
    let found: Vec<Vec<Pair>> = leaves.par_chunks(BATCH).map(of_batch).collect::<Result<_, SurfaceError>>()?;
    let mut pairs = found.concat();
    pairs.sort_unstable();
    Ok(pairs)
}

struct Search<'a> {
    mesh: &'a Mesh,
    boxed: &'a [Boxed],
    tree: Tree,
}

impl Search<'_> {
    /// The pairs that the triangles of a leaf make with each other and with those of the leaves behind it.
    fn pairs_of(&self, leaf: usize) -> Vec<Pair> {
        let mut found = Vec::new();
        let own = self.facets(leaf);
        for (k, one) in own.iter().enumerate() {
            own[..k].iter().for_each(|other| self.look_at(one, other, &mut found));
        }
        self.tree.visit_behind(leaf, |behind| {
            for other in self.leaf(behind) {
                let mut facet = None;
                for one in own.iter().filter(|one| one.0.meets(other)) {
                    let other = facet.get_or_insert_with(|| (*other, Facet::of(self.mesh, other.triangle)));
                    self.look_at(one, other, &mut found);
                }
            }
        });
        found
    }

    fn leaf(&self, number: usize) -> &[Boxed] {
        &self.boxed[number * FEW..self.boxed.len().min((number + 1) * FEW)]
    }

    fn facets(&self, leaf: usize) -> SmallVec<[(Boxed, Facet); FEW]> {
        self.leaf(leaf).iter().map(|it| (*it, Facet::of(self.mesh, it.triangle))).collect()
    }

    fn look_at(&self, (one, a): &(Boxed, Facet), (other, b): &(Boxed, Facet), found: &mut Vec<Pair>) {
        if one.meets(other) && pass_through(a, b) {
            found.push((one.triangle.min(other.triangle), one.triangle.max(other.triangle)));
        }
    }
}
