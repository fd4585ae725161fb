//! The window itself.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use crate::desk::Desk;
use crate::host::{Going, Host};
use crate::session::Session;
use crate::settings::Settings;

/// Why there is no window.
#[derive(Debug, thiserror::Error)]
pub enum ViewError {
    /// None could be opened.
    #[error(
        "no window can be opened: {0}; a window needs a display, and a driver for Vulkan or GL (Debian: libxkbcommon-x11-0, mesa-vulkan-drivers); `dryturn still` draws without one"
    )]
    Window(String),
    /// What was set could not be kept.
    #[error("the window's settings are not kept: {0}")]
    Settings(String),
}

/// Opens the window and stays until it is closed.
///
/// # Errors
/// [`ViewError::Window`]; [`ViewError::Settings`] once it is closed.
pub fn open(host: Arc<dyn Host>, going: Going, adapter: Option<String>) -> Result<(), ViewError> {
    let place = Settings::place();
    let settings = place.as_deref().map(Settings::load).unwrap_or_default();
    let title = host.file().display().to_string();
    let viewport = egui::ViewportBuilder::default()
        .with_title(format!("{title} — dryturn"))
        .with_app_id("dryturn")
        .with_inner_size(settings.window)
        .with_min_inner_size([720.0, 480.0]);
    let unkept: Unkept = Arc::default();
    let kept = Arc::clone(&unkept);
    let options = eframe::NativeOptions { viewport, ..Default::default() };
    let start = move |context: &eframe::CreationContext<'_>| {
        let ctx = context.egui_ctx.clone();
        ctx.options_mut(|options| options.zoom_with_keyboard = false);
        let wake = Arc::new(move || ctx.request_repaint());
        let session = Session::new(host, going, adapter, wake);
        let (saved, saved_at) = (settings.clone(), 0.0);
        Ok(Box::new(App { desk: Desk::new(session, settings), place, saved, saved_at, unkept: kept })
            as Box<dyn eframe::App>)
    };
    eframe::run_native("dryturn", options, Box::new(start)).map_err(|error| ViewError::Window(error.to_string()))?;
    let why = unkept.lock().unwrap_or_else(PoisonError::into_inner).take();
    why.map_or(Ok(()), |why| Err(ViewError::Settings(why)))
}

/// Why settings could not be kept, for whoever has closed the window.
type Unkept = Arc<Mutex<Option<String>>>;

/// Seconds after which changed settings are kept, so that nothing that ends the program loses them.
const KEEPS: f64 = 2.0;

struct App {
    desk: Desk,
    place: Option<PathBuf>,
    saved: Settings,
    saved_at: f64,
    unkept: Unkept,
}

impl App {
    fn keep(&mut self) {
        if self.saved == self.desk.settings {
            return;
        }
        if let Some(place) = &self.place {
            let why = self.desk.settings.save(place).err();
            *self.unkept.lock().unwrap_or_else(PoisonError::into_inner) = why;
        }
        self.saved = self.desk.settings.clone();
    }
}

impl eframe::App for App {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        let size = ui.ctx().content_rect().size() * ui.ctx().zoom_factor();
        self.desk.settings.window = [size.x, size.y];
        self.desk.ui(ui);
        let now = ui.input(|input| input.time);
        if now - self.saved_at > KEEPS {
            self.saved_at = now;
            self.keep();
        }
    }

    fn on_exit(&mut self) {
        self.keep();
    }

    fn clear_color(&self, _visuals: &egui::Visuals) -> [f32; 4] {
        crate::theme::Theme::new(self.desk.settings.dark).paper.to_normalized_gamma_f32()
    }
}
