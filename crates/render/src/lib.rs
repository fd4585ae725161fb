//! Pictures of the piece, as a customer would want to see them.
//!
//! # Theory
//!
//! Everything is drawn by an adapter, a graphics card or a program in its place, without a window. A picture is a sum of
//! passes. Each pass takes four times twenty-four far lights, members of three soft lights and of a dome of sky and ground,
//! and draws a map of shadows for each; one pixel of four has the same twenty-four. Then it finds what of the bodies is seen at each sample, four a pixel and moved by a part of
//! a pixel, and lights it, once a pixel where its samples lie on one face: triangles smaller than a pixel cost little.
//! What adds up is soft shadow, dark corners and smooth edges, without chance: the same bytes each time. A picture that
//! is larger than the adapter can draw is drawn in parts.
//!
//! Wood is solid: its colour is a function of the place in the piece frame, so that rings, rays and pores go through
//! the piece and carving shows them from every side.
//!
//! A **section** leaves away what lies on one side of a plane. Bodies are closed, so where the eye meets the back of a
//! face, the ray to it came through the cut: the point of the plane on that way is what is drawn, exactly.
//!
//! # Practice
//!
//! [`Gpu::open`] starts an adapter. [`Stage::new`] takes the bodies of a [`Model`] there, [`Stage::render`] takes a
//! [`Picture`] of them as a [`Shot`] says; [`render`] does both. [`depths`] reads distances back.

#![forbid(unsafe_code)]

mod error;
mod finish;
mod gpu;
mod lettering;
mod lights;
pub mod live;
mod mirror;
mod model;
mod outline;
mod passes;
mod scene;
mod shoot;
mod stage;
mod targets;
mod vertices;
mod view;

pub use error::RenderError;
pub use finish::{Finish, Wood};
pub use gpu::{Adapter, Gpu, Wish};
pub use model::{Body, Free, Ground, Line, Model, Picture, Section, Shot};
pub use stage::{Stage, depths, render};
pub use view::View;
