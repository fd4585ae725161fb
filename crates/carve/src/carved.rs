//! What is left, and what every block did.

use crate::grid::Grid;
use crate::job::Upper;
use crate::layout::Layout;
use crate::tile::{Span, Tile, UNTOUCHED, cubic_mm, units};
use crate::watch::Reach;

/// A carved blank.
#[derive(Clone, Debug)]
pub struct Carved {
    grid: Grid,
    layout: Layout,
    pub(crate) tiles: Vec<Tile>,
    blank: i128,
    pub(crate) removed: Vec<i64>,
    /// For each rapid that removed wood, the ray it went deepest in, measured inside the flutes.
    pub rapids: Vec<Reach>,
    /// For each block that removed wood below the rotary axis, the ray on which it went farthest; depth in mm.
    pub beyond_axis: Vec<Reach>,
    /// For each kind of body above the flutes and each block in which it met wood, the ray it went deepest in.
    pub uppers: Vec<(Upper, Vec<Reach>)>,
    touches: u64,
}

impl Carved {
    #[expect(clippy::too_many_arguments, reason = "called once, where the parts come together")]
    pub(crate) fn new(
        grid: Grid,
        layout: Layout,
        tiles: Vec<Tile>,
        blank: i128,
        removed: Vec<i64>,
        rapids: Vec<Reach>,
        beyond_axis: Vec<Reach>,
        uppers: Vec<(Upper, Vec<Reach>)>,
        touches: u64,
    ) -> Carved {
        Carved { grid, layout, tiles, blank, removed, rapids, beyond_axis, uppers, touches }
    }

    /// Where the rays stand.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// How many times a ray was held against a piece of motion: what the work is counted in. It depends on the tiles.
    pub fn touches(&self) -> u64 {
        self.touches
    }

    /// The solid along a ray, from the outside in.
    ///
    /// # Panics
    /// If the row or the column is not on the grid.
    pub fn spans(&self, row: usize, column: usize) -> impl Iterator<Item = Span> + use<> {
        let (tile, ray) = self.locate(row, column);
        tile.spans(ray).into_iter()
    }

    /// The outermost radius of solid on a ray, mm; 0 where nothing is left.
    pub fn radius(&self, row: usize, column: usize) -> f32 {
        let (tile, ray) = self.locate(row, column);
        tile.outermost(ray).outer
    }

    /// The block that made the outermost end of a ray, or emptied it; [`UNTOUCHED`] or
    /// [`PREPARED`](crate::PREPARED) where none did.
    pub fn cut_by(&self, row: usize, column: usize) -> u32 {
        let (tile, ray) = self.locate(row, column);
        let span = tile.outermost(ray);
        if span.outer > span.inner || span.outer_by != UNTOUCHED { span.outer_by } else { crate::tile::PREPARED }
    }

    fn locate(&self, row: usize, column: usize) -> (&Tile, usize) {
        let tile = &self.tiles[self.layout.tile_of(row, column)];
        (tile, tile.index(row, column))
    }

    /// Volume of the blank before the first block, bore and dimple taken out, mm³.
    pub fn blank_mm3(&self) -> f64 {
        self.mm3(self.blank)
    }

    /// Volume removed by a block, mm³.
    pub fn removed_by(&self, block: u32) -> f64 {
        self.mm3(i128::from(self.removed[block as usize]))
    }

    /// Volume removed by a range of blocks, mm³.
    pub fn removed_mm3(&self, blocks: std::ops::Range<u32>) -> f64 {
        let blocks = blocks.start as usize..blocks.end as usize;
        self.mm3(self.removed[blocks].iter().map(|&units| i128::from(units)).sum())
    }

    /// Volume that is left, mm³, summed over the rays.
    pub fn left_mm3(&self) -> f64 {
        self.mm3(self.left_units())
    }

    fn left_units(&self) -> i128 {
        self.tiles
            .iter()
            .flat_map(|tile| tile.rays().map(move |ray| (tile, ray)))
            .flat_map(|(tile, ray)| tile.spans(ray))
            .map(|span| i128::from(units(span.inner, span.outer)))
            .sum()
    }

    fn mm3(&self, units: i128) -> f64 {
        cubic_mm(units, self.grid.station_step, self.grid.angle_step)
    }

    /// Checks what must hold of any carved blank: on every ray spans that are sorted, disjoint, finite and inside
    /// `greatest_radius` mm, and to the last unit blank = removed + left.
    ///
    /// # Errors
    /// A sentence naming the first thing that does not hold.
    pub fn check_integrity(&self, greatest_radius: f64) -> Result<(), String> {
        for row in 0..self.grid.stations {
            for column in 0..self.grid.angles {
                let mut above = greatest_radius as f32 * (1.0 + 1e-6);
                for span in self.spans(row, column) {
                    let sound = span.inner >= 0.0 && span.inner < span.outer && span.outer <= above;
                    if !(sound && span.outer.is_finite()) {
                        return Err(format!("ray ({row}, {column}) holds {span:?} under {above}"));
                    }
                    above = span.inner;
                }
            }
        }
        let removed: i128 = self.removed.iter().map(|&units| i128::from(units)).sum();
        let left = self.left_units();
        if self.blank != removed + left {
            return Err(format!("blank {} is not removed {removed} + left {left}", self.blank));
        }
        Ok(())
    }
}
