//! Fewer triangles where the surface is flat.
//!
//! An edge is drawn together into one of its ends, again and again, as long as the mesh stays within a bound of what it
//! was. Every triangle carries a bound on how far it may lie off the surface it stands for. Where a vertex goes, the
//! triangles that take the place of its own get the greatest of those bounds and on top of it the distance of the
//! vertex from them, or that of the middles of their new edges from the old ones, whichever is greater. Between these
//! points the distance is not looked at, so the bound is close to strict but not proved. Sharp edges stay since leaving
//! them would be a distance; so may the lines in which owners meet.
//!
//! The shape of the surface, its handles and cavities, stays: the ends of an edge that is drawn together must have
//! exactly two neighbours in common (Dey et al., *Topology preserving edge contraction*, Publ. Inst. Math. 66, 1999).
//! No triangle may turn far or become a needle.
//!
//! Flat triangles cut off from what is round; vertices are moved out a little in the end so that the volume stays
//! (`balance`).
//!
//! In rounds with ever greater bounds, bands of triangles, as they follow each other, are thinned on all threads while
//! the vertices that two of them share stay; each round has its bands elsewhere, and the last has only one. Where the
//! outcome passes through itself, the vertices there are kept and the mesh is thinned anew.

mod balance;
mod distance;
mod part;

use dryturn_carve::RunOptions;
use glam::DVec3;
use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::piercing::{Pair, piercings};
use crate::{Stop, SurfaceError};
use balance::balance;
use part::{Part, Stay, Triangle};

/// Bounds of the rounds, as shares of the one asked for: what costs nothing goes first.
const ROUNDS: [f64; 5] = [1e-7, 0.1, 0.4, 1.0, 1.0];
/// Triangles in a band.
const BAND: usize = 1 << 16;
/// Times that vertices are kept where the outcome passes through itself.
const REPAIRS: usize = 5;

/// What an owner counts as.
type Group<'a> = &'a (dyn Fn(u32) -> u32 + Sync);

impl Mesh {
    /// The mesh with fewer triangles, within about `within` mm of this one; with 0 or less it stays as it is. Its
    /// vertices are some of those of this mesh, moved out on round parts so that the volume stays, and each of its
    /// triangles has the owner of one that lay there. Unless this mesh does, it does not pass through itself.
    ///
    /// The bits do not depend on the number of threads.
    ///
    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop, [`SurfaceError::Threads`] if no thread could be started.
    pub fn thinned(&self, within: f64, options: &RunOptions<'_>) -> Result<Mesh, SurfaceError> {
        self.thinned_apart(within, &|_| 0, options)
    }

    /// The same; the lines in which owners meet that `group` tells apart stay within the bound too. Where every owner is
    /// a group of its own, many more triangles are left.
    ///
    /// # Errors
    /// As [`Mesh::thinned`].
    pub fn thinned_apart(
        &self,
        within: f64,
        group: &(dyn Fn(u32) -> u32 + Sync),
        options: &RunOptions<'_>,
    ) -> Result<Mesh, SurfaceError> {
        if within.is_nan() || within <= 0.0 || self.triangles.is_empty() {
            return Ok(self.clone());
        }
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
        let stop = Stop::new(options, 1);
        let kept = vec![false; self.vertices.len()];
        pool.install(|| Thinner { mesh: self, within, group, stop: &stop, kept }.run())
    }

    /// The mesh of some triangles over the vertices of this one, those that none of them has left out, and which vertices of
    /// this one it has.
    fn left_with(&self, triangles: &[Triangle]) -> (Mesh, Vec<u32>) {
        let mut numbers = vec![0u32; self.vertices.len()];
        triangles.iter().flat_map(|it| it.corners).for_each(|corner| numbers[corner as usize] = 1);
        let (mut mesh, mut those) = (Mesh::default(), Vec::new());
        for (vertex, number) in numbers.iter_mut().enumerate().filter(|(_, number)| **number == 1) {
            *number = mesh.vertices.len() as u32;
            mesh.vertices.push(self.vertices[vertex]);
            mesh.kinds.push(self.kinds[vertex]);
            those.push(vertex as u32);
        }
        mesh.triangles = triangles.iter().map(|it| it.corners.map(|corner| numbers[corner as usize])).collect();
        mesh.owners = triangles.iter().map(|it| it.owner).collect();
        (mesh, those)
    }
}

struct Thinner<'a> {
    mesh: &'a Mesh,
    within: f64,
    group: Group<'a>,
    stop: &'a Stop<'a>,
    /// Vertices that stay.
    kept: Vec<bool>,
}

impl Thinner<'_> {
    fn run(mut self) -> Result<Mesh, SurfaceError> {
        let mut repairs = 0;
        loop {
            let thinned = self.balanced(&self.thinned()?);
            let pairs = piercings(&thinned, (0..thinned.triangles.len() as u32).collect(), self.stop)?;
            if pairs.is_empty() || repairs == REPAIRS {
                return Ok(thinned);
            }
            let margin = self.within * f64::from(1 << (2 * repairs));
            self.keep(&near(&thinned, &pairs, margin));
            repairs += 1;
        }
    }

    /// The mesh of some triangles, with the volume of the whole.
    fn balanced(&self, left: &[Triangle]) -> Mesh {
        let (mut mesh, numbers) = self.mesh.left_with(left);
        balance(&mut mesh, left, self.within, |vertex| self.kept[numbers[vertex as usize] as usize]);
        mesh
    }

    fn thinned(&self) -> Result<Vec<Triangle>, SurfaceError> {
        let all = self.mesh.triangles.iter().zip(&self.mesh.owners);
        let mut left: Vec<Triangle> =
            all.map(|(&corners, &owner)| Triangle { corners, owner, bound: 0.0, lost: 0.0 }).collect();
        for (round, share) in ROUNDS.into_iter().enumerate() {
            let is_last = round + 1 == ROUNDS.len();
            let bands = if is_last { vec![&left[..]] } else { banded(&left, round % 2 == 1) };
            left = self.in_bands(&bands, share * self.within)?;
        }
        Ok(left)
    }

    /// What is left of each band, the vertices that several of them share untouched.
    fn in_bands(&self, bands: &[&[Triangle]], within: f64) -> Result<Vec<Triangle>, SurfaceError> {
        const NONE: u32 = u32::MAX;
        let mut band_of = vec![NONE; self.mesh.vertices.len()];
        let mut stays: Vec<Stay> = self.kept.iter().map(|it| if *it { Stay::Kept } else { Stay::Free }).collect();
        for (band, triangles) in (0..).zip(bands) {
            for corner in triangles.iter().flat_map(|it| it.corners) {
                match &mut band_of[corner as usize] {
                    first if *first == NONE => *first = band,
                    first if *first != band => stays[corner as usize] = Stay::Border,
                    _ => {}
                }
            }
        }
        let thin = |triangles: &&[Triangle]| {
            self.stop.step(ROUNDS.len() * bands.len())?;
            let stay = |vertex: u32| stays[vertex as usize];
            Part::of(self.mesh, triangles.to_vec(), stay, self.group, self.stop).thinned(within)
        };
        let left: Vec<Vec<Triangle>> = bands.par_iter().map(thin).collect::<Result<_, SurfaceError>>()?;
        Ok(left.concat())
    }

    /// Keeps the corners of all triangles of the mesh that reach into some boxes.
    fn keep(&mut self, boxes: &[Bounds]) {
        let reaches = |triangle: &usize| {
            let bounds = self.mesh.bounds_of(*triangle);
            boxes.iter().any(|other| overlap(bounds, *other))
        };
        let found: Vec<usize> = (0..self.mesh.triangles.len()).into_par_iter().filter(reaches).collect();
        for corner in found.into_iter().flat_map(|triangle| self.mesh.triangles[triangle]) {
            self.kept[corner as usize] = true;
        }
    }
}

/// Triangles in bands of equal size, the first of them half as large if asked for.
fn banded(triangles: &[Triangle], is_shifted: bool) -> Vec<&[Triangle]> {
    let (first, others) = triangles.split_at(if is_shifted { triangles.len().min(BAND / 2) } else { 0 });
    std::iter::once(first).filter(|it| !it.is_empty()).chain(others.chunks(BAND)).collect()
}

/// The least and the greatest coordinates of something.
type Bounds = (DVec3, DVec3);

fn overlap(one: Bounds, other: Bounds) -> bool {
    one.0.cmple(other.1).all() && other.0.cmple(one.1).all()
}

/// Boxes around the places where pairs of triangles pass through each other, and so much around.
fn near(mesh: &Mesh, pairs: &[Pair], margin: f64) -> Vec<Bounds> {
    let place = |&(one, other): &Pair| {
        let [a, b] = [one, other].map(|it| mesh.bounds_of(it as usize));
        let common = (a.0.max(b.0), a.1.min(b.1));
        let [one, other] = [one, other].map(|it| mesh.corners(it as usize).map(DVec3::from_array));
        let through = through(one, other).into_iter().chain(through(other, one));
        let found = through.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).unwrap_or(common);
        (found.0.clamp(common.0, common.1) - margin, found.1.clamp(common.0, common.1) + margin)
    };
    pairs.iter().map(place).collect()
}

/// The points in which edges of one triangle pass through the plane of another.
fn through(edges: [DVec3; 3], [a, b, c]: [DVec3; 3]) -> Vec<Bounds> {
    let normal = (b - a).cross(c - a);
    let ends = [(0, 1), (1, 2), (2, 0)].map(|(from, to)| (edges[from], edges[to]));
    let point = |(from, to): (DVec3, DVec3)| {
        let share = normal.dot(a - from) / normal.dot(to - from);
        (0.0..=1.0).contains(&share).then(|| from.lerp(to, share)).map(|point| (point, point))
    };
    ends.into_iter().filter_map(point).collect()
}
