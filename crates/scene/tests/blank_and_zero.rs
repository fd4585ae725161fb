//! Blanks from a mesh, and zeros touched off.

use dryturn_scene::{LoadOptions, Scene};

/// An octagonal bar of 40 mm across corners and 60 mm length, its end at station 5 of its own.
fn octagon() -> String {
    let mut text = String::new();
    for station in [5.0, 65.0] {
        for k in 0..8 {
            let angle = f64::from(k) * std::f64::consts::FRAC_PI_4;
            text += &format!("v {station} {} {}\n", -20.0 * angle.sin(), 20.0 * angle.cos());
        }
    }
    text += "f 8 7 6 5 4 3 2 1\nf 9 10 11 12 13 14 15 16\n";
    for k in 1..=8 {
        let next = k % 8 + 1;
        text += &format!("f {k} {next} {} {}\n", next + 8, k + 8);
    }
    text
}

#[test]
fn a_blank_from_a_mesh() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("part.nc"), "").unwrap();
    std::fs::write(folder.path().join("blank.obj"), octagon()).unwrap();
    let text = "format = 1\nblank = { file = \"blank.obj\" }\nchuck = { hold = 10 }\nzero = { z = \"surface\" }\n\
         program = [{ file = \"part.nc\" }]\ncutter = [{ diameter = 6 }]\n";
    for side in ["-x", "+x"] {
        let text = format!("{text}machine = {{ chuck_on = \"{side}\" }}\n");
        let scene = Scene::parse(&text, "scene.toml", folder.path(), LoadOptions::default())
            .unwrap_or_else(|error| panic!("{}", error.render(false)));
        let stock = scene.stock();
        assert_eq!((stock.start, stock.length, scene.blank.length), (-10.0, 60.0, 60.0));
        assert!((scene.swept_radius() - 20.0).abs() < 1e-12 && (scene.zero(0, 0).z - 20.0).abs() < 1e-12);
        let outer = |theta: f64| stock.spans(20.0, theta).as_slice().to_vec();
        let half = std::f64::consts::PI / 8.0;
        for (theta, radius) in [(0.0, 20.0), (half, 20.0 * half.cos()), (5.0 * half, 20.0 * half.cos())] {
            let spans = outer(theta);
            assert_eq!((spans.len(), spans[0].0), (1, 0.0));
            assert!((spans[0].1 - radius).abs() < 1e-9, "{spans:?}");
        }
        assert!(stock.spans(50.1, 0.0).as_slice().is_empty());
        let resolved = scene.resolved_toml();
        assert!(resolved.contains("shape = \"mesh\"") && resolved.contains("file = \"blank.obj\""), "{resolved}");
        let again = Scene::parse(&resolved, "again.toml", folder.path(), LoadOptions::default())
            .unwrap_or_else(|error| panic!("{}", error.render(false)));
        let plain = |text: &str| {
            text.lines().skip(1).map(|line| line.split("  #").next().unwrap().to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(plain(&again.resolved_toml()), plain(&resolved));
        assert!(scene.notes[0].contains("a blank from a mesh: taken as its greatest radius"), "{:?}", scene.notes);
    }
}

#[test]
fn a_zero_that_is_touched_off() {
    let scene = |blank: &str, rest: &str| {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("part.nc"), "").unwrap();
        let text = format!(
            "format = 1\nblank = {{ {blank}, length = 100 }}\nprogram = [{{ file = \"part.nc\" }}]\n\
             cutter = [{{ diameter = 6, shape = \"ball\" }}]\n{rest}\n"
        );
        Scene::parse(&text, "scene.toml", folder.path(), LoadOptions::default())
            .unwrap_or_else(|error| panic!("{}", error.render(false)))
    };
    let near = |scene: &Scene, expected: f64| {
        let found = scene.zero(0, 0).z;
        assert!((found - expected).abs() < 1e-4, "{found} is not {expected}");
        assert!(scene.resolved_toml().contains("touch = {"));
    };
    near(&scene("diameter = 50", "zero = { z = { touch = { station = 40 } } }"), 25.0);
    let tilted = 23.0 / 10f64.to_radians().cos() - 3.0;
    near(&scene("across_flats = 40", "zero = { z = { touch = { station = 40, a = 10 } } }"), tilted);
    near(&scene("across_flats = 40", "zero = { a = 5, z = { touch = { station = 40, a = 5 } } }"), tilted);
    let reversed = "zero = { a = 5, z = { touch = { station = 40, a = -5 } } }\nmachine = { turns = \"reversed\" }";
    near(&scene("across_flats = 40", reversed), tilted);
}
