//! The passes as the adapter runs them: shaders, and what they are bound to.

use wgpu::util::DeviceExt;
use wgpu::{
    BindGroupLayout, BindingType, ColorTargetState, CompareFunction, Face, RenderPipeline, ShaderStages, TextureFormat,
    TextureSampleType, TextureViewDimension, VertexAttribute, VertexFormat,
};

use crate::targets::{COLOR, DEPTH, DISTANCE, LAST, SEEN, SUM};
use crate::vertices::Vertex;

/// What every pass over bodies reads first.
const COMMON: &str = include_str!("../../../shaders/common.wgsl");

/// What is drawn and what is there are added up.
const ADDED: wgpu::BlendComponent = wgpu::BlendComponent {
    src_factor: wgpu::BlendFactor::One,
    dst_factor: wgpu::BlendFactor::One,
    operation: wgpu::BlendOperation::Add,
};

/// A drawing of bodies, as they are and cut by a section.
pub(crate) struct Pair {
    pub(crate) whole: RenderPipeline,
    pub(crate) cut: RenderPipeline,
}

/// All passes.
pub(crate) struct Passes {
    /// The frame alone, for passes that draw maps of shadows.
    pub(crate) frame: BindGroupLayout,
    /// The frame with the maps.
    pub(crate) lit: BindGroupLayout,
    /// The frame with the maps and what is seen.
    pub(crate) all: BindGroupLayout,
    pub(crate) body: BindGroupLayout,
    pub(crate) pictures: BindGroupLayout,
    pub(crate) ending: BindGroupLayout,
    pub(crate) shadow: Pair,
    pub(crate) seen: Pair,
    pub(crate) shade_wood: RenderPipeline,
    pub(crate) shade_plain: RenderPipeline,
    pub(crate) distance: Pair,
    pub(crate) bake: RenderPipeline,
    pub(crate) ground: RenderPipeline,
    pub(crate) sum: RenderPipeline,
    pub(crate) last: RenderPipeline,
}

/// What tells one pipeline from another.
struct Plan<'a> {
    name: &'a str,
    source: &'a str,
    /// What is read before the source.
    common: &'a str,
    has_vertices: bool,
    groups: &'a [&'a BindGroupLayout],
    vertex: &'a str,
    fragment: Option<&'a str>,
    /// Values that the shader leaves open.
    constants: &'a [(&'a str, f64)],
    color: Option<TextureFormat>,
    depth: Option<TextureFormat>,
    /// Whether what is drawn adds to what is there.
    adds: bool,
    hides: Option<Face>,
}

impl Passes {
    pub(crate) fn new(device: &wgpu::Device) -> Passes {
        let frame = layout(device, &[uniform()]);
        let lit = layout(device, &[uniform(), depths(), texels()]);
        let all = layout(device, &[uniform(), depths(), texels(), numbers(), depths()]);
        let body = layout(device, &[uniform()]);
        let pictures = layout(device, &[picture(), picture()]);
        let ending = layout(device, &[uniform(), picture()]);
        let over = |plan: Plan<'_>| plan.pipeline(device);
        let shadow = Plan {
            name: "shadow",
            source: include_str!("../../../shaders/shadow.wgsl"),
            common: COMMON,
            has_vertices: true,
            groups: &[&frame, &body],
            vertex: "place",
            fragment: None,
            constants: &[],
            color: None,
            depth: Some(DEPTH),
            adds: false,
            // Of a closed body the faces turned away from the light keep it off as well, and do not darken themselves.
            hides: Some(Face::Front),
        };
        let seen = Plan {
            name: "seen",
            source: include_str!("../../../shaders/seen.wgsl"),
            fragment: Some("whole"),
            color: Some(SEEN),
            hides: Some(Face::Back),
            ..shadow
        };
        let distance = Plan {
            name: "distance",
            source: include_str!("../../../shaders/distance.wgsl"),
            color: Some(DISTANCE),
            ..seen
        };
        let shade = Plan {
            name: "shade",
            source: include_str!("../../../shaders/shade.wgsl"),
            has_vertices: false,
            groups: &[&all, &body],
            vertex: "cover",
            fragment: Some("lit"),
            color: Some(COLOR),
            depth: None,
            adds: true,
            hides: None,
            ..seen
        };
        let bake = Plan {
            name: "bake",
            source: include_str!("../../../shaders/bake.wgsl"),
            groups: &[&lit],
            vertex: "place",
            fragment: Some("shadow"),
            adds: false,
            ..shade
        };
        let ground = Plan {
            name: "ground",
            source: include_str!("../../../shaders/ground.wgsl"),
            groups: &[&all, &pictures],
            vertex: "cover",
            color: Some(SUM),
            ..bake
        };
        let sum = Plan {
            name: "sum",
            source: include_str!("../../../shaders/sum.wgsl"),
            common: "",
            groups: &[&pictures],
            vertex: "cover",
            fragment: Some("add"),
            color: Some(SUM),
            ..bake
        };
        let last = Plan {
            name: "last",
            source: include_str!("../../../shaders/last.wgsl"),
            groups: &[&ending],
            fragment: Some("finish"),
            color: Some(LAST),
            ..sum
        };
        Passes {
            shadow: shadow.pair(device),
            seen: seen.pair(device),
            shade_wood: over(Plan { constants: &[("IS_WOOD", 1.0)], ..shade }),
            shade_plain: over(Plan { constants: &[("IS_WOOD", 0.0)], ..shade }),
            distance: distance.pair(device),
            bake: over(bake),
            ground: over(ground),
            sum: over(sum),
            last: over(last),
            frame,
            lit,
            all,
            body,
            pictures,
            ending,
        }
    }
}

impl Plan<'_> {
    fn pair(self, device: &wgpu::Device) -> Pair {
        // Cut open, a body shows its faces from both sides.
        let cut = Plan { fragment: Some("cut"), hides: None, ..self };
        Pair { cut: cut.pipeline(device), whole: self.pipeline(device) }
    }

    fn pipeline(&self, device: &wgpu::Device) -> RenderPipeline {
        let source = wgpu::ShaderSource::Wgsl(format!("{}{}", self.common, self.source).into());
        let module = device.create_shader_module(wgpu::ShaderModuleDescriptor { label: Some(self.name), source });
        let groups: Vec<Option<&BindGroupLayout>> = self.groups.iter().map(|group| Some(*group)).collect();
        let layout = device.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
            label: Some(self.name),
            bind_group_layouts: &groups,
            immediate_size: 0,
        });
        let buffers = if self.has_vertices { vec![Some(vertices())] } else { vec![] };
        let blend = self.adds.then_some(wgpu::BlendState { color: ADDED, alpha: ADDED });
        let target = |format: TextureFormat| Some(ColorTargetState { blend, ..format.into() });
        let targets: Vec<Option<ColorTargetState>> = self.color.into_iter().map(target).collect();
        let compilation_options = wgpu::PipelineCompilationOptions { constants: self.constants, ..Default::default() };
        device.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some(self.name),
            layout: Some(&layout),
            vertex: wgpu::VertexState {
                module: &module,
                entry_point: Some(self.vertex),
                compilation_options: compilation_options.clone(),
                buffers: &buffers,
            },
            primitive: wgpu::PrimitiveState { cull_mode: self.hides, ..Default::default() },
            depth_stencil: self.depth.map(|format| wgpu::DepthStencilState {
                format,
                depth_write_enabled: Some(true),
                depth_compare: Some(CompareFunction::Less),
                stencil: wgpu::StencilState::default(),
                bias: wgpu::DepthBiasState::default(),
            }),
            multisample: wgpu::MultisampleState::default(),
            fragment: self.fragment.map(|entry| wgpu::FragmentState {
                module: &module,
                entry_point: Some(entry),
                compilation_options,
                targets: &targets,
            }),
            multiview_mask: None,
            cache: None,
        })
    }
}

fn vertices() -> wgpu::VertexBufferLayout<'static> {
    const ATTRIBUTES: [VertexAttribute; 3] = [
        VertexAttribute { format: VertexFormat::Float32x3, offset: 0, shader_location: 0 },
        VertexAttribute { format: VertexFormat::Snorm16x4, offset: 12, shader_location: 1 },
        VertexAttribute { format: VertexFormat::Uint8x4, offset: 20, shader_location: 2 },
    ];
    wgpu::VertexBufferLayout {
        array_stride: size_of::<Vertex>() as u64,
        step_mode: wgpu::VertexStepMode::Vertex,
        attributes: &ATTRIBUTES,
    }
}

pub(crate) fn layout(device: &wgpu::Device, types: &[BindingType]) -> BindGroupLayout {
    let entry = |(binding, ty): (usize, &BindingType)| wgpu::BindGroupLayoutEntry {
        binding: binding as u32,
        visibility: ShaderStages::VERTEX_FRAGMENT,
        ty: *ty,
        count: None,
    };
    let entries: Vec<wgpu::BindGroupLayoutEntry> = types.iter().enumerate().map(entry).collect();
    device.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor { label: None, entries: &entries })
}

pub(crate) fn uniform() -> BindingType {
    BindingType::Buffer { ty: wgpu::BufferBindingType::Uniform, has_dynamic_offset: false, min_binding_size: None }
}

fn texels() -> BindingType {
    BindingType::Sampler(wgpu::SamplerBindingType::NonFiltering)
}

fn depths() -> BindingType {
    read(TextureSampleType::Depth, TextureViewDimension::D2)
}

fn numbers() -> BindingType {
    read(TextureSampleType::Uint, TextureViewDimension::D2)
}

fn picture() -> BindingType {
    read(TextureSampleType::Float { filterable: false }, TextureViewDimension::D2)
}

fn read(sample_type: TextureSampleType, view_dimension: TextureViewDimension) -> BindingType {
    BindingType::Texture { sample_type, view_dimension, multisampled: false }
}

/// Resources bound in the order of their numbers.
pub(crate) fn bind<const N: usize>(
    device: &wgpu::Device,
    layout: &BindGroupLayout,
    resources: [wgpu::BindingResource<'_>; N],
) -> wgpu::BindGroup {
    let numbered = (0..).zip(resources);
    let entries: Vec<_> = numbered.map(|(binding, resource)| wgpu::BindGroupEntry { binding, resource }).collect();
    device.create_bind_group(&wgpu::BindGroupDescriptor { label: None, layout, entries: &entries })
}

/// A buffer of what a pass is told.
pub(crate) fn told(device: &wgpu::Device, contents: &[u8]) -> wgpu::Buffer {
    let usage = wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST;
    device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents, usage })
}

/// What is drawn into: a view, and what it is cleared to.
pub(crate) type Into<'a> = (&'a wgpu::TextureView, wgpu::Color);

/// Begins a pass with everything cleared.
pub(crate) fn begin<'a>(
    encoder: &'a mut wgpu::CommandEncoder,
    color: Option<Into<'_>>,
    depth: Option<&wgpu::TextureView>,
) -> wgpu::RenderPass<'a> {
    begin_smooth(encoder, color.map(|(view, clear)| (view, None, clear)), depth)
}

/// Begins a pass with everything cleared whose samples are resolved to another view, where there is one.
pub(crate) fn begin_smooth<'a>(
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
