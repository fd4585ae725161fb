//! Shapes of fields that are known in closed form.

use std::f64::consts::PI;

use dryturn_geom::Side;

use super::*;

/// A bored bar of radius 20 and length 50, with a groove to radius 12 from station 20 to 30.
fn grooved(chuck: Side, bore: f32) -> Field {
    let (rows, columns) = (200, 240);
    let solid = |row: usize| Solid { inner: bore, outer: if (80..120).contains(&row) { 12.0 } else { 20.0 } };
    Field {
        rows,
        columns,
        first: 0.125,
        step: 0.25,
        turn: std::f64::consts::TAU / columns as f64,
        ends: [0.0, 50.0],
        chuck,
        layers: vec![(0..rows * columns).map(|ray| solid(ray / columns)).collect()],
        owners: vec![0; rows * columns],
    }
}

/// The volume inside, mm³, by the divergence theorem; negative if it is turned inside out.
fn volume(shape: &Shape) -> f64 {
    let at = |index: u32| shape.corners[index as usize].position.map(f64::from);
    let six = |corners: &[u32]| {
        let [a, b, c] = [at(corners[0]), at(corners[1]), at(corners[2])];
        crate::eye::dot(a, tool::normal_of([0.0; 3], b, c))
    };
    shape.indices.chunks(3).map(six).sum::<f64>() / 6.0
}

#[test]
fn a_shape_holds_the_volume_of_its_rays_on_both_sides_of_the_machine() {
    for chuck in [Side::Minus, Side::Plus] {
        for bore in [0.0f32, 5.0] {
            let made = volume(&piece(&grooved(chuck, bore), &[]));
            let hollow = f64::from(bore * bore);
            let exact = PI * (40.0 * (400.0 - hollow) + 10.0 * (144.0 - hollow));
            assert!((made / exact - 1.0).abs() < 5e-3, "{chuck:?}, bore {bore}: {made} of {exact}");
        }
    }
}

#[test]
fn normals_look_out_of_the_triangles() {
    for chuck in [Side::Minus, Side::Plus] {
        let shape = piece(&grooved(chuck, 5.0), &[]);
        for corners in shape.indices.chunks(3) {
            let at = |place: usize| shape.corners[corners[place] as usize];
            let flat = tool::normal_of(
                at(0).position.map(f64::from),
                at(1).position.map(f64::from),
                at(2).position.map(f64::from),
            );
            let size = crate::eye::dot(flat, flat).sqrt();
            let told = (0..3).map(|it| crate::eye::dot(flat, std::array::from_fn(|k| f64::from(at(it).normal[k]))));
            let out: f64 = told.sum();
            assert!(size < 1e-6 || out > 0.0, "{chuck:?}: {:?}", at(0));
        }
    }
}

#[test]
fn a_hole_through_the_piece_leaves_no_open_edge() {
    let mut field = grooved(Side::Minus, 5.0);
    for row in 40..60 {
        for column in 30..60 {
            field.layers[0][row * field.columns + column] = Solid::default();
        }
    }
    let shape = piece(&field, &[]);
    let key = |index: u32| shape.corners[index as usize].position.map(|part| (f64::from(part) * 1e4).round() as i64);
    let mut edges = std::collections::BTreeMap::new();
    for corners in shape.indices.chunks(3) {
        let ends = [0, 1, 2].map(|it| key(corners[it]));
        for (a, b) in [(0, 1), (1, 2), (2, 0)] {
            if ends[a] != ends[b] {
                *edges.entry((ends[a].min(ends[b]), ends[a].max(ends[b]))).or_insert(0) +=
                    if ends[a] < ends[b] { 1 } else { -1 };
            }
        }
    }
    let open = edges.values().filter(|count| **count != 0).count();
    assert_eq!(open, 0, "{open} of {} edges are open", edges.len());
}

#[test]
fn a_groove_that_undercuts_leaves_a_hollow_and_no_walls() {
    let mut field = grooved(Side::Minus, 5.0);
    let (rows, columns) = (field.rows, field.columns);
    let mut under = vec![Solid::default(); rows * columns];
    for row in 20..40 {
        for column in 30..60 {
            let ray = row * columns + column;
            field.layers[0][ray].inner = 15.0;
            under[ray] = Solid { inner: 5.0, outer: 11.0 };
        }
    }
    field.layers.push(under);
    let (made, whole) = (volume(&piece(&field, &[])), volume(&piece(&grooved(Side::Minus, 5.0), &[])));
    // The hollow closes half a ray to a whole one beyond its own.
    let sector = |rays: f64, length: f64| 0.5 * rays * field.turn * (225.0 - 121.0) * length;
    let (least, most) = (sector(29.0, 4.75), sector(32.0, 5.5));
    assert!((least..=most).contains(&(whole - made)), "{least} {} {most}", whole - made);
    // The wood is from 5 to 20 on either side, so no corner lies between but those of the hollow, its middle among them.
    let inside = piece(&field, &[]).corners.into_iter().filter(|it| {
        let radius = it.position[1].hypot(it.position[2]);
        radius > 5.1 && radius < 11.9 && (radius - 11.0).abs() > 1e-3
    });
    assert_eq!(inside.count(), 0);
}

#[test]
fn a_groove_lies_darker_than_the_ridge_beside_it() {
    let field = grooved(Side::Minus, 0.0);
    let radii: Vec<f32> = field.layers[0].iter().map(|solid| solid.outer).collect();
    let open = openness(&field, &radii);
    assert!(open[82 * 240] < open[20 * 240] - 60, "{} {}", open[82 * 240], open[20 * 240]);
}
