//! Why there is no scene.

/// Why there is no scene.
#[derive(Debug, thiserror::Error)]
pub enum NewError {
    /// No program was named.
    #[error("there is no program: name one or more, in the order they run")]
    None,
    /// A file could not be read.
    #[error("cannot read {file}: {source}")]
    Read {
        /// The file.
        file: String,
        /// What the system says.
        source: std::io::Error,
    },
    /// A file is no program.
    #[error("{file}: {reason}")]
    NotAProgram {
        /// The file.
        file: String,
        /// Why it is none.
        reason: String,
    },
    /// A program cuts nothing.
    #[error(
        "{file}: no line of it moves anything at feed, so there is nothing to guess from: `dryturn inspect` tells what it is"
    )]
    Still {
        /// The file.
        file: String,
    },
    /// A program goes farther than any shop does.
    #[error("{file}: it goes to {letter} {mm} mm at feed, farther than any blank reaches: look at its units")]
    Far {
        /// The file.
        file: String,
        /// The word.
        letter: char,
        /// How far, mm.
        mm: f64,
    },
}
