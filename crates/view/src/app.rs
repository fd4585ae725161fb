//! The window itself.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::Duration;

use eframe::wgpu;

use crate::desk::Desk;
use crate::error::{ViewError, unless_missing};
use crate::host::{Going, Host};
use crate::session::Session;
use crate::settings::Settings;

/// Opens the window and stays until it is closed.
///
/// # Errors
/// [`ViewError::Asked`], [`ViewError::Display`], [`ViewError::Driver`] or [`ViewError::Window`]; [`ViewError::Lost`] or [`ViewError::Settings`]
/// once it is closed.
pub fn open(host: Arc<dyn Host>, going: Going, adapter: Option<String>) -> Result<(), ViewError> {
    dryturn_render::Gpu::check_asked()?;
    let place = Settings::place();
    let (settings, damage) = place.as_deref().map(Settings::load).unwrap_or_default();
    let told = place.as_deref().zip(damage.as_ref()).map(|(file, damage)| damage.told(file));
    let is_damaged = damage.is_some();
    let place = place.filter(|_| damage.is_none_or(|damage| damage.may_be_replaced()));
    let title = host.file().display().to_string();
    let viewport = egui::ViewportBuilder::default()
        .with_title(format!("{title} — dryturn"))
        .with_app_id("dryturn")
        .with_inner_size(settings.window)
        .with_min_inner_size([720.0, 480.0]);
    let (lost, unkept) = (Told::default(), Told::default());
    let (losing, keeping) = (Arc::clone(&lost), Arc::clone(&unkept));
    let options = eframe::NativeOptions { viewport, ..Default::default() };
    // Nothing that is read or carved need wait for the window, which takes its time where the processor draws.
    let screen = Screen::default();
    let mut session = Session::new(host, going, adapter, waking(&screen));
    session.notes.extend(told);
    let start = move |context: &eframe::CreationContext<'_>| {
        let ctx = context.egui_ctx.clone();
        ctx.options_mut(|options| {
            options.zoom_with_keyboard = false;
            // The desk has a key of its own for that; with both, one stroke would be two.
            options.quit_shortcuts.clear();
        });
        if let Some(drawing) = &context.wgpu_render_state {
            watch(&drawing.device, &ctx, &losing);
        }
        screen.get_or_init(|| ctx);
        // What takes the place of a damaged file is written even if nothing else changes, so that it is told but once.
        let (saved, saved_at) = ((!is_damaged).then(|| settings.clone()), 0.0);
        Ok(Box::new(App { desk: Desk::new(session, settings), place, saved, saved_at, unkept: keeping })
            as Box<dyn eframe::App>)
    };
    let closed = unless_missing(|| Ok(eframe::run_native("dryturn", options, Box::new(start))?));
    let said = |told: &Told| told.lock().unwrap_or_else(PoisonError::into_inner).take();
    match (said(&lost), said(&unkept)) {
        (Some(why), _) => Err(ViewError::Lost(why)),
        (None, Some(why)) => Err(ViewError::Settings(why)),
        (None, None) => closed,
    }
}

/// What is told to draw anew, once there is a window.
type Screen = Arc<OnceLock<egui::Context>>;

/// Has a window drawn anew; before there is one nothing need be, for its first picture shows all there is.
fn waking(screen: &Screen) -> Arc<dyn Fn() + Send + Sync> {
    let screen = Arc::clone(screen);
    Arc::new(move || {
        if let Some(ctx) = screen.get() {
            ctx.request_repaint();
        }
    })
}

/// What went wrong while the window was open, for whoever has closed it.
type Told = Arc<Mutex<Option<String>>>;

/// Has the window close with a word where its device fails; the library would end the program, or show nothing new for ever.
fn watch(device: &wgpu::Device, ctx: &egui::Context, lost: &Told) {
    let close = |lost: &Told, ctx: &egui::Context, why: String| {
        lost.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(why);
        ctx.send_viewport_cmd(egui::ViewportCommand::Close);
        ctx.request_repaint();
    };
    let (of_errors, context) = (Arc::clone(lost), ctx.clone());
    device.on_uncaptured_error(Arc::new(move |error: wgpu::Error| close(&of_errors, &context, error.to_string())));
    let (of_loss, context) = (Arc::clone(lost), ctx.clone());
    device.set_device_lost_callback(move |reason, why| {
        // It is destroyed when the window is closed.
        if reason != wgpu::DeviceLostReason::Destroyed {
            close(&of_loss, &context, why);
        }
    });
}

/// Seconds after which changed settings are kept, so that nothing that ends the program loses them.
const KEEPS: f64 = 2.0;

struct App {
    desk: Desk,
    place: Option<PathBuf>,
    saved: Option<Settings>,
    saved_at: f64,
    unkept: Told,
}

impl App {
    fn keep(&mut self) {
        if self.saved.as_ref() == Some(&self.desk.settings) {
            return;
        }
        if let Some(place) = &self.place {
            let why = self.desk.settings.save(place).err();
            *self.unkept.lock().unwrap_or_else(PoisonError::into_inner) = why;
        }
        self.saved = Some(self.desk.settings.clone());
    }
}

impl eframe::App for App {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        let size = ui.ctx().content_rect().size() * ui.ctx().zoom_factor();
        self.desk.settings.window = [size.x.round(), size.y.round()];
        self.desk.ui(ui);
        let now = ui.input(|input| input.time);
        let still = self.saved_at + KEEPS - now;
        if still <= 0.0 {
            self.saved_at = now;
            self.keep();
        } else if self.saved.as_ref() != Some(&self.desk.settings) {
            // Where nothing happens after a change, no picture would come by to keep it with.
            ui.ctx().request_repaint_after(Duration::from_secs_f64(still));
        }
    }

    fn on_exit(&mut self) {
        self.keep();
    }

    fn clear_color(&self, _visuals: &egui::Visuals) -> [f32; 4] {
        crate::theme::Theme::new(self.desk.settings.dark).paper.to_normalized_gamma_f32()
    }
}

#[cfg(test)]
#[expect(clippy::print_stdout, reason = "a test that is skipped says why")]
mod tests {
    use super::*;

    #[test]
    fn a_device_that_fails_closes_the_window_with_a_word() {
        if let Err(why) = dryturn_render::Gpu::open(&dryturn_render::Wish::default()) {
            return println!("skipped: {why}");
        }
        let setup = egui_kittest::wgpu::default_wgpu_setup();
        let drawing = egui_kittest::wgpu::create_render_state(setup, eframe::egui_wgpu::RendererOptions::default());
        let (ctx, lost) = (egui::Context::default(), Told::default());
        watch(&drawing.device, &ctx, &lost);
        // More than any adapter has.
        let size = u64::MAX / 16 * 4;
        let usage = wgpu::BufferUsages::COPY_DST;
        let _ = drawing.device.create_buffer(&wgpu::BufferDescriptor {
            label: None,
            size,
            usage,
            mapped_at_creation: false,
        });
        assert!(lost.lock().unwrap().is_some());
        let mut output = ctx.run_ui(egui::RawInput::default(), |_| ());
        // Nothing is drawn with them here.
        output.textures_delta.clear();
        let commands = &output.viewport_output[&egui::ViewportId::ROOT].commands;
        assert!(commands.contains(&egui::ViewportCommand::Close), "{commands:?}");
    }
}
