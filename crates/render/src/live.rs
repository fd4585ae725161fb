//! Pictures while somebody looks: bodies stay with the adapter, and a picture is one pass.
//!
//! What a [`Stage`](crate::Stage) takes seconds for is left out here: shadows, the dome of lights, pores and rays of the
//! wood. The eye is far away, so that along the axis a millimetre is as long everywhere in the picture.

mod pass;
mod told;

use crate::passes::told as buffer_of;
use crate::targets::{DEPTH, sampled, whole};
use crate::{Adapter, Finish, Gpu, Picture, RenderError};
use pass::Passes;
use wgpu::util::DeviceExt;

#[cfg(test)]
pub(crate) use told::Live as Told;

/// A corner of a [`Shape`].
#[derive(Clone, Copy, Debug, PartialEq, bytemuck::Pod, bytemuck::Zeroable)]
#[repr(C)]
pub struct Corner {
    /// Where it is, mm, in the piece frame.
    pub position: [f32; 3],
    /// Unit vector outward, 127 being 1; the last number means nothing.
    pub normal: [i8; 4],
    /// Colour, sRGB (black: none of its own), and how much of the sky is seen from it, 255 being all.
    pub color: [u8; 4],
}

/// A closed body as triangles, counterclockwise as seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shape {
    /// Its corners.
    pub corners: Vec<Corner>,
    /// Three for each triangle.
    pub indices: Vec<u32>,
}

/// A shape that lies ready with the adapter.
pub struct Ready {
    corners: wgpu::Buffer,
    indices: wgpu::Buffer,
    count: u32,
}

/// How a body is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// What it is made of.
    pub finish: Finish,
    /// Share of the corners' colours in the place of it, 0 … 1.
    pub tint: f32,
    /// How far it is faded into the ground, 0 … 1.
    pub faded: f32,
    /// 1 for a body that hides what is behind it; less lets the ground through.
    pub opacity: f32,
    /// Whether the grain is left out, which takes most of the time where the processor draws.
    pub is_plain: bool,
    /// How far it is turned about the axis of the piece, radians, right-handed about +x.
    pub turn: f64,
    /// Whether the section cuts it.
    pub is_cut: bool,
}

/// From where a picture is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// The picture's directions in the room, unit vectors: to the right, up, and back to the eye.
    pub axes: [[f64; 3]; 3],
    /// The point of the room in the middle of the picture, mm.
    pub middle: [f64; 3],
    /// Millimetres from the middle to the right edge.
    pub half_width: f64,
    /// What is farther from the middle than this, toward the eye or away from it, is not drawn; mm.
    pub reach: f64,
    /// Whether edges are smoothed.
    pub is_smooth: bool,
    /// What is cut away lies beyond this plane of the room: unit normal, and its distance from the origin, mm.
    pub plane: Option<([f64; 3], f64)>,
    /// Colour of the ground, sRGB; the picture itself is transparent there.
    pub ground: [u8; 3],
}

/// Takes pictures of bodies that lie ready.
pub struct Live {
    gpu: Gpu,
    passes: Passes,
    canvas: Option<Canvas>,
}

/// What is drawn into.
struct Canvas {
    size: [u32; 2],
    samples: u32,
    color: wgpu::Texture,
    smooth: Option<wgpu::TextureView>,
    depth: wgpu::TextureView,
}

impl Canvas {
    fn new(device: &wgpu::Device, size: [u32; 2], samples: u32) -> Canvas {
        let [width, height] = size;
        let make = |samples, format| sampled(device, [width, height, 1], samples, format);
        Canvas {
            size,
            samples,
            color: make(1, pass::COLOR),
            smooth: (samples > 1).then(|| whole(&make(samples, pass::COLOR))),
            depth: whole(&make(samples, DEPTH)),
        }
    }
}

impl Live {
    /// Takes an adapter.
    pub fn new(gpu: Gpu) -> Live {
        let passes = Passes::new(&gpu.device);
        Live { gpu, passes, canvas: None }
    }

    /// The adapter that draws.
    pub fn about(&self) -> &Adapter {
        self.gpu.about()
    }

    /// Takes a shape to the adapter.
    ///
    /// # Errors
    /// [`RenderError::TooManyTriangles`].
    pub fn ready(&self, shape: &Shape) -> Result<Ready, RenderError> {
        let buffer = |contents: &[u8], usage| {
            let device = &self.gpu.device;
            if contents.len() as u64 > device.limits().max_buffer_size {
                return Err(RenderError::TooManyTriangles);
            }
            Ok(device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents, usage }))
        };
        Ok(Ready {
            corners: buffer(bytemuck::cast_slice(&shape.corners), wgpu::BufferUsages::VERTEX)?,
            indices: buffer(bytemuck::cast_slice(&shape.indices), wgpu::BufferUsages::INDEX)?,
            count: u32::try_from(shape.indices.len()).map_err(|_| RenderError::TooManyTriangles)?,
        })
    }

    /// Takes a picture; its colours have the alpha multiplied in. Bodies that let the ground through come last.
    ///
    /// # Errors
    /// [`RenderError::Size`], and those of the adapter.
    pub fn picture(&mut self, sight: &Sight, bodies: &[(&Ready, Look)]) -> Result<Picture, RenderError> {
        let Sight { width, height, is_smooth, .. } = *sight;
        let most = self.gpu.device.limits().max_texture_dimension_2d;
        if width.min(height) == 0 || width.max(height) > most {
            return Err(RenderError::Size { width, height, most });
        }
        let samples = if is_smooth { crate::targets::SAMPLES } else { 1 };
        let fitting = self.canvas.take().filter(|it| it.size == [width, height] && it.samples == samples);
        let canvas = fitting.unwrap_or_else(|| Canvas::new(&self.gpu.device, [width, height], samples));
        self.draw(&canvas, sight, bodies);
        let rgba = self.gpu.read(&canvas.color);
        self.canvas = Some(canvas);
        Ok(Picture { width, height, rgba: rgba? })
    }

    fn draw(&self, canvas: &Canvas, sight: &Sight, bodies: &[(&Ready, Look)]) {
        let device = &self.gpu.device;
        let groups: Vec<wgpu::BindGroup> = bodies
            .iter()
            .map(|(_, look)| {
                let told = buffer_of(device, bytemuck::bytes_of(&told::Live::of(sight, look)));
                crate::passes::bind(device, &self.passes.group, [told.as_entire_binding()])
            })
            .collect();
        let mut encoder = device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
        {
            let color = whole(&canvas.color);
            let into = match &canvas.smooth {
                Some(smooth) => (smooth, Some(&color), wgpu::Color::TRANSPARENT),
                None => (&color, None, wgpu::Color::TRANSPARENT),
            };
            let mut pass = crate::passes::begin_smooth(&mut encoder, Some(into), Some(&canvas.depth));
            for ((ready, look), group) in bodies.iter().zip(&groups).filter(|((ready, _), _)| ready.count > 0) {
                let is_cut = look.is_cut && sight.plane.is_some();
                pass.set_pipeline(self.passes.of(canvas.samples, is_cut, look.opacity < 1.0));
                pass.set_bind_group(0, group, &[]);
                pass.set_vertex_buffer(0, ready.corners.slice(..));
                pass.set_index_buffer(ready.indices.slice(..), wgpu::IndexFormat::Uint32);
                pass.draw_indexed(0..ready.count, 0, 0..1);
            }
        }
        self.gpu.queue.submit([encoder.finish()]);
    }
}

#[cfg(test)]
#[expect(clippy::print_stdout, reason = "a test that is skipped says why")]
mod tests {
    use super::*;

    #[test]
    fn a_device_that_is_gone_is_told_and_ends_nothing() {
        let mut live = match Gpu::open(&crate::Wish::default()) {
            Ok(gpu) => Live::new(gpu),
            Err(why) => return println!("skipped: {why}"),
        };
        let axes = [[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]];
        let (middle, half_width, reach, ground) = ([0.0; 3], 1.0, 10.0, [255; 3]);
        let sight =
            Sight { width: 16, height: 16, axes, middle, half_width, reach, is_smooth: true, plane: None, ground };
        assert!(live.picture(&sight, &[]).is_ok());
        live.gpu.device.destroy();
        assert!(live.picture(&sight, &[]).is_err());
    }
}
