//! From text to checked values: a spanned tree, walked with one list of known keys, all problems gathered.

mod context;
mod table;

pub(crate) use context::{Context, Problem, on_lines};
pub(crate) use table::{Bound, Item, Table};
