//! The text of a scene file or a library, whole or not at all.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::error::SceneError;

/// Largest scene file that is read, bytes.
const LIMIT: u64 = 4 << 20;

pub(super) fn text_of(path: &Path, name: &str) -> Result<String, SceneError> {
    let cannot_read = |source| SceneError::Read { path: name.to_owned(), source };
    let refuse = |message: &str, help: &str| SceneError::File {
        path: name.to_owned(),
        message: message.to_owned(),
        help: help.to_owned(),
    };
    let file = File::open(path).map_err(cannot_read)?;
    if file.metadata().map_err(cannot_read)?.is_dir() {
        return Err(refuse("this is a folder", "name the scene file in it"));
    }
    let mut bytes = Vec::new();
    file.take(LIMIT + 1).read_to_end(&mut bytes).map_err(cannot_read)?;
    if bytes.len() as u64 > LIMIT {
        return Err(refuse("the file is larger than 4 MiB, too large for a scene", "is this a program or a mesh?"));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let line = error.as_bytes()[..at].iter().filter(|&&byte| byte == b'\n').count() + 1;
        refuse(&format!("line {line} is not UTF-8 text"), "save the file as UTF-8")
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}
