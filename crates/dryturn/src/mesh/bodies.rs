//! The bodies that go into the file.

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

/// Whether these bodies are there without any carving.
pub(super) fn need_no_carve(what: &[What]) -> bool {
    what.iter().all(|what| matches!(what, What::Target | What::Holding))
}

/// The bodies that are asked for, each once, in the order of the list of choices.
pub(super) fn bodies(
    arguments: &MeshArguments,
    job: &Job,
    piece: Option<&Piece>,
    paints: &mut Paints,
    running: &Running<'_>,
) -> Result<Vec<Made>, Failure> {
    let mut asked = arguments.what.clone();
    asked.sort_unstable();
    asked.dedup();
    let mut made = Vec::new();
    for what in asked {
        let carved = |mesh: &dyn Fn(&Piece) -> Result<Mesh, Failure>| {
            let Some(piece) = piece else { return Ok(Mesh::default()) };
            let mesh = mesh(piece)?;
            running.stage("thinning", |options| mesh.thinned(arguments.within, options))
        };
        let (name, mesh, painted) = match what {
            What::Piece => ("piece", carved(&|piece| piece.mesh(running))?, paints.of_piece()),
            What::Removed => ("removed", carved(&|piece| piece.removed(running))?, paints.of_piece()),
            What::Blank => ("blank", carved(&|piece| piece.blank(running))?, paints.of_blank()),
            What::Target => ("target", target(job, arguments.within)?, paints.of_target()),
            What::Holding => {
                made.extend(held(job, arguments.within, paints)?);
                continue;
            }
        };
        made.push(Made { name: name.to_owned(), mesh: solid(name, mesh)?, painted });
    }
    Ok(made)
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

fn target(job: &Job, within: f64) -> Result<Mesh, Failure> {
    piece::target(job, within)
        .ok_or_else(|| Failure::Other("the scene has no target; describe it under [target]".to_owned()))
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
