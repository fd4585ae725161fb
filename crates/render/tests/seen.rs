//! A picture of a mesh that is no finer than what is seen of it is the picture of the whole mesh.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;
#[path = "../../surface/tests/common/mod.rs"]
mod scenes;

use common::{body, gpu};
use dryturn_carve::{Grid, Replay, RunOptions, carve};
use dryturn_geom::Side;
use dryturn_render::{Finish, Model, Shot, depths, render};
use dryturn_surface::{Mesh, build, build_seen};
use scenes::{Scene, flats, holes, passed};

/// As pictures of the examples are compared: a channel off by this much, of so many pixels in a thousand.
const CHANNEL: u8 = 4;
const PIXELS: f64 = 2e-3;
const PITCH: f64 = 0.25;

fn meshes(scene: &Scene, shot: &Shot) -> [Mesh; 2] {
    let (job, options) = (scene.job(), RunOptions::default());
    let carved = carve(&job, &Grid::over(&scene.stock, PITCH), &options).unwrap();
    let replay = Replay::new(&job, &options).unwrap();
    let facet = |stations, radius| 6.0 * shot.pixel_mm(stations, radius);
    let seen = build_seen(&carved, &replay, Side::Minus, facet, &options).unwrap().0;
    [build(&carved, &replay, Side::Minus, &options).unwrap(), seen]
}

#[test]
fn nobody_sees_that_it_is_coarser() {
    let Some(gpu) = gpu() else { return };
    let (mut of_whole, mut of_seen) = (0, 0);
    for scene in [passed().swap_remove(0), flats().swap_remove(1), holes().swap_remove(0)] {
        let shot = Shot { samples: 1, ..Shot::new(480, 320) };
        let [whole, seen] = meshes(&scene, &shot);
        (of_whole, of_seen) = (of_whole + whole.triangles.len(), of_seen + seen.triangles.len());
        let model = |mesh| Model { bodies: vec![body(mesh, Finish::of("hard maple", true))], turned: 0.0 };
        let picture = |mesh| render(&gpu, &model(mesh), &shot, &RunOptions::default()).unwrap().rgba;
        let (expected, found) = (picture(&whole), picture(&seen));
        let is_off = |(a, b): (&[u8], &[u8])| a.iter().zip(b).any(|(a, b)| a.abs_diff(*b) > CHANNEL);
        let off = expected.chunks(4).zip(found.chunks(4)).filter(|it| is_off(*it)).count();
        let all = expected.len() / 4;
        assert!(off as f64 <= PIXELS * all as f64, "{}: {off} of {all} pixels are off", scene.name);
        let pixel = shot.pixel_mm([0.0, scene.stock.length], scenes::R);
        let far = |mesh| depths(&gpu, &model(mesh), &shot).unwrap();
        let apart = far(&whole).into_iter().zip(far(&seen)).filter(|(a, b)| f64::from((a - b).abs()) > pixel).count();
        assert!(apart as f64 <= PIXELS * all as f64, "{}: {apart} of {all} pixels lie elsewhere", scene.name);
    }
    assert!(2 * of_seen < of_whole, "{of_seen} of {of_whole} triangles");
}
