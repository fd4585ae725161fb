//! Every rule at its smallest: the job that makes it speak, and its nearest neighbour that leaves it silent.

mod accept;
mod body_hits;
mod common;
mod cures;
mod diagnosis;
mod feed;
mod grid;
mod grip;
mod holding;
mod keys;
mod loads;
mod loose_piece;
mod motion;
mod mover_hits;
mod runs;
mod strength;
mod swing;
mod target;
mod time;
mod told;
mod touch;
mod uphill;
mod winding;
mod wood;
