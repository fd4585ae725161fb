//! Loads of strokes whose wood is known, on whole jobs.

mod carved;
mod settings;
mod strokes;
