//! Measures of a piece, such as its remaining radius, read back from a map.

use crate::workshop::Workshop;

/// A map with row = station and column = θ.
pub(crate) struct Skin {
    rows: usize,
    columns: usize,
    station_first: f64,
    station_step: f64,
    values: Vec<f32>,
}

impl Skin {
    /// Reads `maps/remaining-radius.npy` of a folder, with the grid its report tells.
    pub(crate) fn read(workshop: &Workshop, folder: &str) -> Skin {
        Skin::of_map(workshop, folder, "remaining-radius")
    }

    /// The same of another map of measures.
    pub(crate) fn of_map(workshop: &Workshop, folder: &str, map: &str) -> Skin {
        let grid = workshop.report(folder)["grid"].clone();
        let (rows, columns) = (grid["stations"].as_u64().unwrap() as usize, grid["angles"].as_u64().unwrap() as usize);
        let bytes = std::fs::read(workshop.path(&format!("{folder}/maps/{map}.npy"))).unwrap();
        // NumPy's file format, version 1.0: magic, version, length of the header, header, data.
        assert_eq!(&bytes[..8], b"\x93NUMPY\x01\x00");
        let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
        let header = std::str::from_utf8(&bytes[10..start]).unwrap();
        assert!(header.contains("'<f4'") && header.contains(&format!("({rows}, {columns})")), "{header}");
        let values: Vec<f32> =
            bytes[start..].chunks_exact(4).map(|four| f32::from_le_bytes(four.try_into().unwrap())).collect();
        assert_eq!(values.len(), rows * columns);
        let number = |name: &str| grid[name].as_f64().unwrap();
        Skin { rows, columns, station_first: number("station_first"), station_step: number("station_step"), values }
    }

    /// The same skin with θ counted the other way.
    pub(crate) fn turned_over(mut self) -> Skin {
        let columns = self.columns;
        let ray = |index: usize| self.values[index - index % columns + (columns - index % columns) % columns];
        self.values = (0..self.values.len()).map(ray).collect();
        self
    }

    /// Only the rows between two stations, mm.
    pub(crate) fn between(mut self, from: f64, to: f64) -> Skin {
        let row = |station: f64| ((station - self.station_first) / self.station_step).round() as usize;
        let (first, last) = (row(from), row(to));
        self.values = self.values[first * self.columns..last * self.columns].to_vec();
        (self.rows, self.station_first) = (last - first, self.station_first + first as f64 * self.station_step);
        self
    }

    /// How many rays there are around the piece.
    pub(crate) fn columns(&self) -> usize {
        self.columns
    }

    /// Value of the ray nearest to a station (mm) and an angle (degrees).
    pub(crate) fn value(&self, station: f64, angle_deg: f64) -> f64 {
        let row = ((station - self.station_first) / self.station_step).round();
        let column = (angle_deg / 360.0 * self.columns as f64).round().rem_euclid(self.columns as f64);
        f64::from(self.values[row.clamp(0.0, (self.rows - 1) as f64) as usize * self.columns + column as usize])
    }

    /// The greatest difference of two skins on the same grid, mm.
    pub(crate) fn difference(&self, other: &Skin) -> f32 {
        assert_eq!((self.rows, self.columns), (other.rows, other.columns));
        self.values.iter().zip(&other.values).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max)
    }
}
