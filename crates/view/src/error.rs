//! Why there is no window, or no window any more.

use std::any::Any;
use std::panic::{self, AssertUnwindSafe};

/// Why there is no window, or none any more.
#[derive(Debug, thiserror::Error)]
pub enum ViewError {
    /// What is asked to draw it is not there.
    #[error("no window can be opened: {0}")]
    Asked(#[from] dryturn_render::RenderError),
    /// Nothing to open it on.
    #[error(
        "no window can be opened: {0}; a window needs a display: start dryturn on a desktop, or let DISPLAY or WAYLAND_DISPLAY name one (Debian: libxkbcommon-x11-0); `dryturn still` draws without one"
    )]
    Display(String),
    /// Nothing that draws it.
    #[error(
        "no window can be opened: nothing here draws it ({0}); a window needs a driver for Vulkan or GL (Debian: mesa-vulkan-drivers); `dryturn prove` does without one"
    )]
    Driver(String),
    /// Something else was in the way.
    #[error("no window can be opened: {0}; `dryturn prove` does without one")]
    Window(String),
    /// What drew it does so no more.
    #[error(
        "the window is closed, for what drew it failed: {0}; what was set is kept, so open it again; should it fail again, bring the graphics driver up to date"
    )]
    Lost(String),
    /// What was set could not be kept.
    #[error("the window's settings are not kept: {0}")]
    Settings(String),
}

impl From<eframe::Error> for ViewError {
    fn from(error: eframe::Error) -> ViewError {
        let words = words_of(&error.to_string()).to_owned();
        match error {
            eframe::Error::Winit(_) | eframe::Error::WinitEventLoop(_) => ViewError::Display(words),
            eframe::Error::Wgpu(_) => ViewError::Driver(words),
            eframe::Error::AppCreation(_) => ViewError::Window(words),
        }
    }
}

/// Opens something. Where a library of the system is missing, winit panics; that is told like any other reason.
pub(crate) fn unless_missing(open: impl FnOnce() -> Result<(), ViewError>) -> Result<(), ViewError> {
    let usual = panic::take_hook();
    panic::set_hook(Box::new(move |about| {
        if missing(about.payload()).is_none() {
            usual(about);
        }
    }));
    panic::catch_unwind(AssertUnwindSafe(open)).unwrap_or_else(|payload| match missing(&*payload) {
        Some(what) => Err(ViewError::Display(what)),
        None => panic::resume_unwind(payload),
    })
}

/// What is said where a library of the system is missing, if it is that what a panic says.
fn missing(payload: &(dyn Any + Send)) -> Option<String> {
    let said =
        payload.downcast_ref::<&str>().copied().or_else(|| payload.downcast_ref::<String>().map(String::as_str))?;
    let is_it = said.starts_with("Library ") && said.contains("could not be loaded");
    is_it.then(|| format!("the l{}", said.trim_start_matches('L').trim_end_matches('.')))
}

/// What a library says, without the place in its source, which helps nobody here.
fn words_of(told: &str) -> &str {
    let after_place = told.rsplit_once(".rs:").and_then(|(_, rest)| rest.split_once(": "));
    after_place.map_or(told, |(_, words)| words).trim_end_matches(['.', ' '])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_in_the_source_of_libraries_are_left_out() {
        let told = "EventLoopError: os error at /home/me/src/linux/mod.rs:765: neither ONE nor OTHER is set.";
        assert_eq!(words_of(told), "neither ONE nor OTHER is set");
        assert_eq!(words_of("the adapter is gone"), "the adapter is gone");
    }

    #[test]
    fn a_library_that_is_missing_is_told_and_other_panics_go_on() {
        let told = unless_missing(|| panic!("Library libpaint.so could not be loaded."));
        let told = told.unwrap_err().to_string();
        assert!(told.contains("the library libpaint.so could not be loaded; a window needs"), "{told}");
        assert!(missing(&"out of range").is_none());
    }
}
