//! Maps of the unrolled surface and their exact form, the NPY file.

use dryturn_geom::Side;

/// Category code of a ray nothing has cut, in maps of what cut last.
pub const UNTOUCHED: i32 = -1;

/// Category code of a ray that ends at a bore or a dimple, in maps of what cut last.
pub const BORE: i32 = -2;

/// One number for each ray of the blank.
#[derive(Clone, Copy, Debug)]
pub struct Map<'a> {
    /// Name of its files, without folder and ending, for example `remaining-radius`.
    pub name: &'a str,
    /// Name a person reads, for example `Remaining radius`.
    pub title: &'a str,
    /// Unit of the values; empty where they have none.
    pub unit: &'a str,
    /// How many stations there are.
    pub rows: usize,
    /// How many angles there are.
    pub columns: usize,
    /// Station of the first row, mm from the jaw face.
    pub station_first: f64,
    /// From one row to the next, mm.
    pub station_step: f64,
    /// From one column to the next, degrees; column 0 lies at θ = 0.
    pub angle_step: f64,
    /// What its numbers are.
    pub kind: Kind<'a>,
}

/// What the numbers of a map are, which decides how they are stored and drawn.
#[derive(Clone, Copy, Debug)]
pub enum Kind<'a> {
    /// Lengths or other measures, drawn on a scale from dark to light. Where they are not a number nothing was cut, or
    /// nobody knows.
    Measures,
    /// Signed lengths from what is wanted, drawn on a scale to both sides of zero and hatched beyond what is allowed.
    /// Where they are not a number nothing is compared.
    Deviations {
        /// What is allowed below zero, not negative.
        below: f64,
        /// What is allowed above zero, not negative.
        over: f64,
    },
    /// Program lines, drawn on the same scale from first to last; [`UNTOUCHED`] and [`BORE`] are apart.
    Lines,
    /// Categories, drawn in colours with patterns; [`UNTOUCHED`] and [`BORE`] are apart. What the codes stand for, in the
    /// order the legend has.
    Categories(&'a [(i16, String)]),
}

impl Kind<'_> {
    /// What an NPY header calls the type of the numbers.
    pub fn dtype(&self) -> &'static str {
        match self {
            Kind::Measures | Kind::Deviations { .. } => "<f4",
            Kind::Lines => "<i4",
            Kind::Categories(_) => "<i2",
        }
    }
}

/// Numbers of a map, row by row: of all its rows or of some that follow each other.
#[derive(Clone, Copy, Debug)]
pub enum Values<'a> {
    /// For [`Kind::Measures`] and [`Kind::Deviations`].
    Measures(&'a [f32]),
    /// For [`Kind::Lines`].
    Lines(&'a [i32]),
    /// For [`Kind::Categories`].
    Categories(&'a [i16]),
}

impl Values<'_> {
    /// How many numbers there are.
    pub fn len(&self) -> usize {
        match self {
            Values::Measures(values) => values.len(),
            Values::Lines(values) => values.len(),
            Values::Categories(codes) => codes.len(),
        }
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The numbers as an NPY file holds them behind its head.
    pub fn bytes(&self) -> Vec<u8> {
        match self {
            Values::Measures(values) => values.iter().flat_map(|value| value.to_le_bytes()).collect(),
            Values::Lines(values) => values.iter().flat_map(|value| value.to_le_bytes()).collect(),
            Values::Categories(codes) => codes.iter().flat_map(|code| code.to_le_bytes()).collect(),
        }
    }

    fn is_of(&self, kind: Kind<'_>) -> bool {
        matches!(
            (self, kind),
            (Values::Measures(_), Kind::Measures | Kind::Deviations { .. })
                | (Values::Lines(_), Kind::Lines)
                | (Values::Categories(_), Kind::Categories(_))
        )
    }
}

/// Some rows of a map, whole or part of it.
#[derive(Clone, Copy, Debug)]
pub struct Band<'a> {
    /// The numbers.
    pub values: Values<'a>,
    /// Outermost solid radius of each of the rays, mm; rays where it is 0 are drawn as gone, but for deviations.
    pub remaining: &'a [f32],
}

/// What the pictures of one job have in common.
#[derive(Clone, Copy, Debug)]
pub struct Setting<'a> {
    /// Title of the scene.
    pub title: &'a str,
    /// Side the chuck stands on: θ is drawn downward for [`Side::Minus`], upward for [`Side::Plus`].
    pub chuck: Side,
    /// Greatest radius of the blank, mm: the unrolled surface is drawn as wide around as this cylinder.
    pub greatest_radius: f64,
}

/// Why a map could not be written or drawn.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MapError {
    /// The number of values is not rows × columns.
    #[error("map {name}: {found} values for {rows} stations × {columns} angles")]
    Shape {
        /// Name of the map.
        name: String,
        /// Stations.
        rows: usize,
        /// Angles.
        columns: usize,
        /// Values there are.
        found: usize,
    },
    /// A step, a radius or a station is not a number a picture can be laid out with.
    #[error("map {name}: {because}")]
    Size {
        /// Name of the map.
        name: String,
        /// Which number, and what it must be.
        because: &'static str,
    },
    /// The picture could not be encoded.
    #[error("map {name}: the picture could not be encoded: {because}")]
    Encode {
        /// Name of the map.
        name: String,
        /// What the encoder says.
        because: String,
    },
}

impl Map<'_> {
    /// Whether so many numbers are those of whole rows that still have room behind `before` rows; gives how many rows.
    pub(crate) fn rows_of(&self, values: Values<'_>, before: usize) -> Result<usize, MapError> {
        let rows = values.len().checked_div(self.columns).unwrap_or(0);
        let fits = rows > 0 && rows * self.columns == values.len() && rows <= self.rows.saturating_sub(before);
        if fits && values.is_of(self.kind) {
            return Ok(rows);
        }
        Err(self.misshapen(values.len()))
    }

    pub(crate) fn misshapen(&self, found: usize) -> MapError {
        MapError::Shape { name: self.name.to_owned(), rows: self.rows, columns: self.columns, found }
    }
}

/// The map as an NPY file, format 1.0: little-endian, C order, shape (stations, angles).
///
/// Row i is the station `station_first + i · station_step`, column j the ray at θ = j · `angle_step`.
///
/// # Errors
///
/// [`MapError::Shape`] when the numbers do not fit.
pub fn npy(map: &Map<'_>, values: Values<'_>) -> Result<Vec<u8>, MapError> {
    if map.rows_of(values, 0)? != map.rows {
        return Err(map.misshapen(values.len()));
    }
    Ok([npy_head(map), values.bytes()].concat())
}

/// What an NPY file begins with; behind it come the [`Values::bytes`] of all rows.
pub fn npy_head(map: &Map<'_>) -> Vec<u8> {
    dryturn_carve::npy_head(map.kind.dtype(), &[map.rows, map.columns])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn npy(values: Values<'_>, rows: usize, columns: usize) -> Result<Vec<u8>, MapError> {
        let (name, title, unit) = ("test", "Test", "mm");
        let kind = match values {
            Values::Measures(_) => Kind::Measures,
            Values::Lines(_) => Kind::Lines,
            Values::Categories(_) => Kind::Categories(&[]),
        };
        let (station_first, station_step, angle_step) = (0.5, 1.0, 15.0);
        let map = Map { name, title, unit, rows, columns, station_first, station_step, angle_step, kind };
        super::npy(&map, values)
    }

    #[test]
    fn an_npy_file_is_what_the_format_says() {
        let bytes = npy(Values::Measures(&[1.0, 2.0, 3.0, 4.0, 5.0, -0.5]), 2, 3).unwrap();
        assert_eq!(&bytes[..10], b"\x93NUMPY\x01\x00\x76\x00");
        let header = std::str::from_utf8(&bytes[10..128]).unwrap();
        assert!(header.starts_with("{'descr': '<f4', 'fortran_order': False, 'shape': (2, 3), }"));
        assert!(header.ends_with(" \n"));
        assert_eq!(&bytes[128..132], &1.0f32.to_le_bytes());
        assert_eq!(&bytes[148..], &(-0.5f32).to_le_bytes());
    }

    #[test]
    fn whole_numbers_keep_their_own_types() {
        let lines = npy(Values::Lines(&[-1, 70_000]), 1, 2).unwrap();
        assert_eq!(&lines[128..], &[255, 255, 255, 255, 0x70, 0x11, 1, 0]);
        let codes = npy(Values::Categories(&[-2, 513]), 2, 1).unwrap();
        assert_eq!(&codes[128..], &[254, 255, 1, 2]);
        assert!(String::from_utf8_lossy(&codes).contains("'<i2'"));
    }

    #[test]
    fn the_numbers_start_at_a_multiple_of_64_for_any_shape() {
        for rows in [1, 10, 1_000, 100_000] {
            let values = vec![0; rows];
            let bytes = npy(Values::Lines(&values), rows, 1).unwrap();
            let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
            assert_eq!((start % 64, bytes[start - 1], bytes.len() - start), (0, b'\n', rows * 4));
        }
    }

    #[test]
    fn a_list_that_does_not_fit_is_refused() {
        let error = npy(Values::Lines(&[1, 2, 3]), 2, 2).unwrap_err();
        assert_eq!(error.to_string(), "map test: 3 values for 2 stations × 2 angles");
        assert!(npy(Values::Lines(&[]), 0, 2).is_err());
        assert!(npy(Values::Lines(&[1]), usize::MAX, 2).is_err());
    }
}
