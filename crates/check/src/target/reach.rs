//! Wood that no cutter of the job can reach, told from wood left by mistake.
//!
//! # Rule
//!
//! A place of wood is within reach if some cutter, with its axis upright as the machine holds it and the blank turned in any
//! way, can stand so that its flutes hold the place and cut into the target by no more than a small slack. What is then out
//! of reach is the closing of the target by the cutters (Serra, *Image Analysis and Mathematical Morphology*, 1982) less
//! the target itself. Asked is not about the surface of the wood that is left, which a cutter has always reached, but about
//! wood behind it: the point on the way to the target at [`DEPTH`] of what may stay.
//!
//! # Limits
//!
//! A stand that is found proves that the wood can be reached, to the width between the points that stand for the flutes.
//! That none is found proves nothing: stands are tried in steps of turn and of place across the cutter, always with the
//! place at the lower face of the flutes, for lifting never brings a cutter that widens upward nearer to the target. Shank,
//! holder and other bodies are left out, and so is the way there.

use dryturn_geom::{Flutes, angle};
use dryturn_scene::{Point, holds};

use super::compare::Wanted;
use super::patches::{Fault, Kind, Patch};
use super::surface::point_at;

/// Share of what may stay over the target at which wood is asked for.
const DEPTH: f64 = 0.8;
/// Share of it that a cutter may cut into the target while being tried.
const SLACK: f64 = 0.1;
/// Most patches that are looked at; more are not told one by one.
const PATCHES: usize = 100;
/// Turns of the blank that are tried, degrees from the place on top.
const TURNS: [f64; 13] = [0.0, 15.0, -15.0, 30.0, -30.0, 45.0, -45.0, 60.0, -60.0, 75.0, -75.0, 90.0, -90.0];
/// Places across a cutter, as shares of its radius, and how many around.
const ACROSS: [f64; 6] = [0.0, 1.0, 0.95, 0.75, 0.5, 0.25];
const AROUND: usize = 16;
/// Points that stand for the flutes: on the lower face, up the side, and around.
const RINGS: usize = 6;
const SIDES: usize = 6;
const SPOKES: usize = 16;

/// A cutter by its lower face and by points on its flutes, over its tip.
struct Tool<'a> {
    flutes: &'a Flutes,
    points: Vec<Point>,
}

/// What the cutters of a job can reach.
pub(super) struct Reachable<'a> {
    wanted: &'a Wanted<'a>,
    tools: Vec<Tool<'a>>,
}

impl<'a> Reachable<'a> {
    pub(super) fn new(wanted: &'a Wanted<'a>) -> Reachable<'a> {
        let tools = wanted.cutters.iter().map(|flutes| Tool { flutes, points: points_of(flutes) }).collect();
        Reachable { wanted, tools }
    }

    /// Marks the patches of wood of which nothing can be reached; of the others the worst place becomes the worst one that
    /// can.
    pub(super) fn sort_out(&self, patches: &mut [Patch]) {
        for patch in patches.iter_mut().filter(|patch| patch.kind == Kind::Leftover).take(PATCHES) {
            let within = patch.samples.iter().filter(|fault| self.reaches(fault));
            let worst = within.copied().reduce(|a, b| if b.depth() > a.depth() { b } else { a });
            match worst {
                Some(worst) => patch.worst = worst,
                None => patch.is_out_of_reach = true,
            }
        }
    }

    fn reaches(&self, fault: &Fault) -> bool {
        let [station, theta, radius] = [fault.station, fault.theta, fault.radius].map(f64::from);
        let limits = &self.wanted.limits;
        let over = limits.allowance + limits.leftover;
        let place = point_at(station, theta, radius);
        let near = self.wanted.surface.nearest(place, f64::INFINITY);
        let share = (DEPTH * over / near.distance.max(over)).min(1.0);
        let asked: Point = std::array::from_fn(|axis| near.point[axis] + (place[axis] - near.point[axis]) * share);
        let slack = SLACK * over + near.chord;
        let turn = angle::atan2(-asked[1], asked[2]);
        TURNS.iter().any(|aside| self.reaches_at(asked, turn + angle::radians(*aside), slack))
    }

    /// Whether a place is reached with the blank turned so that this angle θ is on top.
    fn reaches_at(&self, asked: Point, turn: f64, slack: f64) -> bool {
        let asked = turned(asked, -turn);
        self.tools.iter().any(|tool| {
            ACROSS.iter().any(|share| {
                let across = share * tool.flutes.radius();
                let above = tool.flutes.height_at(across);
                let around = if *share == 0.0 { 1 } else { AROUND };
                (0..around).any(|k| {
                    let (s, c) = angle::sin_cos(std::f64::consts::TAU * k as f64 / around as f64);
                    let tip = [asked[0] - across * c, asked[1] - across * s, asked[2] - above];
                    above.is_finite() && self.is_free(tool, tip, turn, slack)
                })
            })
        })
    }

    fn is_free(&self, tool: &Tool<'_>, tip: Point, turn: f64, slack: f64) -> bool {
        tool.points.iter().all(|point| {
            let [station, y, z] = turned(std::array::from_fn(|axis| tip[axis] + point[axis]), turn);
            let (theta, radius) = (angle::atan2(-y, z), angle::hypot(y, z));
            let surface = self.wanted.surface;
            !holds(&surface.inside(station, theta), radius)
                || surface.nearest([station, y, z], f64::INFINITY).distance <= slack
        })
    }
}

/// A point turned about the rotary axis, its angle θ growing.
fn turned([x, y, z]: Point, by: f64) -> Point {
    let (s, c) = angle::sin_cos(by);
    [x, y * c - z * s, y * s + z * c]
}

/// Points on the lower face and up the side of the flutes, the tip first.
fn points_of(flutes: &Flutes) -> Vec<Point> {
    let rim = flutes.height_at(flutes.radius());
    let rim = if rim.is_finite() { rim.min(flutes.length()) } else { 0.0 };
    let lower = (1..=RINGS).map(|k| flutes.radius() * k as f64 / RINGS as f64);
    let lower = lower.map(|across| (across, flutes.height_at(across)));
    let side = (1..=SIDES).map(|k| rim + (flutes.length() - rim) * k as f64 / SIDES as f64);
    let side = side.map(|height| (flutes.radius_at(height), height));
    let mut points = vec![[0.0, 0.0, flutes.height_at(0.0)]];
    for (across, height) in lower.chain(side) {
        points.extend((0..SPOKES).map(|k| {
            let (s, c) = angle::sin_cos(std::f64::consts::TAU * k as f64 / SPOKES as f64);
            [across * c, across * s, height]
        }));
    }
    points.retain(|point| point[2].is_finite() && point[2] <= flutes.length());
    points
}
