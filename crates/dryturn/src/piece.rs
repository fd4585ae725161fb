//! A scene's piece, carved but not proved, and the bodies that go with it; all in the piece frame.

mod doubts;

use std::path::Path;

use dryturn_carve::{CarveError, Carved, Needs, Replay, carve, uncut};
use dryturn_check::{RunOptions, Until, Work};
use dryturn_geom::{Motions, Side};
use dryturn_scene::{Job, JobOptions, Scene, TargetShape};
#[cfg(feature = "render")]
use dryturn_surface::build_seen;
use dryturn_surface::{Doubts, Mesh, SurfaceError, build, build_removed, build_with_doubts};

use crate::arguments::Going;
use crate::failure::Failure;
use crate::memory::{Bound, of_reading};
use crate::running::Running;
use crate::{scenes, tell};

/// Bytes for each end of a ray of the blank while a mesh is made and thinned. On whole scenes it was 300 to 660.
const END_BYTES: u64 = 700;

/// Reads the job of the scene that is named, for a command that is going to write `output`.
pub(crate) fn read(named: &Path, output: &Path, going: &Going, running: &Running<'_>) -> Result<Job, Failure> {
    read_scene(scenes::load_sparing(named, &going.places, &[output])?, going, running)
}

/// Reads the job of a scene, at the pitch that is asked for.
pub(crate) fn read_scene(scene: Scene, going: &Going, running: &Running<'_>) -> Result<Job, Failure> {
    let scene = going.at_pitch(scene);
    running.stage("reading", |options| dryturn_check::read(scene, JobOptions { lenient: going.lenient }, options))
}

/// A carved piece.
pub(crate) struct Piece {
    pub(crate) job: Job,
    pub(crate) work: Work,
    pub(crate) carved: Carved,
    /// How many blocks have been carved.
    blocks: u32,
}

impl Piece {
    /// Carves the first `blocks` blocks of a job.
    pub(crate) fn carve(job: Job, blocks: u32, running: &Running<'_>) -> Result<Piece, Failure> {
        let work = Work::of(&job.scene);
        let bound = Bound::new(running, job.scene.grid.pitch);
        let ends = if work.stock.bore > 0.0 { 2 } else { 1 };
        let meshing = |rays: usize| of_reading(&job) + rays as u64 * ends * END_BYTES;
        bound.holds(|pitch| {
            let grid = dryturn_carve::Grid::over(&work.stock, pitch);
            let options = RunOptions { threads: running.threads, ..RunOptions::default() };
            meshing(grid.rays()) + Needs::of(&grid, blocks, &options).least()
        })?;
        let memory = Some(bound.left_by(meshing(work.grid.rays())));
        let carved = running.stage("carving", |options| {
            let until = Until { motions: &job, count: blocks };
            carve(&work.job(&until), &work.grid, &RunOptions { memory, ..*options }).map_err(|error| match error {
                CarveError::Memory { .. } => Failure::Other(bound.passed()),
                error => error.into(),
            })
        })?;
        Ok(Piece { job, work, carved, blocks })
    }

    /// The side of the machine that the chuck stands on.
    fn chuck(&self) -> Side {
        self.job.scene.machine.chuck_on
    }

    /// The piece with all its triangles.
    pub(crate) fn mesh(&self, running: &Running<'_>) -> Result<Mesh, Failure> {
        self.doubted(running, |replay, options| build_with_doubts(&self.carved, replay, self.chuck(), options))
    }

    /// The piece as far as a picture shows it, in facets as long as `facet` tells in mm when it is told between which
    /// stations and within which radius the piece lies.
    #[cfg(feature = "render")]
    pub(crate) fn seen(
        &self,
        running: &Running<'_>,
        facet: impl FnOnce([f64; 2], f64) -> f64 + Send,
    ) -> Result<Mesh, Failure> {
        self.doubted(running, |replay, options| build_seen(&self.carved, replay, self.chuck(), facet, options))
    }

    /// A mesh, once it has been told where it may not show the piece as it is.
    fn doubted(
        &self,
        running: &Running<'_>,
        build: impl FnOnce(&Replay<'_>, &RunOptions<'_>) -> Result<(Mesh, Doubts), SurfaceError>,
    ) -> Result<Mesh, Failure> {
        let (mesh, doubts) =
            self.with_replay(self.blocks, running, "meshing the piece", |replay, options| Ok(build(replay, options)?))?;
        if !running.quiet {
            doubts::notes(&doubts, self.chuck()).iter().for_each(|note| tell(note));
        }
        Ok(mesh)
    }

    /// What has been taken off the blank, with all its triangles.
    pub(crate) fn removed(&self, running: &Running<'_>) -> Result<Mesh, Failure> {
        let blank = self.uncut(running)?;
        self.with_replay(self.blocks, running, "meshing what is removed", |replay, options| {
            Ok(build_removed(&blank, &self.carved, replay, self.chuck(), options)?)
        })
    }

    /// The blank before the first block, with all its triangles.
    pub(crate) fn blank(&self, running: &Running<'_>) -> Result<Mesh, Failure> {
        let blank = self.uncut(running)?;
        self.with_replay(0, running, "meshing the blank", |replay, options| {
            Ok(build(&blank, replay, self.chuck(), options)?)
        })
    }

    fn uncut(&self, running: &Running<'_>) -> Result<Carved, Failure> {
        let Work { stock, dimple, grid, .. } = &self.work;
        running.stage("the blank", |options| uncut(stock, *dimple, grid, options))
    }

    /// Does something with single rays after so many blocks.
    fn with_replay<T>(
        &self,
        blocks: u32,
        running: &Running<'_>,
        what: &str,
        then: impl FnOnce(&Replay<'_>, &RunOptions<'_>) -> Result<T, Failure>,
    ) -> Result<T, Failure> {
        let until = Until { motions: &self.job as &dyn Motions, count: blocks };
        running.stage(what, |options| then(&Replay::new(&self.work.job(&until), options)?, options))
    }
}

/// The target of a job as it was read, its circles within a distance, mm; `None` where the scene has none.
pub(crate) fn target(job: &Job, within: f64) -> Option<Mesh> {
    let mesh = match job.target.as_ref()? {
        TargetShape::Profile(rows) => Mesh::turned(rows, within),
        TargetShape::Mesh(mesh) => Mesh::of_triangles(mesh.corners.clone(), mesh.triangles.clone()),
    };
    Some(in_piece_frame(mesh, job.scene.machine.chuck_on))
}

/// A mesh of the blank frame in that of the piece.
pub(crate) fn in_piece_frame(mesh: Mesh, chuck: Side) -> Mesh {
    if chuck == Side::Plus { mesh.mirrored() } else { mesh }
}
