//! A blank that was kept from an earlier set-up.

use std::fmt;
use std::path::Path;

use dryturn_geom::{AnySolid, Side};

use super::Seen;
use super::files::Files;
use crate::model::{BlankShape, KeptBlank};
use crate::read::{Bound, Item, Table};

/// How a kept piece is put back: first flipped, then turned, then off centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PutBack {
    /// End for end, by half a turn about the piece's own z.
    pub flip: bool,
    /// Turned about the axis, degrees.
    pub turn_deg: f64,
    /// Its old axis off the rotary axis, machine Y and Z in mm while θ on top is 0.
    pub off: [f64; 2],
    /// The side that the chuck stands on.
    pub chuck_on: Side,
}

/// A piece that has been put back.
#[derive(Clone, Debug)]
pub struct KeptSolid {
    /// The solid, from its own end on.
    pub solid: AnySolid,
    /// Its length, mm.
    pub length: f64,
    /// The pitch that it was carved at, mm.
    pub pitch: f64,
}

/// Why a file is no kept piece, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptRefusal {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// Reads a kept piece and puts it back. Pieces are carved wood, which scenes know nothing of, so whoever loads one brings
/// this along.
#[derive(Clone, Copy)]
pub struct KeptReader(pub fn(&Path, &PutBack) -> Result<KeptSolid, KeptRefusal>);

impl fmt::Debug for KeptReader {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("KeptReader")
    }
}

/// A blank kept from the set-up before, and its length.
pub(super) fn kept(table: &Table<'_>, files: &Files<'_>, chuck_on: Side) -> (BlankShape, Option<f64>) {
    for key in ["length", "turned", "runout", "runout_far", "bow"].into_iter().filter(|key| table.has(key)) {
        table.problem(
            key,
            format!("`{key}` does not belong to a kept blank: it is as the set-up before left it"),
            Some("flip, turn, shift and off say how it was put back".into()),
        );
    }
    let off = table.table("off", "blank.off");
    if !table.has("off") {
        let because = "the piece is taken to run about its old axis again";
        table.cx().assume("blank.off".into(), "{ y = 0, z = 0 }".into(), because);
    }
    let across = |key: &str| off.length(key, Bound::Any).unwrap_or(0.0);
    let how = PutBack {
        flip: table.flag("flip").unwrap_or(false),
        turn_deg: table.number("turn", Bound::Any).unwrap_or(0.0),
        off: [across("y"), across("z")],
        chuck_on,
    };
    let shift = table.length("shift", Bound::Any).unwrap_or(0.0);
    let blank = |file: String, found: Option<KeptSolid>| {
        let length = found.as_ref().map_or(f64::NAN, |found| found.length);
        let PutBack { flip, turn_deg, off, .. } = how;
        let pitch = found.as_ref().map_or(f64::NAN, |found| found.pitch);
        let solid = found.map(|found| found.solid);
        (BlankShape::Kept(KeptBlank { file, flip, turn_deg, shift, off, pitch, solid }), Some(length))
    };
    let Some(item) = table.get("file") else {
        table.missing("file", "file = \"kept.npz\"");
        return blank(String::new(), None);
    };
    let file = files.written(&item).unwrap_or_default();
    let found = read(&item, &file, files, &how);
    blank(file, found)
}

fn read(item: &Item<'_>, file: &str, files: &Files<'_>, how: &PutBack) -> Option<KeptSolid> {
    let Some(KeptReader(read)) = files.kept else {
        item.problem("a kept blank cannot be read here".into(), Some("describe it as round, square or a mesh".into()));
        return None;
    };
    let path = item.source().folder.join(item.text()?);
    Seen::note(files.seen, &path);
    if !file.is_empty() && !path.exists() {
        let help = "prove the set-up before with --out DIR, and take the kept.npz it writes there; paths start from \
                    the scene's own folder";
        item.problem(format!("`{file}` does not exist"), Some(help.into()));
        return None;
    }
    let path = files.path(item)?;
    let refuse = |KeptRefusal { message, help }| {
        item.problem(format!("`{file}` cannot be put back: {message}"), Some(help));
    };
    read(&path, how).map_err(refuse).ok()
}
