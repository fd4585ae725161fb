//! What errors of a set-up do to the piece, each through a whole carve against its closed form.
//!
//! The closed forms are plane geometry of circles, cones and regular polygons; where more stands behind one, it is said
//! beside the test. Rays are asked for one by one and exactly, so that a test sees micrometres on any grid.

mod axis;
mod feeds;
mod told;
mod turning;
mod wood;
mod zeros;
