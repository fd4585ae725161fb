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
mod key;
mod layout;
mod legend;
mod lettering;
mod page;
mod run;
mod skin;
mod style;

use crate::map::{Band, Kind, Map, MapError, Setting, Values};
use canvas::Canvas;
use inks::{Count, Inks};
pub use key::{Key, KeyScale};
use layout::Layout;
use legend::Legend;
use lettering::Lettering;
pub use run::{RunPicture, run_picture};
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
pub fn picture(map: &Map<'_>, setting: &Setting<'_>, whole: &Band<'_>) -> Result<Vec<u8>, MapError> {
    let mut drawing = Drawing::new(map, setting)?;
    drawing.add(whole)?;
    drawing.png()
}

/// A picture under way, for maps too large to be held whole: the rows come in bands.
///
/// In what portions they come does not show in the picture. The work is done on all threads of the pool it is called in.
pub struct Drawing<'a> {
    map: Map<'a>,
    setting: Setting<'a>,
    count: Count,
    skin: Skin,
    rows: usize,
}

impl<'a> Drawing<'a> {
    /// Most bytes that the skin of a picture takes until it is drawn.
    pub const SKIN_BYTES: u64 = Layout::SKIN[0] * Layout::SKIN[1] * size_of::<skin::Shade>() as u64;
    /// Most bytes that the page takes, and once more while it is pressed into a PNG.
    pub const PAGE_BYTES: u64 = Layout::PAGE[0] * Layout::PAGE[1] * 2 * 4;

    /// A picture of which no row is there yet.
    ///
    /// # Errors
    ///
    /// [`MapError::Size`] as for [`picture`].
    pub fn new(map: &Map<'a>, setting: &Setting<'a>) -> Result<Drawing<'a>, MapError> {
        check_sizes(map, setting)?;
        let area = layout(map, setting, 0).skin;
        let skin = Skin::new(map, setting.chuck, area.width as usize, area.height as usize);
        Ok(Drawing { map: *map, setting: *setting, count: Count::default(), skin, rows: 0 })
    }

    /// Takes in the rows that follow those before.
    ///
    /// # Errors
    ///
    /// [`MapError::Shape`] when they are not whole rows, more than there are, or of another kind.
    pub fn add(&mut self, band: &Band<'_>) -> Result<(), MapError> {
        let compared = self.compared(band.values);
        let band = &Band { remaining: compared.as_deref().unwrap_or(band.remaining), ..*band };
        let rows = self.map.rows_of(band.values, self.rows)?;
        if band.remaining.len() != band.values.len() {
            return Err(self.map.misshapen(band.remaining.len()));
        }
        self.count = std::mem::take(&mut self.count).with(Count::of(band, self.map.columns));
        self.skin.add(band);
        self.rows += rows;
        Ok(())
    }

    /// For deviations, which are seen even where nothing is left: over nought where there is a number.
    fn compared(&self, values: Values<'_>) -> Option<Vec<f32>> {
        match (self.map.kind, values) {
            (Kind::Deviations { .. }, Values::Measures(values)) => {
                Some(values.iter().map(|value| if value.is_finite() { 1.0 } else { 0.0 }).collect())
            }
            _ => None,
        }
    }

    /// The picture, once all rows are there.
    ///
    /// # Errors
    ///
    /// [`MapError::Shape`] when rows are missing, [`MapError::Encode`] when the PNG cannot be made.
    pub fn png(self) -> Result<Vec<u8>, MapError> {
        let name = self.map.name.to_owned();
        let (canvas, _) = self.drawn()?;
        canvas.png().map_err(|error| MapError::Encode { name, because: error.to_string() })
    }

    fn drawn(self) -> Result<(Canvas, Layout), MapError> {
        let Drawing { map, setting, count, skin, rows } = self;
        if rows != map.rows {
            return Err(map.misshapen(rows * map.columns));
        }
        let encode = || MapError::Encode { name: map.name.to_owned(), because: "no room for the page".to_owned() };
        let lettering = Lettering::new().ok_or_else(encode)?;
        let inks = Inks::new(map.kind, count);
        let is_held = first_edge(&map) < -HALF_A_MICRON;
        let legend = Legend::new(&lettering, &inks, map.rows * map.columns, is_held);
        let layout = layout(&map, &setting, legend.width());
        let mut canvas = Canvas::new(layout.width, layout.height, style::PAPER, lettering).ok_or_else(encode)?;
        surface(&mut canvas, &layout, &skin, &inks);
        axes::titles(&mut canvas, &layout, &map, &setting);
        axes::stations(&mut canvas, &layout);
        axes::angles(&mut canvas, &layout, setting.chuck);
        axes::jaw_face(&mut canvas, &layout);
        axes::scale_bar(&mut canvas, &layout, setting.greatest_radius);
        legend.draw(&mut canvas, &layout, &map, &inks);
        Ok((canvas, layout))
    }
}

/// Station where the first cell begins, mm.
fn first_edge(map: &Map<'_>) -> f64 {
    map.station_first - 0.5 * map.station_step
}

fn layout(map: &Map<'_>, setting: &Setting<'_>, legend: i32) -> Layout {
    let (length, around) = (map.station_step * map.rows as f64, TAU * setting.greatest_radius);
    Layout::new(first_edge(map), length, around, legend)
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
fn surface(canvas: &mut Canvas, layout: &Layout, skin: &Skin, inks: &Inks) {
    let area = layout.skin;
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
                kind: Kind::Measures,
            };
            let setting = Setting { title: "Letter", chuck, greatest_radius: 10.0 };
            let mut drawing = Drawing::new(&map, &setting).unwrap();
            drawing.add(&measures(&remaining)).unwrap();
            let (canvas, layout) = drawing.drawn().unwrap();
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

    fn plain_map(kind: Kind<'_>, rows: usize, columns: usize) -> Map<'_> {
        let (station_first, station_step, angle_step) = (-3.75, 0.5, 360.0 / columns as f64);
        Map { name: "test", title: "Test", unit: "mm", rows, columns, station_first, station_step, angle_step, kind }
    }

    /// A map of what is left itself.
    fn measures(remaining: &[f32]) -> Band<'_> {
        Band { values: Values::Measures(remaining), remaining }
    }

    #[test]
    fn sizes_that_make_no_picture_are_refused_by_name() {
        let remaining = [1.0; 24];
        let map = plain_map(Kind::Measures, 1, 24);
        let setting = Setting { title: "", chuck: Side::Minus, greatest_radius: 5.0 };
        assert!(picture(&map, &setting, &measures(&remaining)).is_ok());
        let refused = |map: &Map<'_>, setting: &Setting<'_>| {
            picture(map, setting, &measures(&remaining)).unwrap_err().to_string()
        };
        assert!(refused(&Map { station_step: f64::NAN, ..map }, &setting).contains("the station step"));
        assert!(refused(&Map { station_step: 0.0, ..map }, &setting).contains("the station step"));
        assert!(refused(&Map { station_first: 1e300, ..map }, &setting).contains("the first station"));
        assert!(refused(&Map { angle_step: 14.0, ..map }, &setting).contains("one turn"));
        assert!(refused(&map, &Setting { greatest_radius: -1.0, ..setting }).contains("the greatest radius"));
    }

    #[test]
    fn rows_that_are_missing_cut_short_or_of_another_kind_are_refused() {
        let remaining = [1.0; 48];
        let setting = Setting { title: "", chuck: Side::Minus, greatest_radius: 5.0 };
        let map = plain_map(Kind::Measures, 2, 24);
        let refused = |bands: &[Band<'_>]| {
            let mut drawing = Drawing::new(&map, &setting).unwrap();
            let added = bands.iter().try_for_each(|band| drawing.add(band));
            added.and_then(|()| drawing.png()).map(drop).unwrap_err().to_string()
        };
        let row = || measures(&remaining[..24]);
        assert!(refused(&[Band { remaining: &remaining[1..], ..measures(&remaining) }]).contains("47 values"));
        assert!(refused(&[row()]).contains("24 values"));
        assert!(refused(&[row(), measures(&remaining)]).contains("48 values"));
        assert!(refused(&[measures(&remaining[..23])]).contains("23 values"));
        assert!(refused(&[Band { values: Values::Lines(&[0; 24]), ..row() }]).contains("24 values"));
        assert!(refused(&[measures(&[])]).contains("0 values"));
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
            kind in 0..4,
            portion in prop_oneof![1usize..50, Just(700)],
        ) {
            let codes: Vec<i16> = (0..rows * columns).map(|ray| (ray / 7 % 90) as i16 - 2).collect();
            let remaining: Vec<f32> = codes.iter().map(|&code| f32::from(code)).collect();
            let lines: Vec<i32> = codes.iter().map(|&code| i32::from(code)).collect();
            let names: Vec<_> = (1..60).map(|code| (code, title.clone())).collect();
            let (kind, values) = match kind {
                0 => (Kind::Measures, Values::Measures(&remaining)),
                1 => (Kind::Lines, Values::Lines(&lines)),
                2 => (Kind::Deviations { below: 0.5, over: 2.0 }, Values::Measures(&remaining)),
                _ => (Kind::Categories(&names), Values::Categories(&codes)),
            };
            let chuck = if plus { Side::Plus } else { Side::Minus };
            let setting = Setting { title: &title, chuck, greatest_radius: radius };
            let map = plain_map(kind, rows, columns);
            let bytes = picture(&map, &setting, &Band { values, remaining: &remaining }).unwrap();
            // In portions of whole rows it is the same picture.
            let mut drawing = Drawing::new(&map, &setting).unwrap();
            for first in (0..rows).step_by(portion) {
                let rays = first * columns..(first + portion).min(rows) * columns;
                let values = match values {
                    Values::Measures(values) => Values::Measures(&values[rays.clone()]),
                    Values::Lines(lines) => Values::Lines(&lines[rays.clone()]),
                    Values::Categories(codes) => Values::Categories(&codes[rays.clone()]),
                };
                drawing.add(&Band { values, remaining: &remaining[rays] }).unwrap();
            }
            prop_assert!(drawing.png().unwrap() == bytes);
            let page = tiny_skia::Pixmap::decode_png(&bytes).unwrap();
            prop_assert!(page.width() <= 1600 && page.height() <= 1100);
        }
    }
}
