//! Closed forms are those of Roark's Formulas for Stress and Strain (8th edition, Table 8.1) and of Gere and Goodno,
//! Mechanics of Materials (appendix on deflections and slopes), both from memory; their numbers were computed apart.

use super::*;
use crate::strength::section::tests::{circle, moved};
use dryturn_carve::Section;

/// The bar of such sections.
fn of_sections(
    from: f64,
    cells: impl IntoIterator<Item = (f64, Section)>,
    stiffness: Stiffness,
    holding: Holding,
) -> Bar {
    Bar::new(from, cells.into_iter().map(|(end, section)| (end, Profile::of(&section))), stiffness, holding)
}

/// Black walnut: 1.1 times its modulus in bending is that along the grain, of which its rigidities are 0.085 and 0.062
/// (Wood Handbook, Table 5-1); about the grain works 2ab/(a + b) of these.
const WALNUT: Stiffness =
    Stiffness { modulus: 11_600.0, rigidity: 11_600.0 * 1.1 * 2.0 * 0.085 * 0.062 / 0.147, with_shear: false };
const FORCE: f64 = 50.0;
const LENGTH: f64 = 300.0;

#[track_caller]
fn assert_near(value: f64, expected: f64) {
    assert!((value / expected - 1.0).abs() <= 1e-6, "{value} is not {expected}");
}

fn bar(diameters: &[(f64, f64)], stiffness: Stiffness, holding: Holding) -> Bar {
    of_sections(0.0, diameters.iter().map(|&(to, diameter)| (to, circle(diameter))), stiffness, holding)
}

/// A round bar of an inch, 300 mm long.
fn inch(holding: Holding) -> Bar {
    bar(&[(LENGTH, 25.4)], WALNUT, holding)
}

#[test]
fn a_free_end() {
    let bar = inch(Holding::Clamped);
    // P L³/3EI; at the middle P a³/3EI, and P a² (3L − a)/6EI at the end.
    assert_near(FORCE * bar.flexibility(LENGTH), 1.898_671);
    assert_near(FORCE * bar.flexibility(150.0), 0.237_333_9);
    assert_near(FORCE * bar.deflection(LENGTH, 150.0).greatest(), 0.593_334_7);
    assert_eq!(bar.under(150.0).moment(50.0), Matrix::alike(100.0));
    assert_eq!((bar.under(150.0).moment(200.0), bar.under(150.0).reaction), (Matrix::default(), Matrix::default()));
    // Sticking out of a chuck by 3, 5, 8 and 12 diameters.
    for (diameters, expected) in [(3.0, 0.031_12), (5.0, 0.144_1), (8.0, 0.590_1), (12.0, 1.991_7)] {
        let tip = FORCE * inch_of(25.4 * diameters).flexibility(25.4 * diameters);
        assert!((tip / expected - 1.0).abs() < 1e-3, "{tip} is not {expected}");
    }
}

fn inch_of(length: f64) -> Bar {
    bar(&[(length, 25.4)], WALNUT, Holding::Clamped)
}

#[test]
fn a_center_at_the_far_end() {
    let bar = inch(Holding::Propped);
    // 7 P L³/768 EI; the center takes 5 P/16, the clamp 3 P L/16.
    assert_near(FORCE * bar.flexibility(150.0), 0.051_916_79);
    assert_near(FORCE * bar.under(150.0).reaction.greatest(), 15.625);
    assert_near(FORCE * bar.under(150.0).moment(0.0).greatest(), 2812.5);
    // It sinks most not under the load but at L/√5 from the center: P L³/(48 √5 EI).
    let deepest = LENGTH - LENGTH / 5f64.sqrt();
    assert_near(FORCE * bar.deflection(deepest, 150.0).greatest(), 0.053_069_47);
    // With b = L − a: P a³ b² (3L + b)/(12 E I L³), P a² (3L − a)/2L³ and P a b (L + b)/2L².
    for (a, deflection, reaction, moment) in
        [(100.0, 0.028_649_36, 7.407_407, 2_777.777_8), (200.0, 0.052_089_74, 25.925_926, 2_222.222_2)]
    {
        assert_near(FORCE * bar.flexibility(a), deflection);
        assert_near(FORCE * bar.under(a).reaction.greatest(), reaction);
        assert_near(FORCE * bar.under(a).moment(0.0).greatest(), moment);
    }
    // No load moves the clamp or the center.
    assert_eq!(bar.flexibility(0.0), 0.0);
    assert!(bar.flexibility(LENGTH).abs() < 1e-15);
}

#[test]
fn the_worst_place_of_a_load() {
    let bar = inch(Holding::Propped);
    let worst =
        (0..30_000).map(|k| f64::from(k) * 0.01).max_by(|a, b| bar.flexibility(*a).total_cmp(&bar.flexibility(*b)));
    // At a = (2 − √2) L: 0.009812417 P L³/EI.
    assert!((worst.unwrap() - 0.585_786_4 * LENGTH).abs() < 0.02);
    assert_near(FORCE * bar.flexibility(0.585_786_4 * LENGTH), 0.055_891_7);
}

#[test]
fn between_centers() {
    let bar = inch(Holding::Centers);
    // P L³/48 EI.
    assert_near(FORCE * bar.flexibility(150.0), 0.118_666_9);
    assert_near(FORCE * bar.under(100.0).reaction.greatest(), FORCE / 3.0);
    assert_near(bar.under(150.0).moment(150.0).0[0][0], -75.0);
    assert_near(bar.under(100.0).moment(60.0).0[1][1], -40.0);
    // P b x (L² − b² − x²)/6LEI, before the load.
    let expected = 100.0 * 60.0 * (9e4 - 1e4 - 3600.0) / (6.0 * LENGTH * 11_600.0 * 20_431.712_3);
    assert_near(bar.deflection(60.0, 200.0).0[0][0], expected);
    assert_near(bar.deflection(200.0, 60.0).0[0][0], expected);
}

#[test]
fn shear_deflects_too_where_it_counts() {
    let sheared = bar(&[(LENGTH, 25.4)], Stiffness { with_shear: true, ..WALNUT }, Holding::Centers);
    // κ P L/4GA with κ = 10/9.
    assert_near(FORCE * (sheared.flexibility(150.0) - inch(Holding::Centers).flexibility(150.0)), 0.008_987_88);
    let free = bar(&[(LENGTH, 25.4)], Stiffness { with_shear: true, ..WALNUT }, Holding::Clamped);
    let share = FORCE * (free.flexibility(LENGTH) - inch(Holding::Clamped).flexibility(LENGTH));
    assert_near(share, 4.0 * 0.008_987_88);
}

#[test]
fn a_neck_weakens_it() {
    let bar = bar(&[(140.0, 25.4), (160.0, 10.0), (LENGTH, 25.4)], WALNUT, Holding::Propped);
    assert_near(FORCE * bar.flexibility(150.0), 0.164_470_3);
    assert_near(FORCE * bar.under(150.0).reaction.greatest(), 5.732_336);
}

#[test]
fn a_step() {
    let bar = bar(&[(100.0, 25.4), (200.0, 12.0)], WALNUT, Holding::Clamped);
    // F/3E · (L₂³/I₂ + ((L₁ + L₂)³ − L₂³)/I₁).
    assert_near(20.0 * bar.flexibility(200.0), 0.761_518_7);
}

#[test]
fn a_neck_in_torsion() {
    let whole = bar(&[(20.0, 6.0)], WALNUT, Holding::Clamped);
    // T L/GJ with J = π d⁴/32 = 127.2345.
    assert!((dryturn_geom::angle::degrees(750.0 * whole.twist(20.0)) - 7.383).abs() < 5e-4);
    let two = bar(&[(100.0, 25.4), (120.0, 6.0)], WALNUT, Holding::Centers);
    assert_near(two.twist(120.0) - two.twist(100.0), whole.twist(20.0));
    assert_near(two.twist(50.0), 50.0 / (WALNUT.rigidity * 40_863.424_6));
}

/// 16 bars of each holding, with sections turned this way and that, made by `tests/data/bars.py`.
#[test]
fn bars_of_a_frame_library() {
    let table = include_str!("../../../tests/data/bars.csv");
    let mut count = 0;
    for line in table.lines().skip(2) {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().expect("a number");
        let bar = bar_of(cells[0], number(1), cells[2]);
        let (load, force, station) = (number(3), [number(4), number(5)], number(6));
        let expected: Vec<f64> = (7..13).map(number).collect();
        let answers = [bar.deflection(station, load), bar.under(load).reaction, bar.under(load).moment(station)]
            .map(|matrix| times(matrix, force));
        for ((answer, expected), least) in answers.iter().zip(expected.chunks(2)).zip([1e-6, 1e-3, 1.0]) {
            let scale = expected[0].hypot(expected[1]).max(least);
            let off = (answer[0] - expected[0]).hypot(answer[1] - expected[1]);
            assert!(off <= 2e-6 * scale, "{answer:?} is not {expected:?} in {line}");
        }
        count += 1;
    }
    assert_eq!(count, 48);
}

fn bar_of(holding: &str, modulus: f64, segments: &str) -> Bar {
    let holding = match holding {
        "clamped" => Holding::Clamped,
        "propped" => Holding::Propped,
        _ => Holding::Centers,
    };
    let segments = segments.split(';').map(|segment| {
        let values: Vec<f64> = segment.split(':').map(|value| value.parse().expect("a number")).collect();
        let second = [values[1], values[2], values[3]];
        (values[0], Section { area: 1.0, second, reach: 1.0, ..Section::default() })
    });
    of_sections(0.0, segments, Stiffness { modulus, ..WALNUT }, holding)
}

fn times(matrix: Matrix, [y, z]: [f64; 2]) -> [f64; 2] {
    matrix.0.map(|row| row[0] * y + row[1] * z)
}

#[test]
fn beyond_a_cut_nothing_holds() {
    let cells = [(100.0, circle(25.4)), (110.0, Section::default()), (LENGTH, circle(25.4))];
    for holding in [Holding::Clamped, Holding::Propped] {
        let bar = of_sections(0.0, cells, WALNUT, holding);
        // What is left in the chuck sticks out of it.
        assert_near(FORCE * bar.flexibility(100.0), FORCE * 1e6 / (3.0 * 11_600.0 * 20_431.712_3));
        assert_eq!(bar.flexibility(100.1), f64::INFINITY);
        assert_eq!((bar.twist(200.0), bar.under(200.0).moment(50.0)), (f64::INFINITY, Matrix::default()));
        assert_eq!(bar.under(200.0).reaction, Matrix::default());
    }
    let bar = of_sections(0.0, cells, WALNUT, Holding::Centers);
    assert_eq!((bar.flexibility(50.0), bar.under(50.0).moment(20.0)), (f64::INFINITY, Matrix::default()));
    let none = of_sections(0.0, [], WALNUT, Holding::Centers);
    assert_eq!((none.flexibility(50.0), none.under(50.0).reaction), (f64::INFINITY, Matrix::default()));
}

/// Where a section lies does not matter for what it bends, only how it lies about its own middle; stations count from the
/// bar's beginning.
#[test]
fn off_the_axis_and_elsewhere() {
    let moved = moved(&circle(25.4), [3.0, -5.0]);
    let bar = of_sections(40.0, [(120.0, moved), (340.0, circle(25.4))], WALNUT, Holding::Propped);
    assert_near(bar.flexibility(190.0), inch(Holding::Propped).flexibility(150.0));
    assert_near(bar.under(240.0).moment(140.0).0[0][0], inch(Holding::Propped).under(200.0).moment(100.0).0[0][0]);
}
