//! What a pass has to tell beside the wood it took: what rapids and tips below the axis did, and which body above the
//! flutes met wood.

use super::{Pass, RayOfTile, Worker, solid_of};
use crate::job::UpperBody;
use crate::kernel::Passages;
use crate::reach::{Columns, Sector, most_upright, rows_between};
use crate::watch::{self, DEEP_ENOUGH, Reach, Solid};

impl Worker<'_> {
    fn reach(&self, pass: &Pass<'_>, ray: &RayOfTile, (depth, radius): (f64, f64)) -> Reach {
        let column = self.state.tile.columns.start as u32 + ray.column;
        Reach { block: pass.block, depth: depth as f32, radius: radius as f32, row: ray.row, column }
    }

    fn direction(&self, ray: &RayOfTile) -> (f64, f64) {
        self.plan.directions.of(self.state.tile.columns.start + ray.column as usize)
    }

    /// Keeps what a cut has to tell beside the wood it took from a ray's `solid`.
    pub(super) fn note(&mut self, pass: &Pass<'_>, ray: &RayOfTile, solid: &Solid, passages: &Passages) {
        let (station, direction) = (self.plan.grid.station(ray.row as usize), self.direction(ray));
        let aim = self.aim_of(ray);
        for taken in watch::overlaps(solid, passages) {
            if pass.rapid {
                let found = watch::rapid_depth(&pass.cutter.flutes, pass.piece, station, direction, taken);
                let reach = self.reach(pass, ray, found);
                watch::keep_deepest(&mut self.state.seen.rapids, reach);
            }
            let down = aim.start.1.min(aim.end.1);
            if pass.extent.z.0 < 0.0 && down < 0.0 {
                let reach = self.reach(pass, ray, (-taken.1 * down, taken.1));
                watch::keep_deepest(&mut self.state.seen.beyond, reach);
            }
        }
    }

    pub(super) fn uppers_in_reach(&self, pass: &Pass<'_>) -> Vec<UpperBody> {
        if pass.cutter.uppers.is_empty() {
            return Vec::new();
        }
        let top = self.top();
        pass.cutter.uppers.iter().filter(|body| pass.extent.z.0 + body.from < top).copied().collect()
    }

    /// Looks for wood inside a body above the flutes, after the flutes of the same piece have cut.
    pub(super) fn watch_body(
        &mut self,
        pass: &Pass<'_>,
        body: &UpperBody,
        columns: &Columns,
        before: &[(usize, Solid)],
    ) {
        let floor = pass.extent.z.0 + body.from;
        let (from, to) = (pass.extent.x.0 - body.radius, pass.extent.x.1 + body.radius);
        for row in rows_between(&self.plan.grid, from, to, &self.state.tile.rows) {
            let first = self.state.tile.index(row, self.state.tile.columns.start);
            let just_cut = before.iter().any(|(ray, _)| (first..first + self.state.tile.columns.len()).contains(ray));
            if f64::from(self.state.tile.row_top(row)) <= floor && !just_cut {
                continue;
            }
            for range in columns.seen(Sector::seen(&pass.extent, body.radius, floor), &self.state.tile.columns) {
                for column in range {
                    let column = column - self.state.tile.columns.start;
                    self.watch_ray(pass, body, RayOfTile { row: row as u32, column: column as u32 }, floor, before);
                }
            }
        }
    }

    fn watch_ray(
        &mut self,
        pass: &Pass<'_>,
        body: &UpperBody,
        candidate: RayOfTile,
        floor: f64,
        before: &[(usize, Solid)],
    ) {
        let tile = &self.state.tile;
        let aim = self.aim_of(&candidate);
        let (station, direction) = (self.plan.grid.station(candidate.row as usize), self.direction(&candidate));
        let ray = tile.index(candidate.row as usize, tile.columns.start + candidate.column as usize);
        let found = &self.state.seen.uppers[body.kind as usize];
        let known = found.last().filter(|reach| reach.block == pass.block).map_or(0.0, |reach| f64::from(reach.depth));
        let over = (known - SAME_DEPTH).max(DEEP_ENOUGH);
        let flutes = &pass.cutter.flutes;
        let rise = body.from - flutes.length() + DEEP_ENOUGH;
        let cut_now = before.iter().find(|(changed, _)| *changed == ray).map(|(_, solid)| solid);
        let deepest = match cut_now.filter(|_| watch::rise_of(pass.piece, flutes.radius()) > rise) {
            Some(solid) => {
                let rise = rise.max(DEEP_ENOUGH);
                watch::depth_before_cut(body, flutes, pass.piece, station, direction, solid, rise, over)
            }
            None if f64::from(tile.outermost(ray).outer) * most_upright(&aim).max(0.0) <= floor => None,
            None => watch::depth_in_body(body, pass.piece, station, direction, &solid_of(tile, ray), over),
        };
        if let Some(found) = deepest {
            let reach = self.reach(pass, &candidate, found);
            watch::keep_deepest(&mut self.state.seen.uppers[body.kind as usize], reach);
        }
    }
}

/// More than depths differ by that read the same in single precision, mm; which of such rays is named must not depend on
/// which was looked at first.
const SAME_DEPTH: f64 = 1e-5;
