//! Takes away the places where a mesh passes through itself.
//!
//! A vertex may lie outside its cell, on an edge that leaves it just there, and a face may stray from the cells of its
//! corners. Where triangles pass through each other because of that, their vertices are drawn back into their cells.
//! Faces that still do so are cut: with a vertex in the middle of each of its edges, on the strip between two cells, and
//! one in its own middle, every triangle lies in one cell, and cells do not overlap (Ju and Udeshi, *Intersection-free
//! contouring on an octree grid*, Pacific Graphics 2006).

use std::collections::BTreeSet;

use glam::DVec3;

use crate::draft::Draft;
use crate::mesh::Mesh;
use crate::piercing::{Pair, piercings};
use crate::twins::Pass;
use crate::wood::Wood;
use crate::{Stop, SurfaceError};

/// Times that what passes through itself is mended.
const ROUNDS: usize = 8;
/// Rounds in which only vertices of two knots are drawn in, and rounds in which no face is cut yet.
const PAIRS: usize = 1;
const WHOLE: usize = 2;
/// Rows of triangles around those that were changed which these might meet.
const NEAR: usize = 2;

impl<W: Wood> Draft<'_, W> {
    /// The mesh, and where it still passes through itself.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop, [`SurfaceError::TooLarge`] if there are more vertices than can be
    /// numbered.
    pub(crate) fn mended(mut self, stop: &Stop<'_>) -> Result<(Mesh, Vec<[f64; 3]>), SurfaceError> {
        let all: Vec<usize> = (0..self.faces.len()).collect();
        let mesh = self.joined(all.iter().copied())?;
        let mut pairs = piercings(&mesh, self.doubtful(&mesh), stop)?;
        if pairs.is_empty() {
            return Ok((mesh, Vec::new()));
        }
        let (mut part, mut rows) = (mesh, all.clone());
        for round in 0..ROUNDS {
            let changed = self.mend(&part, &rows, &pairs, round)?;
            self.remake(&changed, stop)?;
            rows = around(&changed, self.faces.len());
            part = self.joined(rows.iter().copied())?;
            pairs = piercings(&part, (0..part.triangles.len() as u32).collect(), stop)?;
            if pairs.is_empty() {
                break;
            }
        }
        let places = pairs.iter().map(|(one, _)| part.corners(*one as usize)[0]).collect();
        drop(part);
        Ok((self.joined(all.into_iter())?, places))
    }

    /// Changes vertices and edges at pairs of triangles of the mesh of some rows; tells in which rows faces change.
    fn mend(&mut self, mesh: &Mesh, rows: &[usize], pairs: &[Pair], round: usize) -> Result<Vec<usize>, SurfaceError> {
        let triangles: BTreeSet<u32> = pairs.iter().flat_map(|(one, other)| [*one, *other]).collect();
        let corners: BTreeSet<u32> = triangles.iter().flat_map(|it| mesh.triangles[*it as usize]).collect();
        let split = self.faces_with(rows, &triangles);
        // They are looked at again, whether or not anything about them could be changed.
        let mut changed: BTreeSet<usize> = split.iter().map(Pass::row).collect();
        let is_pair = |corner: &u32| self.vertices.get(*corner as usize).is_some_and(|vertex| vertex.is_pair);
        let corners: Vec<u32> = corners.into_iter().filter(|corner| round >= PAIRS || is_pair(corner)).collect();
        for corner in corners {
            if let Some(row) = self.draw_in(corner, round >= WHOLE) {
                changed.extend([row, row + 1]);
            }
        }
        if round >= WHOLE {
            let strips: BTreeSet<usize> = split.iter().flat_map(|it| it.row().saturating_sub(1)..=it.row()).collect();
            let strips: Vec<usize> = strips.into_iter().filter(|row| *row < self.cells.len()).collect();
            changed.extend(self.find_twins(&strips, &split)?);
        }
        Ok(changed.into_iter().collect())
    }

    /// The faces that some triangles of the mesh of some rows belong to.
    fn faces_with(&self, rows: &[usize], triangles: &BTreeSet<u32>) -> BTreeSet<Pass> {
        let mut found = BTreeSet::new();
        let mut start = 0;
        for &row in rows {
            let end = start + self.faces[row].triangles.len() as u32;
            let within: Vec<usize> = triangles.range(start..end).map(|it| (it - start) as usize).collect();
            if !within.is_empty() {
                let passes = self.passes_of(row);
                found.extend(within.iter().map(|it| passes[passes.partition_point(|pass| pass.0 <= *it) - 1].1));
            }
            start = end;
        }
        found
    }

    /// The triangles that may pass through others and those around them. Where each ray ends once, and all triangles look
    /// outward, there is one of them over any place, for those that look out are one more than those that look in.
    fn doubtful(&self, mesh: &Mesh) -> Vec<u32> {
        let mut is_doubtful: Vec<bool> = mesh.triangles.iter().map(|it| !self.is_plain(mesh, *it)).collect();
        for _ in 0..NEAR {
            let mut is_near = vec![false; mesh.vertices.len()];
            for (corners, _) in mesh.triangles.iter().zip(&is_doubtful).filter(|(_, is_doubtful)| **is_doubtful) {
                corners.iter().for_each(|corner| is_near[*corner as usize] = true);
            }
            for (corners, is_doubtful) in mesh.triangles.iter().zip(&mut is_doubtful) {
                *is_doubtful |= corners.iter().any(|corner| is_near[*corner as usize]);
            }
        }
        (0..).zip(is_doubtful).filter(|(_, is_doubtful)| *is_doubtful).map(|(triangle, _)| triangle).collect()
    }

    fn is_plain(&self, mesh: &Mesh, corners: [u32; 3]) -> bool {
        let [a, b, c] = corners.map(|corner| DVec3::from_array(mesh.vertices[corner as usize]));
        let outward = DVec3 { x: 0.0, ..a + b + c };
        let is_plain = |corner: u32| self.vertices.get(corner as usize).is_some_and(|vertex| vertex.is_plain);
        corners.into_iter().all(is_plain) && (b - a).cross(c - a).dot(outward) > 0.0
    }
}

/// Some rows and those near them.
fn around(rows: &[usize], count: usize) -> Vec<usize> {
    let near = rows.iter().flat_map(|row| row.saturating_sub(NEAR)..(row + NEAR + 1).min(count));
    near.collect::<BTreeSet<usize>>().into_iter().collect()
}
