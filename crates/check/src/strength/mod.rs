//! How stiff and how strong is what is left of the blank.
//!
//! A carve tells the integrals over every section at chosen moments ([`dryturn_carve::Course`]). With them the free length is
//! a bar ([`bar`]) held as the scene says ([`held`]); the loads of the strokes bend and twist it. How far it gives way, the
//! cutter included, is its [`spring`], worked out with the wood as each stroke meets it ([`meantime`]); where stress comes near to the wood's strength is a weak place ([`weak`]), and one
//! that is not round is looked at by its outline ([`neck`], [`torsion`]). Sections are taken to stay plane: wood that hangs
//! together in strands alone, as openwork does, gives way further than this says.

mod bar;
mod held;
mod matrix;
mod meantime;
mod nearest;
mod neck;
mod passage;
mod rays;
mod section;
mod spring;
mod stem;
mod strain;
mod torsion;
mod weak;

pub(crate) use spring::Sprung;
pub(crate) use stem::CUTTER_MODULUS;
pub(crate) use strain::{Neck, Part, Pushed, Strain, Watch};
