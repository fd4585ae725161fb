//! Writers that know nothing of files that are whole or not at all, and such files.

use std::io::{self, Write};

use dryturn_report::{Draft, Whole, WriteError};

/// A draft as a writer; what it refuses is kept, for it says more than the error of a writer can. After that it takes
/// everything and keeps nothing.
pub(crate) struct Sink<'a> {
    draft: Draft<'a>,
    refused: Option<WriteError>,
}

/// Why a file did not become whole.
pub(crate) enum SinkError {
    /// The system, or whoever interrupted.
    Refused(WriteError),
    /// The writer itself.
    Writer(io::Error),
}

impl<'a> Sink<'a> {
    pub(crate) fn new(draft: Draft<'a>) -> Sink<'a> {
        Sink { draft, refused: None }
    }

    /// The whole file, after a writer has ended like this.
    pub(crate) fn finish(self, written: io::Result<()>) -> Result<Whole, SinkError> {
        match (self.refused, written) {
            (Some(refused), _) => Err(SinkError::Refused(refused)),
            (None, Err(error)) => Err(SinkError::Writer(error)),
            (None, Ok(())) => self.draft.finish().map_err(SinkError::Refused),
        }
    }
}

impl Write for Sink<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.refused.is_some() {
            return Ok(bytes.len());
        }
        match self.draft.write(bytes) {
            Ok(()) => Ok(bytes.len()),
            Err(error) => {
                self.refused = Some(error);
                Err(io::Error::other("refused"))
            }
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
