//! The drawn skin: a map of the unrolled surface as a picture for the wall of the shop.
//!
//! The surface is seen from outside with the chuck at the left, so lettering on the piece reads the right way round.
//! Stations run to the right. With the chuck on the minus side of the machine θ grows downward, on the plus side
//! upward: seen along the machine's axes the two set-ups differ by half a turn about the vertical. One turn is drawn as
//! high as the blank is around at its greatest radius, so that a millimetre is a millimetre both ways; very long and
//! very short blanks are stretched, and the picture says by how much.

mod axes;
mod canvas;
mod inks;
mod layout;
mod legend;
mod lettering;
mod skin;
mod style;

use crate::map::{Map, MapError, Setting};
use canvas::Canvas;
use inks::Inks;
use layout::Layout;
use legend::Legend;
use lettering::Lettering;
use skin::Skin;
use std::f64::consts::TAU;

/// Stations closer to the jaw face than this lie on it, mm.
const HALF_A_MICRON: f64 = 5e-4;

/// The map as a PNG picture: the drawn skin with axes, scale bar and legend. The same map gives the same bytes.
///
/// Where rays are finer than pixels, measures are averaged over each pixel, each ray weighted by its share of it; else,
/// and for lines and categories always, a pixel shows the ray nearest to its middle. A hole of a single ray still shows.
///
/// # Errors
///
/// [`MapError::Shape`] when the numbers of values do not fit, [`MapError::Size`] when a step or the radius is not a
/// finite number over 0 or the angles do not make one turn, [`MapError::Encode`] when the PNG cannot be made.
pub fn picture(map: &Map, setting: &Setting) -> Result<Vec<u8>, MapError> {
    let (canvas, _) = drawn(map, setting)?;
    canvas.png().map_err(|because| MapError::Encode { name: map.name.to_owned(), because })
}

fn drawn(map: &Map, setting: &Setting) -> Result<(Canvas, Layout), MapError> {
    map.fits(map.values.len())?;
    map.fits(setting.remaining.len())?;
    let first = map.station_first - 0.5 * map.station_step;
    check_sizes(map, setting)?;
    let encode = || MapError::Encode { name: map.name.to_owned(), because: "no room for the page".to_owned() };
    let lettering = Lettering::new().ok_or_else(encode)?;
    let inks = Inks::new(map, setting.remaining);
    let legend = Legend::new(&lettering, &inks, map.rows * map.columns, first < -HALF_A_MICRON);
    let (length, around) = (map.station_step * map.rows as f64, TAU * setting.greatest_radius);
    let layout = Layout::new(first, length, around, legend.width());
    let mut canvas = Canvas::new(layout.width, layout.height, style::PAPER, lettering).ok_or_else(encode)?;
    surface(&mut canvas, &layout, map, setting, &inks);
    axes::titles(&mut canvas, &layout, map, setting);
    axes::stations(&mut canvas, &layout);
    axes::angles(&mut canvas, &layout, setting.chuck);
    axes::jaw_face(&mut canvas, &layout);
    axes::scale_bar(&mut canvas, &layout, setting.greatest_radius);
    legend.draw(&mut canvas, &layout, map, &inks);
    Ok((canvas, layout))
}

fn check_sizes(map: &Map, setting: &Setting) -> Result<(), MapError> {
    let length = map.station_step * map.rows as f64;
    let around = TAU * setting.greatest_radius;
    let turn = map.angle_step * map.columns as f64;
    let over_zero = |value: f64| value > 0.0 && value.is_finite();
    let checks = [
        (over_zero(map.station_step) && over_zero(length), "the station step must be a finite length over 0"),
        (map.station_first.abs() < 1e9, "the first station must lie within a thousand kilometres"),
        (over_zero(around), "the greatest radius must be a finite length over 0"),
        ((turn - 360.0).abs() < 1e-6, "the angles must make one turn"),
    ];
    if let Some((_, because)) = checks.into_iter().find(|(holds, _)| !holds) {
        return Err(MapError::Size { name: map.name.to_owned(), because });
    }
    Ok(())
}

/// Draws the skin itself.
fn surface(canvas: &mut Canvas, layout: &Layout, map: &Map, setting: &Setting, inks: &Inks) {
    let area = layout.skin;
    let skin = Skin::new(map, setting.remaining, setting.chuck, area.width as usize, area.height as usize);
    let jaw_face = layout.across(0.0).clamp(area.left, area.right());
    canvas.painted(area, |x, y| {
        let shade = skin.shade((x - area.left) as usize, (y - area.top) as usize);
        let colour = inks.colour(shade, x, y);
        if x < jaw_face { style::held(colour, x, y) } else { colour }
    });
    canvas.frame(area, style::RULE);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::map::Values;
    use dryturn_geom::angle::{degrees, signed, wrapped};
    use dryturn_geom::{Side, piece_from_blank};
    use proptest::prelude::*;

    const LETTER: [&str; 7] = ["#####", "#....", "#....", "####.", "#....", "#....", "#...."];

    /// A letter cut into a blank of radius 10 as one sees it who looks at the piece from outside, the chuck at
    /// the left: a cell is 1 mm wide and 2 mm high.
    fn lettered(chuck: Side, middle: f64) -> Vec<f32> {
        let (rows, columns) = (20, 180);
        let mut remaining = vec![10.0; rows * columns];
        for (ray, radius) in remaining.iter_mut().enumerate() {
            let (station, theta) =
                ((ray / columns) as f64 + 0.5, (ray % columns) as f64 * std::f64::consts::TAU / 180.0);
            // Turned so that the middle of the letter faces the eye: +x right, +z toward the eye, so +y is up.
            let [x, y, z] = piece_from_blank(chuck, station, signed(theta - middle), 10.0);
            if z < 0.0 {
                continue;
            }
            let (column, row) = ((x - 5.0).floor(), ((7.0 - y) / 2.0).floor());
            let inside = (0.0..5.0).contains(&column) && (0.0..7.0).contains(&row);
            if inside && LETTER[row as usize].as_bytes()[column as usize] == b'#' {
                *radius = 6.0;
            }
        }
        remaining
    }

    #[test]
    fn a_letter_reads_the_right_way_round_on_both_sides() {
        for chuck in [Side::Minus, Side::Plus] {
            let middle = 2.0;
            let remaining = lettered(chuck, middle);
            let map = Map {
                name: "letter",
                title: "Letter",
                unit: "mm",
                rows: 20,
                columns: 180,
                station_first: 0.5,
                station_step: 1.0,
                angle_step: 2.0,
                values: Values::Measures(&remaining),
            };
            let setting = Setting { title: "Letter", chuck, greatest_radius: 10.0, remaining: &remaining };
            let (canvas, layout) = drawn(&map, &setting).unwrap();
            let skin = layout.skin;
            let down = degrees(wrapped(middle)) / 360.0 * f64::from(skin.height);
            let middle_row = match chuck {
                Side::Minus => f64::from(skin.top) + down,
                Side::Plus => f64::from(skin.bottom()) - down,
            };
            let around = f64::from(skin.height) / (std::f64::consts::TAU * 10.0);
            for (row, cells) in LETTER.iter().enumerate() {
                for (column, cell) in cells.bytes().enumerate() {
                    let x = layout.across(5.5 + column as f64);
                    let y = middle_row + (2.0 * row as f64 - 6.0) * around;
                    let cut = canvas.pixel(x, y as i32) == style::measured(0.0);
                    assert_eq!(cut, cell == b'#', "{chuck:?}: row {row}, column {column}");
                }
            }
        }
    }

    fn plain_map(values: Values<'_>, rows: usize, columns: usize) -> Map<'_> {
        let (station_first, station_step, angle_step) = (-3.75, 0.5, 360.0 / columns as f64);
        Map { name: "test", title: "Test", unit: "mm", rows, columns, station_first, station_step, angle_step, values }
    }

    #[test]
    fn sizes_that_make_no_picture_are_refused_by_name() {
        let remaining = [1.0; 24];
        let map = plain_map(Values::Measures(&remaining), 1, 24);
        let setting = Setting { title: "", chuck: Side::Minus, greatest_radius: 5.0, remaining: &remaining };
        assert!(picture(&map, &setting).is_ok());
        let refused = |map: &Map, setting: &Setting| picture(map, setting).unwrap_err().to_string();
        assert!(refused(&Map { station_step: f64::NAN, ..map }, &setting).contains("the station step"));
        assert!(refused(&Map { station_step: 0.0, ..map }, &setting).contains("the station step"));
        assert!(refused(&Map { station_first: 1e300, ..map }, &setting).contains("the first station"));
        assert!(refused(&Map { angle_step: 14.0, ..map }, &setting).contains("one turn"));
        assert!(refused(&map, &Setting { greatest_radius: -1.0, ..setting }).contains("the greatest radius"));
        assert!(refused(&map, &Setting { remaining: &remaining[1..], ..setting }).contains("23 values"));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn any_grid_gives_a_picture(
            rows in prop_oneof![Just(1usize), 1usize..40, Just(3000)],
            columns in prop_oneof![Just(24usize), (1usize..9).prop_map(|k| k * 24), Just(1024)],
            radius in 0.5f64..300.0,
            title in any::<String>(),
            plus in any::<bool>(),
            kind in 0..3,
        ) {
            let codes: Vec<i16> = (0..rows * columns).map(|ray| (ray / 7 % 90) as i16 - 2).collect();
            let remaining: Vec<f32> = codes.iter().map(|&code| f32::from(code)).collect();
            let lines: Vec<i32> = codes.iter().map(|&code| i32::from(code)).collect();
            let names: Vec<_> = (1..60).map(|code| (code, title.clone())).collect();
            let values = match kind {
                0 => Values::Measures(&remaining),
                1 => Values::Lines(&lines),
                _ => Values::Categories { codes: &codes, names: &names },
            };
            let chuck = if plus { Side::Plus } else { Side::Minus };
            let setting = Setting { title: &title, chuck, greatest_radius: radius, remaining: &remaining };
            let bytes = picture(&plain_map(values, rows, columns), &setting).unwrap();
            let page = tiny_skia::Pixmap::decode_png(&bytes).unwrap();
            prop_assert!(page.width() <= 1600 && page.height() <= 1100);
        }
    }
}
