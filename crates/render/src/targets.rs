//! The textures that a picture is drawn into.

use wgpu::{TextureFormat, TextureUsages};

/// Light of one pass.
pub(crate) const COLOR: TextureFormat = TextureFormat::Rgba16Float;
/// Sums of passes.
pub(crate) const SUM: TextureFormat = TextureFormat::Rgba32Float;
/// The picture.
pub(crate) const LAST: TextureFormat = TextureFormat::Rgba8Unorm;
/// Distances from the eye.
pub(crate) const DISTANCE: TextureFormat = TextureFormat::R32Float;
/// Depths.
pub(crate) const DEPTH: TextureFormat = TextureFormat::Depth32Float;
/// Samples a pixel in one pass.
pub(crate) const SAMPLES: u32 = 4;

/// A texture of one level that is drawn into, and read too unless it has several samples.
pub(crate) fn texture(
    device: &wgpu::Device,
    [width, height, layers]: [u32; 3],
    sample_count: u32,
    format: TextureFormat,
) -> wgpu::Texture {
    // GL draws nothing into a texture of several samples that is read as well.
    let read = if sample_count == 1 {
        TextureUsages::TEXTURE_BINDING | TextureUsages::COPY_SRC
    } else {
        TextureUsages::empty()
    };
    device.create_texture(&wgpu::TextureDescriptor {
        label: None,
        size: wgpu::Extent3d { width, height, depth_or_array_layers: layers },
        mip_level_count: 1,
        sample_count,
        dimension: wgpu::TextureDimension::D2,
        format,
        usage: TextureUsages::RENDER_ATTACHMENT | read,
        view_formats: &[],
    })
}

/// What the passes of one picture draw into.
pub(crate) struct Targets {
    pub(crate) size: [u32; 2],
    /// Light and depth, of several samples a pixel.
    pub(crate) color: wgpu::TextureView,
    pub(crate) depth: wgpu::TextureView,
    /// The light of one pass.
    pub(crate) latest: wgpu::TextureView,
    /// The sums, in turn.
    pub(crate) sums: [wgpu::TextureView; 2],
    pub(crate) last: wgpu::Texture,
}

impl Targets {
    pub(crate) fn new(device: &wgpu::Device, size: [u32; 2]) -> Targets {
        let make = |samples, format| texture(device, [size[0], size[1], 1], samples, format);
        let view = |samples, format| make(samples, format).create_view(&wgpu::TextureViewDescriptor::default());
        Targets {
            size,
            color: view(SAMPLES, COLOR),
            depth: view(SAMPLES, DEPTH),
            latest: view(1, COLOR),
            sums: [view(1, SUM), view(1, SUM)],
            last: make(1, LAST),
        }
    }
}
