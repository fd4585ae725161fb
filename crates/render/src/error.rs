//! Why there is no picture.

/// Why there is no picture.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RenderError {
    /// Nothing on this machine can draw.
    #[error("{}", no_adapter(backends))]
    NoAdapter {
        /// The drivers' interfaces that were asked.
        backends: String,
    },
    /// No adapter answers to the wish.
    #[error("no graphics adapter is called `{wish}`; there are: {there}")]
    NoSuchAdapter {
        /// What was wished for.
        wish: String,
        /// Those that there are, by number and name.
        there: String,
    },
    /// `WGPU_BACKEND` names an interface of drivers that this program does not know, or not on this system.
    #[error("WGPU_BACKEND asks for `{wish}`, which drivers here are not reached by; it may name: {there}")]
    NoSuchBackend {
        /// What was asked for.
        wish: String,
        /// Those that there are.
        there: String,
    },
    /// The adapter cannot do what a picture takes.
    #[error("{name} cannot draw these pictures: it lacks {lacks}; name another with --adapter, or {INSTALL}")]
    Unfit {
        /// The adapter.
        name: String,
        /// What is missing.
        lacks: String,
    },
    /// The adapter would not start.
    #[error("{name} could not be started: {why}")]
    NotStarted {
        /// The adapter.
        name: String,
        /// Its own words.
        why: String,
    },
    /// The adapter went away while it drew.
    #[error("the graphics adapter was lost while it drew: {0}; try again, or name another with --adapter")]
    Lost(String),
    /// The adapter has not the memory for the picture.
    #[error("the graphics adapter has not enough memory for this picture: take a smaller size or a coarser pitch")]
    OutOfMemory,
    /// The adapter would not draw.
    #[error("the graphics adapter would not draw: {0}")]
    Refused(String),
    /// The picture has no pixel, or more along a side than the adapter can draw.
    #[error("a picture of {width} × {height} pixels cannot be drawn: a side may have 1 to {most}")]
    Size {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
        /// The most along a side.
        most: u32,
    },
    /// A body has more vertices or triangles than the adapter takes.
    #[error("the piece has too many triangles for this graphics adapter: take a coarser pitch")]
    TooManyTriangles,
    /// There is no room for the numbers of so many finishes.
    #[error("the bodies of a picture may be of 63 different finishes at most")]
    TooManyFinishes,
    /// Nothing is left to be shown.
    #[error("there is nothing to show: no body, or the section takes all of it away")]
    Nothing,
    /// A number that says nothing, like a section plane without a direction.
    #[error("{0}")]
    Senseless(&'static str),
    /// The run was told to end early.
    #[error("the run was interrupted")]
    Cancelled,
    /// The threads could not be started.
    #[error("the worker threads could not be started: {0}")]
    Threads(String),
}

/// What brings an adapter that can draw.
const INSTALL: &str =
    "install a driver that draws on the processor: Debian and Ubuntu `sudo apt-get install -y mesa-vulkan-drivers`";

fn no_adapter(backends: &str) -> String {
    format!("no graphics adapter was found (asked: {backends}); {INSTALL}")
}
