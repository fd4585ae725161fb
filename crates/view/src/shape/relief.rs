//! How much of the sky a spot of the surface sees: less in a groove than on the ridge beside it.

use rayon::prelude::*;

use crate::field::Field;

/// Half the width around a spot that keeps the light off, mm.
const AROUND: f64 = 2.5;

/// For each ray how open its surface lies, 255 being free. A spot that lies deep under the mean of what is around it is
/// dark; the mean is that of a box, once along and once around.
pub(super) fn openness(field: &Field, radii: &[f32]) -> Vec<u8> {
    let greatest = field.greatest().max(1.0);
    let rows = ((AROUND / field.step).round() as usize).clamp(1, 200);
    let columns = ((AROUND / (field.turn * greatest)).round() as usize).clamp(1, field.columns / 3);
    let mut along = around(radii, field.columns, columns);
    along = down(&along, field.rows, field.columns, rows);
    let open = |(radius, mean): (&f32, &f32)| {
        let deep = f64::from(mean - radius) / AROUND;
        let share = if deep > 0.0 { 1.0 / (1.0 + 1.6 * deep) } else { (1.0 - 0.1 * deep).min(1.06) };
        (share * 240.0).clamp(40.0, 255.0) as u8
    };
    radii.par_iter().zip(&along).map(open).collect()
}

/// How bright each ray is on the unrolled skin, 255 being as bright as its colour: lit from the upper left, darker in grooves.
pub(crate) fn relief(field: &Field) -> Vec<u8> {
    let radii: Vec<f32> = field.layers.first().map_or_else(Vec::new, |rays| rays.iter().map(|it| it.outer).collect());
    let open = openness(field, &radii);
    let Field { rows, columns, step, turn, .. } = *field;
    let around = turn * field.greatest().max(1.0);
    let down = if field.chuck == dryturn_geom::Side::Plus { -1.0 } else { 1.0 };
    let bright = |(ray, open): (usize, &u8)| {
        let (row, column) = (ray / columns, ray % columns);
        let at = |row: usize, column: usize| f64::from(radii[row * columns + column % columns]);
        let along = (at((row + 1).min(rows - 1), column) - at(row.saturating_sub(1), column)) / (2.0 * step);
        let across = down * (at(row, column + 1) - at(row, column + columns - 1)) / (2.0 * around);
        let light = (1.0 - 0.5 * along - 0.8 * across) / (1.0 + along * along + across * across).sqrt();
        let share = 0.55 + 0.45 * light.clamp(-0.4, 1.25);
        (share * f64::from(*open) * 1.06).clamp(30.0, 255.0) as u8
    };
    open.par_iter().enumerate().map(|(ray, open)| bright((ray, open))).collect()
}

/// The mean of each value and so many to both sides of it in its row, which goes round.
fn around(values: &[f32], columns: usize, half: usize) -> Vec<f32> {
    let mut means = vec![0.0; values.len()];
    means.par_chunks_mut(columns).zip(values.par_chunks(columns)).for_each(|(means, row)| {
        let at = |place: isize| f64::from(row[place.rem_euclid(columns as isize) as usize]);
        let half = half as isize;
        let mut sum: f64 = (-half..=half).map(at).sum();
        for (place, mean) in means.iter_mut().enumerate() {
            *mean = (sum / (2 * half + 1) as f64) as f32;
            let place = place as isize;
            sum += at(place + half + 1) - at(place - half);
        }
    });
    means
}

/// The same along the columns, which end.
fn down(values: &[f32], rows: usize, columns: usize, half: usize) -> Vec<f32> {
    let mut sums = vec![0.0f64; columns];
    let (mut from, mut to) = (0, 0);
    let mut means = Vec::with_capacity(values.len());
    for row in 0..rows {
        let (low, high) = (row.saturating_sub(half), (row + half + 1).min(rows));
        while to < high {
            sums.iter_mut().zip(&values[to * columns..]).for_each(|(sum, value)| *sum += f64::from(*value));
            to += 1;
        }
        while from < low {
            sums.iter_mut().zip(&values[from * columns..]).for_each(|(sum, value)| *sum -= f64::from(*value));
            from += 1;
        }
        means.extend(sums.iter().map(|sum| (sum / (high - low) as f64) as f32));
    }
    means
}
