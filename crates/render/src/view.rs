//! From where a picture is taken.

use glam::{DMat4, DVec2, DVec3};

use crate::{Free, Line, RenderError, lettering};

/// The names of views, and what they show.
const NAMED: [(&str, View); 8] = [
    ("three-quarter", View::DEFAULT),
    ("front", View { turn: 0.0, tilt: 8.0, ..View::DEFAULT }),
    ("back", View { turn: 180.0, tilt: 8.0, ..View::DEFAULT }),
    ("above", View { turn: 0.0, tilt: 89.0, ..View::DEFAULT }),
    ("below", View { turn: 0.0, tilt: -60.0, ..View::DEFAULT }),
    ("end", View { turn: 90.0, tilt: 8.0, ..View::DEFAULT }),
    ("chuck", View { turn: -90.0, tilt: 8.0, ..View::DEFAULT }),
    ("standing", View { turn: 20.0, tilt: 12.0, standing: true, ..View::DEFAULT }),
];

/// From where a picture is taken. Without a distance everything shown fits the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Around the upright, degrees. At 0 the axis lies across the picture with the chuck's end at the left; positive
    /// goes to the right, toward the free end.
    pub turn: f64,
    /// Over the horizon, degrees, −90 … 90.
    pub tilt: f64,
    /// From the target to the lens, mm.
    pub distance: Option<f64>,
    /// A point of the room that stands in the middle of the picture, mm; `None` takes the middle of what is shown. The
    /// room is the piece frame before the piece is turned.
    pub target: Option<[f64; 3]>,
    /// Whether the piece stands on its chuck's end, rather than lying along the picture.
    pub standing: bool,
    /// Angle that the longer side of the picture takes in, degrees; small is a long lens.
    pub angle: f64,
}

impl View {
    const DEFAULT: View = View { turn: 32.0, tilt: 22.0, distance: None, target: None, standing: false, angle: 22.0 };

    /// The names that [`View::named`] knows.
    pub fn names() -> impl Iterator<Item = &'static str> {
        NAMED.iter().map(|(name, _)| *name)
    }

    /// A view by its name.
    pub fn named(name: &str) -> Option<View> {
        NAMED.iter().find(|(known, _)| *known == name).map(|(_, view)| *view)
    }

    /// The directions of the picture, unit vectors in the piece frame: to the right, up, and back to the eye.
    pub fn axes(&self) -> [[f64; 3]; 3] {
        let back = self.toward(0.0, self.tilt);
        // Straight above, the way up in the picture is the way away from the eye.
        let right = self.toward(90.0, 0.0);
        [right, back.cross(right), back].map(|axis| axis.to_array())
    }

    /// # Errors
    /// [`RenderError::Senseless`].
    pub(crate) fn check(&self) -> Result<(), RenderError> {
        let numbers = [self.turn, self.tilt, self.angle, self.distance.unwrap_or(1.0)];
        if !numbers.iter().chain(self.target.iter().flatten()).all(|it| it.is_finite()) {
            return Err(RenderError::Senseless("a view takes finite numbers"));
        }
        if self.tilt.abs() > 90.0 || !(0.1..=120.0).contains(&self.angle) {
            return Err(RenderError::Senseless("a view is tilted by −90° to 90°, and takes in 0.1° to 120°"));
        }
        if self.distance.is_some_and(|distance| distance <= 0.0) {
            return Err(RenderError::Senseless("a view is taken from a distance greater than zero"));
        }
        Ok(())
    }

    /// The directions of the room in the piece frame: to the right, away from the eye and up, as seen at a turn of 0.
    pub(crate) fn room(&self) -> [DVec3; 3] {
        if self.standing { [DVec3::NEG_Z, DVec3::Y, DVec3::X] } else { [DVec3::X, DVec3::Y, DVec3::Z] }
    }

    /// What is up.
    pub(crate) fn up(&self) -> DVec3 {
        self.room()[2]
    }

    /// A direction told in degrees to the right of the eye and over the horizon.
    pub(crate) fn toward(&self, right: f64, over: f64) -> DVec3 {
        let [x, away, up] = self.room();
        let (turn, over) = ((self.turn + right).to_radians(), over.to_radians());
        (x * turn.sin() - away * turn.cos()) * over.cos() + up * over.sin()
    }
}

impl Default for View {
    fn default() -> View {
        View::DEFAULT
    }
}

/// Where the eye is, and how it sees.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Camera {
    pub(crate) eye: DVec3,
    pub(crate) right: DVec3,
    pub(crate) up: DVec3,
    /// From what is shown to the eye.
    pub(crate) back: DVec3,
    /// Half of the picture's width and height at a distance of 1.
    pub(crate) half: [f64; 2],
    /// Where the middle of what is shown lies, −1 … 1 to the right and up.
    middle: [f64; 2],
    near: f64,
    far: f64,
}

/// Share of the picture's half that stays free around what is shown.
const MARGIN: f64 = 0.1;

impl Camera {
    /// The camera of a view, with all of the points in what of the picture is not to be left free, unless its distance is
    /// given. The points are never none.
    pub(crate) fn new(view: &View, [width, height]: [u32; 2], free: Option<Free>, points: &[DVec3]) -> Camera {
        let [right, up, back] = view.axes().map(DVec3::from_array);
        let longer = (0.5 * view.angle).to_radians().tan();
        let (w, h) = (f64::from(width), f64::from(height));
        let half = [longer * w / w.max(h), longer * h / w.max(h)];
        let (less, middle) = free.map_or(([0.0; 2], [0.0; 2]), Free::shares);
        let mut camera = Camera { eye: DVec3::ZERO, right, up, back, half, middle, near: 0.0, far: 0.0 };
        let fits = [0, 1].map(|axis| half[axis] * (1.0 - less[axis]) * (1.0 - MARGIN));
        camera.stand(points, fits, view.target.map(DVec3::from_array), view.distance);
        camera
    }

    /// Finds the place to stand: so that every point is in the picture, unless the distance is given.
    /// `fits` is half of the width and height at a distance of 1 that they may take up.
    fn stand(&mut self, points: &[DVec3], fits: [f64; 2], target: Option<DVec3>, distance: Option<f64>) {
        let most = |of: &dyn Fn(DVec3) -> f64| points.iter().map(|point| of(*point)).fold(f64::MIN, f64::max);
        let nearest = most(&|point| point.dot(self.back));
        let farthest = -most(&|point| -point.dot(self.back));
        let axes = [(self.right, fits[0]), (self.up, fits[1])];
        let fits = axes.map(|(side, half)| {
            // Each side of the picture is a plane through the eye; the point that reaches farthest over it decides.
            let plus = most(&|point| point.dot(side) + half * point.dot(self.back));
            let minus = most(&|point| -point.dot(side) + half * point.dot(self.back));
            let at = target.map_or(0.5 * (plus - minus), |target| target.dot(side));
            (at, (plus - at).max(minus + at) / half)
        });
        let middle = target.map_or(0.5 * (nearest + farthest), |target| target.dot(self.back));
        let fitting = fits[0].1.max(fits[1].1).max(nearest + 1e-3);
        let back = distance.map_or(fitting, |distance| middle + distance);
        self.eye = self.right * fits[0].0 + self.up * fits[1].0 + self.back * back;
        let size = (nearest - farthest).max(1.0);
        self.near = 0.5 * (back - nearest).max(0.02 * (back - farthest).abs().max(size));
        // The ground goes on behind.
        self.far = (back - farthest).max(size) * 4.0 + size;
    }

    /// The point of the room at which the text ends that stands beyond a line's end.
    pub(crate) fn end_of_text(&self, line: &Line, size: [f64; 2]) -> Option<DVec3> {
        let [from, to] = [line.from, line.to].map(DVec3::from_array);
        let pixel = 2.0 * self.half[0] / size[0] * (self.eye - to).dot(self.back);
        // Seen at a slant the way is longer.
        let way = (to - from).normalize_or_zero();
        let seen = way.dot(self.right).hypot(way.dot(self.up)).max(0.3);
        Some(to + way * (line.beyond? + lettering::reach(line, size) * pixel / seen))
    }

    /// Size of a pixel at a distance of 1, of a picture with so many across.
    pub(crate) fn pixel(&self, width: u32) -> f64 {
        2.0 * self.half[0] / f64::from(width)
    }

    /// The pixel, from the upper left corner, at which a point of the room is seen; `None` behind the eye.
    pub(crate) fn seen_at(self, point: [f64; 3], [width, height]: [f64; 2]) -> Option<DVec2> {
        let at = self.to_clip([0.0; 2]) * DVec3::from_array(point).extend(1.0);
        let share = DVec2::new(0.5 + 0.5 * at.x / at.w, 0.5 - 0.5 * at.y / at.w);
        (at.w > 0.0).then(|| share * DVec2::new(width, height))
    }

    /// From the room to the picture: x to the right and y up, −1 … 1, and depth 0 … 1; `shift` moves everything to the
    /// right and up in that measure.
    pub(crate) fn to_clip(self, shift: [f64; 2]) -> DMat4 {
        let view = glam::dmat4(
            glam::dvec4(self.right.x, self.up.x, self.back.x, 0.0),
            glam::dvec4(self.right.y, self.up.y, self.back.y, 0.0),
            glam::dvec4(self.right.z, self.up.z, self.back.z, 0.0),
            glam::dvec4(-self.right.dot(self.eye), -self.up.dot(self.eye), -self.back.dot(self.eye), 1.0),
        );
        let depth = self.far / (self.near - self.far);
        let project = glam::dmat4(
            glam::dvec4(1.0 / self.half[0], 0.0, 0.0, 0.0),
            glam::dvec4(0.0, 1.0 / self.half[1], 0.0, 0.0),
            glam::dvec4(-shift[0] - self.middle[0], -shift[1] - self.middle[1], depth, -1.0),
            glam::dvec4(0.0, 0.0, self.near * depth, 0.0),
        );
        project * view
    }
}

/// The part of a picture that is drawn at a time, pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Part {
    /// Its upper left corner.
    pub(crate) start: [u32; 2],
    pub(crate) size: [u32; 2],
}

impl Part {
    /// All of a picture.
    pub(crate) fn whole(size: [u32; 2]) -> Part {
        Part { start: [0; 2], size }
    }

    /// The parts that make up a picture, row by row, none of them larger than `most`.
    pub(crate) fn of(size: [u32; 2], most: [u32; 2]) -> Vec<Part> {
        let starts = |axis: usize| (0..size[axis]).step_by(most[axis].max(1) as usize);
        let part = |start: [u32; 2]| Part {
            start,
            size: std::array::from_fn(|axis| most[axis].min(size[axis] - start[axis])),
        };
        starts(1).flat_map(|y| starts(0).map(move |x| part([x, y]))).collect()
    }

    /// From the whole picture's −1 … 1 to this part's.
    pub(crate) fn out_of_whole(self, whole: [u32; 2]) -> DMat4 {
        let [(x, right), (y, down)] = [0, 1].map(|axis| {
            let (start, size, whole) = (self.start[axis], self.size[axis], f64::from(whole[axis]));
            let grow = whole / f64::from(size);
            (grow, grow * (2.0 * f64::from(start) + f64::from(size) - whole) / whole)
        });
        DMat4::from_translation(glam::dvec3(-right, down, 0.0)) * DMat4::from_scale(glam::dvec3(x, y, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: DVec3, b: DVec3) -> bool {
        a.distance(b) < 1e-12
    }

    #[test]
    fn the_front_has_the_chuck_at_the_left_and_up_at_the_top() {
        let front = View { turn: 0.0, tilt: 0.0, ..View::default() };
        let camera = Camera::new(&front, [200, 100], None, &[DVec3::ZERO, DVec3::X * 100.0]);
        assert!(near(camera.right, DVec3::X) && near(camera.up, DVec3::Z) && near(camera.back, DVec3::NEG_Y));
        let standing = View { standing: true, ..front };
        let camera = Camera::new(&standing, [100, 200], None, &[DVec3::ZERO, DVec3::X * 100.0]);
        assert!(near(camera.up, DVec3::X) && near(camera.back, DVec3::NEG_Y) && near(camera.right, DVec3::NEG_Z));
    }

    #[test]
    fn parts_make_up_the_picture() {
        let parts = Part::of([5, 3], [2, 2]);
        assert_eq!(parts.len(), 6);
        assert_eq!(parts[5], Part { start: [4, 2], size: [1, 1] });
        // The middle of the pixel in the lower right corner is the middle of its part.
        let [x, y] = [2.0 * 4.5 / 5.0 - 1.0, 1.0 - 2.0 * 2.5 / 3.0];
        let at = parts[5].out_of_whole([5, 3]) * glam::dvec4(x, y, 0.5, 1.0);
        assert!(near(at.truncate(), glam::dvec3(0.0, 0.0, 0.5)), "{at}");
        assert_eq!(Part::of([5, 3], [5, 3]), [Part::whole([5, 3])]);
        assert_eq!(Part::whole([5, 3]).out_of_whole([5, 3]), DMat4::IDENTITY);
    }

    #[test]
    fn what_is_shown_fits_the_picture_and_touches_its_margin() {
        let corner = |k: u32| glam::dvec3(f64::from(k & 1) * 150.0, f64::from(k & 2) * 20.0, f64::from(k & 4) * 10.0);
        let points: Vec<DVec3> = (0..8).map(corner).collect();
        for name in View::names() {
            let camera = Camera::new(&View::named(name).unwrap(), [300, 200], None, &points);
            let to_clip = camera.to_clip([0.0, 0.0]);
            let clip = |point: &DVec3| {
                let it = to_clip * point.extend(1.0);
                [(it.x / it.w).abs(), (it.y / it.w).abs(), it.z / it.w]
            };
            let all: Vec<[f64; 3]> = points.iter().map(clip).collect();
            assert!(all.iter().all(|it| (0.0..1.0).contains(&it[2])), "{name}: {all:?}");
            let most = all.iter().map(|it| it[0].max(it[1])).fold(0.0, f64::max);
            assert!((most - 0.9).abs() < 1e-9, "{name}: {most}");
        }
    }

    #[test]
    fn what_is_left_free_is_free() {
        let points = [glam::dvec3(0.0, -20.0, -20.0), glam::dvec3(150.0, 20.0, 20.0)];
        let seen = |free: Free, point: DVec3| {
            let camera = Camera::new(&View::default(), [300, 200], Some(free), &points);
            camera.seen_at(point.to_array(), [300.0, 200.0]).unwrap()
        };
        for point in points {
            assert!(seen(Free::Left(0.4), point).x > 120.0 && seen(Free::Left(0.4), point).x < 300.0);
            assert!(seen(Free::Right(0.4), point).x > 0.0 && seen(Free::Right(0.4), point).x < 180.0);
            assert!(seen(Free::Below(0.4), point).y > 0.0 && seen(Free::Below(0.4), point).y < 120.0);
        }
    }
}
