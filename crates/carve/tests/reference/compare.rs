//! The kernel and the reference, asked the same.

use dryturn_carve::Passages;

use super::walks::{Case, Family, case, cut};
use super::{Removed, exact, removed, worst_difference};

/// Who is this near to the exact answer has it right, mm; what is farther off is told by its number.
pub(crate) const AGREED: f64 = 1e-4;
/// Where the reference leaves more than this open it has no answer, mm.
const SETTLED: f64 = 0.5 * AGREED;
/// What is farther off is wrong, mm.
pub(crate) const CLAIM: f64 = 1e-3;
/// So many of the worst rays are kept to be told.
const TOLD: usize = 40;

/// What became of one ray.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Compared {
    pub(crate) number: u64,
    /// Length of the shorter ray that was asked about too, mm.
    pub(crate) cut: f64,
    /// Whether the cutter takes anything from it.
    pub(crate) met: bool,
    /// Whether a few nanometres of cutter decide the answer, or the ray lies in the surface. Only asked where the answers
    /// differ.
    pub(crate) grazing: bool,
    /// Whether the reference has no answer even to that.
    pub(crate) undecided: bool,
    /// How far the kernel is off, mm: on a grazing ray from anything that those nanometres may decide.
    pub(crate) error: f64,
}

/// Asks both of a ray: what the motion takes from all of it, and what from a shorter one, which ends inside or close to
/// a passage.
pub(crate) fn compared(family: Family, number: u64) -> Compared {
    let case = case(family, number);
    let whole = kernel(&case, case.outer);
    let mut shorter = case.outer;
    let ray = held_against_reference(number, &case, |truth| {
        shorter = cut(family, number, case.outer, truth, &whole);
        vec![(shorter, kernel(&case, shorter)), (case.outer, whole)]
    });
    Compared { cut: shorter, ..ray }
}

/// Holds answers about the ray of a case, each up to a radius, against the reference; they may depend on its spans.
pub(crate) fn held_against_reference(
    number: u64,
    case: &Case,
    answers: impl FnOnce(&[(f64, f64)]) -> Vec<(f64, Passages)>,
) -> Compared {
    let Case { ref flutes, ref from, ref to, station, theta, outer, .. } = *case;
    let truth = exact(flutes, from, to, station, theta, outer);
    let answers = answers(&truth.spans);
    let error = worst(&answers, |outer, answer| worst_difference(answer, &within(&truth.spans, outer)));
    let met = !truth.spans.is_empty();
    if error <= AGREED && truth.bracket <= SETTLED {
        return Compared { number, cut: outer, met, grazing: false, undecided: false, error };
    }
    let truth = removed(flutes, from, to, station, theta, outer);
    let grazing = truth.grazing || truth.bracket > SETTLED;
    let strays = || worst(&answers, |outer, answer| truth.within(outer).strays(answer));
    let error = if grazing { strays() } else { error };
    Compared { number, cut: outer, met, grazing, undecided: grazing && truth.outer_bracket > SETTLED, error }
}

/// The worst of some answers, each about the ray up to a radius.
fn worst(answers: &[(f64, Passages)], of: impl Fn(f64, &[(f64, f64)]) -> f64) -> f64 {
    answers.iter().map(|(outer, answer)| of(*outer, answer)).fold(0.0, f64::max)
}

/// What the kernel says about the ray of a case up to a radius.
pub(crate) fn kernel(case: &Case, outer: f64) -> Passages {
    dryturn_carve::removed(&case.flutes, &case.from, &case.to, case.station, case.theta, outer)
}

impl Removed {
    /// The same of a shorter ray.
    fn within(&self, outer: f64) -> Removed {
        let [spans, least, most] = [&self.spans, &self.least, &self.most].map(|spans| within(spans, outer));
        Removed { spans, least, most, ..*self }
    }
}

/// What of some spans is not beyond a radius.
fn within(spans: &[(f64, f64)], outer: f64) -> Vec<(f64, f64)> {
    spans.iter().filter(|span| span.0 < outer).map(|&(low, high)| (low, high.min(outer))).collect()
}

/// What became of many rays of one family.
#[derive(Clone, Debug, Default)]
pub(crate) struct Summary {
    pub(crate) rays: u64,
    pub(crate) met: u64,
    pub(crate) grazing: u64,
    pub(crate) undecided: u64,
    /// Worst error of a ray that does not graze, and of one that does, mm.
    pub(crate) worst: f64,
    pub(crate) worst_grazing: f64,
    /// Rays farther off than [`CLAIM`] and than [`AGREED`].
    pub(crate) wrong: u64,
    pub(crate) off: u64,
    /// The worst of those, and what was left undecided.
    pub(crate) told: Vec<Compared>,
}

impl Summary {
    /// With one ray more.
    pub(crate) fn and(mut self, ray: Compared) -> Summary {
        let worst = if ray.grazing { &mut self.worst_grazing } else { &mut self.worst };
        *worst = worst.max(ray.error);
        self.rays += 1;
        self.met += u64::from(ray.met);
        self.grazing += u64::from(ray.grazing);
        self.undecided += u64::from(ray.undecided);
        self.wrong += u64::from(ray.error > CLAIM);
        self.off += u64::from(ray.error > AGREED);
        if ray.error > AGREED || ray.undecided {
            self.told.push(ray);
            self.forget();
        }
        self
    }

    /// With the rays of another.
    pub(crate) fn with(mut self, other: Summary) -> Summary {
        self.rays += other.rays;
        self.met += other.met;
        self.grazing += other.grazing;
        self.undecided += other.undecided;
        self.wrong += other.wrong;
        self.off += other.off;
        self.worst = self.worst.max(other.worst);
        self.worst_grazing = self.worst_grazing.max(other.worst_grazing);
        self.told.extend(other.told);
        self.forget();
        self
    }

    /// Keeps the worst, in an order that does not depend on who came first.
    fn forget(&mut self) {
        self.told.sort_by(|a, b| b.error.total_cmp(&a.error).then(a.number.cmp(&b.number)));
        self.told.truncate(TOLD);
    }

    /// The heading of [`Summary::row`].
    pub(crate) const HEADING: &str =
        "family           rays        met   worst µm   grazing   worst µm   wrong   > 0.1 µm   undecided";

    /// A row of the table.
    pub(crate) fn row(&self, family: Family) -> String {
        format!(
            "{:<10} {:>10} {:>10} {:>10.4} {:>9} {:>10.4} {:>7} {:>10} {:>11}",
            format!("{family:?}"),
            self.rays,
            self.met,
            1e3 * self.worst,
            self.grazing,
            1e3 * self.worst_grazing,
            self.wrong,
            self.off,
            self.undecided
        )
    }
}
