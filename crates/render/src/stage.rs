//! Bodies on an adapter, and pictures of them.

use std::sync::atomic::Ordering;

use dryturn_carve::RunOptions;
use glam::{DQuat, DVec3};
use wgpu::util::DeviceExt;

use crate::lights::{ACROSS, DOWN, MAP};
use crate::mirror;
use crate::outline::outline;
use crate::passes::{Passes, bind, told};
use crate::scene::{Plane, Scene};
use crate::shoot::Shoot;
use crate::targets::{DEPTH, texture};
use crate::vertices::Vertices;
use crate::{Body, Finish, Gpu, Model, Picture, RenderError, Shot};

/// The bodies of a model, on an adapter, ready for any number of pictures.
pub struct Stage<'a> {
    pub(crate) gpu: &'a Gpu,
    pub(crate) passes: &'a Passes,
    pub(crate) bodies: Vec<Loaded>,
    /// How they look, each once.
    pub(crate) looks: Vec<Look>,
    pub(crate) maps: wgpu::Texture,
    /// Reads the maps as they are.
    pub(crate) texels: wgpu::Sampler,
    pub(crate) frame: wgpu::Buffer,
}

/// A body on the adapter.
pub(crate) struct Loaded {
    vertices: wgpu::Buffer,
    /// Its triangles, and those that throw shadows, with how many corners they have.
    fine: (wgpu::Buffer, u32),
    coarse: (wgpu::Buffer, u32),
    /// The number of its look, from 1.
    look: u32,
    pub(crate) clipped: bool,
    turns: bool,
    /// Its outermost vertices, in the piece frame.
    points: Vec<DVec3>,
}

/// What bodies look like that are of one finish, and turn or do not.
pub(crate) struct Look {
    pub(crate) finish: Finish,
    turns: bool,
    uniform: wgpu::Buffer,
    pub(crate) group: wgpu::BindGroup,
}

/// The shaders have six bits for the number of a look.
const LOOKS: usize = 63;

/// A picture of a model.
///
/// # Errors
/// As [`Stage::new`] and [`Stage::render`].
pub fn render(gpu: &Gpu, model: &Model<'_>, shot: &Shot, options: &RunOptions<'_>) -> Result<Picture, RenderError> {
    Stage::new(gpu, model, options)?.render(shot, model.turned, options)
}

/// Distances from the eye to what is seen at the middle of each pixel, mm, row by row from the top; infinite where
/// nothing is. The ground and lines are left out.
///
/// # Errors
/// As [`render`].
pub fn depths(gpu: &Gpu, model: &Model<'_>, shot: &Shot) -> Result<Vec<f32>, RenderError> {
    Stage::new(gpu, model, &RunOptions::default())?.depths(shot, model.turned)
}

impl<'a> Stage<'a> {
    /// Takes the bodies of a model to an adapter.
    ///
    /// # Errors
    /// [`RenderError::TooManyTriangles`], [`RenderError::TooManyFinishes`], [`RenderError::OutOfMemory`],
    /// [`RenderError::Lost`], [`RenderError::Cancelled`], [`RenderError::Threads`].
    pub fn new(gpu: &'a Gpu, model: &Model<'_>, options: &RunOptions<'_>) -> Result<Stage<'a>, RenderError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build();
        let pool = pool.map_err(|error| RenderError::Threads(error.to_string()))?;
        let passes = gpu.passes();
        let mut looks = Vec::new();
        let bodies = model.bodies.iter().filter(|body| !body.mesh.triangles.is_empty());
        let load = |body: &Body<'_>| {
            check(options)?;
            let look = Look::number(&mut looks, gpu, passes, body)?;
            pool.install(|| Loaded::new(gpu, body, look))
        };
        let bodies: Vec<Loaded> = bodies.map(load).collect::<Result<_, RenderError>>()?;
        let maps = texture(&gpu.device, [MAP * ACROSS, MAP * DOWN, 1], DEPTH);
        let texels = gpu.device.create_sampler(&wgpu::SamplerDescriptor::default());
        let frame = told(&gpu.device, &[0; size_of::<mirror::Frame>()]);
        gpu.wait()?;
        Ok(Stage { gpu, passes, bodies, looks, maps, texels, frame })
    }

    /// A picture, with the piece turned by so many degrees about its axis.
    ///
    /// # Errors
    /// [`RenderError::Size`], [`RenderError::Senseless`], [`RenderError::Nothing`], [`RenderError::OutOfMemory`],
    /// [`RenderError::Lost`], [`RenderError::Refused`], [`RenderError::Cancelled`].
    pub fn render(&self, shot: &Shot, turned: f64, options: &RunOptions<'_>) -> Result<Picture, RenderError> {
        let shoot = self.shoot(shot, turned)?;
        let mut picture = shoot.take(&|share| {
            if let Some(progress) = options.progress {
                progress(share);
            }
            check(options)
        })?;
        shoot.scene.write_lines(&mut picture);
        Ok(picture)
    }

    /// Whether bodies or dimension lines are seen within a part of a picture: from its left and its top to its right and
    /// its foot, pixels.
    ///
    /// # Errors
    /// As [`Stage::render`].
    pub fn touches(&self, shot: &Shot, turned: f64, part: [f64; 4]) -> Result<bool, RenderError> {
        if self.shoot(shot, turned)?.scene.touches(part) {
            return Ok(true);
        }
        let share = share_of_glance(shot);
        let [left, top, right, foot] = part.map(|side| side * share);
        let is_within = |[x, y]: &[f64; 2]| (left..=right).contains(x) && (top..=foot).contains(y);
        Ok(self.glance(shot, turned)?.0.iter().any(is_within))
    }

    /// The share of a picture's pixels in which something of the bodies is seen.
    ///
    /// # Errors
    /// As [`Stage::render`].
    pub fn filled(&self, shot: &Shot, turned: f64) -> Result<f64, RenderError> {
        let (seen, all) = self.glance(shot, turned)?;
        Ok(seen.len() as f64 / all as f64)
    }

    /// The middles of the pixels of a small picture in which something of the bodies is seen, and how many it has.
    fn glance(&self, shot: &Shot, turned: f64) -> Result<(Vec<[f64; 2]>, usize), RenderError> {
        let share = share_of_glance(shot);
        let [width, height] = [shot.width, shot.height].map(|side| (f64::from(side) * share).ceil() as u32);
        let depths = self.depths(&Shot { width, height, ..shot.clone() }, turned)?;
        let middle = |number: usize| [number % width as usize, number / width as usize].map(|it| it as f64 + 0.5);
        let seen = depths.iter().enumerate().filter(|(_, depth)| depth.is_finite());
        Ok((seen.map(|(number, _)| middle(number)).collect(), depths.len()))
    }

    /// As [`depths`].
    ///
    /// # Errors
    /// As [`Stage::render`].
    pub fn depths(&self, shot: &Shot, turned: f64) -> Result<Vec<f32>, RenderError> {
        shot.check(self.gpu.device.limits().max_texture_dimension_2d)?;
        let bytes = self.gpu.read(&self.shoot(shot, turned)?.distances())?;
        Ok(bytes.chunks_exact(4).map(|it| f32::from_le_bytes([it[0], it[1], it[2], it[3]])).collect())
    }

    /// Sets everything up for a picture.
    fn shoot<'b>(&'b self, shot: &'b Shot, turned: f64) -> Result<Shoot<'b>, RenderError> {
        shot.check(Shot::MOST)?;
        if !turned.is_finite() {
            return Err(RenderError::Senseless("a piece is turned by a finite number of degrees"));
        }
        let plane = Plane::new(shot.section.as_ref(), turned.to_radians());
        for look in &self.looks {
            let told = look.finish.mirror(if look.turns { turned.to_radians() } else { 0.0 });
            self.gpu.queue.write_buffer(&look.uniform, 0, bytemuck::bytes_of(&told));
        }
        let mut points = Vec::new();
        for body in &self.bodies {
            let turn = if body.turns { turned.to_radians() } else { 0.0 };
            let in_room = body.points.iter().map(|point| DQuat::from_rotation_x(turn) * *point);
            points.extend(in_room.filter(|point| !body.clipped || plane.keeps(*point)));
        }
        if points.is_empty() {
            return Err(RenderError::Nothing);
        }
        Ok(Shoot { stage: self, shot, scene: Scene::new(shot, points, plane, turned.to_radians()) })
    }

    /// Tells the shaders about a pass.
    pub(crate) fn tell(&self, frame: &mirror::Frame) {
        self.gpu.queue.write_buffer(&self.frame, 0, bytemuck::bytes_of(frame));
    }
}

impl Look {
    /// The number, from 1, of what a body looks like, which is added to the others if it is not among them.
    fn number(looks: &mut Vec<Look>, gpu: &Gpu, passes: &Passes, body: &Body<'_>) -> Result<u32, RenderError> {
        let place = looks.iter().position(|look| look.finish == body.finish && look.turns == body.turns);
        if place.is_none() {
            let uniform = told(&gpu.device, &[0; size_of::<mirror::Body>()]);
            let group = bind(&gpu.device, &passes.body, [uniform.as_entire_binding()]);
            looks.push(Look { finish: body.finish, turns: body.turns, uniform, group });
        }
        let number = place.map_or(looks.len(), |place| place + 1);
        if number > LOOKS { Err(RenderError::TooManyFinishes) } else { Ok(number as u32) }
    }
}

impl Loaded {
    fn new(gpu: &Gpu, body: &Body<'_>, look: u32) -> Result<Loaded, RenderError> {
        /// Cells that a body's longest side has; a map of shadows has four texels for each.
        const CELLS: f64 = 128.0;
        let made = Vertices::new(body.mesh, body.colors.as_deref()).ok_or(RenderError::TooManyTriangles)?;
        let longest =
            body.mesh.bounds().map_or(0.0, |(low, high)| (0..3).map(|axis| high[axis] - low[axis]).fold(0.0, f64::max));
        let device = &gpu.device;
        let buffer = |contents: &[u8], usage| {
            if contents.len() as u64 > device.limits().max_buffer_size {
                return Err(RenderError::TooManyTriangles);
            }
            Ok(device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents, usage }))
        };
        let indices = |indices: &[u32]| {
            Ok((buffer(bytemuck::cast_slice(indices), wgpu::BufferUsages::INDEX)?, indices.len() as u32))
        };
        Ok(Loaded {
            vertices: buffer(bytemuck::cast_slice(&made.vertices), wgpu::BufferUsages::VERTEX)?,
            fine: indices(&made.indices)?,
            coarse: indices(&made.coarse((longest / CELLS).max(1e-6) as f32))?,
            look,
            clipped: body.clipped,
            turns: body.turns,
            points: outline(body.mesh),
        })
    }

    /// Draws all of its triangles; the instance is the number of its look.
    pub(crate) fn draw(&self, pass: &mut wgpu::RenderPass<'_>, looks: &[Look]) {
        self.draw_some(pass, looks, &self.fine, self.look);
    }

    /// Draws what throws a shadow of a light.
    pub(crate) fn draw_coarse(&self, pass: &mut wgpu::RenderPass<'_>, looks: &[Look], light: u32) {
        self.draw_some(pass, looks, &self.coarse, light);
    }

    fn draw_some(
        &self,
        pass: &mut wgpu::RenderPass<'_>,
        looks: &[Look],
        (indices, count): &(wgpu::Buffer, u32),
        instance: u32,
    ) {
        if *count > 0 {
            pass.set_bind_group(1, &looks[self.look as usize - 1].group, &[]);
            pass.set_vertex_buffer(0, self.vertices.slice(..));
            pass.set_index_buffer(indices.slice(..), wgpu::IndexFormat::Uint32);
            pass.draw_indexed(0..*count, 0, instance..instance + 1);
        }
    }
}

/// How much smaller a picture is that is only glanced at.
fn share_of_glance(shot: &Shot) -> f64 {
    /// Its longer side, pixels.
    const LONGER: f64 = 512.0;
    (LONGER / f64::from(shot.width.max(shot.height))).min(1.0)
}

/// # Errors
/// [`RenderError::Cancelled`] if told to stop.
fn check(options: &RunOptions<'_>) -> Result<(), RenderError> {
    let is_cancelled = options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed));
    if is_cancelled { Err(RenderError::Cancelled) } else { Ok(()) }
}
