//! The blank as a bar held at its ends, whose section changes along it.
//!
//! All comes from unit loads (Mohr; any handbook of mechanics): the deflection at b under a force at a is
//! ∫ (m_a m_b K/E + κ v_a v_b/(G·A)) ds, with m the bending moments of unit forces at a and b, v their shear forces, K the
//! inverse of the section's second moments and κ its shear coefficient. Within a cell the section is constant, moments are
//! straight lines in s, so that sums of ∫K, ∫sK and ∫s²K up to every cell give every such integral exactly. K is a matrix,
//! since a section that is not symmetric yields aside. The center takes a force such that its own place stays where it is.

use super::matrix::Matrix;
use super::section::Profile;

/// How a bar is held. It begins at the station of its holding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Holding {
    /// In a chuck or on a faceplate, the other end free.
    Clamped,
    /// In a chuck or on a faceplate, with a center at the other end.
    Propped,
    /// Between two centers.
    Centers,
}

/// How stiff the material is, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stiffness {
    /// Modulus of elasticity along the bar.
    pub(crate) modulus: f64,
    /// Shear modulus.
    pub(crate) rigidity: f64,
    /// Whether deflection by shear is added to that by bending. The modulus of woods in bending holds it already.
    pub(crate) with_shear: bool,
}

/// How far a bar gives way at one place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Give {
    /// In its weakest direction, mm/N.
    pub(crate) across: f64,
    /// By twisting, rad/(N·mm).
    pub(crate) about: f64,
}

/// Integrals from the bar's beginning.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    /// ∫ K, ∫ s K and ∫ s² K ds, K in 1/mm⁴.
    bends: [Matrix; 3],
    /// ∫ κ/A ds, 1/mm.
    shears: f64,
    /// ∫ ds/J, 1/mm³.
    twists: f64,
}

impl Sums {
    fn plus(&self, cell: &Cell, from: f64, to: f64) -> Sums {
        let powers = [to - from, (to * to - from * from) / 2.0, (to * to * to - from * from * from) / 3.0];
        Sums {
            bends: std::array::from_fn(|k| self.bends[k] + cell.yielding * powers[k]),
            shears: self.shears + cell.shear * powers[0],
            twists: self.twists + cell.twist * powers[0],
        }
    }

    fn minus(&self, other: &Sums) -> Sums {
        Sums {
            bends: std::array::from_fn(|k| self.bends[k] - other.bends[k]),
            shears: self.shears - other.shears,
            twists: self.twists - other.twists,
        }
    }
}

/// A length of the bar with one section.
#[derive(Clone, Copy, Debug)]
struct Cell {
    /// Its end, mm from the bar's beginning.
    end: f64,
    /// Whether anything is left of it.
    is_there: bool,
    /// K, 1/mm⁴.
    yielding: Matrix,
    /// κ/A, 1/mm²; 0 where shear is not counted.
    shear: f64,
    /// 1/J, 1/mm⁴.
    twist: f64,
    /// Integrals up to its beginning.
    before: Sums,
}

/// A bar and how it is held. Forces act across it, in the directions y and z of the blank frame.
#[derive(Clone, Debug)]
pub(crate) struct Bar {
    from: f64,
    cells: Vec<Cell>,
    stiffness: Stiffness,
    holding: Holding,
    /// Where nothing holds it together, mm from its beginning.
    severed: Option<f64>,
    /// Force of the center per deflection of its place without it.
    prop: Matrix,
}

impl Bar {
    /// The bar that begins at a station (mm) and goes on by cells, each given by the station of its end and its section, if
    /// there is anything left of it.
    pub(crate) fn new(
        from: f64,
        cells: impl IntoIterator<Item = (f64, Option<Profile>)>,
        stiffness: Stiffness,
        holding: Holding,
    ) -> Bar {
        let mut end = 0.0;
        let cell = |(to, profile): (f64, Option<Profile>)| {
            end = (to - from).max(end);
            Cell::new(end, profile.as_ref(), stiffness)
        };
        let cells = cells.into_iter().map(cell).collect();
        let bar = Bar { from, cells, stiffness, holding, severed: None, prop: Matrix::default() };
        bar.summed_up(0)
    }

    /// The bar with other sections in some of its cells: their places, rising, and what is left there.
    pub(crate) fn with(&self, others: impl Iterator<Item = (usize, Option<Profile>)>) -> Bar {
        let mut bar = self.clone();
        let mut first = bar.cells.len();
        for (at, profile) in others {
            first = first.min(at);
            bar.cells[at] =
                Cell { before: bar.cells[at].before, ..Cell::new(bar.cells[at].end, profile.as_ref(), bar.stiffness) };
        }
        bar.summed_up(first)
    }

    /// The bar with its integrals worked out from a cell on: up to its beginning they are right.
    fn summed_up(mut self, first: usize) -> Bar {
        let mut start = self.start(first);
        let mut before = self.cells.get(first).map_or_else(Sums::default, |cell| cell.before);
        for cell in self.cells.iter_mut().skip(first) {
            cell.before = before;
            before = before.plus(cell, start, cell.end);
            start = cell.end;
        }
        let is_cut = |at: &usize| !self.cells[*at].is_there && self.cells[*at].end > self.start(*at);
        let end = self.length();
        self.severed = if end > 0.0 { (0..self.cells.len()).find(is_cut).map(|at| self.start(at)) } else { Some(0.0) };
        let is_propped = self.holding == Holding::Propped && self.severed.is_none();
        self.prop = if is_propped { self.overhung(end, end).inverse() } else { Matrix::default() };
        self
    }

    /// Where a cell begins, mm from the bar's beginning.
    fn start(&self, cell: usize) -> f64 {
        cell.checked_sub(1).and_then(|before| self.cells.get(before)).map_or(0.0, |before| before.end)
    }

    /// Its length, mm.
    fn length(&self) -> f64 {
        self.cells.last().map_or(0.0, |cell| cell.end)
    }

    fn along(&self, station: f64) -> f64 {
        (station - self.from).clamp(0.0, self.length())
    }

    fn up_to(&self, s: f64) -> Sums {
        let at = self.cells.partition_point(|cell| cell.end < s);
        self.cells.get(at).map_or_else(Sums::default, |cell| cell.before.plus(cell, self.start(at), s))
    }

    /// Whether the holding no longer reaches a place.
    fn is_lost(&self, s: f64) -> bool {
        self.severed.is_some_and(|cut| s > cut || self.holding == Holding::Centers)
    }

    /// Deflection at one place per force at another with the far end free.
    fn overhung(&self, a: f64, b: f64) -> Matrix {
        let sums = self.up_to(a.min(b));
        self.bent(&sums, [a * b, -(a + b), 1.0]) + self.sheared(sums.shears)
    }

    /// ∫ (p₀ + p₁ s + p₂ s²) K ds / E.
    fn bent(&self, sums: &Sums, [p0, p1, p2]: [f64; 3]) -> Matrix {
        (sums.bends[0] * p0 + sums.bends[1] * p1 + sums.bends[2] * p2) * self.stiffness.modulus.recip()
    }

    fn sheared(&self, integral: f64) -> Matrix {
        Matrix::alike(if self.stiffness.with_shear { integral / self.stiffness.rigidity } else { 0.0 })
    }

    /// The same between two centers; a lies before b.
    fn between_centers(&self, a: f64, b: f64) -> Matrix {
        let length = self.length();
        let (near, far, whole) = (self.up_to(a), self.up_to(b), self.up_to(length));
        let (middle, rest) = (far.minus(&near), whole.minus(&far));
        let (left_a, left_b) = ((length - a) / length, (length - b) / length);
        let (right_a, right_b) = (a / length, b / length);
        self.bent(&near, [0.0, 0.0, left_a * left_b])
            + self.bent(&middle, [0.0, a * left_b, -right_a * left_b])
            + self.bent(&rest, [a * b, -2.0 * a * right_b, right_a * right_b])
            + self.sheared(near.shears * left_a * left_b)
            + self.sheared(middle.shears * -right_a * left_b)
            + self.sheared(rest.shears * right_a * right_b)
    }

    /// Deflection at `station` per force at `load` (stations, mm), mm/N; infinite where nothing holds either.
    pub(crate) fn deflection(&self, station: f64, load: f64) -> Matrix {
        let (at, load) = (self.along(station), self.along(load));
        if self.is_lost(at.max(load)) {
            return Matrix::alike(f64::INFINITY);
        }
        match self.holding {
            Holding::Propped if self.severed.is_none() => {
                self.overhung(at, load)
                    - self.overhung(at, self.length()) * self.prop * self.overhung(self.length(), load)
            }
            Holding::Clamped | Holding::Propped => self.overhung(at, load),
            Holding::Centers => self.between_centers(at.min(load), at.max(load)),
        }
    }

    /// Greatest deflection of a place per force there, in the weakest direction, mm/N.
    pub(crate) fn flexibility(&self, station: f64) -> f64 {
        self.deflection(station, station).greatest()
    }

    /// How it gives way at a station.
    pub(crate) fn give(&self, station: f64) -> Give {
        Give { across: self.flexibility(station), about: self.twist(station) }
    }

    /// Force of the center at the far end per force at a place, mm from the bar's beginning; nothing where it holds nothing.
    fn reaction_to(&self, a: f64) -> Matrix {
        match self.holding {
            _ if self.severed.is_some() => Matrix::default(),
            Holding::Clamped => Matrix::default(),
            Holding::Propped => self.prop * self.overhung(self.length(), a),
            Holding::Centers => Matrix::alike(a / self.length()),
        }
    }

    /// The bar under a force at a station.
    pub(crate) fn under(&self, load: f64) -> Loaded<'_> {
        let load = self.along(load);
        Loaded { bar: self, load, reaction: self.reaction_to(load) }
    }

    /// Twist at a station per torque there, rad/(N·mm). Torque runs to the holding, between centers to the drive.
    pub(crate) fn twist(&self, station: f64) -> f64 {
        let s = self.along(station);
        if self.severed.is_some_and(|cut| s > cut) {
            return f64::INFINITY;
        }
        self.up_to(s).twists / self.stiffness.rigidity
    }
}

/// A bar under a force that stands at one place.
#[derive(Clone, Copy)]
pub(crate) struct Loaded<'b> {
    bar: &'b Bar,
    /// mm from the bar's beginning.
    load: f64,
    /// Force of the center at the far end per force; nothing where it holds nothing.
    pub(crate) reaction: Matrix,
}

impl Loaded<'_> {
    /// Bending moment at a station per force, N·mm/N; above 0 as at the clamp of a bar with a free end. Nothing where the
    /// force is not carried.
    pub(crate) fn moment(&self, station: f64) -> Matrix {
        let Loaded { bar, load, reaction } = *self;
        let at = bar.along(station);
        if bar.is_lost(at.max(load)) {
            return Matrix::default();
        }
        let length = bar.length();
        if bar.holding == Holding::Centers {
            return Matrix::alike(-(at * (length - load)).min(load * (length - at)) / length);
        }
        let overhung = Matrix::alike((load - at).max(0.0));
        if bar.severed.is_some() { overhung } else { overhung - reaction * (length - at) }
    }

    /// The greatest bending moment at a station per force, N·mm/N, whatever sections the bar may have: a center takes no less
    /// than nothing, as behind a hinge, and no more than that of a bar between two.
    pub(crate) fn moment_at_most(&self, station: f64) -> f64 {
        let (at, length) = (self.bar.along(station), self.bar.length());
        let overhung = (self.load - at).max(0.0);
        let propped = (overhung - self.load * (length - at) / length).abs();
        match self.bar.holding {
            Holding::Clamped => overhung,
            Holding::Propped => overhung.max(propped),
            Holding::Centers => propped,
        }
    }
}

impl Cell {
    /// With no integrals yet.
    fn new(end: f64, profile: Option<&Profile>, Stiffness { with_shear, .. }: Stiffness) -> Cell {
        let shear = |profile: &Profile| if with_shear { profile.shear_coefficient() / profile.area } else { 0.0 };
        Cell {
            end,
            is_there: profile.is_some(),
            yielding: profile.map_or_else(Matrix::default, |profile| profile.inertia.inverse()),
            shear: profile.map_or(0.0, shear),
            twist: profile.map_or(0.0, |profile| profile.torsion.recip()),
            before: Sums::default(),
        }
    }
}

#[cfg(test)]
mod tests;
