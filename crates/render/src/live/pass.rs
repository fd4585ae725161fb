//! The one pass of live pictures, as the adapter runs it.

use std::sync::OnceLock;

use wgpu::{BlendState, CompareFunction, RenderPipeline, TextureFormat, VertexAttribute, VertexFormat};

use super::Corner;
use crate::passes::{layout, uniform};
use crate::targets::DEPTH;

/// The picture: sRGB as bytes.
pub(super) const COLOR: TextureFormat = TextureFormat::Rgba8Unorm;

/// The pass for bodies whole and cut, opaque and not, with one sample a pixel and with several; each is made when it is first
/// asked for, since a software driver takes its time for every one and the first picture needs only some.
pub(super) struct Passes {
    pub(super) group: wgpu::BindGroupLayout,
    device: wgpu::Device,
    module: wgpu::ShaderModule,
    bound: wgpu::PipelineLayout,
    pipelines: [OnceLock<RenderPipeline>; 8],
}

impl Passes {
    pub(super) fn new(device: &wgpu::Device) -> Passes {
        let group = layout(device, &[uniform()]);
        let source = wgpu::ShaderSource::Wgsl(include_str!("../../../../shaders/live.wgsl").into());
        let module = device.create_shader_module(wgpu::ShaderModuleDescriptor { label: Some("live"), source });
        let bound = device.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
            label: Some("live"),
            bind_group_layouts: &[Some(&group)],
            immediate_size: 0,
        });
        Passes { group, device: device.clone(), module, bound, pipelines: Default::default() }
    }

    /// The pass of so many samples, for a body that is cut or not and that lets the ground through or not.
    pub(super) fn of(&self, samples: u32, is_cut: bool, is_clear: bool) -> &RenderPipeline {
        let place = usize::from(samples > 1) + 2 * usize::from(is_cut) + 4 * usize::from(is_clear);
        let make = || pipeline(&self.device, &self.module, &self.bound, (samples, is_cut, is_clear));
        self.pipelines[place].get_or_init(make)
    }
}

fn pipeline(
    device: &wgpu::Device,
    module: &wgpu::ShaderModule,
    layout: &wgpu::PipelineLayout,
    (samples, is_cut, is_clear): (u32, bool, bool),
) -> RenderPipeline {
    const ATTRIBUTES: [VertexAttribute; 3] = [
        VertexAttribute { format: VertexFormat::Float32x3, offset: 0, shader_location: 0 },
        VertexAttribute { format: VertexFormat::Snorm8x4, offset: 12, shader_location: 1 },
        VertexAttribute { format: VertexFormat::Unorm8x4, offset: 16, shader_location: 2 },
    ];
    let corners = wgpu::VertexBufferLayout {
        array_stride: size_of::<Corner>() as u64,
        step_mode: wgpu::VertexStepMode::Vertex,
        attributes: &ATTRIBUTES,
    };
    let blend = is_clear.then_some(BlendState::PREMULTIPLIED_ALPHA_BLENDING);
    let target = wgpu::ColorTargetState { format: COLOR, blend, write_mask: wgpu::ColorWrites::ALL };
    device.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
        label: Some("live"),
        layout: Some(layout),
        vertex: wgpu::VertexState {
            module,
            entry_point: Some("place"),
            compilation_options: wgpu::PipelineCompilationOptions::default(),
            buffers: &[Some(corners)],
        },
        primitive: wgpu::PrimitiveState {
            cull_mode: (!is_cut).then_some(wgpu::Face::Back),
            ..wgpu::PrimitiveState::default()
        },
        depth_stencil: Some(wgpu::DepthStencilState {
            format: DEPTH,
            depth_write_enabled: Some(true),
            depth_compare: Some(CompareFunction::Less),
            stencil: wgpu::StencilState::default(),
            bias: wgpu::DepthBiasState::default(),
        }),
        multisample: wgpu::MultisampleState { count: samples, ..Default::default() },
        fragment: Some(wgpu::FragmentState {
            module,
            entry_point: Some(if is_cut { "cut" } else { "whole" }),
            compilation_options: wgpu::PipelineCompilationOptions::default(),
            targets: &[Some(target)],
        }),
        multiview_mask: None,
        cache: None,
    })
}
