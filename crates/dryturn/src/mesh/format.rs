//! The formats, and the file.

use std::borrow::Cow;
use std::io;
use std::path::{Path, PathBuf};

use clap::ValueEnum;
use dryturn_report::{Staging, plain};
use dryturn_surface::{Body, Mesh, Model, write_3mf, write_glb, write_ply, write_stl};

use super::bodies::Made;
use super::paints::Paints;
use crate::arguments::MeshArguments;
use crate::failure::Failure;
use crate::running::Running;
use crate::sink::{Sink, SinkError};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Stl,
    Ply,
    Glb,
    ThreeMf,
}

impl Format {
    /// The format that the ending of a name stands for.
    pub(super) fn of(file: &Path) -> Result<Format, Failure> {
        let ending = file.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
        match ending.as_deref() {
            Some("stl") => Ok(Format::Stl),
            Some("ply") => Ok(Format::Ply),
            Some("glb") => Ok(Format::Glb),
            Some("3mf") => Ok(Format::ThreeMf),
            _ => Err(Failure::Other(format!(
                "{}: no mesh is written by such a name; let it end in .stl, .ply, .glb or .3mf",
                plain(&file.display().to_string())
            ))),
        }
    }

    /// Whether the format can hold what is asked for, each body once.
    pub(super) fn check(self, arguments: &MeshArguments) -> Result<(), Failure> {
        let what = &arguments.what;
        if let Some(twice) = (1..what.len()).find(|k| what[..*k].contains(&what[*k])).map(|k| what[k]) {
            let name = twice.to_possible_value().map_or_else(String::new, |value| value.get_name().to_owned());
            return Err(Failure::Other(format!("--what names {name} twice; a file holds each body once")));
        }
        if matches!(self, Format::Glb | Format::ThreeMf) {
            return Ok(());
        }
        let holds = match (what.len() > 1, arguments.color) {
            (true, _) => "one body",
            (false, Some(_)) => "no colours",
            (false, None) => return Ok(()),
        };
        let name = if self == Format::Stl { "STL" } else { "PLY" };
        Err(Failure::Other(format!("a file of {name} holds {holds}; let its name end in .glb or .3mf")))
    }

    /// Writes bodies into a file, whole or not at all.
    pub(super) fn write(
        self,
        file: &Path,
        title: &str,
        made: &[Made],
        paints: &Paints,
        running: &Running<'_>,
    ) -> Result<(), Failure> {
        let name = file.file_name().map(PathBuf::from).unwrap_or_default();
        let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut staging = Staging::new(folder, running.interrupted);
        let mut sink = Sink::new(staging.draft(&name)?);
        let written = self.write_to(&mut sink, title, made, paints);
        staging.take(sink.finish(written).map_err(|error| match error {
            SinkError::Refused(error) => error.into(),
            SinkError::Writer(error) => Failure::Other(format!("{}: {error}", plain(&file.display().to_string()))),
        })?);
        Ok(staging.put_in_place().map(drop)?)
    }

    fn write_to(self, sink: &mut Sink<'_>, title: &str, made: &[Made], paints: &Paints) -> io::Result<()> {
        let write = match self {
            Format::Stl => return write_stl(&joined(made), sink),
            Format::Ply => return write_ply(&joined(made), sink),
            Format::Glb => write_glb,
            Format::ThreeMf => write_3mf,
        };
        let painting: Vec<_> = made.iter().map(|made| move |owner: u32| paints.paint(made.painted, owner)).collect();
        let body = made.iter().zip(&painting);
        let bodies: Vec<Body<'_>> =
            body.map(|(made, paint_of)| Body { name: &made.name, mesh: &made.mesh, paint_of }).collect();
        write(&Model { title: &plain(title), paints: &paints.all, bodies: &bodies }, sink)
    }
}

/// All bodies as one mesh.
fn joined(made: &[Made]) -> Cow<'_, Mesh> {
    if let [one] = made {
        return Cow::Borrowed(&one.mesh);
    }
    let mut all = Mesh::default();
    made.iter().for_each(|made| all.add(made.mesh.clone()));
    Cow::Owned(all)
}
