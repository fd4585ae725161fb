//! What is worked of a blank, row by row, and how large a blank that takes.

use std::collections::BTreeMap;

use dryturn_carve::{Carved, is_block};
use dryturn_geom::{Section, angle};
use dryturn_scene::{Job, Scene, ZeroHeight};

/// Rows of the outline at the most.
const ROWS: usize = 400;

/// The wood that is worked, and the blank that it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Wood {
    /// First and last station that is cut all round; where none is, at which anything is cut, mm.
    pub stations: [f64; 2],
    /// Greatest and least of the radii that the piece has where it is worked: of each row the outermost wood, mm; rows with
    /// nothing left apart.
    pub radii: [f64; 2],
    /// Whether some of the blank's own skin stays on the piece there.
    pub is_skin: bool,
    /// Whether a Z zero lies on its skin, so that a thinner blank gives a thinner piece.
    pub is_from_skin: bool,
    /// Greatest and least radius of the outermost wood that each cutter leaves, mm, by its number.
    pub by_cutter: BTreeMap<u32, [f64; 2]>,
    /// What a blank must have over twice the greatest radius, mm: twice what it is off centre and bent, as the scene has it.
    pub spare_mm: f64,
    /// The smallest round that leaves the piece, mm across; that of the scene where its skin stays, or heights count from it.
    pub round_mm: f64,
    /// The smallest square that does, mm across its flats; `None` where the skin of another blank stays, or heights count
    /// from it.
    pub square_mm: Option<f64>,
    /// Station and outermost radius along the whole piece, mm, at most 402 of them.
    pub outline: Vec<[f64; 2]>,
}

/// One row of the grid.
struct Row {
    station: f64,
    outermost: f64,
    /// Whether anything of it is cut, and whether all is.
    is_cut: bool,
    is_cut_all_round: bool,
}

impl Wood {
    /// That of a job as it was carved; `None` where nothing is cut.
    pub(super) fn of(job: &Job, carved: &Carved) -> Option<Wood> {
        let (rows, by_cutter) = rows(job, carved);
        let all_round = rows.iter().any(|row| row.is_cut_all_round);
        let is_worked = |row: &&Row| if all_round { row.is_cut_all_round } else { row.is_cut };
        let stations = [rows.iter().find(is_worked)?.station, rows.iter().rfind(is_worked)?.station];
        let within = || rows.iter().filter(|row| (stations[0]..=stations[1]).contains(&row.station));
        let greatest = within().map(|row| row.outermost).fold(0.0, f64::max);
        let cut = within().filter(|row| row.is_cut && row.outermost > 0.0);
        let least = cut.map(|row| row.outermost).fold(greatest, f64::min);
        let stock = job.scene.stock();
        let off = |offset: dryturn_geom::Offset| angle::hypot(offset.y, offset.z);
        let spare_mm = 2.0 * (off(stock.near).max(off(stock.far)) + stock.bow.amount.abs());
        let needed = 2.0 * greatest + spare_mm;
        let is_skin = within().any(|row| !row.is_cut_all_round);
        let is_from_skin = is_from_skin(&job.scene);
        let as_it_is = is_skin || is_from_skin;
        Some(Wood {
            stations,
            radii: [greatest, least],
            is_skin,
            is_from_skin,
            by_cutter,
            spare_mm,
            round_mm: if as_it_is { 2.0 * stock.corner_radius() } else { needed },
            square_mm: match (as_it_is, &stock.section) {
                (false, _) => Some(needed),
                (true, Section::Polygon { .. }) => Some(2.0 * stock.flat_radius()),
                (true, _) => None,
            },
            outline: outline(&rows, carved.grid().station_step),
        })
    }
}

/// Whether a zero of any program is set by the blank's skin.
fn is_from_skin(scene: &Scene) -> bool {
    let own = scene.programs.iter().map(|entry| &entry.zeros);
    let heights = own.chain([&scene.zeros]).flat_map(|zeros| zeros.systems.iter().filter_map(|keys| keys.z));
    heights.into_iter().any(|z| matches!(z, ZeroHeight::Surface | ZeroHeight::Flat | ZeroHeight::Touch { .. }))
}

/// The rows, and the greatest and least radius that each cutter leaves.
fn rows(job: &Job, carved: &Carved) -> (Vec<Row>, BTreeMap<u32, [f64; 2]>) {
    let grid = carved.grid();
    let mut rows = Vec::with_capacity(grid.stations);
    let mut by_cutter: BTreeMap<u32, [f64; 2]> = BTreeMap::new();
    let number = |block: u32| Some(job.scene.cutters.get(usize::from(job.cutter_index(block)?))?.number);
    for stretch in carved.bands() {
        let band = carved.band(stretch.clone());
        rows.extend(stretch.map(|row| {
            let station = grid.station_first + grid.station_step * row as f64;
            let mut found = Row { station, outermost: 0.0, is_cut: false, is_cut_all_round: true };
            for dexel in band.row(row) {
                let (radius, by) = (f64::from(dexel.radius()), dexel.cut_by());
                let is_skin = !is_block(by);
                if let Some(cutter) = Some(by).filter(|_| !is_skin && radius > 0.0).and_then(number) {
                    let [greatest, least] = by_cutter.entry(cutter).or_insert([radius; 2]);
                    (*greatest, *least) = (greatest.max(radius), least.min(radius));
                }
                found.is_cut |= !is_skin;
                found.is_cut_all_round &= !is_skin;
                found.outermost = found.outermost.max(radius);
            }
            found
        }));
    }
    (rows, by_cutter)
}

/// The outermost of every few rows, from the first edge of the first to the last of the last.
fn outline(rows: &[Row], step: f64) -> Vec<[f64; 2]> {
    let few = rows.len().div_ceil(ROWS).max(1);
    let of = |rows: &[Row]| {
        let middle = 0.5 * (rows[0].station + rows[rows.len() - 1].station);
        [middle, rows.iter().map(|row| row.outermost).fold(0.0, f64::max)]
    };
    let end = |row: &Row, side: f64| [row.station + side * 0.5 * step, row.outermost];
    let first = rows.first().map(|row| end(row, -1.0));
    let last = rows.last().map(|row| end(row, 1.0));
    first.into_iter().chain(rows.chunks(few).map(of)).chain(last).collect()
}
