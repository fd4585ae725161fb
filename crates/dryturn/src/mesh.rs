//! `dryturn mesh`: the piece, or what belongs to it, as a solid in a file.

mod bodies;
mod format;
mod paints;

use std::sync::atomic::AtomicBool;

use dryturn_report::plain;

use crate::arguments::{Color, MeshArguments};
use crate::failure::Failure;
use crate::piece;
use crate::running::Running;
use crate::{output, print};
use bodies::{Made, bodies};
use format::Format;
use paints::Paints;

/// Writes the file that is asked for; gives the exit code.
pub(crate) fn run(arguments: &MeshArguments, interrupted: &AtomicBool) -> u8 {
    match written(arguments, &Running::new(&arguments.going, interrupted)) {
        Ok(_) if arguments.going.quiet => 0,
        Ok(text) => print(&text),
        Err(failure) => failure.told(Color::Auto),
    }
}

/// Makes and writes it; gives what to say.
fn written(arguments: &MeshArguments, running: &Running<'_>) -> Result<String, Failure> {
    let format = Format::of(&arguments.output)?;
    format.check(arguments)?;
    let job = piece::read(&arguments.scene, &arguments.output, &arguments.going, running)?;
    let mut paints = Paints::new(&job, arguments.color);
    let (job, made) = bodies(arguments, job, &mut paints, running)?;
    format.write(&arguments.output, &output::title(&job), &made, &paints, running)?;
    Ok(told(arguments, &made))
}

/// What was written, for a person.
fn told(arguments: &MeshArguments, made: &[Made]) -> String {
    let name = plain(&arguments.output.display().to_string());
    let rows = made.iter().map(|Made { name, mesh, .. }| {
        let volume = mesh.volume_mm3() / 1000.0;
        format!("  {}: {} triangles, {volume:.3} cm³\n", plain(name), mesh.triangles.len())
    });
    format!("{name}\n{}", rows.collect::<String>())
}
