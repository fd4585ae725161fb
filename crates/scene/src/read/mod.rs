//! From text to checked values: a spanned tree, walked with one list of known keys, all problems gathered.

mod context;
mod sources;
mod table;

pub(crate) use context::Context;
pub(crate) use sources::{Problem, Source, Sources};
pub(crate) use table::{Bound, Item, Table};
