//! From where the piece is looked at: from far away and square to its axis, so that stations keep their scale.

use dryturn_geom::{Side, angle};

use crate::field::Field;
use crate::spot::Spot;

/// Share of a pane that the piece fills when all of it is shown.
const FILLS: f64 = 0.9;

/// From where the piece is looked at. All panes share station and scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    /// Station in the middle of the panes, mm.
    pub station: f64,
    /// Points of the screen a millimetre.
    pub scale: f64,
    /// Angle θ that faces the eye, radians.
    pub facing: f64,
    /// How far the axis is swung out of the picture, radians; 0 keeps stations in step with the other panes.
    pub swing: f64,
    /// How high over the axis the middle of the piece pane is, mm.
    pub rise: f64,
    /// The side of the machine that the chuck stands on.
    pub chuck: Side,
}

/// What of the room a picture shows, square to the axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Station in its middle, mm.
    pub station: f64,
    /// How high over the axis its middle is, mm.
    pub rise: f64,
    /// From its middle to its edges, to the right and down, mm.
    pub half: [f64; 2],
}

/// A plane: unit normal, and its distance from the origin, mm.
pub(crate) type Plane = ([f64; 3], f64);

/// How the piece is cut open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cut {
    /// It is whole.
    #[default]
    None,
    /// Along the axis, square to the eye.
    Lengthwise,
    /// Across, at the cursor.
    Across,
}

impl Cut {
    /// The next way in turn.
    pub fn next(self) -> Cut {
        match self {
            Cut::None => Cut::Lengthwise,
            Cut::Lengthwise => Cut::Across,
            Cut::Across => Cut::None,
        }
    }
}

impl Eye {
    /// Sees all from one station to another, from a little above the front.
    pub fn over(ends: [f64; 2], width: f64, chuck: Side) -> Eye {
        let front = if chuck == Side::Minus { 62.0 } else { -62.0 };
        let length = (ends[1] - ends[0]).max(1.0);
        Eye {
            station: 0.5 * (ends[0] + ends[1]),
            scale: FILLS * width.max(50.0) / length,
            facing: angle::radians(front),
            swing: 0.0,
            rise: 0.0,
            chuck,
        }
    }

    /// The picture's directions in the piece frame: to the right, up, and back to the eye.
    pub fn axes(&self) -> [[f64; 3]; 3] {
        let (sine, cosine) = angle::sin_cos(self.facing);
        let across = if self.chuck == Side::Plus { sine } else { -sine };
        let (level, up) = ([0.0, across, cosine], [0.0, cosine, -across]);
        let (sine, cosine) = angle::sin_cos(self.swing);
        let right = [cosine, -sine * level[1], -sine * level[2]];
        let back = [sine, cosine * level[1], cosine * level[2]];
        [right, up, back]
    }

    /// The point of the piece frame in the middle of the piece pane, mm.
    pub fn middle(&self) -> [f64; 3] {
        let [_, up, _] = self.axes();
        [self.station, self.rise * up[1], self.rise * up[2]]
    }

    /// Where a point of the piece frame is seen, points of the screen to the right of the middle of the pane and below it,
    /// and how far before it, mm.
    pub fn seen(&self, point: [f64; 3]) -> [f64; 3] {
        let [right, up, back] = self.axes();
        let off = minus(point, self.middle());
        [self.scale * dot(off, right), -self.scale * dot(off, up), dot(off, back)]
    }

    /// What is seen of the room in a pane of this size, points.
    pub fn extent(&self, size: [f64; 2]) -> Extent {
        Extent { station: self.station, rise: self.rise, half: size.map(|side| 0.5 * side / self.scale) }
    }

    /// Where a picture belongs that was taken of another extent: its middle, points to the right of the middle of the pane
    /// and below it, and half its size, points. A picture taken from this very eye fills the pane.
    pub fn lies(&self, taken: &Extent) -> [[f64; 2]; 2] {
        let [across, below, _] = self.seen(Eye { station: taken.station, rise: taken.rise, ..*self }.middle());
        [[across, below], taken.half.map(|side| side * self.scale)]
    }

    /// The point of a station (mm), angle (radians) and radius (mm) in the piece frame.
    pub fn point(&self, station: f64, theta: f64, radius: f64) -> [f64; 3] {
        dryturn_geom::piece_from_blank(self.chuck, station, theta, radius)
    }

    /// What is first met under a point of the pane, given as in [`Eye::seen`]; what lies beyond the plane is cut away.
    pub fn met(&self, field: &Field, at: [f64; 2], plane: Option<Plane>) -> Option<Spot> {
        let [right, up, back] = self.axes();
        let (across, down) = (at[0] / self.scale, at[1] / self.scale);
        let middle = self.middle();
        let foot: [f64; 3] = std::array::from_fn(|k| middle[k] + across * right[k] - down * up[k]);
        let reach = field.greatest() + (field.ends[1] - field.ends[0]) * self.swing.sin().abs() + self.rise.abs();
        let way = |far: f64| -> [f64; 3] { std::array::from_fn(|k| foot[k] + far * back[k]) };
        let is_wood = |far: f64| {
            let point = way(far);
            let is_cut = plane.is_some_and(|(normal, limit)| dot(point, normal) > limit);
            let [station, theta, radius] = self.place(point);
            !is_cut && field.holds(station, theta, radius)
        };
        let step = (0.5 * field.step).clamp(0.02, 0.5);
        let count = (2.0 * reach / step).ceil() as u32;
        let far = |place: u32| reach - step * f64::from(place);
        let met = (0..=count).find(|place| is_wood(far(*place)))?;
        let (mut outside, mut inside) = (far(met) + step, far(met));
        for _ in 0..20 {
            let half = 0.5 * (outside + inside);
            if is_wood(half) { inside = half } else { outside = half }
        }
        let [station, theta, radius] = self.place(way(inside));
        Some(Spot { station, theta, radius })
    }

    /// Station (mm), angle θ (0 … 2π) and radius (mm) of a point of the piece frame.
    pub fn place(&self, [x, y, z]: [f64; 3]) -> [f64; 3] {
        let across = if self.chuck == Side::Plus { y } else { -y };
        [x, angle::wrapped(angle::atan2(across, z)), y.hypot(z)]
    }

    /// How far to the right of the middle of the panes a station is, points of the screen.
    pub fn across(&self, station: f64) -> f64 {
        self.scale * (station - self.station)
    }

    /// The station at so many points to the right of the middle, mm.
    pub fn station_at(&self, across: f64) -> f64 {
        self.station + across / self.scale
    }

    /// Grows everything about a place in the piece pane, points to the right of the middle and below it; in the other panes
    /// nothing grows but along the axis, so that below is 0.
    pub fn zoom(&mut self, by: f64, [across, below]: [f64; 2]) {
        let (station, height) = (self.station_at(across), self.rise - below / self.scale);
        self.scale = (self.scale * by).clamp(0.02, 2000.0);
        self.station = station - across / self.scale;
        self.rise = height + below / self.scale;
    }

    /// Which way down is on the skin: 1 where θ grows downward, −1 where it grows upward.
    pub fn down(&self) -> f64 {
        if self.chuck == Side::Plus { -1.0 } else { 1.0 }
    }

    /// The plane of a cut, in the piece frame, for a cursor at a station.
    pub fn plane(&self, cut: Cut, station: f64) -> Option<Plane> {
        match cut {
            Cut::None => None,
            Cut::Lengthwise => Some((Eye { swing: 0.0, ..*self }.axes()[2], 0.0)),
            Cut::Across => Some(([1.0, 0.0, 0.0], station)),
        }
    }
}

pub(crate) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn minus(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::Solid;

    /// A bar of radius 10 from station 0 to 40.
    fn bar(chuck: Side) -> Field {
        let (rows, columns) = (80, 120);
        Field {
            rows,
            columns,
            first: 0.25,
            step: 0.5,
            turn: std::f64::consts::TAU / columns as f64,
            ends: [0.0, 40.0],
            chuck,
            layers: vec![vec![Solid { inner: 0.0, outer: 10.0 }; rows * columns]],
            owners: vec![7; rows * columns],
        }
    }

    #[test]
    fn what_is_seen_is_met_again() {
        for chuck in [Side::Minus, Side::Plus] {
            let field = bar(chuck);
            for swing in [0.0, 0.4, -0.7] {
                let eye = Eye { swing, ..Eye::over(field.ends, 800.0, chuck) };
                for (station, off) in [(5.0, 0.0), (20.0, 0.7), (35.0, -0.9)] {
                    let theta = eye.facing + off;
                    let [x, y, _] = eye.seen(eye.point(station, theta, 10.0));
                    let met = eye.met(&field, [x, y], None).unwrap();
                    assert!((met.station - station).abs() < 1e-3, "{met:?}");
                    assert!(angle::signed(met.theta - theta).abs() < 1e-3, "{met:?}");
                    assert!((met.radius - 10.0).abs() < 1e-3, "{met:?}");
                }
            }
        }
    }

    #[test]
    fn stations_keep_their_scale_and_the_skin_its_sense() {
        let eye = Eye::over([0.0, 40.0], 800.0, Side::Minus);
        let [a, b] = [10.0, 30.0].map(|station| eye.seen(eye.point(station, eye.facing + 0.3, 10.0)));
        assert!((b[0] - a[0] - 20.0 * eye.scale).abs() < 1e-9);
        for chuck in [Side::Minus, Side::Plus] {
            let eye = Eye::over([0.0, 40.0], 800.0, chuck);
            let [_, y, _] = eye.seen(eye.point(20.0, eye.facing + 0.1, 10.0));
            assert_eq!(y.signum(), eye.down(), "θ grows the same way on the piece as on the skin");
        }
    }

    #[test]
    fn what_is_cut_away_is_not_met() {
        let field = bar(Side::Minus);
        let eye = Eye::over(field.ends, 800.0, Side::Minus);
        let plane = eye.plane(Cut::Lengthwise, 0.0);
        let met = eye.met(&field, [0.0, -3.0 * eye.scale], plane).unwrap();
        assert!((met.radius - 3.0).abs() < 0.02, "{met:?}");
        assert_eq!(eye.met(&field, [100.0, 11.0 * eye.scale], None), None);
    }

    #[test]
    fn a_picture_lies_where_what_it_shows_is_seen_now() {
        let size = [800.0, 300.0];
        let before = Eye { rise: 4.0, swing: 0.3, ..Eye::over([0.0, 40.0], size[0], Side::Minus) };
        let mut now = before;
        now.zoom(1.7, [120.0, -40.0]);
        now.station += 3.0;
        for (station, radius) in [(3.0, 10.0), (17.0, 2.0), (39.0, -7.0)] {
            let [x, y, _] = before.seen(before.point(station, before.facing + 0.4, radius));
            let [middle, half] = now.lies(&before.extent(size));
            let moved = [middle[0] + x / (0.5 * size[0]) * half[0], middle[1] + y / (0.5 * size[1]) * half[1]];
            let [x, y, _] = now.seen(now.point(station, now.facing + 0.4, radius));
            assert!((moved[0] - x).abs() < 1e-9 && (moved[1] - y).abs() < 1e-9, "{moved:?} {x} {y}");
        }
        assert_eq!(now.lies(&now.extent(size)), [[0.0; 2], size.map(|side| 0.5 * side)]);
    }

    #[test]
    fn growing_keeps_what_is_under_the_pointer() {
        let mut eye = Eye::over([0.0, 40.0], 800.0, Side::Minus);
        let field = bar(Side::Minus);
        let before = eye.met(&field, [120.0, -40.0], None).unwrap();
        for by in [3.0, 0.7, 1.9] {
            eye.zoom(by, [120.0, -40.0]);
        }
        let after = eye.met(&field, [120.0, -40.0], None).unwrap();
        assert!(before.to(&after).across < 1e-3, "{before:?} {after:?}");
    }
}
