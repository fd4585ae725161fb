//! The adapters of this machine, and the one that draws.

use std::fmt::Write as _;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use wgpu::{Backends, DeviceType, TextureFormat, TextureFormatFeatureFlags, TextureUsages};

use crate::RenderError;
use crate::passes::Passes;
use crate::targets::{COLOR, SEEN, SUM};

/// Which adapter is wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wish {
    /// A part of its name, in any case, or its number in [`Gpu::list`]. `None` takes the one named by the environment
    /// variable `WGPU_ADAPTER_NAME`, or else the best.
    pub adapter: Option<String>,
}

/// Something that draws: a graphics card, or a program that takes its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adapter {
    /// Its name as the driver tells it.
    pub name: String,
    /// The interface by which it is reached: Vulkan, Metal, DX12, GL.
    pub backend: String,
    /// The driver and its version.
    pub driver: String,
    /// A graphics card, or the processor.
    pub kind: &'static str,
    /// Whether the processor does the work.
    pub is_software: bool,
    /// The most pixels along a side of a picture.
    pub most_pixels: u32,
    /// The largest buffer, bytes: it bounds the triangles of a body.
    pub most_bytes: u64,
    /// What it lacks; `None` if it can draw.
    pub lacks: Option<&'static str>,
    rank: u8,
}

/// An adapter that is ready to draw.
pub struct Gpu {
    pub(crate) device: wgpu::Device,
    pub(crate) queue: wgpu::Queue,
    about: Adapter,
    why: String,
    fault: Arc<Mutex<Option<RenderError>>>,
    passes: OnceLock<Passes>,
}

impl Gpu {
    /// The adapters of this machine, in the order of their numbers. `WGPU_BACKEND` narrows the search, as do the
    /// variables of the drivers themselves.
    ///
    /// # Errors
    /// [`RenderError::NoSuchBackend`].
    pub fn list() -> Result<Vec<Adapter>, RenderError> {
        Ok(find()?.1.iter().map(about).collect())
    }

    /// Whether `WGPU_BACKEND` names none but interfaces that there are.
    ///
    /// # Errors
    /// [`RenderError::NoSuchBackend`].
    pub fn check_asked() -> Result<(), RenderError> {
        asked_for().map(drop)
    }

    /// Starts an adapter. Without a wish it is the most able one: a card of its own before one in the processor, that
    /// before software. `WGPU_POWER_PREF=low` turns the first two around.
    ///
    /// # Errors
    /// [`RenderError::NoAdapter`], [`RenderError::NoSuchAdapter`], [`RenderError::NoSuchBackend`],
    /// [`RenderError::Unfit`], [`RenderError::NotStarted`].
    pub fn open(wish: &Wish) -> Result<Gpu, RenderError> {
        let (backends, found) = find()?;
        let all: Vec<Adapter> = found.iter().map(about).collect();
        let wished = wish.adapter.clone().or_else(|| std::env::var("WGPU_ADAPTER_NAME").ok());
        let (number, why) = choose(&all, wished.as_deref(), &backends)?;
        Gpu::start(&found[number], all[number].clone(), why)
    }

    fn start(adapter: &wgpu::Adapter, about: Adapter, why: String) -> Result<Gpu, RenderError> {
        if let Some(lacks) = about.lacks {
            return Err(RenderError::Unfit { name: about.name, lacks: lacks.to_owned() });
        }
        let limits = adapter.limits();
        let most = wgpu::Limits::downlevel_defaults();
        let required_limits = wgpu::Limits {
            max_texture_dimension_2d: limits.max_texture_dimension_2d,
            max_buffer_size: limits.max_buffer_size,
            ..most
        };
        let descriptor = wgpu::DeviceDescriptor { label: Some("dryturn"), required_limits, ..Default::default() };
        let started = pollster::block_on(adapter.request_device(&descriptor));
        let (device, queue) =
            started.map_err(|error| RenderError::NotStarted { name: about.name.clone(), why: error.to_string() })?;
        let fault = Arc::new(Mutex::new(None));
        watch(&device, &fault);
        Ok(Gpu { device, queue, about, why, fault, passes: OnceLock::new() })
    }

    /// Makes ready what every picture needs, so that the first one need not.
    pub fn warm_up(&self) {
        self.passes();
    }

    pub(crate) fn passes(&self) -> &Passes {
        self.passes.get_or_init(|| Passes::new(&self.device))
    }

    /// The adapter that draws.
    pub fn about(&self) -> &Adapter {
        &self.about
    }

    /// Why this one was chosen; a sentence's rest, like "it is the only one".
    pub fn why(&self) -> &str {
        &self.why
    }

    /// Waits until all that was asked for is done.
    ///
    /// # Errors
    /// What went wrong since the last time.
    pub(crate) fn wait(&self) -> Result<(), RenderError> {
        let polled = self.device.poll(wgpu::PollType::wait_indefinitely());
        let fault = self.fault.lock().unwrap_or_else(PoisonError::into_inner).take();
        match (fault, polled) {
            (Some(fault), _) => Err(fault),
            (None, Err(error)) => Err(RenderError::Lost(error.to_string())),
            (None, Ok(_)) => Ok(()),
        }
    }

    /// The bytes of a texture of four bytes a pixel.
    ///
    /// # Errors
    /// What went wrong since the last time.
    pub(crate) fn read(&self, texture: &wgpu::Texture) -> Result<Vec<u8>, RenderError> {
        let size = texture.size();
        let row = size.width * 4;
        let stride = row.next_multiple_of(wgpu::COPY_BYTES_PER_ROW_ALIGNMENT);
        let buffer = self.device.create_buffer(&wgpu::BufferDescriptor {
            label: None,
            size: u64::from(stride) * u64::from(size.height),
            usage: wgpu::BufferUsages::COPY_DST | wgpu::BufferUsages::MAP_READ,
            mapped_at_creation: false,
        });
        let mut encoder = self.device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
        let layout = wgpu::TexelCopyBufferLayout { offset: 0, bytes_per_row: Some(stride), rows_per_image: None };
        let target = wgpu::TexelCopyBufferInfo { buffer: &buffer, layout };
        encoder.copy_texture_to_buffer(texture.as_image_copy(), target, size);
        self.queue.submit([encoder.finish()]);
        // What goes wrong here is told by the wait, or by the range that is not there.
        buffer.map_async(wgpu::MapMode::Read, .., |_| ());
        self.wait()?;
        let range = buffer.get_mapped_range(..).map_err(|error| RenderError::Lost(error.to_string()))?;
        let mut bytes = Vec::with_capacity(row as usize * size.height as usize);
        range.chunks_exact(stride as usize).for_each(|it| bytes.extend_from_slice(&it[..row as usize]));
        Ok(bytes)
    }
}

/// Has the first fault of a device remembered, where the library would end the program.
fn watch(device: &wgpu::Device, fault: &Arc<Mutex<Option<RenderError>>>) {
    let remember = |fault: &Mutex<Option<RenderError>>, error: RenderError| {
        fault.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(error);
    };
    let of_errors = Arc::clone(fault);
    device.on_uncaptured_error(Arc::new(move |error: wgpu::Error| {
        let told = match error {
            wgpu::Error::OutOfMemory { .. } => RenderError::OutOfMemory,
            error => RenderError::Refused(error.to_string()),
        };
        remember(&of_errors, told);
    }));
    let of_loss = Arc::clone(fault);
    device.set_device_lost_callback(move |reason, why| {
        if reason != wgpu::DeviceLostReason::Destroyed {
            remember(&of_loss, RenderError::Lost(why));
        }
    });
}

/// The interfaces that are asked, and the adapters they know.
fn find() -> Result<(String, Vec<wgpu::Adapter>), RenderError> {
    let backends = asked_for()?;
    let descriptor = wgpu::InstanceDescriptor::new_without_display_handle_from_env();
    let instance = wgpu::Instance::new(wgpu::InstanceDescriptor { backends, ..descriptor });
    Ok((names(backends), pollster::block_on(instance.enumerate_adapters(backends))))
}

/// The interfaces that `WGPU_BACKEND` names, or all.
fn asked_for() -> Result<Backends, RenderError> {
    asked(std::env::var("WGPU_BACKEND").ok().as_deref(), wgpu::Instance::enabled_backend_features())
}

/// The interfaces that are named, by commas, or else all that there are.
fn asked(named: Option<&str>, all: Backends) -> Result<Backends, RenderError> {
    let Some(named) = named.filter(|named| !named.trim().is_empty()) else { return Ok(all) };
    let of = |name: &str| {
        let found = Backends::from_comma_list(name) & all;
        let missing = || RenderError::NoSuchBackend { wish: name.trim().to_owned(), there: names(all) };
        if found.is_empty() { Err(missing()) } else { Ok(found) }
    };
    named.split(',').map(of).collect()
}

fn names(backends: Backends) -> String {
    backends.iter_names().map(|(name, _)| name.to_lowercase()).collect::<Vec<_>>().join(", ")
}

fn about(adapter: &wgpu::Adapter) -> Adapter {
    let info = adapter.get_info();
    let limits = adapter.limits();
    let is_low = wgpu::PowerPreference::from_env() == Some(wgpu::PowerPreference::LowPower);
    let (kind, rank) = match info.device_type {
        DeviceType::DiscreteGpu => ("graphics card", if is_low { 1 } else { 0 }),
        DeviceType::IntegratedGpu => ("graphics in the processor", if is_low { 0 } else { 1 }),
        DeviceType::VirtualGpu => ("graphics card of a virtual machine", 2),
        DeviceType::Other => ("unknown", 3),
        DeviceType::Cpu => ("software, on the processor", 4),
    };
    // What GL knows, another interface mostly knows too, and better.
    let rank = 2 * rank + u8::from(info.backend == wgpu::Backend::Gl);
    Adapter {
        name: info.name,
        backend: format!("{:?}", info.backend),
        driver: [info.driver, info.driver_info].join(" ").trim().to_owned(),
        kind,
        is_software: info.device_type == DeviceType::Cpu,
        most_pixels: limits.max_texture_dimension_2d,
        most_bytes: limits.max_buffer_size,
        lacks: lacks(adapter),
        rank,
    }
}

/// What an adapter lacks of what the passes need.
fn lacks(adapter: &wgpu::Adapter) -> Option<&'static str> {
    let draws = |format: TextureFormat| {
        adapter.get_texture_format_features(format).allowed_usages.contains(TextureUsages::RENDER_ATTACHMENT)
    };
    if !draws(SUM) {
        Some("pictures of whole floating point numbers")
    } else if !draws(SEEN) {
        Some("pictures of whole numbers")
    } else if !adapter.get_texture_format_features(COLOR).flags.contains(TextureFormatFeatureFlags::BLENDABLE) {
        Some("light that adds up")
    } else {
        None
    }
}

/// The number of the adapter to take, and why.
fn choose(all: &[Adapter], wish: Option<&str>, backends: &str) -> Result<(usize, String), RenderError> {
    if all.is_empty() {
        return Err(RenderError::NoAdapter { backends: backends.to_owned() });
    }
    if let Some(wish) = wish {
        let by_number = wish.parse().ok().filter(|number| *number < all.len());
        let part = wish.to_lowercase();
        let by_name = || all.iter().position(|adapter| adapter.name.to_lowercase().contains(&part));
        let number = by_number.or_else(by_name);
        let missing = || RenderError::NoSuchAdapter { wish: wish.to_owned(), there: numbered(all) };
        return Ok((number.ok_or_else(missing)?, format!("it was asked for as `{wish}`")));
    }
    let best = (0..all.len()).min_by_key(|number| (all[*number].lacks.is_some(), all[*number].rank)).unwrap_or(0);
    let why = if all.len() == 1 {
        "it is the only one"
    } else if all[best].is_software {
        "there is no graphics card that could"
    } else {
        "it is the most able"
    };
    Ok((best, why.to_owned()))
}

fn numbered(all: &[Adapter]) -> String {
    all.iter().enumerate().fold(String::new(), |mut text, (number, adapter)| {
        let comma = if number == 0 { "" } else { ", " };
        let _ = write!(text, "{comma}{number} {} ({})", adapter.name, adapter.backend);
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn adapter(name: &str, rank: u8) -> Adapter {
        Adapter {
            name: name.to_owned(),
            backend: "Vulkan".to_owned(),
            driver: String::new(),
            kind: "",
            is_software: rank >= 8,
            most_pixels: 8192,
            most_bytes: 1 << 30,
            lacks: None,
            rank,
        }
    }

    #[test]
    fn the_most_able_adapter_is_taken_unless_another_is_named() {
        let all = [adapter("Soft Painter", 8), adapter("Card One", 0), adapter("Card Two", 2)];
        assert_eq!(choose(&all, None, "").unwrap().0, 1);
        assert_eq!(choose(&all, Some("two"), "").unwrap().0, 2);
        assert_eq!(choose(&all, Some("0"), "").unwrap().0, 0);
        assert_eq!(choose(&all[..1], None, "").unwrap(), (0, "it is the only one".to_owned()));
    }

    #[test]
    fn interfaces_that_there_are_not_are_refused_with_those_that_there_are() {
        let all = Backends::VULKAN | Backends::GL;
        for (named, found) in [(None, all), (Some(" "), all), (Some("vk, GL"), all), (Some("gl"), Backends::GL)] {
            assert_eq!(asked(named, all).unwrap(), found, "{named:?}");
        }
        let there = "vulkan, gl".to_owned();
        assert_eq!(asked(Some("gl,foo"), all), Err(RenderError::NoSuchBackend { wish: "foo".to_owned(), there }));
        assert!(asked(Some("metal"), all).unwrap_err().to_string().contains("vulkan, gl"));
    }

    #[test]
    fn an_adapter_that_cannot_draw_comes_last() {
        let mut all = [adapter("Card One", 0), adapter("Soft Painter", 8)];
        all[0].lacks = Some("light that adds up");
        assert_eq!(choose(&all, None, "").unwrap(), (1, "there is no graphics card that could".to_owned()));
    }

    #[test]
    fn what_cannot_be_had_is_told_with_what_to_do() {
        let error = choose(&[], None, "vulkan, gl").unwrap_err().to_string();
        assert!(error.contains("mesa-vulkan-drivers") && error.contains("vulkan, gl"), "{error}");
        let error = choose(&[adapter("Card One", 0)], Some("nine"), "").unwrap_err().to_string();
        assert_eq!(error, "no graphics adapter is called `nine`; there are: 0 Card One (Vulkan)");
    }
}
