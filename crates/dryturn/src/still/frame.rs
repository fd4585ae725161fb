//! How the piece stands before the eye, and where it is cut open.

use dryturn_geom::angle;
use dryturn_render::{Section, View};

use crate::arguments::Cut;

/// A point or a direction in the piece frame.
pub(super) type Place = [f64; 3];

pub(super) fn dot(a: Place, b: Place) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The plane that a piece is cut open along.
pub(super) fn section(cut: Cut, view: &View) -> Section {
    let [_, _, back] = view.axes();
    let across = |axis: usize, at: f64| {
        let (mut point, mut normal) = ([0.0; 3], [0.0; 3]);
        point[axis] = at;
        normal[axis] = if back[axis] < 0.0 { -1.0 } else { 1.0 };
        Section { point, normal }
    };
    match cut {
        Cut::Lengthwise => across(if back[2].abs() > back[1].abs() { 2 } else { 1 }, 0.0),
        Cut::Across(axis, at) => across(axis, at),
        Cut::Through { point, normal } => Section { point, normal },
    }
}

/// So many views all around of what lies in a box, at one distance.
pub(super) fn around(view: &View, [low, high]: [Place; 2], aspect: f64, count: u32) -> Vec<View> {
    let turned = |number: u32| View { turn: view.turn + 360.0 * f64::from(number) / f64::from(count), ..*view };
    let half: Place = std::array::from_fn(|axis| 0.5 * (high[axis] - low[axis]));
    let middle: Place = std::array::from_fn(|axis| 0.5 * (high[axis] + low[axis]));
    let farthest = (0..count).map(|number| distance(&turned(number), half, aspect)).fold(0.0, f64::max);
    let distance = Some(view.distance.unwrap_or(farthest));
    (0..count).map(|number| View { distance, target: Some(middle), ..turned(number) }).collect()
}

/// Share of the picture that is filled.
const FILLED: f64 = 0.9;

/// From where all of a box with these half sides is seen, mm from its middle.
fn distance(view: &View, half: Place, aspect: f64) -> f64 {
    let [right, up, back] = view.axes();
    let longer = FILLED * angle::tan(angle::radians(0.5 * view.angle));
    let [wide, high] = [longer * aspect.min(1.0), longer / aspect.max(1.0)];
    let corner = |number: u32| -> Place {
        std::array::from_fn(|axis| if number >> axis & 1 == 0 { -half[axis] } else { half[axis] })
    };
    let needed =
        |corner: Place| (dot(corner, right).abs() / wide).max(dot(corner, up).abs() / high) + dot(corner, back);
    (0..8).map(|number| needed(corner(number))).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(name: &str) -> View {
        View::named(name).unwrap()
    }

    #[test]
    fn what_lies_toward_the_eye_is_left_out() {
        let normal = |cut, name| section(cut, &named(name)).normal;
        assert_eq!(normal(Cut::Lengthwise, "front"), [0.0, -1.0, 0.0]);
        assert_eq!(normal(Cut::Lengthwise, "above"), [0.0, 0.0, 1.0]);
        assert_eq!(normal(Cut::Across(0, 40.0), "end"), [1.0, 0.0, 0.0]);
        assert_eq!(normal(Cut::Across(0, 40.0), "chuck"), [-1.0, 0.0, 0.0]);
        let given = Cut::Through { point: [1.0, 2.0, 3.0], normal: [0.6, 0.0, 0.8] };
        assert_eq!(section(given, &named("back")).normal, [0.6, 0.0, 0.8]);
    }

    #[test]
    fn views_all_around_keep_their_distance_and_come_back() {
        let views = around(&View::default(), [[0.0, -10.0, -10.0], [200.0, 10.0, 10.0]], 1.5, 8);
        assert_eq!(views.len(), 8);
        assert!(views.iter().all(|view| view.distance == views[0].distance && view.target == Some([100.0, 0.0, 0.0])));
        assert_eq!(views[2].turn - views[0].turn, 90.0);
        // Seen from the end a long piece comes near the eye, so that the eye must stand beyond that end.
        assert!(views[0].distance > Some(100.0));
    }
}
