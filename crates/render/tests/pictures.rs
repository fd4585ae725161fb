//! What pictures show, held against closed forms.

mod common;

use std::sync::atomic::AtomicBool;

use common::{body, cylinder, gpu, solid};
use dryturn_carve::RunOptions;
use dryturn_render::{Finish, Ground, Line, Model, RenderError, Section, Shot, Stage, View, depths, render};
use dryturn_surface::Mesh;

const MAPLE: &str = "hard maple";

fn model(mesh: &Mesh) -> Model<'_> {
    Model { bodies: vec![body(mesh, Finish::of(MAPLE, true))], turned: 0.0 }
}

/// Straight onto the axis from the front, from so far that a pixel is 0.2 mm.
fn square(distance: f64) -> Shot {
    let (width, height) = (300, 200);
    let angle = 2.0 * (0.1 * f64::from(width) / distance).atan().to_degrees();
    let view = View {
        turn: 0.0,
        tilt: 0.0,
        distance: Some(distance),
        target: Some([25.0, 0.0, 0.0]),
        angle,
        ..View::default()
    };
    Shot { view, samples: 1, ground: Ground::Transparent, ..Shot::new(width, height) }
}

/// The way of the ray through a pixel's middle, from (25, −distance, 0); unit.
fn way(shot: &Shot, index: usize, distance: f64) -> [f64; 3] {
    let (column, row) = (index % shot.width as usize, index / shot.width as usize);
    let x = 0.2 * (column as f64 + 0.5 - 0.5 * f64::from(shot.width));
    let z = 0.2 * (0.5 * f64::from(shot.height) - row as f64 - 0.5);
    let length = (x * x + distance * distance + z * z).sqrt();
    [x / length, distance / length, z / length]
}

/// Counts the pixels at which distances agree with `truth`, and tells the worst of those that do not.
fn agree(shot: &Shot, distance: f64, found: &[f32], truth: impl Fn([f64; 3]) -> Option<f64>) -> (usize, f64) {
    let (mut count, mut worst) = (0, 0.0_f64);
    for (index, found) in found.iter().enumerate() {
        if let (Some(truth), true) = (truth(way(shot, index, distance)), found.is_finite()) {
            count += 1;
            worst = worst.max((f64::from(*found) - truth).abs());
        }
    }
    (count, worst)
}

/// How far along a ray from (25, −distance, 0) a cylinder about the axis is met.
fn cylinder_at(way: [f64; 3], distance: f64, radius: f64) -> Option<f64> {
    let (a, b) = (way[1] * way[1] + way[2] * way[2], -distance * way[1]);
    let root = b * b - a * (distance * distance - radius * radius);
    (root > 0.0).then(|| (-b - root.sqrt()) / a)
}

#[test]
fn depths_are_those_of_a_cylinder() {
    let Some(gpu) = gpu() else { return };
    let (radius, distance) = (15.0, 400.0);
    let mesh = cylinder(radius, 50.0);
    let shot = square(distance);
    let found = depths(&gpu, &model(&mesh), &shot).unwrap();
    // Away from the rim, where a pixel's footprint is long; the facets are 0.15 µm deep.
    let truth =
        |way: [f64; 3]| cylinder_at(way, distance, radius).filter(|_| (way[2] / way[1] * distance).abs() < 13.0);
    let (count, worst) = agree(&shot, distance, &found, truth);
    assert!(count > 25_000 && worst < 0.002, "{count} pixels, {worst} mm");
    // What is met at all, mm² in the plane of the axis: nearer parts look larger, by no more than the radius allows.
    let met = found.iter().filter(|it| it.is_finite()).count() as f64 * 0.04;
    let plain = 50.0 * 30.0;
    assert!(met > plain && met < plain * distance / (distance - radius), "{met} mm²");
}

#[test]
fn depths_are_those_of_a_hexagon_turned() {
    let Some(gpu) = gpu() else { return };
    let distance = 400.0;
    // A flat of the hexagon faces the eye once the piece is turned by 30° more than a corner of it does.
    let mesh = solid(&[0.0, 50.0], 6, |_, _| 20.0);
    let apothem = 20.0 * (3.0_f64).sqrt() / 2.0;
    let shot = square(distance);
    for (turned, faces) in [(0.0, true), (60.0, true), (30.0, false)] {
        let found = depths(&gpu, &Model { turned, ..model(&mesh) }, &shot).unwrap();
        let near = |way: [f64; 3]| ((way[2] / way[1] * distance).abs() < 8.0).then(|| (distance - apothem) / way[1]);
        let (count, worst) = agree(&shot, distance, &found, near);
        assert!(count > 15_000, "{count}");
        assert_eq!(worst < 0.001, faces, "turned by {turned}: {worst} mm");
    }
}

#[test]
fn depths_are_those_of_a_groove() {
    let Some(gpu) = gpu() else { return };
    let distance = 400.0;
    // Square shoulders: two stations almost at one place.
    let stations = [0.0, 20.0, 20.000_001, 30.0, 30.000_001, 50.0];
    let mesh = solid(&stations, 720, |x, _| if x > 20.0 && x <= 30.0 { 12.0 } else { 15.0 });
    let shot = square(distance);
    let found = depths(&gpu, &model(&mesh), &shot).unwrap();
    let floor = |way: [f64; 3]| {
        let met = cylinder_at(way, distance, 12.0)?;
        let (x, z) = (25.0 + met * way[0], met * way[2]);
        (x > 20.5 && x < 29.5 && z.abs() < 10.0).then_some(met)
    };
    let (count, worst) = agree(&shot, distance, &found, floor);
    assert!(count > 4_000 && worst < 0.002, "{count} pixels, {worst} mm");
}

#[test]
fn a_section_shows_its_own_plane() {
    let Some(gpu) = gpu() else { return };
    let distance = 400.0;
    let mesh = cylinder(15.0, 50.0);
    let shot =
        Shot { section: Some(Section { point: [0.0, -4.0, 0.0], normal: [0.0, -2.0, 0.0] }), ..square(distance) };
    let found = depths(&gpu, &model(&mesh), &shot).unwrap();
    let half = (15.0_f64 * 15.0 - 16.0).sqrt();
    let plane = |way: [f64; 3]| {
        let met = (distance - 4.0) / way[1];
        let (x, z) = (25.0 + met * way[0], met * way[2]);
        (x > 0.3 && x < 49.7 && z.abs() < half - 0.3).then_some(met)
    };
    let (count, worst) = agree(&shot, distance, &found, plane);
    assert!(count > 30_000 && worst < 0.001, "{count} pixels, {worst} mm");
    // Where nothing stays, nothing is shown.
    let gone = Shot { section: Some(Section::at_station(-1.0)), ..square(distance) };
    assert_eq!(depths(&gpu, &model(&mesh), &gone).unwrap_err(), RenderError::Nothing);
}

#[test]
fn a_section_looks_into_what_is_hollow() {
    let Some(gpu) = gpu() else { return };
    let distance = 400.0;
    let mut mesh = cylinder(15.0, 50.0);
    // A cavity is a body turned inside out.
    let hollow = solid(&[10.0, 40.0], 720, |_, _| 8.0);
    let first = mesh.vertices.len() as u32;
    mesh.vertices.extend(&hollow.vertices);
    mesh.kinds.extend(&hollow.kinds);
    mesh.owners.extend(&hollow.owners);
    mesh.triangles.extend(hollow.triangles.iter().map(|[a, b, c]| [a + first, c + first, b + first]));
    let shot = Shot { section: Some(Section { point: [0.0; 3], normal: [0.0, -1.0, 0.0] }), ..square(distance) };
    let found = depths(&gpu, &model(&mesh), &shot).unwrap();
    let seen = |x: usize, y: usize| f64::from(found[y * 300 + x]);
    // The far wall of the cavity in the middle, the plane beside and over it; a pixel is 0.2 mm.
    assert!((seen(150, 100) - (distance + 8.0)).abs() < 0.01, "{}", seen(150, 100));
    for (x, y) in [(150, 100 - 57), (150, 100 + 57), (150 - 100, 100), (150 + 100, 100)] {
        let [right, up] = [0.2 * (x as f64 - 149.5), 0.2 * (y as f64 - 99.5)];
        let plane = (distance * distance + right * right + up * up).sqrt();
        assert!((seen(x, y) - plane).abs() < 0.01, "{x} {y}: {} {plane}", seen(x, y));
    }
}

#[test]
fn a_section_is_wood_all_over() {
    let Some(gpu) = gpu() else { return };
    let mesh = solid(&[0.0, 60.0], 90, |_, _| 15.0);
    let plain = |color| Model {
        bodies: vec![dryturn_render::Body {
            colors: Some(vec![color; mesh.triangles.len()]),
            ..model(&mesh).bodies.remove(0)
        }],
        turned: 0.0,
    };
    let section = Some(Section { point: [0.0; 3], normal: [0.0, -1.0, 0.0] });
    let shot = Shot { section, ..square(300.0) };
    let picture = render(&gpu, &plain([0, 0, 255]), &shot, &RunOptions::default()).unwrap();
    let middle = 4 * (100 * 300 + 150);
    let [red, _, blue, alpha] = picture.rgba[middle..middle + 4] else { panic!() };
    assert!(red > blue && alpha == 255, "the cap has the wood's colour, not the surface's");
    // From the front without a section it is as blue as its surface.
    let picture = render(&gpu, &plain([0, 0, 255]), &square(300.0), &RunOptions::default()).unwrap();
    assert!(picture.rgba[middle] < picture.rgba[middle + 2]);
}

#[test]
fn a_colour_keeps_its_hue_in_light_and_shade() {
    let Some(gpu) = gpu() else { return };
    let mesh = cylinder(15.0, 60.0);
    let orange = [230, 159, 20];
    let body =
        dryturn_render::Body { colors: Some(vec![orange; mesh.triangles.len()]), ..model(&mesh).bodies.remove(0) };
    let shot = Shot { samples: 1, ..Shot::new(240, 160) };
    let picture = render(&gpu, &Model { bodies: vec![body], turned: 0.0 }, &shot, &RunOptions::default()).unwrap();
    // The ground is grey.
    let colored = picture.rgba.chunks(4).filter(|it| it[0] > it[2].saturating_add(40));
    let hues: Vec<f64> = colored.map(|it| f64::from(it[1]) / f64::from(it[0])).collect();
    let mean = hues.iter().sum::<f64>() / hues.len() as f64;
    let meant = f64::from(orange[1]) / f64::from(orange[0]);
    assert!(hues.len() > 2000 && (mean - meant).abs() < 0.06, "{mean} for {meant}, {} pixels", hues.len());
}

#[test]
fn transparent_ground_keeps_a_soft_shadow() {
    let Some(gpu) = gpu() else { return };
    let mesh = cylinder(10.0, 60.0);
    let shot = Shot { ground: Ground::Transparent, samples: 2, ..Shot::new(240, 160) };
    let picture = render(&gpu, &model(&mesh), &shot, &RunOptions::default()).unwrap();
    let alpha = |x: usize, y: usize| picture.rgba[4 * (y * 240 + x) + 3];
    assert_eq!([alpha(0, 0), alpha(239, 0), alpha(120, 80)], [0, 0, 255]);
    let soft = picture.rgba.chunks(4).filter(|it| (20..200).contains(&it[3]) && it[0] < 10).count();
    assert!(soft > 500, "{soft} pixels of shadow");
    // On plain ground there is its very colour wherever no shadow falls, and darker where one does.
    let shot = Shot { ground: Ground::Plain([180, 190, 200]), ..shot };
    let picture = render(&gpu, &model(&mesh), &shot, &RunOptions::default()).unwrap();
    assert_eq!(picture.rgba[..4], [180, 190, 200, 255]);
    assert!(picture.rgba.chunks(4).all(|it| it[3] == 255));
}

#[test]
fn the_same_bytes_every_time_on_any_number_of_threads() {
    let Some(gpu) = gpu() else { return };
    let mesh = solid(&[0.0, 20.0, 40.0, 60.0], 180, |x, angle| 10.0 + 0.05 * x + 0.4 * (6.0 * angle).sin());
    let line = Line {
        from: [0.0, 0.0, -12.0],
        to: [60.0, 0.0, -12.0],
        offset: [0.0, 0.0, -6.0],
        beyond: None,
        text: "60 mm".to_owned(),
    };
    let shot = Shot { samples: 2, lines: vec![line], ..Shot::new(240, 160) };
    let picture = |threads| {
        let options = RunOptions { threads, ..RunOptions::default() };
        render(&gpu, &model(&mesh), &shot, &options).unwrap()
    };
    let first = picture(1);
    assert_eq!(first.rgba.len(), 4 * 240 * 160);
    for threads in [1, 2, 3] {
        assert!(picture(threads) == first, "{threads} threads");
    }
}

#[test]
fn dimension_lines_are_dark_and_light_on_any_ground() {
    let Some(gpu) = gpu() else { return };
    let mesh = cylinder(10.0, 60.0);
    for ground in [[250, 250, 250], [10, 20, 40]] {
        let line = Line {
            from: [0.0, 0.0, 10.0],
            to: [60.0, 0.0, 10.0],
            offset: [0.0, 0.0, 6.0],
            beyond: None,
            text: "60".to_owned(),
        };
        let shot = Shot { ground: Ground::Plain(ground), ..square(400.0) };
        let picture = |shot: &Shot| render(&gpu, &model(&mesh), shot, &RunOptions::default()).unwrap().rgba;
        let (without, with) = (picture(&shot), picture(&Shot { lines: vec![line], ..shot }));
        let drawn = with.chunks(4).zip(without.chunks(4)).filter(|(with, without)| with != without);
        let drawn: Vec<u32> = drawn.map(|(with, _)| with[..3].iter().map(|it| u32::from(*it)).sum()).collect();
        let (dark, light) =
            (drawn.iter().filter(|it| **it < 330).count(), drawn.iter().filter(|it| **it > 600).count());
        assert!(dark > 20 && light > 20, "{ground:?}: {dark} dark, {light} light of {}", drawn.len());
    }
}

#[test]
fn a_picture_that_is_drawn_in_parts_has_no_seam() {
    let Some(gpu) = gpu() else { return };
    let mesh = cylinder(10.0, 60.0);
    let (width, height) = (4200, 24);
    let shot = Shot { samples: 1, ..Shot::new(width, height) };
    let picture = render(&gpu, &model(&mesh), &shot, &RunOptions::default()).unwrap();
    // Parts are 4096 pixels wide at most.
    let off = |column: usize| {
        let pixel = |row: usize, column: usize| &picture.rgba[4 * (row * width as usize + column)..][..4];
        let off = |row| pixel(row, column).iter().zip(pixel(row, column + 1)).map(|(a, b)| a.abs_diff(*b)).max();
        (0..height as usize).filter_map(off).max().unwrap()
    };
    let near = (4080..4095).map(off).max().unwrap();
    assert!(off(4095) <= near.max(2), "{} beside {near}", off(4095));
    assert!(picture.rgba.chunks(4).all(|it| it[3] == 255));
}

#[test]
fn what_cannot_be_drawn_is_told() {
    let Some(gpu) = gpu() else { return };
    let mesh = cylinder(10.0, 60.0);
    let options = RunOptions::default();
    let stage = Stage::new(&gpu, &model(&mesh), &options).unwrap();
    let refused = |shot: Shot| stage.render(&shot, 0.0, &options).unwrap_err();
    let most = Shot::MOST;
    let too_wide = most + 1;
    assert_eq!(refused(Shot::new(too_wide, 100)), RenderError::Size { width: too_wide, height: 100, most });
    assert!(matches!(refused(Shot::new(100, 0)), RenderError::Size { .. }));
    let view = View { tilt: f64::NAN, ..View::default() };
    assert!(matches!(refused(Shot { view, ..Shot::new(100, 100) }), RenderError::Senseless(_)));
    let section = Some(Section { point: [0.0; 3], normal: [0.0; 3] });
    assert!(matches!(refused(Shot { section, ..Shot::new(100, 100) }), RenderError::Senseless(_)));
    assert_eq!(render(&gpu, &Model::default(), &Shot::new(100, 100), &options).unwrap_err(), RenderError::Nothing);
    let cancel = AtomicBool::new(true);
    let cancelled = RunOptions { cancel: Some(&cancel), ..RunOptions::default() };
    assert_eq!(stage.render(&Shot::new(100, 100), 0.0, &cancelled).unwrap_err(), RenderError::Cancelled);
    assert_eq!(render(&gpu, &model(&mesh), &Shot::new(100, 100), &cancelled).unwrap_err(), RenderError::Cancelled);
}
