//! A picture, pass by pass.

use glam::Vec3;
use wgpu::{BindingResource, Color, CommandEncoder, TextureView};

use crate::finish::linear;
use crate::mirror::{self, LIGHTS};
use crate::passes::{Pair, begin, bind, told};
use crate::scene::{Pass, Scene};
use crate::stage::{Loaded, Stage};
use crate::targets::{DEPTH, DISTANCE, SIDE, Sums, Targets, texture, whole};
use crate::view::Part;
use crate::{Ground, Picture, RenderError, Shot};

/// Texels along a side of the ground.
const BAKED: u32 = 512;
/// The most pixels across and down that are drawn at a time: 0.8 GB of memory.
const PART: [u32; 2] = [4096, 2048];
/// Passes that bake the ground for each of the picture; long soft shadows take more lights than corners.
const BAKING: u32 = 2;

/// A picture that is being taken.
pub(crate) struct Shoot<'a> {
    pub(crate) stage: &'a Stage<'a>,
    pub(crate) shot: &'a Shot,
    pub(crate) scene: Scene<'a>,
}

impl Shoot<'_> {
    /// All passes, each of which `step` is told of and may end it all; gives the picture.
    ///
    /// # Errors
    /// Those of the adapter, and of `step`.
    pub(crate) fn take(&self, step: &dyn Fn(f64) -> Result<(), RenderError>) -> Result<Picture, RenderError> {
        let device = &self.stage.gpu.device;
        let Shot { width, height, samples, .. } = *self.shot;
        let parts = Part::of([width, height], self.most());
        let ground = Sums::new(device, [BAKED, BAKED]);
        let baking = if self.has_ground() { BAKING * samples } else { 0 };
        // A pass of the picture takes about as long as these of the ground.
        let all = f64::from(baking) + f64::from(BAKING * samples) * parts.len() as f64;
        for pass in 0..baking {
            step(f64::from(pass) / all)?;
            self.bake(&ground, pass, baking);
            self.stage.gpu.wait()?;
        }
        let mut picture = Picture { width, height, rgba: vec![0; 4 * width as usize * height as usize] };
        for (number, part) in parts.iter().enumerate() {
            let targets = Targets::new(device, part.size);
            for pass in 0..samples {
                step((f64::from(baking + BAKING * pass) + f64::from(BAKING * samples) * number as f64) / all)?;
                self.draw(&targets, ground.after(baking), (pass, *part), baking);
                self.stage.gpu.wait()?;
            }
            self.finish(&targets, *part);
            put(&mut picture, *part, &self.stage.gpu.read(&targets.last)?);
        }
        Ok(picture)
    }

    /// The most pixels across and down that are drawn at a time.
    fn most(&self) -> [u32; 2] {
        let most = self.stage.gpu.device.limits().max_texture_dimension_2d / SIDE;
        [PART[0].min(most), PART[1].min(most)]
    }

    /// From below the ground would hide everything.
    fn has_ground(&self) -> bool {
        self.shot.view.tilt >= 0.0
    }

    /// One pass of the ground's shadows.
    fn bake(&self, ground: &Sums, pass: u32, passes: u32) {
        let frame = self.scene.frame_of_all(Pass { number: pass, of: passes });
        self.stage.tell(&frame);
        let mut encoder = self.encoder();
        // What comes from below does not reach the ground.
        let up = Vec3::from(frame.up);
        let is_over = |light: &u32| up.dot(Vec3::from(frame.lights[*light as usize].toward)) > 0.0;
        self.shadows(&mut encoder, (0..LIGHTS as u32).filter(is_over));
        {
            let mut pass = begin(&mut encoder, Some((&ground.latest, Color::TRANSPARENT)), None);
            pass.set_pipeline(&self.stage.passes.bake);
            pass.set_bind_group(0, &self.lit(), &[]);
            pass.draw(0..3, 0..1);
        }
        self.add(&mut encoder, ground, pass);
        self.stage.gpu.queue.submit([encoder.finish()]);
    }

    /// One pass of a part of the picture.
    fn draw(&self, targets: &Targets, ground: &TextureView, (pass, part): (u32, Part), baking: u32) {
        self.stage.tell(&self.scene.frame_within(pass, part, baking));
        let mut encoder = self.encoder();
        self.shadows(&mut encoder, 0..LIGHTS as u32);
        self.see(&mut encoder, targets);
        self.shade(&mut encoder, targets, ground);
        self.add(&mut encoder, &targets.sums, pass);
        self.stage.gpu.queue.submit([encoder.finish()]);
    }

    /// Finds what is seen at each sample.
    fn see(&self, encoder: &mut CommandEncoder, targets: &Targets) {
        let mut pass = begin(encoder, Some((&targets.seen, Color::TRANSPARENT)), Some(&targets.depth));
        pass.set_bind_group(0, &self.frame(), &[]);
        for body in &self.stage.bodies {
            pass.set_pipeline(self.of(&self.stage.passes.seen, body));
            body.draw(&mut pass, &self.stage.looks);
        }
    }

    /// Lights what is seen, once a pixel wherever its samples are of one face.
    fn shade(&self, encoder: &mut CommandEncoder, targets: &Targets, ground: &TextureView) {
        let passes = &self.stage.passes;
        let maps = whole(&self.stage.maps);
        let seen = [&maps, &targets.seen, &targets.depth].map(BindingResource::TextureView);
        let [maps, seen, depth] = seen;
        let texels = BindingResource::Sampler(&self.stage.texels);
        let all = [self.stage.frame.as_entire_binding(), maps, texels, seen, depth];
        let mut pass = begin(encoder, Some((&targets.sums.latest, Color::TRANSPARENT)), None);
        pass.set_bind_group(0, &bind(&self.stage.gpu.device, &passes.all, all), &[]);
        pass.set_pipeline(&passes.shade);
        for (number, look) in (1..).zip(&self.stage.looks) {
            pass.set_bind_group(1, &look.group, &[]);
            pass.draw(0..3, number..number + 1);
        }
        if self.has_ground() {
            let baked = [BindingResource::TextureView(ground)];
            pass.set_pipeline(&passes.ground);
            pass.set_bind_group(1, &bind(&self.stage.gpu.device, &passes.baked, baked), &[]);
            pass.draw(0..3, 0..1);
        }
    }

    /// Draws the maps of shadows of some lights of a pass.
    fn shadows(&self, encoder: &mut CommandEncoder, lights: impl Iterator<Item = u32>) {
        let group = self.frame();
        for light in lights {
            let map = self.stage.maps.create_view(&wgpu::TextureViewDescriptor {
                dimension: Some(wgpu::TextureViewDimension::D2),
                base_array_layer: light,
                array_layer_count: Some(1),
                ..Default::default()
            });
            let mut pass = begin(encoder, None, Some(&map));
            pass.set_bind_group(0, &group, &[]);
            for body in &self.stage.bodies {
                pass.set_pipeline(self.of(&self.stage.passes.shadow, body));
                body.draw_coarse(&mut pass, &self.stage.looks, light);
            }
        }
    }

    /// Adds the latest pass to those before it.
    fn add(&self, encoder: &mut CommandEncoder, sums: &Sums, pass: u32) {
        let pictures = [&sums.latest, sums.after(pass)].map(BindingResource::TextureView);
        let pictures = bind(&self.stage.gpu.device, &self.stage.passes.pictures, pictures);
        let mut drawing = begin(encoder, Some((sums.after(pass + 1), Color::TRANSPARENT)), None);
        drawing.set_pipeline(&self.stage.passes.sum);
        drawing.set_bind_group(0, &pictures, &[]);
        drawing.draw(0..3, 0..1);
    }

    /// Makes a picture of the sums.
    fn finish(&self, targets: &Targets, part: Part) {
        let (kind, ground) = match self.shot.ground {
            Ground::Transparent => (0, [0; 3]),
            Ground::Plain(color) => (1, color),
            Ground::Studio => (2, [0; 3]),
        };
        let size = [self.shot.width as f32, self.shot.height as f32];
        let share = 1.0 / self.shot.samples as f32;
        let start = part.start.map(|it| it as f32);
        let last = mirror::Last { ground: linear(ground), kind, size, start, share, unused: 0.0, more: [0.0; 2] };
        let device = &self.stage.gpu.device;
        let last = told(device, bytemuck::bytes_of(&last));
        let sums = BindingResource::TextureView(targets.sums.after(self.shot.samples));
        let group = bind(device, &self.stage.passes.ending, [last.as_entire_binding(), sums]);
        let mut encoder = self.encoder();
        {
            let view = whole(&targets.last);
            let mut pass = begin(&mut encoder, Some((&view, Color::TRANSPARENT)), None);
            pass.set_pipeline(&self.stage.passes.last);
            pass.set_bind_group(0, &group, &[]);
            pass.draw(0..3, 0..1);
        }
        self.stage.gpu.queue.submit([encoder.finish()]);
    }

    /// Distances from the eye, as a texture.
    pub(crate) fn distances(&self) -> wgpu::Texture {
        self.stage.tell(&self.scene.frame_of_all(Pass { number: 0, of: 1 }));
        let device = &self.stage.gpu.device;
        let size = [self.shot.width, self.shot.height, 1];
        let (distances, depth) = (texture(device, size, DISTANCE), texture(device, size, DEPTH));
        let mut encoder = self.encoder();
        {
            let far = Color { r: f64::INFINITY, ..Color::TRANSPARENT };
            let view = whole(&distances);
            let mut pass = begin(&mut encoder, Some((&view, far)), Some(&whole(&depth)));
            pass.set_bind_group(0, &self.frame(), &[]);
            for body in &self.stage.bodies {
                pass.set_pipeline(self.of(&self.stage.passes.distance, body));
                body.draw(&mut pass, &self.stage.looks);
            }
        }
        self.stage.gpu.queue.submit([encoder.finish()]);
        distances
    }

    /// The pipeline for a body, whole or cut.
    fn of<'a>(&self, pair: &'a Pair, body: &Loaded) -> &'a wgpu::RenderPipeline {
        if body.clipped && self.shot.section.is_some() { &pair.cut } else { &pair.whole }
    }

    fn encoder(&self) -> CommandEncoder {
        self.stage.gpu.device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default())
    }

    /// The frame, without the maps that are being drawn.
    fn frame(&self) -> wgpu::BindGroup {
        bind(&self.stage.gpu.device, &self.stage.passes.frame, [self.stage.frame.as_entire_binding()])
    }

    /// The frame and the maps of shadows.
    fn lit(&self) -> wgpu::BindGroup {
        let maps = whole(&self.stage.maps);
        let texels = BindingResource::Sampler(&self.stage.texels);
        let resources = [self.stage.frame.as_entire_binding(), BindingResource::TextureView(&maps), texels];
        bind(&self.stage.gpu.device, &self.stage.passes.lit, resources)
    }
}

/// Puts the bytes of a part into the picture.
fn put(picture: &mut Picture, part: Part, bytes: &[u8]) {
    let row = 4 * part.size[0] as usize;
    for (number, bytes) in bytes.chunks_exact(row).enumerate() {
        let pixels = (part.start[1] as usize + number) * picture.width as usize + part.start[0] as usize;
        picture.rgba[4 * pixels..][..row].copy_from_slice(bytes);
    }
}
