//! Bodies on an adapter, and pictures of them.

use std::sync::atomic::Ordering;

use dryturn_carve::RunOptions;
use glam::DVec3;
use wgpu::util::DeviceExt;

use crate::lights::{MAP, lights, open};
use crate::mirror::{self, LIGHTS};
use crate::passes::{Passes, bind};
use crate::targets::{DEPTH, DISTANCE, Targets, texture};
use crate::vertices::Vertices;
use crate::view::Camera;
use crate::{Body, Finish, Gpu, Ground, Model, Picture, RenderError, Section, Shot};

/// The bodies of a model, on an adapter, ready for any number of pictures.
pub struct Stage<'a> {
    gpu: &'a Gpu,
    passes: Passes,
    bodies: Vec<Loaded>,
    maps: wgpu::Texture,
    nearer: wgpu::Sampler,
    frame: wgpu::Buffer,
}

/// A body on the adapter.
struct Loaded {
    vertices: wgpu::Buffer,
    indices: wgpu::Buffer,
    count: u32,
    uniform: wgpu::Buffer,
    group: wgpu::BindGroup,
    finish: Finish,
    clipped: bool,
    turns: bool,
    /// Its vertices, a part of them if there are many, in the piece frame.
    points: Vec<DVec3>,
}

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
    /// [`RenderError::TooManyTriangles`], [`RenderError::OutOfMemory`], [`RenderError::Lost`],
    /// [`RenderError::Cancelled`], [`RenderError::Threads`].
    pub fn new(gpu: &'a Gpu, model: &Model<'_>, options: &RunOptions<'_>) -> Result<Stage<'a>, RenderError> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build();
        let pool = pool.map_err(|error| RenderError::Threads(error.to_string()))?;
        let device = &gpu.device;
        let passes = Passes::new(device);
        let load = |body: &Body<'_>| {
            check(options)?;
            let made = pool.install(|| Vertices::new(body.mesh, body.colors.as_deref()));
            loaded(gpu, &passes, body, &made.ok_or(RenderError::TooManyTriangles)?)
        };
        let bodies = model.bodies.iter().filter(|body| !body.mesh.triangles.is_empty());
        let bodies: Vec<Loaded> = bodies.map(load).collect::<Result<_, RenderError>>()?;
        let nearer = device.create_sampler(&wgpu::SamplerDescriptor {
            compare: Some(wgpu::CompareFunction::LessEqual),
            mag_filter: wgpu::FilterMode::Linear,
            min_filter: wgpu::FilterMode::Linear,
            ..Default::default()
        });
        let maps = texture(device, [MAP, MAP, LIGHTS as u32], 1, DEPTH);
        let frame = uniform(device, &[0; size_of::<mirror::Frame>()]);
        gpu.wait()?;
        Ok(Stage { gpu, passes, bodies, maps, nearer, frame })
    }

    /// A picture, with the piece turned by so many degrees about its axis.
    ///
    /// # Errors
    /// [`RenderError::Size`], [`RenderError::Senseless`], [`RenderError::Nothing`], [`RenderError::OutOfMemory`],
    /// [`RenderError::Lost`], [`RenderError::Refused`], [`RenderError::Cancelled`].
    pub fn render(&self, shot: &Shot, turned: f64, options: &RunOptions<'_>) -> Result<Picture, RenderError> {
        let scene = self.scene(shot, turned)?;
        let targets = Targets::new(&self.gpu.device, [shot.width, shot.height]);
        for pass in 0..shot.samples {
            check(options)?;
            self.pass(shot, &scene, &targets, pass);
            self.gpu.wait()?;
            if let Some(progress) = options.progress {
                progress(f64::from(pass + 1) / f64::from(shot.samples));
            }
        }
        self.finish(shot, &targets);
        let rgba = self.read(&targets.last, 4)?;
        Ok(Picture { width: shot.width, height: shot.height, rgba })
    }

    /// As [`depths`].
    ///
    /// # Errors
    /// As [`Stage::render`].
    pub fn depths(&self, shot: &Shot, turned: f64) -> Result<Vec<f32>, RenderError> {
        let scene = self.scene(shot, turned)?;
        self.tell(shot, &scene, 0, [0.0, 0.0]);
        let device = &self.gpu.device;
        let size = [shot.width, shot.height, 1];
        let (distances, depth) = (texture(device, size, 1, DISTANCE), texture(device, size, 1, DEPTH));
        let (view, depth) = (whole(&distances), whole(&depth));
        let group = bind(device, &self.passes.frame, [self.frame.as_entire_binding()]);
        let mut encoder = device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
        {
            let far = wgpu::Color { r: f64::INFINITY, ..wgpu::Color::TRANSPARENT };
            let mut pass = begin(&mut encoder, Some((&view, None, far)), Some(&depth));
            pass.set_bind_group(0, &group, &[]);
            for body in &self.bodies {
                pass.set_pipeline(self.passes.distance.of(body, shot));
                body.draw(&mut pass, 0);
            }
        }
        self.gpu.queue.submit([encoder.finish()]);
        Ok(self
            .read(&distances, 4)?
            .chunks_exact(4)
            .map(|it| f32::from_le_bytes([it[0], it[1], it[2], it[3]]))
            .collect())
    }

    /// What of a picture is the same in all of its passes.
    fn scene(&self, shot: &Shot, turned: f64) -> Result<Scene, RenderError> {
        shot.check(self.gpu.device.limits().max_texture_dimension_2d)?;
        if !turned.is_finite() {
            return Err(RenderError::Senseless("a piece is turned by a finite number of degrees"));
        }
        let turn = |body: &Loaded| if body.turns { turned.to_radians() } else { 0.0 };
        let plane = shot.section.map(|section| plane(&section, turned.to_radians()));
        let mut points = Vec::new();
        for body in &self.bodies {
            let finish = mirror_of(&body.finish, turn(body));
            self.gpu.queue.write_buffer(&body.uniform, 0, bytemuck::bytes_of(&finish));
            let turned = glam::DQuat::from_rotation_x(turn(body));
            let stays = |point: &DVec3| !body.clipped || plane.is_none_or(|(normal, w)| normal.dot(*point) <= w);
            points.extend(body.points.iter().map(|point| turned * *point).filter(stays));
        }
        if points.is_empty() {
            return Err(RenderError::Nothing);
        }
        let camera = Camera::new(&shot.view, [shot.width, shot.height], &points);
        Ok(Scene { camera, points, plane })
    }

    /// Tells the shaders all about a pass.
    fn tell(&self, shot: &Shot, scene: &Scene, pass: u32, shift: [f64; 2]) {
        let lights = lights(&shot.view, &scene.points, pass, shot.samples);
        let up = shot.view.up();
        let camera = &scene.camera;
        let over = |point: &DVec3| point.dot(up);
        let ground = scene.points.iter().map(over).fold(f64::MAX, f64::min);
        let (low, high) = bounds(&scene.points);
        let middle = 0.5 * (low + high);
        let along = shot.view.toward(0.0, 0.0);
        let (normal, w) = scene.plane.unwrap_or((DVec3::ZERO, 1.0));
        let single = |it: DVec3| it.as_vec3().to_array();
        let frame = mirror::Frame {
            to_clip: camera.to_clip(shift).as_mat4().to_cols_array_2d(),
            eye: single(camera.eye),
            pixel: (2.0 * camera.half[0] / f64::from(shot.width)) as f32,
            plane: normal.extend(w).as_vec4().to_array(),
            up: single(up),
            ground: ground as f32,
            middle: single(middle + up * (ground - middle.dot(up))),
            radius: (3.0 * (high - low).length()) as f32,
            along: single(along),
            unused: 0.0,
            across: single(along.cross(up)),
            open: open(&lights, up) as f32,
            lights,
        };
        self.gpu.queue.write_buffer(&self.frame, 0, bytemuck::bytes_of(&frame));
    }

    /// Draws one pass and adds it to those before.
    fn pass(&self, shot: &Shot, scene: &Scene, targets: &Targets, pass: u32) {
        self.tell(shot, scene, pass, shift(pass, targets.size));
        let device = &self.gpu.device;
        let mut encoder = device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
        self.shadows(shot, &mut encoder);
        let maps = whole(&self.maps);
        let sampler = wgpu::BindingResource::Sampler(&self.nearer);
        let resources = [self.frame.as_entire_binding(), wgpu::BindingResource::TextureView(&maps), sampler];
        let group = bind(device, &self.passes.lit, resources);
        {
            let color = (&targets.color, Some(&targets.latest), wgpu::Color::TRANSPARENT);
            let mut pass = begin(&mut encoder, Some(color), Some(&targets.depth));
            pass.set_bind_group(0, &group, &[]);
            for body in &self.bodies {
                pass.set_pipeline(self.passes.piece.of(body, shot));
                body.draw(&mut pass, 0);
            }
            // From below the ground would hide everything.
            if shot.view.tilt >= 0.0 {
                pass.set_pipeline(&self.passes.ground);
                pass.draw(0..4, 0..1);
            }
        }
        let (before, after) = (&targets.sums[pass as usize % 2], &targets.sums[(pass as usize + 1) % 2]);
        let pictures = [&targets.latest, before].map(wgpu::BindingResource::TextureView);
        let pictures = bind(device, &self.passes.pictures, pictures);
        {
            let mut pass = begin(&mut encoder, Some((after, None, wgpu::Color::TRANSPARENT)), None);
            pass.set_pipeline(&self.passes.sum);
            pass.set_bind_group(0, &pictures, &[]);
            pass.draw(0..3, 0..1);
        }
        self.gpu.queue.submit([encoder.finish()]);
    }

    /// Draws the maps of shadows of a pass.
    fn shadows(&self, shot: &Shot, encoder: &mut wgpu::CommandEncoder) {
        let group = bind(&self.gpu.device, &self.passes.frame, [self.frame.as_entire_binding()]);
        for light in 0..LIGHTS as u32 {
            let map = self.maps.create_view(&wgpu::TextureViewDescriptor {
                dimension: Some(wgpu::TextureViewDimension::D2),
                base_array_layer: light,
                array_layer_count: Some(1),
                ..Default::default()
            });
            let mut pass = begin(encoder, None, Some(&map));
            pass.set_bind_group(0, &group, &[]);
            for body in &self.bodies {
                pass.set_pipeline(self.passes.shadow.of(body, shot));
                body.draw(&mut pass, light);
            }
        }
    }

    /// Makes a picture of the sums.
    fn finish(&self, shot: &Shot, targets: &Targets) {
        let (kind, ground) = match shot.ground {
            Ground::Transparent => (0, [0; 3]),
            Ground::Plain(color) => (1, color),
            Ground::Studio => (2, [0; 3]),
        };
        let size = targets.size.map(|it| it as f32);
        let last = mirror::Last { ground: linear(ground), kind, size, share: 1.0 / shot.samples as f32, unused: 0.0 };
        let device = &self.gpu.device;
        let told = uniform(device, bytemuck::bytes_of(&last));
        let sums = wgpu::BindingResource::TextureView(&targets.sums[shot.samples as usize % 2]);
        let group = bind(device, &self.passes.ending, [told.as_entire_binding(), sums]);
        let mut encoder = device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
        let view = whole(&targets.last);
        {
            let mut pass = begin(&mut encoder, Some((&view, None, wgpu::Color::TRANSPARENT)), None);
            pass.set_pipeline(&self.passes.last);
            pass.set_bind_group(0, &group, &[]);
            pass.draw(0..3, 0..1);
        }
        self.gpu.queue.submit([encoder.finish()]);
    }

    /// The bytes of a texture, so many a pixel.
    fn read(&self, texture: &wgpu::Texture, bytes: u32) -> Result<Vec<u8>, RenderError> {
        let size = texture.size();
        let row = size.width * bytes;
        let stride = row.next_multiple_of(wgpu::COPY_BYTES_PER_ROW_ALIGNMENT);
        let buffer = self.gpu.device.create_buffer(&wgpu::BufferDescriptor {
            label: None,
            size: u64::from(stride) * u64::from(size.height),
            usage: wgpu::BufferUsages::COPY_DST | wgpu::BufferUsages::MAP_READ,
            mapped_at_creation: false,
        });
        let mut encoder = self.gpu.device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
        let layout = wgpu::TexelCopyBufferLayout { offset: 0, bytes_per_row: Some(stride), rows_per_image: None };
        let target = wgpu::TexelCopyBufferInfo { buffer: &buffer, layout };
        encoder.copy_texture_to_buffer(texture.as_image_copy(), target, size);
        self.gpu.queue.submit([encoder.finish()]);
        // What goes wrong here is told by the wait, or by the range that is not there.
        buffer.map_async(wgpu::MapMode::Read, .., |_| ());
        self.gpu.wait()?;
        let range = buffer.get_mapped_range(..).map_err(|error| RenderError::Lost(error.to_string()))?;
        Ok(range.chunks_exact(stride as usize).flat_map(|it| &it[..row as usize]).copied().collect())
    }
}

/// What of a picture is the same in all of its passes.
struct Scene {
    camera: Camera,
    /// Of what is shown, in the room.
    points: Vec<DVec3>,
    /// The section in the room: direction, and how far along it.
    plane: Option<(DVec3, f64)>,
}

impl Loaded {
    fn draw(&self, pass: &mut wgpu::RenderPass<'_>, instance: u32) {
        pass.set_bind_group(1, &self.group, &[]);
        pass.set_vertex_buffer(0, self.vertices.slice(..));
        pass.set_index_buffer(self.indices.slice(..), wgpu::IndexFormat::Uint32);
        pass.draw_indexed(0..self.count, 0, instance..instance + 1);
    }
}

impl crate::passes::Pair {
    fn of(&self, body: &Loaded, shot: &Shot) -> &wgpu::RenderPipeline {
        if body.clipped && shot.section.is_some() { &self.cut } else { &self.whole }
    }
}

/// # Errors
/// [`RenderError::Cancelled`] if told to stop.
fn check(options: &RunOptions<'_>) -> Result<(), RenderError> {
    let is_cancelled = options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed));
    if is_cancelled { Err(RenderError::Cancelled) } else { Ok(()) }
}

fn loaded(gpu: &Gpu, passes: &Passes, body: &Body<'_>, made: &Vertices) -> Result<Loaded, RenderError> {
    let device = &gpu.device;
    let most = device.limits().max_buffer_size;
    let bytes = [bytemuck::cast_slice::<_, u8>(&made.vertices), bytemuck::cast_slice(&made.indices)];
    if bytes.iter().any(|bytes| bytes.len() as u64 > most) {
        return Err(RenderError::TooManyTriangles);
    }
    let [vertices, indices] = [wgpu::BufferUsages::VERTEX, wgpu::BufferUsages::INDEX];
    let buffer =
        |contents, usage| device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents, usage });
    let uniform = uniform(device, &[0; size_of::<mirror::Body>()]);
    /// More points than these do not change where a camera or a light stands.
    const POINTS: usize = 20_000;
    let stride = body.mesh.vertices.len().div_ceil(POINTS).max(1);
    Ok(Loaded {
        vertices: buffer(bytes[0], vertices),
        indices: buffer(bytes[1], indices),
        count: made.indices.len() as u32,
        group: bind(device, &passes.body, [uniform.as_entire_binding()]),
        uniform,
        finish: body.finish,
        clipped: body.clipped,
        turns: body.turns,
        points: body.mesh.vertices.iter().step_by(stride).map(|it| DVec3::from_array(*it)).collect(),
    })
}

fn uniform(device: &wgpu::Device, contents: &[u8]) -> wgpu::Buffer {
    let usage = wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST;
    device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents, usage })
}

fn whole(texture: &wgpu::Texture) -> wgpu::TextureView {
    texture.create_view(&wgpu::TextureViewDescriptor::default())
}

/// Begins a pass with everything cleared.
fn begin<'a>(
    encoder: &'a mut wgpu::CommandEncoder,
    color: Option<(&wgpu::TextureView, Option<&wgpu::TextureView>, wgpu::Color)>,
    depth: Option<&wgpu::TextureView>,
) -> wgpu::RenderPass<'a> {
    let color = color.map(|(view, resolve_target, clear)| wgpu::RenderPassColorAttachment {
        view,
        depth_slice: None,
        resolve_target,
        ops: wgpu::Operations { load: wgpu::LoadOp::Clear(clear), store: wgpu::StoreOp::Store },
    });
    let colors: Vec<_> = color.into_iter().map(Some).collect();
    encoder.begin_render_pass(&wgpu::RenderPassDescriptor {
        label: None,
        color_attachments: &colors,
        depth_stencil_attachment: depth.map(|view| wgpu::RenderPassDepthStencilAttachment {
            view,
            depth_ops: Some(wgpu::Operations { load: wgpu::LoadOp::Clear(1.0), store: wgpu::StoreOp::Store }),
            stencil_ops: None,
        }),
        timestamp_writes: None,
        occlusion_query_set: None,
        multiview_mask: None,
    })
}

/// A section in the room: a unit vector, and how far along it what stays may reach.
fn plane(section: &Section, turn: f64) -> (DVec3, f64) {
    let normal = DVec3::from_array(section.normal).normalize();
    let w = normal.dot(DVec3::from_array(section.point));
    (glam::DQuat::from_rotation_x(turn) * normal, w)
}

/// Where a pass looks within the pixel, in clip space; places of a Halton sequence.
fn shift(pass: u32, [width, height]: [u32; 2]) -> [f64; 2] {
    let by = |base: u32| {
        let (mut index, mut share, mut sum) = (pass + 1, 1.0, 0.0);
        while index > 0 {
            share /= f64::from(base);
            sum += share * f64::from(index % base);
            index /= base;
        }
        sum
    };
    [(2.0 * by(2) - 1.0) / f64::from(width), (2.0 * by(3) - 1.0) / f64::from(height)]
}

fn bounds(points: &[DVec3]) -> (DVec3, DVec3) {
    points.iter().fold((DVec3::MAX, DVec3::MIN), |(low, high), point| (low.min(*point), high.max(*point)))
}

/// The linear colour of an sRGB one.
fn linear(color: [u8; 3]) -> [f32; 3] {
    color.map(|it| {
        let share = f64::from(it) / 255.0;
        let linear = if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) };
        linear as f32
    })
}

fn mirror_of(finish: &Finish, turn: f64) -> mirror::Body {
    let turn = [turn.cos() as f32, turn.sin() as f32];
    match finish {
        Finish::Plain { color, roughness, metallic } => mirror::Body {
            early: linear(*color),
            roughness: *roughness,
            metallic: *metallic,
            turn,
            ..bytemuck::Zeroable::zeroed()
        },
        Finish::Wood(wood) => mirror::Body {
            early: linear(wood.early),
            roughness: wood.roughness,
            late: linear(wood.late),
            metallic: 0.0,
            pore: linear(wood.pore),
            ring: wood.ring,
            ray: linear(wood.ray),
            late_share: wood.late_share,
            turn,
            gradual: wood.gradual,
            ring_porous: wood.ring_porous,
            pore_width: wood.pore_width,
            pore_length: wood.pore_length,
            pores: wood.pores,
            ray_width: wood.ray_width,
            ray_height: wood.ray_height,
            rays: wood.rays,
            streaks: wood.streaks,
            clouds: wood.clouds,
            pith: [-38.0, 57.0],
            figure: wood.figure,
            is_wood: 1,
        },
    }
}
