//! What is known of the point that is looked at: asked of the exact ray through it, and of nothing else.
//!
//! A grid's ray stands for all that is nearer to it than to the next, so at an edge it may belong to another line than the
//! point itself. Whatever the window says of a point (its line, its cutter, its radius, what the controller would show)
//! therefore waits for this one answer.

use dryturn_carve::{End, Ray, Replay, is_block};
use dryturn_geom::{Motions, Pose};
use dryturn_scene::Job;

use super::Session;
use super::carver::Ask;
use crate::spot::Spot;

/// How the point that is looked at came about, and so which end of the ray through it is meant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Aim {
    /// It lies under the tip of the cutter: the outermost end.
    #[default]
    Tip,
    /// It was picked on the skin: the outermost end.
    Skin,
    /// It was picked on the piece, on a side that looks outward: the outer end nearest to it.
    Piece,
    /// It was picked on the piece where one sees into it: whatever end is nearest.
    Inside,
    /// It is the place of a finding, which may lie off the wood: the end nearest to it is told of.
    Finding,
}

impl Aim {
    /// Whether the point was picked, so that the line looked at is the one that made it.
    pub fn is_picked(self) -> bool {
        matches!(self, Aim::Skin | Aim::Piece | Aim::Inside)
    }

    /// The end of a ray that is meant by a point at a radius (mm); `None` where nothing is left.
    fn end(self, ray: &Ray, radius: f64) -> Option<End> {
        let is_meant = |end: &End| end.is_outer || matches!(self, Aim::Inside | Aim::Finding);
        let off =
            |end: &End| if matches!(self, Aim::Tip | Aim::Skin) { -end.radius } else { (end.radius - radius).abs() };
        ray.ends().filter(is_meant).min_by(|a, b| off(a).total_cmp(&off(b)))
    }
}

/// What is asked of a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Question {
    /// The point; of its radius only so much is believed as tells one end of its ray from another.
    pub spot: Spot,
    /// How it came about.
    pub aim: Aim,
    /// How many blocks have run.
    pub blocks: u32,
}

/// What is known of a point.
#[derive(Clone, Debug)]
pub struct Known {
    /// What was asked.
    pub asked: Question,
    /// The point that was asked about; its radius is that of the surface, to the last digit.
    pub spot: Spot,
    /// The block that made the surface.
    pub owner: u32,
    /// The ray.
    pub ray: Ray,
    /// The stretch that block took beside the point, or all that it took where nothing is left: radii at which it begins and
    /// ends, mm, the first at the point.
    pub taken: Option<[f64; 2]>,
    /// Where the tip stood as it came nearest to the point, if a block made the surface.
    pub passed: Option<Pose>,
    /// What a caliper reads at the point, through the axis, mm; `None` where none can be held there.
    pub diameter: Option<f64>,
}

/// What a caliper reads at an end of a ray through the axis, given also the ray on the other side, mm.
///
/// About the outermost end its jaws close on all the wood of the line through the axis. In the hollow that the axis lies in
/// they open to the wood on both sides. Between two stretches of wood they meet the end of its kind that stands as near to
/// the axis on the other side, where that side has as many. Elsewhere there is nothing for the other jaw.
fn diameter(here: &Ray, across: &Ray, end: &End) -> Option<f64> {
    let [outermost, innermost] = [here.solid.first()?, here.solid.last()?];
    if end.is_outer && end.radius == outermost.outer {
        return Some(end.radius + across.solid.first().map_or(-innermost.inner, |it| it.outer));
    }
    if !end.is_outer && end.radius == innermost.inner {
        return across.solid.last().map(|it| end.radius + it.inner);
    }
    let place = here.ends().position(|it| it == *end)?;
    let other = across.ends().nth(place).filter(|it| it.is_outer == end.is_outer)?;
    (here.solid.len() == across.solid.len()).then_some(end.radius + other.radius)
}

/// What one block took beside an end that it made, on the side where no wood is: as far as there was wood before and there
/// is none after. Where no end is left, all there was.
fn taken(before: &Ray, after: &Ray, end: Option<&End>) -> Option<[f64; 2]> {
    let Some(end) = end else {
        let (outermost, innermost) = before.solid.first().zip(before.solid.last())?;
        return Some([innermost.inner, outermost.outer]);
    };
    let was = before.solid.iter().find(|it| it.inner - SAME <= end.radius && end.radius <= it.outer + SAME)?;
    let beyond = |other: f64| if end.is_outer { other > end.radius + SAME } else { other < end.radius - SAME };
    let ends = after.ends().filter(|other| other.is_outer != end.is_outer && beyond(other.radius));
    let far = |edge: f64| ends.map(|other| other.radius).fold(edge, if end.is_outer { f64::min } else { f64::max });
    Some([end.radius, far(if end.is_outer { was.outer } else { was.inner })])
}

/// Ends nearer to each other than this are one, mm: more than their search is off.
const SAME: f64 = 1e-4;

impl Known {
    /// Answers a question.
    pub(super) fn of(asked: &Question, replay: &Replay<'_>, job: &Job) -> Known {
        let Question { spot, aim, blocks } = *asked;
        let ray = replay.ray_before(blocks, spot.station, spot.theta);
        let end = aim.end(&ray, spot.radius);
        let (radius, owner) = end.map_or((0.0, ray.emptied_by), |end| (end.radius, end.by));
        let when = |blocks: u32| replay.ray_before(blocks, spot.station, spot.theta);
        let taken = is_block(owner).then(|| taken(&when(owner), &when(owner + 1), end.as_ref())).flatten();
        let half_turn = spot.theta + std::f64::consts::PI;
        let across = replay.ray_before(blocks, spot.station, half_turn);
        let diameter = end.and_then(|end| diameter(&ray, &across, &end));
        let spot = Spot { radius, ..spot };
        let motion = is_block(owner).then(|| job.motion(owner)).flatten();
        let passed = motion.map(|motion| spot.passed_by(&motion));
        Known { asked: *asked, spot, owner, ray, taken, passed, diameter }
    }

    /// The block that made the surface, if it was one of this job's.
    pub fn maker(&self) -> Option<u32> {
        is_block(self.owner).then_some(self.owner)
    }
}

impl Session {
    /// Asks what is known of the point that is looked at.
    pub(super) fn ask_about_spot(&self) {
        if let (Some(asks), Some(question)) = (&self.asks, self.question()) {
            let _ = asks.send(Ask::Know(question));
        }
    }

    fn question(&self) -> Option<Question> {
        let spot = self.cursor.spot?;
        Some(Question { spot, aim: self.cursor.aim, blocks: self.cursor.blocks })
    }

    /// What is known of the point that is looked at; `None` until the answer is there.
    pub fn answer(&self) -> Option<&Known> {
        let now = self.question()?;
        let is_it =
            |asked: &Question| asked.spot.is_over(&now.spot) && (asked.aim, asked.blocks) == (now.aim, now.blocks);
        self.known.as_deref().filter(|known| is_it(&known.asked))
    }

    /// Whether it is not known yet which line made the point that was picked.
    pub fn is_asking(&self) -> bool {
        self.cursor.aim.is_picked() && self.cursor.spot.is_some() && self.answer().is_none()
    }

    /// Takes an answer in: from now on everything about the point is as the ray has it.
    pub(super) fn take_known(&mut self, known: Box<Known>) {
        let (spot, aim, maker) = (known.spot, known.asked.aim, known.maker());
        if let Some(from) = self.cursor.from.as_mut().filter(|from| from.is_over(&spot) && aim != Aim::Finding) {
            from.radius = spot.radius;
        }
        self.known = Some(known);
        if self.answer().is_none() {
            return;
        }
        if aim != Aim::Finding {
            self.cursor.spot = Some(spot);
        }
        if aim.is_picked() {
            self.cursor.focus = maker;
        }
        if std::mem::take(&mut self.awaits_maker) {
            self.go_to_maker();
        }
    }

    /// Goes to the moment at which the point that is looked at has just been made, as soon as it is known which that is.
    pub fn go_to_maker(&mut self) {
        let Some(known) = self.answer() else {
            self.awaits_maker = self.cursor.spot.is_some();
            return;
        };
        let (Some(maker), spot, aim) = (known.maker(), self.cursor.spot, self.cursor.aim) else { return };
        self.go(maker + 1, true);
        (self.cursor.spot, self.cursor.aim) = (spot, aim);
        self.ask_about_spot();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_carve::{Solid, Stretch, UNTOUCHED};

    /// Solid from 12 to 15, made outside by block 3 and inside by 4, and from 5 to 8, by 5 and 6.
    fn ray() -> Ray {
        let stretch = |inner, outer, inner_by, outer_by| Stretch { inner, outer, inner_by, outer_by };
        let solid = [stretch(12.0, 15.0, 4, 3), stretch(5.0, 8.0, 6, 5)].into_iter().collect();
        Ray { station: 0.0, theta: 0.0, solid, emptied_by: 0 }
    }

    #[test]
    fn the_end_that_is_meant_hangs_on_where_one_looks() {
        let by = |aim: Aim, radius: f64| aim.end(&ray(), radius).unwrap().by;
        // In the wood of the outer stretch, nearer to its inner end.
        assert_eq!([Aim::Tip, Aim::Skin, Aim::Piece, Aim::Inside].map(|aim| by(aim, 12.4)), [3, 3, 3, 4]);
        // In the wood of the inner one.
        assert_eq!([Aim::Tip, Aim::Skin, Aim::Piece, Aim::Inside].map(|aim| by(aim, 5.4)), [3, 3, 5, 6]);
        assert_eq!([by(Aim::Finding, 33.0), by(Aim::Finding, 0.0)], [3, 6]);
        assert!(Aim::Skin.end(&Ray { solid: Default::default(), ..ray() }, 3.0).is_none());
    }

    fn left(stretches: &[(f64, f64)]) -> Ray {
        let stretch = |&(inner, outer): &(f64, f64)| Stretch { inner, outer, inner_by: 3, outer_by: 3 };
        let solid: Solid = stretches.iter().map(stretch).collect();
        Ray { station: 0.0, theta: 0.0, solid, emptied_by: UNTOUCHED }
    }

    fn end(radius: f64, is_outer: bool) -> End {
        End { radius, by: 3, is_outer }
    }

    /// What a caliper reads at an end of one ray, given the other.
    fn reads(here: &[(f64, f64)], across: &[(f64, f64)], radius: f64, is_outer: bool) -> Option<f64> {
        let (here, across) = (left(here), left(across));
        let end = here.ends().find(|it| it.radius == radius && it.is_outer == is_outer).unwrap();
        diameter(&here, &across, &end)
    }

    /// Rings about the axis: whichever end one looks at, a caliper reads twice its radius.
    #[test]
    fn of_rings_a_caliper_reads_twice_the_radius() {
        for rings in
            [vec![(0.0, 20.0)], vec![(8.0, 20.0)], vec![(15.0, 20.0), (5.0, 12.0)], vec![(15.0, 20.0), (0.0, 12.0)]]
        {
            for (radius, is_outer) in left(&rings).ends().map(|it| (it.radius, it.is_outer)) {
                assert_eq!(reads(&rings, &rings, radius, is_outer), Some(2.0 * radius), "{rings:?} at {radius}");
            }
        }
    }

    /// A bar off the axis, from 3 to 11 of a line through it; and a bore off the axis, from −2 to 6 of one.
    #[test]
    fn off_the_axis_a_caliper_reads_what_stands_between_its_jaws() {
        assert_eq!(reads(&[(3.0, 11.0)], &[], 11.0, true), Some(8.0));
        assert_eq!(reads(&[(0.0, 11.0)], &[], 11.0, true), Some(11.0));
        assert_eq!(reads(&[(6.0, 20.0)], &[(2.0, 20.0)], 6.0, false), Some(8.0));
        // The axis lies on the edge of the bore.
        assert_eq!(reads(&[(6.0, 20.0)], &[(0.0, 20.0)], 6.0, false), Some(6.0));
    }

    #[test]
    fn where_the_other_jaw_meets_nothing_no_diameter_is_told() {
        // A tube, open on the other side; and one bored through sideways on this side only.
        assert_eq!(reads(&[(6.0, 20.0)], &[], 6.0, false), None);
        let bored = [(20.5, 25.0), (15.0, 20.0)];
        for (radius, is_outer) in [(20.0, true), (20.5, false)] {
            assert_eq!(reads(&bored, &[(15.0, 25.0)], radius, is_outer), None);
        }
        assert_eq!(reads(&bored, &[(15.0, 25.0)], 15.0, false), Some(30.0));
        assert_eq!(reads(&bored, &[(15.0, 25.0)], 25.0, true), Some(50.0));
    }

    #[test]
    fn on_a_surface_what_lay_over_it_is_told() {
        let (before, after) = (left(&[(0.0, 25.0)]), left(&[(0.0, 20.0)]));
        assert_eq!(taken(&before, &after, Some(&end(20.0, true))), Some([20.0, 25.0]));
    }

    /// A tube of 15 to 25 through which a block bores sideways: half a millimetre of each ray goes, not all to the outside.
    #[test]
    fn in_a_hollow_only_what_the_block_took_is_told() {
        let (before, after) = (left(&[(15.0, 25.0)]), left(&[(20.56, 25.0), (15.0, 20.04)]));
        assert_eq!(taken(&before, &after, Some(&end(20.04, true))), Some([20.04, 20.56]));
        assert_eq!(taken(&before, &after, Some(&end(20.56, false))), Some([20.56, 20.04]));
    }

    #[test]
    fn in_a_bore_it_stood_nearer_to_the_axis() {
        let (before, after) = (left(&[(15.0, 25.0)]), left(&[(16.0, 25.0)]));
        assert_eq!(taken(&before, &after, Some(&end(16.0, false))), Some([16.0, 15.0]));
    }

    #[test]
    fn where_nothing_is_left_all_of_it_was_taken() {
        let (before, after) = (left(&[(15.0, 16.0)]), left(&[]));
        assert_eq!(taken(&before, &after, None), Some([15.0, 16.0]));
    }
}
