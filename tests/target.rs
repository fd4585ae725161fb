//! The maps of a piece beside its target.

use crate::workshop::Workshop;

const SCENE: &str = "format = 1
blank = { diameter = 40, length = 60 }
program = [{ file = \"turn.nc\", cutter = 1 }]
cutter = [{ diameter = 6 }]
grid = { pitch = 0.5 }
target = { file = \"peg.csv\", gouge = 0.05, leftover = 0.3, span = [10, 55] }
";

/// A cone in place of the cylinder that is cut at radius 16, so that both signs occur.
const CONE: &str = "station,radius\n5,15\n60,18\n";

/// A helix of ten turns at radius 16 over stations 5 to 55.
const TURN: &str = "G21 G90\nM3 S12000\nG0 Z30\nX5\nG1 Z16 F600\nA360\nX55 A5760\nA6120\nG0 Z30\nM5\nM30\n";

/// The numbers of a map with their rows and columns.
fn map(workshop: &Workshop, name: &str) -> (Vec<f32>, usize, usize) {
    let bytes = &workshop.files()[&format!("out/maps/{name}.npy")];
    let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    let head = String::from_utf8_lossy(&bytes[10..start]).into_owned();
    assert!(head.contains("'<f4'"), "{head}");
    let shape = head.split_once("'shape': (").unwrap().1.split_once(')').unwrap().0;
    let (rows, columns) = shape.split_once(", ").unwrap();
    let values = bytes[start..].chunks_exact(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect();
    (values, rows.parse().unwrap(), columns.parse().unwrap())
}

#[test]
fn the_gap_is_the_shortest_distance_and_the_other_map_goes_along_the_ray() {
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("turn.nc", TURN), ("peg.csv", CONE)]);
    workshop.expect(1, "prove scene.toml --out out");
    let report = workshop.report("out");
    let named: Vec<&str> = report["maps"].as_array().unwrap().iter().map(|map| map["name"].as_str().unwrap()).collect();
    assert_eq!(named[5..7], ["gap", "over-target"]);
    let (gap, rows, columns) = map(&workshop, "gap");
    let (over, ..) = map(&workshop, "over-target");
    let first = report["grid"]["station_first"].as_f64().unwrap();
    let step = report["grid"]["station_step"].as_f64().unwrap();
    // Half the cone's angle: a distance square to it is shorter than one along the ray by its cosine.
    let cosine = 55.0 / (55.0f64 * 55.0 + 9.0).sqrt();
    for ray in 0..rows * columns {
        let station = first + step * (ray / columns) as f64;
        let (gap, over) = (f64::from(gap[ray]), f64::from(over[ray]));
        if !(10.0..=55.0).contains(&station) {
            assert!(gap.is_nan() && over.is_nan(), "station {station}: {gap}, {over}");
            continue;
        }
        let along = 16.0 - (15.0 + 3.0 * (station - 5.0) / 55.0);
        assert!((over - along).abs() < 1e-4, "station {station}: {over} is not {along}");
        assert!((gap - along * cosine).abs() < 1e-4, "station {station}: {gap} is not {}", along * cosine);
    }
}

#[test]
fn only_the_distance_that_counts_is_drawn_and_none_without_a_target() {
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("turn.nc", TURN), ("peg.csv", CONE)]);
    workshop.expect(1, "prove scene.toml --out out");
    let files = workshop.files();
    assert!(files["out/maps/gap.png"].starts_with(b"\x89PNG"));
    assert!(!files.contains_key("out/maps/over-target.png"));
    workshop
        .write("scene.toml", SCENE.lines().filter(|line| !line.starts_with("target")).collect::<Vec<_>>().join("\n"));
    workshop.expect(0, "prove scene.toml --out alone");
    assert!(!workshop.files().keys().any(|name| name.starts_with("alone/maps/gap")));
}
