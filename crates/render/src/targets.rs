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
/// What is seen at a sample: a direction, and what is there.
pub(crate) const SEEN: TextureFormat = TextureFormat::Rg32Uint;
/// Samples along a side of a pixel; the shaders count on two.
pub(crate) const SIDE: u32 = 2;

/// Samples a pixel of a live picture that is smooth.
pub(crate) const SAMPLES: u32 = 4;

/// A texture of one level that is drawn into and read.
pub(crate) fn texture(device: &wgpu::Device, size: [u32; 3], format: TextureFormat) -> wgpu::Texture {
    sampled(device, size, 1, format)
}

/// A texture of one level that is drawn into, and read too unless it has several samples.
pub(crate) fn sampled(
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

/// All of a texture.
pub(crate) fn whole(texture: &wgpu::Texture) -> wgpu::TextureView {
    texture.create_view(&wgpu::TextureViewDescriptor::default())
}

/// Light of one pass, and the sums of all passes.
pub(crate) struct Sums {
    pub(crate) latest: wgpu::TextureView,
    /// The sums, in turn: after so many passes the sum is in the one whose number is theirs, modulo two.
    pub(crate) sums: [wgpu::TextureView; 2],
}

impl Sums {
    pub(crate) fn new(device: &wgpu::Device, [width, height]: [u32; 2]) -> Sums {
        let view = |format| whole(&texture(device, [width, height, 1], format));
        Sums { latest: view(COLOR), sums: [view(SUM), view(SUM)] }
    }

    pub(crate) fn after(&self, passes: u32) -> &wgpu::TextureView {
        &self.sums[passes as usize % 2]
    }
}

/// What one picture, or a part of it, is drawn into.
pub(crate) struct Targets {
    /// What is seen at each sample, and how deep.
    pub(crate) seen: wgpu::TextureView,
    pub(crate) depth: wgpu::TextureView,
    pub(crate) sums: Sums,
    pub(crate) last: wgpu::Texture,
}

impl Targets {
    pub(crate) fn new(device: &wgpu::Device, [width, height]: [u32; 2]) -> Targets {
        let samples = |format| whole(&texture(device, [SIDE * width, SIDE * height, 1], format));
        Targets {
            seen: samples(SEEN),
            depth: samples(DEPTH),
            sums: Sums::new(device, [width, height]),
            last: texture(device, [width, height, 1], LAST),
        }
    }
}
