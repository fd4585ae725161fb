//! Cutter radius compensation: G40, G41, G42 (NISTIR 6556 section 3.5.10 and appendix B).
//!
//! The cutter's centre keeps a radius away from the programmed contour, on its left (G41) or right (G42). The first
//! move leads onto the contour; an outside corner is rounded by an arc about the corner; an inside corner is an error.
//! No block needs to know the next one. The tolerance of a corner, 0.01 rad, is from memory.

use std::f64::consts::{PI, TAU};

use dryturn_geom::angle;

use super::reader::Reader;
use super::travel::Moved;
use crate::codes::{self, Group};
use crate::command::{Command, whole};
use crate::diagnostic::Kind;
use crate::program::{Arc, Plane};

/// Corners flatter than this are none, rad.
const FLAT: f64 = 0.01;

/// Lengths under this are none, mm.
const SMALL: f64 = 1e-6;

/// Compensation in force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Compensation {
    /// 1: the cutter keeps to the left of the contour, −1: to the right.
    side: f64,
    /// Distance of the centre from the contour, mm.
    radius: f64,
    /// Where the contour is, X and Y; `None` before the entry move.
    contour: Option<[f64; 2]>,
    /// After an error nobody knows where the centre goes until G40.
    lost: bool,
}

impl Compensation {
    /// Whether the cutter keeps to the left, and its radius, mm.
    pub(super) fn shown(&self) -> (bool, f64) {
        (self.side > 0.0, self.radius)
    }
}

impl Reader<'_> {
    /// Where the program takes itself to be: on the contour, not at the cutter's centre.
    pub(super) fn programmed(&self) -> [f64; 6] {
        let mut place = self.place;
        if let Some([x, y]) = self.compensation.and_then(|compensation| compensation.contour) {
            (place[0], place[1]) = (x, y);
        }
        place
    }

    pub(super) fn set_compensation(&mut self, command: &mut Command<'_>) {
        let Some(code) = command.code_of(Group::Compensation) else {
            return;
        };
        if code.code == 400 {
            self.compensation = None;
            return;
        }
        let word = command.take(b'D');
        let number = match word {
            Some(word) => whole(word.value, 1e-4),
            None => self.cutter,
        };
        let diameter = match number {
            Some(0) => Some(0.0),
            number => number.and_then(|number| self.setup.diameters.get(&number).copied()),
        };
        let problem = match (number, diameter) {
            _ if self.compensation.is_some() => "compensation is on already",
            _ if self.modes.plane != Plane::Xy => "compensation works in the plane XY (G17) only",
            (None, _) => "no D word, and no cutter in the spindle to take the diameter of",
            (_, None) => "the diameter of this cutter is not given",
            (Some(_), Some(diameter)) => {
                let left = (code.code == 410) == (diameter >= 0.0);
                let side = if left { 1.0 } else { -1.0 };
                self.compensation =
                    Some(Compensation { side, radius: diameter.abs() / 2.0, contour: None, lost: false });
                return;
            }
        };
        let span = word.map_or(code.span, |word| word.span);
        command.error(Kind::Compensation, span, problem, &mut self.diagnostics);
    }

    /// What may not stand on a line while compensation is on (NISTIR 6556 section 3.5.10 and appendix A).
    pub(super) fn refuse_under_compensation(&mut self, command: &mut Command<'_>) {
        let cancels = command.code_of(Group::Compensation).is_some_and(|code| code.code == 400);
        let cycle = |tenths: u32| codes::is_cycle(tenths);
        let refused = |group: Group, code: u32| match group {
            Group::Units | Group::System | Group::ToolChange => true,
            Group::Plane => code != 170,
            Group::NonModal => code != 40 && !(cancels && code == 530),
            Group::Motion => cycle(code) && !cancels,
            _ => false,
        };
        let groups = [Group::Units, Group::System, Group::ToolChange, Group::Plane, Group::NonModal, Group::Motion];
        let found = groups.iter().find_map(|&group| command.code_of(group).filter(|code| refused(group, code.code)));
        if let Some(code) = found {
            let message = "this may not stand here while cutter compensation is on";
            command.error(Kind::Compensation, code.span, message, &mut self.diagnostics);
        }
    }

    /// One programmed move as the cutter's centre makes it.
    pub(super) fn compensated(&mut self, command: &mut Command<'_>, compensation: Compensation, moved: Moved) {
        if compensation.lost {
            self.forget(0b11);
            return;
        }
        if (self.unknown | moved.unknown) & 0b11 != 0 || moved.refused {
            self.lose_contour(command, compensation, "compensation needs to know where X and Y are");
            return;
        }
        let end = [moved.to[0], moved.to[1]];
        let center = [self.place[0], self.place[1]];
        let way = match compensation.contour {
            None => entry(compensation, center, &moved),
            Some(contour) => Way::along(compensation, contour, center, &moved),
        };
        match way {
            Ok(Some(way)) => {
                self.compensation = Some(Compensation { contour: Some(end), ..compensation });
                self.push_way(command, &way, moved);
            }
            // Nothing moves in the plane: the centre stays where it is.
            Ok(None) => {
                let mut to = moved.to;
                (to[0], to[1]) = (center[0], center[1]);
                self.push(command.at, Moved { to, ..moved });
            }
            Err(message) => self.lose_contour(command, compensation, message),
        }
    }

    fn lose_contour(&mut self, command: &mut Command<'_>, compensation: Compensation, message: &'static str) {
        command.error(Kind::Compensation, command.motion_span(), message, &mut self.diagnostics);
        self.forget(0b11);
        self.compensation = Some(Compensation { lost: true, ..compensation });
    }

    /// Writes down the arc about a corner, if there is one, and the move itself; under G93 they share its time.
    fn push_way(&mut self, command: &Command<'_>, way: &Way, moved: Moved) {
        let mut to = moved.to;
        (to[0], to[1]) = (way.end[0], way.end[1]);
        let Some((corner, end)) = way.corner.filter(|_| !moved.rapid) else {
            self.push(command.at, Moved { to, circle: way.circle, ..moved });
            return;
        };
        let corner_length = corner.radius * corner.sweep.abs();
        let flat = match way.circle {
            Some(circle) => circle.radius * circle.sweep.abs(),
            None => distance(end, way.end),
        };
        let length = angle::hypot(flat, to[2] - self.place[2]);
        let total = corner_length + length;
        let share =
            |part: f64| if self.modes.inverse_time && part > 0.0 { moved.feed * total / part } else { moved.feed };
        let (corner_feed, feed) = (share(corner_length), share(length));
        let mut at_corner = self.place;
        (at_corner[0], at_corner[1]) = (end[0], end[1]);
        let unknown = self.unknown;
        self.push(
            command.at,
            Moved { to: at_corner, unknown, rapid: false, feed: corner_feed, circle: Some(corner), refused: false },
        );
        self.push(command.at, Moved { to, feed, circle: way.circle, ..moved });
    }
}

/// How the centre goes: about a corner to a place, then on to the end.
struct Way {
    corner: Option<(Arc, [f64; 2])>,
    circle: Option<Arc>,
    end: [f64; 2],
}

/// The entry move: straight to where the cutter touches the end of the programmed line, coming from its own side.
fn entry(compensation: Compensation, center: [f64; 2], moved: &Moved) -> Result<Option<Way>, &'static str> {
    let end = [moved.to[0], moved.to[1]];
    let radius = compensation.radius;
    let far = distance(end, center);
    if moved.circle.is_some() {
        return Err("an arc right after G41 or G42 is not taken: lead in with a straight move");
    }
    if far < SMALL {
        return Ok(None);
    }
    if far < radius {
        return Err("the entry move is shorter than the cutter's radius: the cutter would gouge");
    }
    let back = angle::atan2(center[1] - end[1], center[0] - end[0]);
    let (sine, cosine) = angle::sin_cos(back - compensation.side * angle::acos(radius / far));
    let touch = [end[0] + radius * cosine, end[1] + radius * sine];
    Ok(Some(Way { corner: None, circle: None, end: touch }))
}

impl Way {
    /// On along the contour, from a place on it where the centre stands beside.
    fn along(
        compensation: Compensation,
        contour: [f64; 2],
        center: [f64; 2],
        moved: &Moved,
    ) -> Result<Option<Self>, &'static str> {
        let Compensation { side, radius, .. } = compensation;
        let end = [moved.to[0], moved.to[1]];
        let (first, last, circle) = match moved.circle {
            Some(circle) => {
                let inward = side * circle.sweep.signum();
                let toward = |point: [f64; 2]| unit([circle.center[0] - point[0], circle.center[1] - point[1]]);
                let normal = |point| toward(point).map(|[x, y]| [inward * x, inward * y]);
                let offset = Arc { radius: circle.radius - inward * radius, ..circle };
                if offset.radius < SMALL {
                    return Err("the arc is too small for the cutter inside it");
                }
                (normal(contour), normal(end), Some(offset))
            }
            None => {
                let way = unit([end[0] - contour[0], end[1] - contour[1]]);
                let normal = way.map(|[x, y]| [-side * y, side * x]);
                (normal, normal, None)
            }
        };
        let (Some(first), Some(last)) = (first, last) else {
            return Ok(None);
        };
        let end = [end[0] + radius * last[0], end[1] + radius * last[1]];
        if radius < SMALL {
            return Ok(Some(Self { corner: None, circle, end }));
        }
        let before = [(center[0] - contour[0]) / radius, (center[1] - contour[1]) / radius];
        let turn =
            angle::atan2(before[0] * first[1] - before[1] * first[0], before[0] * first[0] + before[1] * first[1]);
        // Over 0: away from the side the cutter is on, an outside corner.
        let outside = -side * turn;
        if outside < -FLAT && outside > FLAT - PI {
            return Err("an inside corner: the cutter would gouge the contour before or behind it");
        }
        let corner = (outside.abs() > FLAT).then(|| {
            let sweep = -side * if outside < 0.0 { outside + TAU } else { outside };
            let from = angle::atan2(before[1], before[0]);
            let arc = Arc { plane: Plane::Xy, center: contour, from, sweep, radius };
            (arc, [contour[0] + radius * first[0], contour[1] + radius * first[1]])
        });
        Ok(Some(Self { corner, circle, end }))
    }
}

fn unit([x, y]: [f64; 2]) -> Option<[f64; 2]> {
    let length = angle::hypot(x, y);
    (length > SMALL).then(|| [x / length, y / length])
}

fn distance(one: [f64; 2], other: [f64; 2]) -> f64 {
    angle::hypot(one[0] - other[0], one[1] - other[1])
}
