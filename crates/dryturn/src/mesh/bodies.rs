//! The bodies that go into the file.

use dryturn_geom::Motions;
use dryturn_scene::Job;
use dryturn_surface::Mesh;

use super::paints::{Painted, Paints};
use crate::arguments::{MeshArguments, What};
use crate::failure::Failure;
use crate::holding::holding;
use crate::piece::{self, Piece};
use crate::running::Running;

/// A body, ready to be written.
pub(super) struct Made {
    pub(super) name: String,
    pub(super) mesh: Mesh,
    pub(super) painted: Painted,
}

/// The bodies that are asked for, each once, in the order of the list of choices; the job comes back.
pub(super) fn bodies(
    arguments: &MeshArguments,
    job: Job,
    paints: &mut Paints,
    running: &Running<'_>,
) -> Result<(Job, Vec<Made>), Failure> {
    let mut asked = arguments.what.clone();
    asked.sort_unstable();
    asked.dedup();
    let (carved, given): (Vec<What>, Vec<What>) = asked.into_iter().partition(|what| what.is_carved());
    // What is missing in the scene is told before anything takes long.
    let mut rest = Vec::new();
    for what in given {
        rest.extend(match what {
            What::Holding => held(&job, arguments.within, paints)?,
            _ => vec![target(&job, arguments.within, paints)?],
        });
    }
    if carved.is_empty() {
        return Ok((job, rest));
    }
    let blocks = job.count();
    let piece = Piece::carve(job, blocks, running)?;
    let made = carved.into_iter().map(|what| of_carve(what, &piece, arguments.within, paints, running));
    let mut made = made.collect::<Result<Vec<_>, _>>()?;
    made.extend(rest);
    Ok((piece.job, made))
}

/// A body that the carve gives, thinned.
fn of_carve(what: What, piece: &Piece, within: f64, paints: &Paints, running: &Running<'_>) -> Result<Made, Failure> {
    let (name, mesh, painted) = match what {
        What::Removed => ("removed", piece.removed(running)?, paints.of_piece()),
        What::Blank => ("blank", piece.blank(running)?, paints.of_blank()),
        _ => ("piece", piece.mesh(running)?, paints.of_piece()),
    };
    // Where paints meet, the line between them stays.
    let paint = |owner| paints.paint(painted, owner) as u32;
    let mesh = running.stage("thinning", |options| mesh.thinned_apart(within, &paint, options))?;
    Ok(Made { name: name.to_owned(), mesh: solid(name, mesh)?, painted })
}

/// The mesh, if it is one.
fn solid(name: &str, mesh: Mesh) -> Result<Mesh, Failure> {
    if mesh.triangles.is_empty() {
        return Err(Failure::Other(match name {
            "removed" => "the programs take nothing off the blank; there is no body to write".to_owned(),
            name => format!("there is nothing left of the {name}; there is no body to write"),
        }));
    }
    Ok(mesh)
}

fn target(job: &Job, within: f64, paints: &mut Paints) -> Result<Made, Failure> {
    let none = || Failure::Other("the scene has no target; describe it under [target]".to_owned());
    let mesh = piece::target(job, within).ok_or_else(none)?;
    Ok(Made { name: "target".to_owned(), mesh, painted: paints.of_target() })
}

fn held(job: &Job, within: f64, paints: &mut Paints) -> Result<Vec<Made>, Failure> {
    let held = holding(&job.scene, within);
    if held.is_empty() {
        return Err(Failure::Other(
            "the scene does not say what holds the blank; describe [chuck], [faceplate], [drive] or [tailstock]"
                .to_owned(),
        ));
    }
    let made =
        held.into_iter().map(|held| Made { painted: paints.of_metal(held.material), name: held.name, mesh: held.mesh });
    Ok(made.collect())
}
