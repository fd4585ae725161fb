//! Meshes as files of the common formats. A file is made piece by piece: none of them is held in memory.

mod glb;
mod model;
mod ply;
mod stl;
mod threemf;

pub use glb::write_glb;
pub use model::{Body, Model, Paint};
pub use ply::write_ply;
pub use stl::write_stl;
pub use threemf::write_3mf;

use std::io::{self, Write};

/// Bytes that are put together before they are written.
const PORTION: usize = 1 << 16;

/// Writes what `put` makes of each item, in portions.
fn each<T>(items: impl IntoIterator<Item = T>, put: impl Fn(T, &mut Vec<u8>), to: &mut dyn Write) -> io::Result<()> {
    let mut portion = Vec::with_capacity(PORTION + 256);
    for item in items {
        put(item, &mut portion);
        if portion.len() >= PORTION {
            to.write_all(&portion)?;
            portion.clear();
        }
    }
    to.write_all(&portion)
}
