//! How stiff and how strong is what is left of the blank.

mod bar;
mod matrix;
mod rays;
mod section;
mod torsion;
