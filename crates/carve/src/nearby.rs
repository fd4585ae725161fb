//! Many questions about one place.
//!
//! Most of what a question costs is looking up what could reach the place at all. Near each other all places are reached
//! by much the same pieces of motions, so these are looked up once.

use dryturn_geom::angle;

use crate::kernel::{Nearest, Piece};
use crate::replay::{NEARBY, POINT, Replay, nearer, takes};
use crate::surface::Surface;
use crate::tree::{Bounds, Window};

/// What of a job reaches some place, to be asked about points there. It answers as the [`Replay`] does.
pub struct Nearby<'r, 'a> {
    replay: &'r Replay<'a>,
    /// In the order of the program.
    pieces: Vec<Passing>,
    /// The pieces that reach the place itself and not only what is near it, by their number.
    close: Vec<u32>,
}

/// A piece of motion that passes by.
struct Passing {
    block: u32,
    cutter: u16,
    piece: Piece,
    bounds: Bounds,
}

impl<'a> Replay<'a> {
    /// What reaches the place between two stations (mm), two angles θ (radians) and two radii (mm), the lower ones first.
    pub fn near(&self, stations: (f64, f64), thetas: (f64, f64), radii: (f64, f64)) -> Nearby<'_, 'a> {
        let place = Window { x: stations, theta: (angle::wrapped(thetas.0), thetas.1 - thetas.0) };
        let aside = NEARBY / radii.0.max(NEARBY);
        let around = Window {
            x: (stations.0 - NEARBY, stations.1 + NEARBY),
            theta: (angle::wrapped(thetas.0 - aside), thetas.1 - thetas.0 + 2.0 * aside),
        };
        let (mut pieces, mut close) = (Vec::new(), Vec::new());
        let mut from = 0;
        while let Some(block) = self.tree.next(from, u32::MAX, &around, radii.1 + NEARBY) {
            from = block + 1;
            let Some(motion) = self.job().motions.motion(block) else { continue };
            self.tree.bounded_pieces(&motion, &around, radii.1 + NEARBY, |piece, bounds| {
                if bounds.reaches(&place, radii.1 + NEARBY) {
                    close.push(pieces.len() as u32);
                }
                pieces.push(Passing { block, cutter: motion.cutter, piece: *piece, bounds: *bounds });
            });
        }
        Nearby { replay: self, pieces, close }
    }
}

impl<'a> Nearby<'_, 'a> {
    /// All of the job.
    pub fn replay(&self) -> &Replay<'a> {
        self.replay
    }

    /// As [`Replay::taken_by`], of a point of the place.
    pub fn taken_by(&self, station: f64, theta: f64, radius: f64) -> Option<u32> {
        if let Some(maker) = self.replay.missing_by(station, theta, radius) {
            return Some(maker);
        }
        let window = Window::of_ray(station, theta);
        let direction = angle::sin_cos(theta);
        let close = self.close.iter().map(|number| &self.pieces[*number as usize]);
        close
            .filter(|it| it.bounds.reaches(&window, radius + POINT))
            .find(|it| takes(self.replay.flutes(it.cutter), &it.piece, (station, direction), radius))
            .map(|it| it.block)
    }

    /// As [`Replay::surface`], of a point of the place.
    pub fn surface(&self, by: u32, station: f64, theta: f64, radius: f64) -> Option<Surface> {
        self.replay.surface_by(by, station, theta, radius, || self.nearest(by, station, theta, radius))
    }

    fn nearest(&self, block: u32, station: f64, theta: f64, radius: f64) -> Option<Nearest> {
        let window = Window::around(station, theta, radius);
        let direction = angle::sin_cos(theta);
        let first = self.pieces.partition_point(|it| it.block < block);
        let of_block = self.pieces[first..].iter().take_while(|it| it.block == block);
        of_block
            .filter(|it| it.bounds.reaches(&window, radius + NEARBY))
            .fold(None, |best, it| nearer(best, self.replay.flutes(it.cutter), &it.piece, (station, direction), radius))
            .filter(|it| it.distance.abs() <= NEARBY)
    }
}
