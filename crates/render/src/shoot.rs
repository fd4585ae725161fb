//! A picture, pass by pass.

use wgpu::{BindingResource, Color, CommandEncoder, TextureView};

use crate::finish::linear;
use crate::mirror::{self, LIGHTS};
use crate::passes::{Pair, begin, bind, told};
use crate::scene::Scene;
use crate::stage::{Loaded, Stage};
use crate::targets::{DEPTH, DISTANCE, Sums, Targets, texture, whole};
use crate::{Ground, RenderError, Shot};

/// Texels along a side of the ground.
const BAKED: u32 = 512;
/// Passes that bake the ground for each of the picture; long soft shadows take more lights than corners.
const BAKING: u32 = 2;

/// A picture that is being taken.
pub(crate) struct Shoot<'a> {
    pub(crate) stage: &'a Stage<'a>,
    pub(crate) shot: &'a Shot,
    pub(crate) scene: Scene<'a>,
}

impl Shoot<'_> {
    /// All passes, each of which `step` is told of and may end it all; gives the texture of the picture.
    ///
    /// # Errors
    /// Those of the adapter, and of `step`.
    pub(crate) fn take(&self, step: &dyn Fn(f64) -> Result<(), RenderError>) -> Result<wgpu::Texture, RenderError> {
        let device = &self.stage.gpu.device;
        let targets = Targets::new(device, [self.shot.width, self.shot.height]);
        let ground = Sums::new(device, [BAKED, BAKED]);
        let baking = if self.has_ground() { BAKING * self.shot.samples } else { 0 };
        // A pass of the picture takes about as long as these of the ground.
        let all = f64::from(baking + BAKING * self.shot.samples);
        for pass in 0..baking {
            step(f64::from(pass) / all)?;
            self.bake(&ground, pass, baking);
            self.stage.gpu.wait()?;
        }
        for pass in 0..self.shot.samples {
            step(f64::from(baking + BAKING * pass) / all)?;
            self.draw(&targets, ground.after(baking), pass, baking);
            self.stage.gpu.wait()?;
        }
        self.finish(&targets);
        Ok(targets.last)
    }

    /// From below the ground would hide everything.
    fn has_ground(&self) -> bool {
        self.shot.view.tilt >= 0.0
    }

    /// One pass of the ground's shadows.
    fn bake(&self, ground: &Sums, pass: u32, passes: u32) {
        self.stage.tell(&self.scene.frame((pass, passes), [0.0; 2], passes));
        let mut encoder = self.encoder();
        self.shadows(&mut encoder);
        {
            let mut pass = begin(&mut encoder, Some((&ground.latest, None, Color::TRANSPARENT)), None);
            pass.set_pipeline(&self.stage.passes.bake);
            pass.set_bind_group(0, &self.lit(), &[]);
            pass.draw(0..3, 0..1);
        }
        self.add(&mut encoder, ground, pass);
        self.stage.gpu.queue.submit([encoder.finish()]);
    }

    /// One pass of the picture.
    fn draw(&self, targets: &Targets, ground: &TextureView, pass: u32, baking: u32) {
        self.stage.tell(&self.scene.frame_within(pass, baking));
        let mut encoder = self.encoder();
        self.shadows(&mut encoder);
        {
            let color = (&targets.color, Some(&targets.sums.latest), Color::TRANSPARENT);
            let mut pass = begin(&mut encoder, Some(color), Some(&targets.depth));
            pass.set_bind_group(0, &self.lit(), &[]);
            for body in &self.stage.bodies {
                pass.set_pipeline(self.of(&self.stage.passes.piece, body));
                body.draw(&mut pass);
            }
            if self.has_ground() {
                let baked = [BindingResource::TextureView(ground)];
                pass.set_pipeline(&self.stage.passes.ground);
                pass.set_bind_group(1, &bind(&self.stage.gpu.device, &self.stage.passes.baked, baked), &[]);
                pass.draw(0..4, 0..1);
            }
        }
        self.add(&mut encoder, &targets.sums, pass);
        self.stage.gpu.queue.submit([encoder.finish()]);
    }

    /// Draws the maps of shadows of a pass.
    fn shadows(&self, encoder: &mut CommandEncoder) {
        let group = self.frame();
        for light in 0..LIGHTS as u32 {
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
                body.draw_coarse(&mut pass, light);
            }
        }
    }

    /// Adds the latest pass to those before it.
    fn add(&self, encoder: &mut CommandEncoder, sums: &Sums, pass: u32) {
        let pictures = [&sums.latest, sums.after(pass)].map(BindingResource::TextureView);
        let pictures = bind(&self.stage.gpu.device, &self.stage.passes.pictures, pictures);
        let mut drawing = begin(encoder, Some((sums.after(pass + 1), None, Color::TRANSPARENT)), None);
        drawing.set_pipeline(&self.stage.passes.sum);
        drawing.set_bind_group(0, &pictures, &[]);
        drawing.draw(0..3, 0..1);
    }

    /// Makes a picture of the sums.
    fn finish(&self, targets: &Targets) {
        let (kind, ground) = match self.shot.ground {
            Ground::Transparent => (0, [0; 3]),
            Ground::Plain(color) => (1, color),
            Ground::Studio => (2, [0; 3]),
        };
        let size = [self.shot.width as f32, self.shot.height as f32];
        let share = 1.0 / self.shot.samples as f32;
        let last = mirror::Last { ground: linear(ground), kind, size, share, unused: 0.0 };
        let device = &self.stage.gpu.device;
        let last = told(device, bytemuck::bytes_of(&last));
        let sums = BindingResource::TextureView(targets.sums.after(self.shot.samples));
        let group = bind(device, &self.stage.passes.ending, [last.as_entire_binding(), sums]);
        let mut encoder = self.encoder();
        {
            let view = whole(&targets.last);
            let mut pass = begin(&mut encoder, Some((&view, None, Color::TRANSPARENT)), None);
            pass.set_pipeline(&self.stage.passes.last);
            pass.set_bind_group(0, &group, &[]);
            pass.draw(0..3, 0..1);
        }
        self.stage.gpu.queue.submit([encoder.finish()]);
    }

    /// Distances from the eye, as a texture.
    pub(crate) fn distances(&self) -> wgpu::Texture {
        self.stage.tell(&self.scene.frame((0, 1), [0.0; 2], 1));
        let device = &self.stage.gpu.device;
        let size = [self.shot.width, self.shot.height, 1];
        let (distances, depth) = (texture(device, size, 1, DISTANCE), texture(device, size, 1, DEPTH));
        let mut encoder = self.encoder();
        {
            let far = Color { r: f64::INFINITY, ..Color::TRANSPARENT };
            let view = whole(&distances);
            let mut pass = begin(&mut encoder, Some((&view, None, far)), Some(&whole(&depth)));
            pass.set_bind_group(0, &self.frame(), &[]);
            for body in &self.stage.bodies {
                pass.set_pipeline(self.of(&self.stage.passes.distance, body));
                body.draw(&mut pass);
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
        let resources = [self.stage.frame.as_entire_binding(), BindingResource::TextureView(&maps)];
        bind(&self.stage.gpu.device, &self.stage.passes.lit, resources)
    }
}
