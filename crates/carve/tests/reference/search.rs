//! Which radii of a ray a motion covers, by halving the ray and the time with bounds that hold over a whole stretch.

use super::profile::{Point, Profile};
use dryturn_geom::Pose;

/// Distances that differ by less are not told apart when a stretch is shown not to reach the ray, mm.
const SLACK: f64 = 1e-10;
/// A stretch of time is halved as long as this shows its middle to be clear of the cutter; otherwise until the point moves
/// by at most this many times the piece of ray it is asked about,
const MOTION_SHARE: f64 = 2.0;
/// or until the bound over the stretch falls short of the bound at its middle by at most this share of that piece:
/// then shorter stretches would show little more, and shorter pieces are needed. (A wall that a plunge slides along is as
/// near at every moment.)
const BOUND_SHARE: f64 = 0.25;
/// Nothing is halved in which the point moves by less than this, mm.
const STILL: f64 = 1e-9;
/// One motion over one ray.
pub(super) struct Search<'a> {
    profile: &'a Profile,
    from: &'a Pose,
    to: &'a Pose,
    station: f64,
    theta: f64,
    /// Bounds evaluated before the search gives up.
    budget: usize,
}

/// The spans found, and the longest stretch of the ray left undecided.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) spans: Vec<(f64, f64)>,
    pub(crate) bracket: f64,
}

/// Where the cutter and the ray stand at one moment.
#[derive(Clone, Copy)]
struct Instant {
    t: f64,
    /// The ray's station less the cutter's.
    along: f64,
    y: f64,
    z: f64,
    sine: f64,
    cosine: f64,
}

impl Instant {
    /// The point of the ray at a radius.
    fn point(&self, r: f64) -> Point {
        Point { along: self.along, across: -r * self.sine - self.y, height: r * self.cosine - self.z }
    }
}

/// The motion between two moments.
#[derive(Clone, Copy)]
struct Stretch {
    start: Instant,
    end: Instant,
}

/// A stretch of the ray between two radii.
#[derive(Clone, Copy)]
struct Piece {
    low: f64,
    high: f64,
}

impl Piece {
    fn length(&self) -> f64 {
        self.high - self.low
    }
}

/// What is known of a piece of the ray.
enum Verdict {
    Inside,
    Outside,
    /// The stretches of time that may yet reach it.
    Open(Vec<Stretch>),
}

impl<'a> Search<'a> {
    pub(super) fn new(
        profile: &'a Profile,
        from: &'a Pose,
        to: &'a Pose,
        (station, theta): (f64, f64),
        budget: usize,
    ) -> Self {
        Search { profile, from, to, station, theta, budget }
    }

    /// The spans covered in 0 … `outer`, each end within half of `tolerance` unless the search gives up.
    pub(super) fn spans(&self, outer: f64, tolerance: f64) -> Found {
        let whole = Stretch { start: self.instant(0.0), end: self.instant(1.0) };
        let mut work = 0;
        let piece = Piece { low: 0.0, high: outer };
        let mut pieces = vec![(piece, self.verdict(piece, &[whole], &mut work))];
        loop {
            let runs = open_runs(&pieces);
            let bracket = runs.iter().map(Piece::length).fold(0.0, f64::max);
            if bracket <= tolerance || work > self.budget {
                return Found { spans: spans_of(&pieces), bracket };
            }
            pieces = self.halve(pieces, &runs, tolerance, &mut work);
        }
    }

    /// Halves the open pieces of every run that is still longer than `tolerance`.
    fn halve(
        &self,
        pieces: Vec<(Piece, Verdict)>,
        runs: &[Piece],
        tolerance: f64,
        work: &mut usize,
    ) -> Vec<(Piece, Verdict)> {
        let mut next: Vec<(Piece, Verdict)> = Vec::with_capacity(pieces.len() + 8);
        let mut run = runs.iter().peekable();
        for (piece, verdict) in pieces {
            while run.peek().is_some_and(|run| run.high <= piece.low) {
                run.next();
            }
            let Verdict::Open(stretches) = verdict else {
                add(&mut next, piece, verdict);
                continue;
            };
            if run.peek().is_some_and(|run| run.length() <= tolerance) {
                next.push((piece, Verdict::Open(stretches)));
                continue;
            }
            let middle = 0.5 * (piece.low + piece.high);
            for half in [Piece { high: middle, ..piece }, Piece { low: middle, ..piece }] {
                let verdict = self.verdict(half, &stretches, work);
                add(&mut next, half, verdict);
            }
        }
        next
    }

    /// What the given stretches of time do to a piece of the ray.
    fn verdict(&self, piece: Piece, stretches: &[Stretch], work: &mut usize) -> Verdict {
        let ends = [stretches.first().map(|first| first.start), stretches.last().map(|last| last.end)];
        if ends.iter().flatten().any(|end| self.holds(end, piece)) {
            return Verdict::Inside;
        }
        let mut left = Vec::new();
        let mut waiting: Vec<Stretch> = stretches.iter().rev().copied().collect();
        while let Some(stretch) = waiting.pop() {
            *work += 1;
            let clearance = self.clearance(&stretch.start, &stretch.end, piece);
            if clearance > 0.0 {
                continue;
            }
            let middle = self.instant(0.5 * (stretch.start.t + stretch.end.t));
            if self.holds(&middle, piece) {
                return Verdict::Inside;
            }
            let at_middle = self.clearance(&middle, &middle, piece);
            let travel = self.travel(&stretch, piece.high);
            let short =
                travel <= MOTION_SHARE * piece.length() || at_middle - clearance <= BOUND_SHARE * piece.length();
            if at_middle <= 0.0 && short || travel <= STILL || *work > self.budget {
                left.push(stretch);
                continue;
            }
            waiting.push(Stretch { start: middle, ..stretch });
            waiting.push(Stretch { end: middle, ..stretch });
        }
        if left.is_empty() { Verdict::Outside } else { Verdict::Open(left) }
    }

    /// Whether the whole piece is inside the cutter at one moment.
    fn holds(&self, instant: &Instant, piece: Piece) -> bool {
        self.profile.covers(instant.point(piece.low), instant.point(piece.high))
    }

    /// A lower bound, over all moments between two and all points of the piece, of the distance from the cutter; above
    /// zero, the cutter does not reach the piece.
    ///
    /// Were the turn a straight motion, every point would be a mean of the four corners; a sine and cosine that go round
    /// by an angle leave their chord by at most an eighth of its square.
    fn clearance(&self, start: &Instant, end: &Instant, piece: Piece) -> f64 {
        let corners = [start.point(piece.low), start.point(piece.high), end.point(piece.low), end.point(piece.high)];
        let angle = (self.to.turn - self.from.turn) * (end.t - start.t);
        self.profile.clearance(&corners, 0.125 * angle * angle * piece.high + SLACK)
    }

    /// Bound of the way a point of the ray at the radius `r` goes within a stretch, seen from the cutter.
    fn travel(&self, stretch: &Stretch, r: f64) -> f64 {
        let (from, to) = (self.from, self.to);
        let straight = (to.x - from.x).hypot(to.y - from.y).hypot(to.z - from.z);
        (straight + r * (to.turn - from.turn).abs()) * (stretch.end.t - stretch.start.t)
    }

    fn instant(&self, t: f64) -> Instant {
        let mix = |from: f64, to: f64| from * (1.0 - t) + to * t;
        let (from, to) = (self.from, self.to);
        let (sine, cosine) = (self.theta - mix(from.turn, to.turn)).sin_cos();
        Instant { t, along: self.station - mix(from.x, to.x), y: mix(from.y, to.y), z: mix(from.z, to.z), sine, cosine }
    }
}

/// Appends a piece, in one with its neighbour where both are decided alike.
fn add(pieces: &mut Vec<(Piece, Verdict)>, piece: Piece, verdict: Verdict) {
    match (pieces.last_mut(), &verdict) {
        (Some((last, Verdict::Inside)), Verdict::Inside) | (Some((last, Verdict::Outside)), Verdict::Outside) => {
            last.high = piece.high;
        }
        _ => pieces.push((piece, verdict)),
    }
}

/// Maximal stretches of the ray that consist of open pieces.
fn open_runs(pieces: &[(Piece, Verdict)]) -> Vec<Piece> {
    let mut runs: Vec<Piece> = Vec::new();
    for (piece, _) in pieces.iter().filter(|(_, verdict)| matches!(verdict, Verdict::Open(_))) {
        match runs.last_mut().filter(|run| run.high == piece.low) {
            Some(run) => run.high = piece.high,
            None => runs.push(*piece),
        }
    }
    runs
}

/// The inside pieces, each grown half way into the open runs beside it: all the way to another inside piece or to the
/// end of the ray.
fn spans_of(pieces: &[(Piece, Verdict)]) -> Vec<(f64, f64)> {
    let (Some((first, _)), Some((last, _))) = (pieces.first(), pieces.last()) else { return Vec::new() };
    let runs = open_runs(pieces);
    let run_before = |r: f64| runs.iter().find(|run| run.high == r);
    let run_after = |r: f64| runs.iter().find(|run| run.low == r);
    let mut spans: Vec<(f64, f64)> = Vec::new();
    for (piece, _) in pieces.iter().filter(|(_, verdict)| matches!(verdict, Verdict::Inside)) {
        let middle = |run: &Piece| 0.5 * (run.low + run.high);
        let low =
            run_before(piece.low).map_or(piece.low, |run| if run.low == first.low { run.low } else { middle(run) });
        let high =
            run_after(piece.high).map_or(piece.high, |run| if run.high == last.high { run.high } else { middle(run) });
        match spans.last_mut().filter(|span| span.1 >= low) {
            Some(span) => span.1 = high,
            None => spans.push((low, high)),
        }
    }
    spans
}
