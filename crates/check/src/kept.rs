//! Pieces kept from one set-up to be the blank of the next.

use std::path::Path;
use std::sync::Arc;

use dryturn_carve::{self as carve, KeptPiece, RunOptions};
use dryturn_geom::{AnySolid, Facets, Offset, Side, angle};
use dryturn_scene::{KeptReader, KeptRefusal, KeptSolid, Mesh, MeshSurface, PutBack};

/// Reads kept pieces, for [`dryturn_scene::LoadOptions`].
pub const KEPT: KeptReader = KeptReader(put_back);

fn put_back(path: &Path, how: &PutBack) -> Result<KeptSolid, KeptRefusal> {
    let refused = |error: carve::KeptError| KeptRefusal { message: error.to_string(), help: error.help().to_owned() };
    let PutBack { flip, turn_deg, off: [y, z], chuck_on } = *how;
    let how =
        carve::PutBack { flip, mirrored: chuck_on == Side::Plus, turn: angle::radians(turn_deg), off: Offset { y, z } };
    let piece = KeptPiece::read(path).map_err(refused)?;
    check_off(angle::hypot(y, z), piece.greatest_radius())?;
    let piece = piece.put_back(&how);
    let (length, pitch) = (piece.length(), piece.pitch());
    let of_facets = |Facets { corners, triangles }| AnySolid(Arc::new(MeshSurface::new(&Mesh { corners, triangles })));
    let solid = carve::KeptSolid::new(piece, &of_facets, &RunOptions::default()).map_err(|error| KeptRefusal {
        message: error.to_string(),
        help: "try again when the machine has less to do".to_owned(),
    })?;
    Ok(KeptSolid { solid: AnySolid(Arc::new(solid)), length, pitch })
}

/// Off its own axis a piece can be turned as long as the rotary axis runs through its wood; both in mm.
fn check_off(off: f64, radius: f64) -> Result<(), KeptRefusal> {
    if off <= radius {
        return Ok(());
    }
    Err(KeptRefusal {
        message: format!("`off` sets it {off} mm off the axis, and its wood reaches {radius:.1} mm from its own"),
        help: "look at `units`; the axis it turns about must run through its wood".to_owned(),
    })
}
