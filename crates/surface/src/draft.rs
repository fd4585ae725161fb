//! A mesh while it is being made: its vertices, and its faces by row.

use std::collections::BTreeSet;

use rayon::prelude::*;

use crate::blocks::Blocks;
use crate::cells::{Cells, Vertex};
use crate::complex::Complex;
use crate::faces::{CENTER, Corners, Faces, Maker};
use crate::mesh::{Kind, Mesh};
use crate::twins::{EdgeOf, Finder, Pass, Twin};
use crate::wood::Wood;
use crate::{Stop, SurfaceError};

/// Times that vertices are drawn in where faces fold over.
const UNFOLDINGS: usize = 2;

/// The vertices and the faces of a complex.
pub(crate) struct Draft<'a, W> {
    pub(crate) complex: &'a Complex<'a, W>,
    /// Columns that share a vertex.
    blocks: Blocks,
    pub(crate) cells: Vec<Cells>,
    /// Number of the first vertex of each row of columns.
    pub(crate) first: Vec<u32>,
    pub(crate) vertices: Vec<Vertex>,
    /// The edges that have a vertex in their middle, in order, with its number.
    twins: Vec<(EdgeOf, u32)>,
    /// The faces of each row.
    pub(crate) faces: Vec<Faces>,
}

impl<'a, W: Wood> Draft<'a, W> {
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop, [`SurfaceError::TooLarge`] if there are more vertices than can be
    /// numbered.
    pub(crate) fn new(complex: &'a Complex<'a, W>, blocks: Blocks, stop: &Stop<'_>) -> Result<Self, SurfaceError> {
        let rows = complex.rays.rows();
        let row = |row: usize| {
            stop.step(rows)?;
            Ok(Cells::new(complex, &blocks, row))
        };
        let mut cells: Vec<Cells> = (0..rows - 1).into_par_iter().map(row).collect::<Result<_, SurfaceError>>()?;
        let mut first = Vec::with_capacity(cells.len());
        let mut vertices: Vec<Vertex> = Vec::new();
        for cells in &mut cells {
            first.push(number(vertices.len())?);
            vertices.extend(cells.take_vertices());
        }
        let mut draft = Draft { complex, blocks, cells, first, vertices, twins: Vec::new(), faces: Vec::new() };
        let all: Vec<usize> = (0..rows).collect();
        draft.find_twins(&all[..rows - 1], &BTreeSet::new())?;
        draft.faces = draft.faces_of(&all, || stop.step(rows))?;
        draft.unfold(stop)?;
        Ok(draft)
    }

    /// Draws vertices back into their cells where faces fold over because some lie beyond others.
    fn unfold(&mut self, stop: &Stop<'_>) -> Result<(), SurfaceError> {
        let mut rows: Vec<usize> = (0..self.faces.len()).collect();
        for _ in 0..UNFOLDINGS {
            let turned: BTreeSet<u32> = rows.iter().flat_map(|row| self.faces[*row].turned.iter().copied()).collect();
            let changed = turned.into_iter().filter_map(|vertex| self.draw_in(vertex, true));
            rows = changed.flat_map(|row| [row, row + 1]).collect::<BTreeSet<usize>>().into_iter().collect();
            self.remake(&rows, stop)?;
        }
        Ok(())
    }

    /// Makes the faces of some rows anew.
    pub(crate) fn remake(&mut self, rows: &[usize], stop: &Stop<'_>) -> Result<(), SurfaceError> {
        let made = self.faces_of(rows, || stop.check())?;
        rows.iter().zip(made).for_each(|(row, faces)| self.faces[*row] = faces);
        Ok(())
    }

    /// Draws a vertex back into its cell; tells the row of that, unless it was there already or has several columns.
    pub(crate) fn draw_in(&mut self, vertex: u32, closely: bool) -> Option<usize> {
        let row = self.first.partition_point(|first| *first <= vertex) - 1;
        let at = self.vertices.get_mut(vertex as usize)?;
        let number = (vertex - self.first[row]) as usize;
        let column = self.cells[row].column_of(number)?;
        if self.blocks.first(row, column).is_some() {
            return None;
        }
        let inside = self.cells[row].inside(self.complex, (row, column), number, closely, at.point);
        if inside == at.point {
            return None;
        }
        (at.point, at.kind) = (inside, Kind::Smooth);
        Some(row)
    }

    /// Puts a vertex in the middle of twin edges on the strips of some rows, and of all edges of the given faces; tells
    /// in which rows those have faces that had none.
    pub(crate) fn find_twins(
        &mut self,
        rows: &[usize],
        split: &BTreeSet<Pass>,
    ) -> Result<BTreeSet<usize>, SurfaceError> {
        let Draft { complex, blocks, cells, .. } = &*self;
        let find = |&row: &usize| Finder { complex, blocks, cells, row, split }.twins();
        let found: Vec<Vec<Twin>> = rows.par_iter().map(find).collect();
        let known = self.twins.len();
        let mut changed = BTreeSet::new();
        for twin in found.into_iter().flatten() {
            if self.twins[..known].binary_search_by(|(edge, _)| edge.cmp(&twin.edges[0])).is_ok() {
                continue;
            }
            let number = number(self.vertices.len())?;
            self.twins.extend(twin.edges.map(|edge| (edge, number)));
            self.vertices.push(twin.vertex);
            changed.extend(twin.edges.map(|(pass, _)| pass.row()));
        }
        self.twins.sort_unstable();
        Ok(changed)
    }

    /// The faces of some rows; `step` is called before each.
    pub(crate) fn faces_of(
        &self,
        rows: &[usize],
        step: impl Fn() -> Result<(), SurfaceError> + Sync,
    ) -> Result<Vec<Faces>, SurfaceError> {
        let make = |&row: &usize| {
            step()?;
            Ok(self.row(row, false))
        };
        rows.par_iter().map(make).collect()
    }

    /// For each face of a row the number of its first triangle.
    pub(crate) fn passes_of(&self, row: usize) -> Vec<(usize, Pass)> {
        self.row(row, true).passes
    }

    fn row(&self, row: usize, tells_passes: bool) -> Faces {
        let Draft { blocks, cells, first, vertices, twins, .. } = self;
        let corners = Corners { blocks, cells, first, vertices, twins };
        Maker { complex: self.complex, corners: &corners, row, tells_passes }.faces()
    }

    /// The mesh of the faces of some rows, in the blank frame, their centers numbered on from all vertices.
    ///
    /// # Errors
    /// [`SurfaceError::TooLarge`] if there are more vertices than can be numbered.
    pub(crate) fn joined(&self, rows: impl Iterator<Item = usize>) -> Result<Mesh, SurfaceError> {
        let mut mesh = Mesh {
            vertices: self.vertices.iter().map(|vertex| vertex.point.to_array()).collect(),
            kinds: self.vertices.iter().map(|vertex| vertex.kind).collect(),
            ..Mesh::default()
        };
        for faces in rows.map(|row| &self.faces[row]) {
            number(mesh.vertices.len() + faces.centers.len())?;
            let more = mesh.vertices.len() as u32;
            let numbered = |vertex: u32| if vertex < CENTER { vertex } else { vertex - CENTER + more };
            mesh.triangles.extend(faces.triangles.iter().map(|triangle| triangle.map(numbered)));
            mesh.owners.extend(&faces.owners);
            mesh.kinds.resize(mesh.kinds.len() + faces.centers.len(), Kind::Smooth);
            mesh.vertices.extend(faces.centers.iter().map(|center| center.to_array()));
        }
        Ok(mesh)
    }
}

/// The number of the next vertex after so many.
fn number(count: usize) -> Result<u32, SurfaceError> {
    u32::try_from(count).ok().filter(|count| *count < CENTER).ok_or(SurfaceError::TooLarge)
}
