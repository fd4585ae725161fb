//! Zeros that are off: Z, Y, and a cutter's own.

use crate::wood::{Wood, carved, job, near, turn};

/// A rod of ⌀56 × 120 with its zero off, and one cutter.
fn rod<T>(zero: &str, cutter: &str, program: &str, look: impl FnOnce(&Wood<'_>) -> T) -> T {
    let scene = format!(
        "blank = {{ diameter = 56, length = 120 }}
        zero = {{ {zero} }}
        cutter = [{{ {cutter}, flute = 40 }}]
        machine = {{ start = {{ x = 0, y = 0, z = 60, a = 0 }} }}"
    );
    carved(&job(&scene, &[("cutter = 1", program)]), look)
}

const FLAT: &str = "diameter = 6";
const BALL: &str = "shape = \"ball\", diameter = 6";

/// A full turn at a station and a height.
fn ring(station: f64, height: f64) -> String {
    format!("M3 S9000\nG0 X{station} Z40\nG1 Z{height} F500\nA360\nG0 Z40\n")
}

/// Rings next to each other, so far apart.
fn rings(advance: f64, height: f64) -> String {
    let lines: String =
        (0..6).map(|k| format!("G1 X{} F500\nA{}\n", 40.0 + f64::from(k) * advance, 360 * (k + 1))).collect();
    format!("M3 S9000\nG0 X40 Z40\nG1 Z{height} F500\n{lines}G0 Z40\n")
}

#[test]
fn a_height_that_is_off_changes_every_radius_by_as_much() {
    for error in [-0.5, 0.0, 0.5] {
        rod(&format!("z = {error}"), FLAT, &rings(3.0, 20.0), |wood| wood.is_round(47.0, 20.0 + error));
        // So does a cutter's own zero.
        let cutter = format!("{FLAT}, length_error = {error}");
        rod("x = 0", &cutter, &rings(3.0, 20.0), |wood| wood.is_round(47.0, 20.0 + error));
    }
}

#[test]
fn lines_of_a_vee_come_out_wider_when_the_zero_is_low() {
    let width = |angle: u32, z: f64| {
        let cutter = format!("shape = \"vee\", angle = {angle}, diameter = 30");
        rod(&format!("z = {z}"), &cutter, &ring(60.0, 25.0), |wood| {
            let is_cut = |station: f64| wood.radius(station, 10.0) < 28.0 - 1e-6;
            turn(60.0, 75.0, is_cut) - turn(60.0, 45.0, is_cut)
        })
    };
    // 2·0.5·tan of half the angle.
    near(width(60, -0.5) - width(60, 0.0), 30f64.to_radians().tan(), 1e-3);
    near(width(60, -0.5) - width(60, 0.0), 0.58, 5e-3);
    near(width(90, -0.5) - width(90, 0.0), 1.0, 1e-3);
}

#[test]
fn a_zero_that_is_high_leaves_a_pip_where_a_flat_cutter_parts() {
    rod("z = 0.5", FLAT, &ring(60.0, 0.0), |wood| near(2.0 * wood.round(60.0)[1], 1.0, 1e-3));
}

/// The distance from the axis to a ball whose centre stands aside.
fn under_ball(aside: f64, height: f64, ball: f64) -> f64 {
    aside.hypot(height + ball) - ball
}

#[test]
fn calipers_do_not_see_that_a_ball_is_off_the_axis() {
    for (height, told) in [(20.0, 0.005), (5.0, 0.016)] {
        rod("y = 0.5", BALL, &ring(60.0, height), |wood| {
            wood.is_round(60.0, under_ball(0.5, height, 3.0));
            near(wood.round(60.0)[1] - height, told, 5e-4);
        });
    }
}

#[test]
fn but_its_lines_lie_turned() {
    for (height, told) in [(25.0, 1.02), (20.0, 1.25), (10.0, 2.20), (5.0, 3.58)] {
        let line = format!("M3 S9000\nG0 X20 Z40\nG1 Z{height} F500\nX100\nG0 Z40\n");
        rod("y = 0.5", BALL, &line, |wood| {
            // The contact lies where the axis sees the ball's centre.
            let expected = -(0.5f64 / (height + 3.0)).atan().to_degrees();
            near(wood.deepest(60.0, 0.0, 8.0), expected, 2e-3);
            near(expected.abs(), told, 5e-3);
        });
    }
}

#[test]
fn off_the_axis_a_flat_cutter_covers_less_a_turn() {
    // It reaches the radius under the axis alone, with a chord of its face of 2·√(ρ² − e²).
    for (error, told) in [(0.5f64, 5.916), (2.0, 4.47)] {
        let chord = 2.0 * (9.0 - error * error).sqrt();
        near(chord, told, 5e-3);
        let most = |advance: f64| {
            rod(&format!("y = {error}"), FLAT, &rings(advance, 20.0), |wood| {
                (0..=200).map(|k| wood.radius(46.0 + 0.05 * f64::from(k), 200.0)).fold(0.0, f64::max)
            })
        };
        near(most(chord - 0.01), 20.0, 1e-4);
        // What is left between rings that are wider apart stands where the rim passes.
        let aside = error - (9.0 - 2.99f64 * 2.99).sqrt();
        near(most(2.0 * 2.99), aside.hypot(20.0), 3e-3 * aside);
        assert!(most(2.0 * 2.99) > 20.0 + 1e-3);
    }
}

#[test]
fn two_sides_do_not_meet() {
    let slot = "M3 S9000\nG0 X20 Z40\nG1 Z10 F500\nX100\nG0 Z40\nA180\nG1 Z10 F500\nX20\nG0 Z40\n";
    rod("y = 0.5", FLAT, slot, |wood| {
        // The same wall from above and from below, across the blank; 20 mm from the axis.
        let side = |degrees: f64| 20.0 * degrees.to_radians().sin();
        let above = side(turn(0.0, -30.0, |degrees| !wood.holds(60.0, degrees, 20.0)));
        let below = side(turn(180.0, 210.0, |degrees| !wood.holds(60.0, degrees, 20.0)));
        near(-above, 3.5, 1e-3);
        near((above - below).abs(), 1.0, 1e-3);
    });
}

#[test]
fn parting_off_the_axis_leaves_a_pip() {
    let pip = |cutter: &str| rod("y = 0.5", cutter, &ring(60.0, 0.0), |wood| wood.round(60.0)[1]);
    let ball = |radius: f64| under_ball(0.5, 0.0, radius);
    near(pip(BALL), ball(3.0), 1e-3);
    near(ball(3.0), 0.041, 5e-4);
    near(pip("shape = \"ball\", diameter = 3"), ball(1.5), 1e-3);
    near(ball(1.5), 0.081, 5e-4);
    // A point: the side of a needle of 2° passes at 0.5·cos 1°.
    near(pip("shape = \"vee\", angle = 2, diameter = 1"), 0.5, 1e-3);
}

#[test]
fn turned_all_round_the_piece_is_round_whatever_the_zero() {
    for (zero, cutter) in [
        ("x = 0.7, y = -1.3, z = 0.4, a = 33", BALL),
        ("x = -2, y = 0.9, z = -0.8, a = 271", "shape = \"bull\", diameter = 8, corner = 1.5"),
        ("y = 2.1", "shape = \"vee\", angle = 90, diameter = 12"),
    ] {
        rod(zero, cutter, &ring(60.0, 18.0), |wood| {
            let [least, most] = wood.round(60.4);
            near(most, least, 1e-3);
            assert!(most < 25.0, "{most}");
        });
    }
}

/// At the contact that made a ray's end it moves by (n·δ)/(n·u), n the cutter's normal there, u the ray and δ the shift of
/// the cutter (envelope theorem). Beside the middle of a ring cut with a ball n is (s, √(b² − s²))/b.
#[test]
fn a_surface_feels_a_zero_by_the_normal_of_the_cutter() {
    let at = |zero: &str, station: f64| rod(zero, BALL, &ring(60.0, 20.0), |wood| wood.radius(station, 77.0));
    let step = 1e-3;
    for aside in [-2.4f64, -1.0, 0.5, 2.0] {
        let slope = |key: &str| {
            (at(&format!("{key} = {step}"), 60.0 + aside) - at(&format!("{key} = -{step}"), 60.0 + aside))
                / (2.0 * step)
        };
        near(slope("z"), 1.0, 1e-4);
        near(slope("x"), -aside / (9.0 - aside * aside).sqrt(), 1e-4);
        near(slope("y"), 0.0, 1e-4);
    }
}
