//! The piece before the camera.

use dryturn_render::{Body, Finish, Gpu, Ground, Model, Picture, Section, Shot, Stage, View};
use dryturn_scene::Scene;
use dryturn_scene::material::Material;
use dryturn_surface::Mesh;

use super::Files;
use super::card::Card;
use super::dimensions::Measures;
use super::file::{self, Animation, Image};
use super::frame::{around, dot, section};
use super::page::{self, Told};
use super::tint::{Tinted, tinted};
use crate::arguments::{Backdrop, Size, StillArguments, Tint};
use crate::failure::Failure;
use crate::holding::{Held, holding};
use crate::output;
use crate::piece::Piece;
use crate::running::Running;
use crate::tell;

/// A piece that is shown.
pub(super) struct Still<'a> {
    pub(super) arguments: &'a StillArguments,
    pub(super) running: &'a Running<'a>,
    pub(super) piece: &'a Piece,
    pub(super) mesh: &'a Mesh,
    pub(super) measures: Measures,
}

/// Chords of round bodies of the holding, mm.
const ROUND: f64 = 0.01;
/// The picture on a page for browsers that cannot show the piece.
const ON_PAGE: Size = Size { width: 1200, height: 800 };
/// How long an animation takes for its way around, ms.
const WAY_AROUND: u32 = 8000;
/// White paper.
const WHITE: [u8; 3] = [255; 3];

impl Still<'_> {
    /// One picture, as a file.
    pub(super) fn picture(&self, gpu: &Gpu) -> Result<Vec<u8>, Failure> {
        let views = [self.arguments.view];
        self.shown(gpu, &views, |image| file::png(&image).map_err(encoding))?.pop().ok_or_else(nothing)
    }

    /// Pictures all around, a file each.
    pub(super) fn frames(&self, gpu: &Gpu, count: u32, files: &mut Files<'_>) -> Result<(), Failure> {
        let digits = count.to_string().len().max(3);
        let mut number = 0;
        self.shown(gpu, &self.around(count), |image| {
            number += 1;
            let png = file::png(&image).map_err(encoding)?;
            files.put(&format!("-{number:0digits$}"), &png).map_err(Failure::from)
        })?;
        Ok(())
    }

    /// Pictures all around, as one that moves.
    pub(super) fn animation(&self, gpu: &Gpu, count: u32) -> Result<Vec<u8>, Failure> {
        let Size { width, height } = self.arguments.size();
        let mut file = Vec::new();
        let mut animation = Animation::new(&mut file, [width, height], count, WAY_AROUND / count).map_err(encoding)?;
        self.shown(gpu, &self.around(count), |image| animation.add(&image).map_err(encoding))?;
        animation.finish().map_err(encoding)?;
        Ok(file)
    }

    /// The page to turn it by hand, with a picture if there is an adapter.
    pub(super) fn page(&self, gpu: Option<&Gpu>) -> Result<String, Failure> {
        let scene = &self.piece.job.scene;
        let Size { width, height } = self.arguments.size.unwrap_or(ON_PAGE);
        let shot = Shot { width, height, ground: Ground::Transparent, ..self.shot() };
        let picture = gpu.map(|gpu| {
            let model = Model { bodies: vec![self.body(None)], turned: 0.0 };
            let picture =
                self.running.stage("drawing", |options| dryturn_render::render(gpu, &model, &shot, options))?;
            file::png(&image(picture)).map_err(encoding)
        });
        let told = Told {
            title: &output::title(&self.piece.job),
            size: &self.measures.size(scene.units),
            material: scene.blank.material.as_ref().map(|material| material.name.as_str()),
            finish: self.finish(),
            view: self.arguments.view,
            picture: picture.transpose()?,
        };
        page::page(&page::thinned(self.mesh, self.running)?, &told)
    }

    /// Takes pictures from these views, one after the other, and does something with each.
    fn shown<T>(
        &self,
        gpu: &Gpu,
        views: &[View],
        mut each: impl FnMut(Image) -> Result<T, Failure>,
    ) -> Result<Vec<T>, Failure> {
        let tinted = tinted(self.arguments.color, self.piece, self.mesh, self.running)?;
        let held = if self.arguments.holding { holding(&self.piece.job.scene, ROUND) } else { Vec::new() };
        let bodies = std::iter::once(self.body(tinted.as_ref())).chain(held.iter().map(of_holding)).collect();
        let model = Model { bodies, turned: 0.0 };
        self.running.stage("drawing", |options| {
            let stage = Stage::new(gpu, &model, options)?;
            let card = tinted.as_ref().filter(|_| !self.arguments.no_legend);
            let card = card.and_then(|tinted| Card::of(tinted, self.arguments.size()));
            let mut shots: Vec<Shot> = views.iter().map(|view| Shot { view: *view, ..self.shot() }).collect();
            shots.first().and_then(|shot| shot.section).iter().try_for_each(|section| self.check_section(section))?;
            self.check_views(&stage, &shots)?;
            let place = card.as_ref().map(|card| card.place(&stage, &mut shots, self.mesh)).transpose()?.flatten();
            if card.is_some() && place.is_none() {
                self.tell("there is no room in the picture for the card that explains its colours; a larger --size makes some");
            }
            let share = 1.0 / views.len() as f64;
            let take = |(number, shot): (usize, &Shot)| {
                let show = |done: f64| options.progress.iter().for_each(|tell| tell((number as f64 + done) * share));
                let options = dryturn_check::RunOptions { progress: Some(&show), ..*options };
                let mut image = image(stage.render(shot, 0.0, &options)?);
                if let (Some(card), Some(place)) = (&card, place) {
                    card.lay_over(&mut image, place);
                }
                each(image)
            };
            shots.iter().enumerate().map(take).collect()
        })
    }

    /// Tells of a section that does not meet the piece.
    ///
    /// # Errors
    /// If it leaves nothing.
    fn check_section(&self, section: &Section) -> Result<(), Failure> {
        let reach = self.mesh.vertices.iter().map(|vertex| beyond(section, *vertex));
        let (least, most) = reach.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), it| (a.min(it), b.max(it)));
        if least >= 0.0 {
            return Err(Failure::Other(format!(
                "there is nothing to show: the section takes all of the piece away, whose nearest lies {least:.1} mm beyond it"
            )));
        }
        if most <= 0.0 {
            let off = -most;
            self.tell(&format!("the section passes the piece by at {off:.1} mm, so nothing of it is cut open"));
        }
        Ok(())
    }

    /// Tells how many views from a distance that was given show nothing, or next to nothing.
    ///
    /// # Errors
    /// If none shows more.
    fn check_views(&self, stage: &Stage<'_>, shots: &[Shot]) -> Result<(), Failure> {
        /// Share of the picture that is next to nothing where the eye stands so near that it should be filled.
        const NEXT_TO_NOTHING: f64 = 0.005;
        let Some(distance) = shots.first().and_then(|shot| shot.view.distance) else { return Ok(()) };
        let (low, high) = self.mesh.bounds().unwrap_or_default();
        let across = low.iter().zip(high).map(|(low, high)| (high - low).powi(2)).sum::<f64>().sqrt();
        let least = if distance < across { NEXT_TO_NOTHING } else { 0.0 };
        let filled = shots.iter().map(|shot| stage.filled(shot, 0.0)).collect::<Result<Vec<f64>, _>>()?;
        match filled.iter().filter(|filled| **filled <= least).count() {
            0 => Ok(()),
            empty if empty < shots.len() => {
                self.tell(&format!("{empty} of the {} views show nothing of the piece", shots.len()));
                Ok(())
            }
            _ => Err(Failure::Other(format!(
                "at {distance} mm from its middle the eye stands within the piece or looks past it, and sees nothing of it; \
                 take a greater distance"
            ))),
        }
    }

    fn tell(&self, note: &str) {
        if !self.running.quiet {
            tell(&format!("note: {note}."));
        }
    }

    fn around(&self, count: u32) -> Vec<View> {
        all_around(self.arguments, self.mesh.bounds().unwrap_or_default().into(), count)
    }

    /// How all pictures of a run are taken.
    fn shot(&self) -> Shot {
        let shot = bare(self.arguments, self.arguments.view);
        let lines = if self.arguments.dimensions {
            self.measures.lines(&shot.view, self.piece.job.scene.units)
        } else {
            vec![]
        };
        Shot { lines, ..shot }
    }

    fn body(&self, tinted: Option<&Tinted>) -> Body<'_> {
        // What is told by colours stands out from a surface that is nothing itself.
        let finish = if self.arguments.color == Tint::Wood { self.finish() } else { DULL };
        let colors = tinted.map(|tinted| tinted.colors.clone());
        Body { mesh: self.mesh, finish, colors, clipped: true, turns: true }
    }

    fn finish(&self) -> Finish {
        finish(&self.piece.job.scene)
    }
}

/// How far a point lies in what a section takes away, mm.
fn beyond(section: &Section, point: [f64; 3]) -> f64 {
    let Section { point: on, normal } = section;
    let from_plane: [f64; 3] = std::array::from_fn(|axis| point[axis] - on[axis]);
    dot(from_plane, *normal) / dot(*normal, *normal).sqrt()
}

/// How a picture of a view is taken, without dimension lines.
pub(super) fn bare(arguments: &StillArguments, view: View) -> Shot {
    let Size { width, height } = arguments.size();
    Shot {
        width,
        height,
        view,
        section: arguments.section.map(|cut| section(cut, &view)),
        ground: match arguments.ground {
            Some(Backdrop::Transparent) => Ground::Transparent,
            Some(Backdrop::Plain) => Ground::Plain(WHITE),
            Some(Backdrop::Studio) | None => Ground::Studio,
        },
        samples: arguments.samples,
        lines: vec![],
        free: None,
    }
}

/// So many views all around of what lies in a box.
pub(super) fn all_around(arguments: &StillArguments, bounds: [[f64; 3]; 2], count: u32) -> Vec<View> {
    let Size { width, height } = arguments.size();
    around(&arguments.view, bounds, f64::from(width) / f64::from(height), count)
}

/// What the blank of a scene looks like.
pub(crate) fn finish(scene: &Scene) -> Finish {
    let of = |material: &Material| Finish::of(&material.name, material.is_wood);
    scene.blank.material.as_ref().map_or(UNKNOWN, of)
}

const DULL: Finish = Finish::Plain { color: [226, 220, 208], roughness: 0.7, metallic: 0.0 };
/// A blank of which nobody says what it is made of.
const UNKNOWN: Finish = Finish::Plain { color: [214, 205, 190], roughness: 0.6, metallic: 0.0 };

fn of_holding(held: &Held) -> Body<'_> {
    let finish = Finish::of(held.material, false);
    Body { mesh: &held.mesh, finish, colors: None, clipped: false, turns: held.turns }
}

fn image(Picture { width, height, rgba }: Picture) -> Image {
    Image { width, height, rgba }
}

fn encoding(error: png::EncodingError) -> Failure {
    Failure::Other(format!("the picture could not be encoded: {error}"))
}

fn nothing() -> Failure {
    Failure::Other("no view was asked for".to_owned())
}
