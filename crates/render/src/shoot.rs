//! A picture, pass by pass.

use wgpu::{BindingResource, Color, CommandEncoder, TextureView};

use crate::finish::linear;
use crate::lights::{ACROSS, MAP};
use crate::mirror::{self, LIGHTS, SETS};
use crate::passes::{Pair, begin, bind, told};
use crate::scene::Scene;
use crate::stage::{Loaded, Stage};
use crate::targets::{DEPTH, DISTANCE, SIDE, Sums, Targets, texture, whole};
use crate::view::Part;
use crate::{Finish, Ground, Picture, RenderError, Shot};

/// Texels along a side of the ground.
const BAKED: u32 = 512;
/// The most pixels across and down that are drawn at a time: 0.8 GB of memory.
const PART: [u32; 2] = [4096, 2048];

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
        let all = f64::from(samples) * parts.len() as f64;
        let mut picture = Picture { width, height, rgba: vec![0; 4 * width as usize * height as usize] };
        for (number, part) in parts.iter().enumerate() {
            let targets = Targets::new(device, part.size);
            for pass in 0..samples {
                step((f64::from(pass) + f64::from(samples) * number as f64) / all)?;
                let is_baked = number == 0 && self.has_ground();
                self.draw(&targets, pass, *part, is_baked.then_some(&ground));
                self.stage.gpu.wait()?;
            }
            self.finish(&targets, *part, ground.after(samples));
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

    /// Adds what the lights of a pass leave dark of the ground.
    fn bake(&self, encoder: &mut CommandEncoder, ground: &Sums, number: u32) {
        {
            let mut pass = begin(encoder, Some((&ground.latest, Color::TRANSPARENT)), None);
            pass.set_pipeline(&self.stage.passes.bake);
            pass.set_bind_group(0, &self.lit(), &[]);
            pass.draw(0..3, 0..1);
        }
        self.add(encoder, ground, number);
    }

    /// One pass of a part of the picture, and of the ground where that is baked.
    fn draw(&self, targets: &Targets, pass: u32, part: Part, baked: Option<&Sums>) {
        self.stage.tell(&self.scene.frame_within(pass, part));
        let mut encoder = self.encoder();
        self.shadows(&mut encoder);
        if let Some(ground) = baked {
            self.bake(&mut encoder, ground, pass);
        }
        self.see(&mut encoder, targets);
        self.shade(&mut encoder, targets);
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
    fn shade(&self, encoder: &mut CommandEncoder, targets: &Targets) {
        let passes = self.stage.passes;
        let mut pass = begin(encoder, Some((&targets.sums.latest, Color::TRANSPARENT)), None);
        pass.set_bind_group(0, &self.all(targets), &[]);
        for (number, look) in (1..).zip(&self.stage.looks) {
            let is_wood = matches!(look.finish, Finish::Wood(_));
            pass.set_pipeline(if is_wood { &passes.shade_wood } else { &passes.shade_plain });
            pass.set_bind_group(1, &look.group, &[]);
            pass.draw(0..3, number..number + 1);
        }
    }

    /// Lays the ground under what has been added up.
    fn lay(&self, encoder: &mut CommandEncoder, targets: &Targets, ground: &TextureView) {
        let (passes, samples) = (self.stage.passes, self.shot.samples);
        let pictures = [ground, targets.sums.after(samples)].map(BindingResource::TextureView);
        let mut pass = begin(encoder, Some((targets.sums.after(samples + 1), Color::TRANSPARENT)), None);
        pass.set_pipeline(&passes.ground);
        pass.set_bind_group(0, &self.all(targets), &[]);
        pass.set_bind_group(1, &bind(&self.stage.gpu.device, &passes.pictures, pictures), &[]);
        pass.draw(0..3, 0..1);
    }

    /// Draws the maps of shadows of all lights of a pass, side by side: passes of their own would wait for each other.
    fn shadows(&self, encoder: &mut CommandEncoder) {
        let mut pass = begin(encoder, None, Some(&whole(&self.stage.maps)));
        pass.set_bind_group(0, &self.frame(), &[]);
        for light in 0..(LIGHTS * SETS) as u32 {
            let [x, y] = [light % ACROSS, light / ACROSS].map(|it| it * MAP);
            pass.set_viewport(x as f32, y as f32, MAP as f32, MAP as f32, 0.0, 1.0);
            pass.set_scissor_rect(x, y, MAP, MAP);
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

    /// Makes a picture of the sums and the ground.
    fn finish(&self, targets: &Targets, part: Part, ground: &TextureView) {
        let mut encoder = self.encoder();
        let mut sums = targets.sums.after(self.shot.samples);
        if self.has_ground() {
            self.stage.tell(&self.scene.frame_of_ground(part, self.shot.samples));
            self.lay(&mut encoder, targets, ground);
            sums = targets.sums.after(self.shot.samples + 1);
        }
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
        let told = [last.as_entire_binding(), BindingResource::TextureView(sums)];
        let group = bind(device, &self.stage.passes.ending, told);
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
        self.stage.tell(&self.scene.frame_of_all());
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

    /// The frame, the maps of shadows and what is seen.
    fn all(&self, targets: &Targets) -> wgpu::BindGroup {
        let maps = whole(&self.stage.maps);
        let [maps, seen, depth] = [&maps, &targets.seen, &targets.depth].map(BindingResource::TextureView);
        let texels = BindingResource::Sampler(&self.stage.texels);
        let all = [self.stage.frame.as_entire_binding(), maps, texels, seen, depth];
        bind(&self.stage.gpu.device, &self.stage.passes.all, all)
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
