//! `dryturn still`: pictures of the piece, and a page to turn it by hand.

mod card;
mod dimensions;
mod file;
mod frame;
mod moment;
mod page;
mod shown;
mod tint;

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

use dryturn_geom::Motions;
use dryturn_render::{Gpu, RenderError, Wish};
use dryturn_report::{Staging, WriteError, plain};
use dryturn_scene::Job;
use dryturn_surface::Mesh;

use crate::arguments::{Color, StillArguments, Tint};
use crate::failure::Failure;
use crate::piece::{self, Piece};
use crate::running::Running;
use crate::{print, tell};
use dimensions::Measures;
use shown::Still;
#[cfg(feature = "view")]
pub(crate) use shown::finish;

/// Makes what is asked for; gives the exit code.
pub(crate) fn run(arguments: &StillArguments, interrupted: &AtomicBool) -> u8 {
    match made(arguments, &Running::new(&arguments.going, interrupted)) {
        Ok(_) if arguments.going.quiet => 0,
        Ok(text) => print(&text),
        Err(failure) => failure.told(Color::Auto),
    }
}

/// A picture as a PNG file.
#[cfg(feature = "view")]
pub(crate) fn png(width: u32, height: u32, rgba: &[u8]) -> Result<Vec<u8>, Failure> {
    let image = file::Image { width, height, rgba: rgba.to_vec() };
    file::png(&image).map_err(|error| Failure::Other(format!("the picture could not be encoded: {error}")))
}

/// What is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Picture,
    Frames(u32),
    Animation(u32),
    Page,
}

impl Form {
    /// The form that the name of the file and the options come to.
    fn of(arguments: &StillArguments) -> Result<Form, Failure> {
        let ending = arguments.output.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        let form = match (ending.as_deref(), arguments.turntable) {
            (Some("png"), None) => Form::Picture,
            (Some("png"), Some(count)) => Form::Frames(count),
            (Some("apng"), Some(count)) => Form::Animation(count),
            (Some("apng"), None) => {
                return Err(Failure::Other("an .apng goes round: add --turntable 48, or write a .png".to_owned()));
            }
            (Some("html"), _) => Form::Page,
            _ => {
                let name = plain(&arguments.output.display().to_string());
                let known = "end it in .png for a picture, in .html for a page, or in .apng with --turntable";
                return Err(Failure::Other(format!("{name}: the ending does not say what to write; {known}")));
            }
        };
        match (form, page_lacks(arguments)) {
            (Form::Page, Some(option)) => {
                Err(Failure::Other(format!("a page shows the piece alone, as it looks: leave {option} out")))
            }
            _ => Ok(form),
        }
    }
}

/// An option that means nothing to a page.
fn page_lacks(arguments: &StillArguments) -> Option<&'static str> {
    let given = [
        (arguments.view.distance.is_some(), "the distance of --view"),
        (arguments.section.is_some(), "--section"),
        (arguments.color != Tint::Wood, "--color"),
        (arguments.holding, "--holding"),
        (arguments.dimensions, "--dimensions"),
        (arguments.turntable.is_some(), "--turntable"),
        (arguments.ground.is_some(), "--ground"),
        (arguments.no_legend, "--no-legend"),
    ];
    given.into_iter().find(|(is_given, _)| *is_given).map(|(_, option)| option)
}

fn made(arguments: &StillArguments, running: &Running<'_>) -> Result<String, Failure> {
    let form = Form::of(arguments)?;
    let job = piece::read(&arguments.scene, &arguments.output, &arguments.going, running)?;
    if arguments.color == Tint::Gap && job.target.is_none() {
        return Err(Failure::Other("the scene has no [target] that the piece could be held against".to_owned()));
    }
    let blocks = match &arguments.at {
        Some(at) => moment::block_after(&job, at).map_err(Failure::Other)?,
        None => job.count(),
    };
    // What draws is started beside the long work, which is ended if it cannot be: it would be in vain.
    let (gpu, piece) = std::thread::scope(|scope| {
        let opening = scope.spawn(|| {
            let gpu = Gpu::open(&Wish { adapter: arguments.adapter.clone() });
            match &gpu {
                Ok(gpu) => gpu.warm_up(),
                Err(error) if is_needed(form, error) => running.interrupted.store(true, Ordering::Relaxed),
                Err(_) => (),
            }
            gpu
        });
        let piece = meshed(arguments, form, job, blocks, running);
        (opening.join(), piece)
    });
    let gpu = gpu.map_err(|_| Failure::Other("what draws could not be started".to_owned()))?;
    announce(&gpu, form, arguments.going.quiet)?;
    let (piece, mesh) = piece?;
    let Some(measures) = Measures::of(&mesh, piece.work.grid.station_step) else {
        return Err(Failure::Other("nothing is left of the blank".to_owned()));
    };
    written(form, &Still { arguments, running, piece: &piece, mesh: &mesh, measures }, gpu.as_ref())
}

/// The piece and its mesh: of a picture as far as it is seen.
fn meshed(
    arguments: &StillArguments,
    form: Form,
    job: Job,
    blocks: u32,
    running: &Running<'_>,
) -> Result<(Piece, Mesh), Failure> {
    let piece = Piece::carve(job, blocks, running)?;
    let mesh = match form {
        Form::Page => piece.mesh(running)?,
        Form::Picture | Form::Frames(_) | Form::Animation(_) => {
            piece.seen(running, |stations, radius| facet(arguments, form, stations, radius))?
        }
    };
    Ok((piece, mesh))
}

/// How long the facets of a piece may be where it is smooth, mm.
fn facet(arguments: &StillArguments, form: Form, stations: [f64; 2], radius: f64) -> f64 {
    /// In pixels. Longer ones lie near enough to the surface too, but their shading swallows its fine ridges.
    const SEEN: f64 = 1.5;
    // Colours are told a facet each, and so are measures.
    if arguments.color != Tint::Wood || arguments.dimensions {
        return 0.0;
    }
    let views = match form {
        Form::Picture | Form::Page => vec![arguments.view],
        Form::Frames(count) | Form::Animation(count) => {
            shown::all_around(arguments, [[stations[0], -radius, -radius], [stations[1], radius, radius]], count)
        }
    };
    let pixels = views.into_iter().map(|view| shown::bare(arguments, view).pixel_mm(stations, radius));
    SEEN * pixels.fold(f64::INFINITY, f64::min)
}

/// Whether a run can do nothing without what draws.
fn is_needed(form: Form, error: &RenderError) -> bool {
    form != Form::Page || !matches!(error, RenderError::NoAdapter { .. } | RenderError::Unfit { .. })
}

/// Tells what draws where that matters.
///
/// # Errors
/// Where nothing does, unless it is a page, which can be made without.
fn announce(gpu: &Result<Gpu, RenderError>, form: Form, quiet: bool) -> Result<(), Failure> {
    let note = match gpu {
        Ok(gpu) if gpu.about().is_software => {
            format!("note: drawn by the processor ({}), as {}", plain(&gpu.about().name), gpu.why())
        }
        Ok(_) => return Ok(()),
        Err(error) if !is_needed(form, error) => {
            format!("note: the page has no picture for browsers without WebGL 2: {error}")
        }
        Err(error) => return Err(error.clone().into()),
    };
    if !quiet {
        tell(&note);
    }
    Ok(())
}

/// Writes the files; gives their names, a line each.
fn written(form: Form, still: &Still<'_>, gpu: Result<&Gpu, &RenderError>) -> Result<String, Failure> {
    let mut files = Files::beside(&still.arguments.output, still.running.interrupted);
    let draws = || gpu.map_err(|error| Failure::from(error.clone()));
    match form {
        Form::Page => files.put("", still.page(gpu.ok())?.as_bytes())?,
        Form::Picture => files.put("", &still.picture(draws()?)?)?,
        Form::Animation(count) => files.put("", &still.animation(draws()?, count)?)?,
        Form::Frames(count) => still.frames(draws()?, count, &mut files)?,
    }
    Ok(files.put_in_place()?)
}

/// The files that are written, all or none.
struct Files<'a> {
    staging: Staging<'a>,
    /// Name of the file that was asked for: its stem and its ending.
    name: [String; 2],
}

impl<'a> Files<'a> {
    fn beside(output: &Path, interrupted: &'a AtomicBool) -> Files<'a> {
        let folder = output.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let part = |part: Option<&OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
        let name = [part(output.file_stem()), part(output.extension())];
        Files { staging: Staging::new(folder, interrupted), name }
    }

    /// A file, with something behind the stem of its name.
    fn put(&mut self, behind: &str, bytes: &[u8]) -> Result<(), WriteError> {
        let [stem, ending] = &self.name;
        self.staging.file(format!("{stem}{behind}.{ending}").as_ref(), bytes)
    }

    /// Puts all in their places; gives their names, a line each.
    fn put_in_place(self) -> Result<String, WriteError> {
        let written = self.staging.put_in_place()?;
        let named = |path: &PathBuf| plain(&path.strip_prefix(".").unwrap_or(path).display().to_string());
        Ok(written.iter().map(|path| format!("{}\n", named(path))).collect())
    }
}

impl From<RenderError> for Failure {
    fn from(error: RenderError) -> Self {
        match error {
            RenderError::Cancelled => Failure::Interrupted,
            error => Failure::Other(error.to_string()),
        }
    }
}
