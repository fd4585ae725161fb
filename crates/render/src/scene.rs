//! What of a picture is the same in all of its passes.

use glam::{DQuat, DVec3};

use crate::lights::{Pass, lights};
use crate::view::{Camera, Part};
use crate::{Ground, Line, Picture, Section, Shot};
use crate::{lettering, mirror};

/// Room that letters take at a dimension line, as a multiple of its offset from the piece.
const LETTERS: f64 = 1.25;

/// What of a picture is the same in all of its passes.
pub(crate) struct Scene<'a> {
    shot: &'a Shot,
    camera: Camera,
    /// Of what is shown, in the room.
    points: Vec<DVec3>,
    plane: Plane,
    ground: Level,
    /// The dimension lines, in the room.
    lines: Vec<Line>,
}

/// A section in the room: a unit vector, and how far along it what stays may reach.
#[derive(Clone, Copy)]
pub(crate) struct Plane {
    normal: DVec3,
    reach: f64,
}

/// The ground that is drawn.
struct Level {
    middle: DVec3,
    /// From the middle to its sides.
    across: DVec3,
    along: DVec3,
    /// The share of the half in which shadows end.
    rim: [f64; 2],
}

impl Plane {
    /// The plane of a section, of a piece that is turned by so many radians.
    pub(crate) fn new(section: Option<&Section>, turn: f64) -> Plane {
        let Some(section) = section else { return Plane { normal: DVec3::ZERO, reach: 1.0 } };
        let normal = DVec3::from_array(section.normal).normalize();
        let reach = normal.dot(DVec3::from_array(section.point));
        Plane { normal: DQuat::from_rotation_x(turn) * normal, reach }
    }

    pub(crate) fn keeps(self, point: DVec3) -> bool {
        self.normal.dot(point) <= self.reach
    }
}

impl Level {
    /// Under the points, wide enough for their shadows.
    fn under(points: &[DVec3], axes: [DVec3; 3]) -> Level {
        /// Most of a shadow falls within this many heights.
        const SPREAD: f64 = 1.8;
        let [across, along, up] = axes.map(|axis| {
            let reach = points.iter().map(|point| point.dot(axis));
            reach.fold((f64::MAX, f64::MIN), |(low, high), it| (low.min(it), high.max(it)))
        });
        let margin = SPREAD * (up.1 - up.0).max(1e-3);
        let half = [across, along].map(|(low, high)| 0.5 * (high - low) + margin);
        let middle = axes[0] * (0.5 * (across.0 + across.1)) + axes[1] * (0.5 * (along.0 + along.1));
        Level {
            middle: middle + axes[2] * up.0,
            across: axes[0] * half[0],
            along: axes[1] * half[1],
            rim: half.map(|half| 0.6 * margin / half),
        }
    }
}

impl Shot {
    /// How much of a piece a pixel takes in where it is nearest to the eye, mm; about, for of the piece are told only the
    /// stations between which and the radius within which it lies, mm.
    pub fn pixel_mm(&self, stations: [f64; 2], radius: f64) -> f64 {
        const STEPS: [u32; 3] = [32, 4, 24];
        let [along, out, around] = STEPS.map(|steps| move |at: u32| f64::from(at) / f64::from(steps));
        let mut points = Vec::new();
        for (station, share, turn) in (0..=STEPS[0])
            .flat_map(|x| (0..=STEPS[1]).flat_map(move |r| (0..STEPS[2]).map(move |a| (x, r, a))))
            .map(|(x, r, a)| (along(x), out(r), around(a)))
        {
            let (sine, cosine) = (std::f64::consts::TAU * turn).sin_cos();
            let station = stations[0] + (stations[1] - stations[0]) * station;
            points.push(DVec3::new(station, radius * share * sine, radius * share * cosine));
        }
        let plane = Plane::new(self.section.as_ref(), 0.0);
        points.retain(|point| plane.keeps(*point));
        if points.is_empty() {
            return 0.0;
        }
        let camera = Camera::new(&self.view, [self.width, self.height], self.free, &points);
        let depth = points.iter().map(|point| (camera.eye - *point).dot(camera.back)).fold(f64::INFINITY, f64::min);
        camera.pixel(self.width) * depth.max(0.0)
    }
}

/// The camera of a shot that has all of these points in the picture, and the texts beside them.
fn standing(shot: &Shot, lines: &[Line], points: Vec<DVec3>) -> Camera {
    /// The farther off the eye stands, the larger letters are beside the piece.
    const ROUNDS: usize = 4;
    let size = [shot.width, shot.height];
    let mut camera = Camera::new(&shot.view, size, shot.free, &points);
    if lines.iter().all(|line| line.beyond.is_none()) {
        return camera;
    }
    for _ in 0..ROUNDS {
        let texts = lines.iter().filter_map(|line| camera.end_of_text(line, size.map(f64::from)));
        let all: Vec<DVec3> = points.iter().copied().chain(texts).collect();
        camera = Camera::new(&shot.view, size, shot.free, &all);
    }
    camera
}

impl<'a> Scene<'a> {
    /// A shot of points in the room, of a piece that is turned by so many radians; there is at least one point.
    pub(crate) fn new(shot: &'a Shot, points: Vec<DVec3>, plane: Plane, turn: f64) -> Scene<'a> {
        let turned = |it: [f64; 3]| (DQuat::from_rotation_x(turn) * DVec3::from_array(it)).to_array();
        let in_room = |line: &Line| Line {
            from: turned(line.from),
            to: turned(line.to),
            offset: turned(line.offset),
            beyond: line.beyond,
            text: line.text.clone(),
        };
        let lines: Vec<Line> = shot.lines.iter().map(in_room).collect();
        let ends = lines.iter().flat_map(|line| {
            let offset = DVec3::from_array(line.offset) * LETTERS;
            [line.from, line.to].map(|it| DVec3::from_array(it) + offset)
        });
        let in_picture: Vec<DVec3> = points.iter().copied().chain(ends).collect();
        let camera = standing(shot, &lines, in_picture);
        let ground = Level::under(&points, shot.view.room());
        Scene { shot, camera, points, plane, ground, lines }
    }

    /// Whether any of the points or the dimension lines is seen within a part of the picture: from its left and its top to
    /// its right and its foot, pixels.
    pub(crate) fn touches(&self, [left, top, right, foot]: [f64; 4]) -> bool {
        const STEPS: u32 = 32;
        let size = [self.shot.width, self.shot.height].map(f64::from);
        let is_within = |point: DVec3| {
            let seen = self.camera.seen_at(point.to_array(), size);
            seen.is_some_and(|at| (left..=right).contains(&at.x) && (top..=foot).contains(&at.y))
        };
        let of_line = |line: &Line| {
            let [from, to, offset] = [line.from, line.to, line.offset].map(DVec3::from_array);
            let share = |step: u32| f64::from(step) / f64::from(STEPS);
            let mut places = (0..=STEPS).flat_map(|step| {
                let out = offset * (LETTERS * share(step));
                [from.lerp(to, share(step)) + offset, from + out, to + out]
            });
            places.any(is_within)
        };
        self.points.iter().any(|point| is_within(*point)) || self.lines.iter().any(of_line)
    }

    /// Draws the dimension lines over the picture.
    pub(crate) fn write_lines(&self, picture: &mut Picture) {
        lettering::write(picture, &self.lines, &self.camera, self.shot.ground);
    }

    /// What the shaders are told about one of several passes over a part of the picture; `shift` is a part of a pixel.
    /// `baked` is the number of passes in which the ground was baked.
    fn frame(&self, pass: Pass, shift: [f64; 2], part: Part, baked: u32) -> mirror::Frame {
        let Scene { shot, camera, ground, .. } = self;
        let lights = lights(&shot.view, &self.points, pass);
        let up = shot.view.up();
        let single = |it: DVec3| it.as_vec3().to_array();
        let to_clip = part.out_of_whole([shot.width, shot.height]) * camera.to_clip(shift);
        mirror::Frame {
            to_clip: to_clip.as_mat4().to_cols_array_2d(),
            from_clip: to_clip.inverse().as_mat4().to_cols_array_2d(),
            eye: single(camera.eye),
            pixel: camera.pixel(shot.width) as f32,
            plane: self.plane.normal.extend(self.plane.reach).as_vec4().to_array(),
            up: single(up),
            ground: ground.middle.dot(up) as f32,
            middle: single(ground.middle),
            unused: 0.0,
            across: single(ground.across),
            is_clear: u32::from(shot.ground == Ground::Transparent),
            along: single(ground.along),
            baked_share: 1.0 / baked as f32,
            rim: ground.rim.map(|it| it as f32),
            passes: shot.samples as f32,
            number: pass.number,
            lights,
        }
    }

    /// What the shaders are told where all of the picture is seen without a shift.
    pub(crate) fn frame_of_all(&self) -> mirror::Frame {
        self.frame(Pass { number: 0, of: 1 }, [0.0; 2], Part::whole([self.shot.width, self.shot.height]), 1)
    }

    /// What the shaders are told about the ground of a part, which was baked in so many passes.
    pub(crate) fn frame_of_ground(&self, part: Part, baked: u32) -> mirror::Frame {
        self.frame(Pass { number: 0, of: 1 }, [0.0; 2], part, baked)
    }

    /// As [`Scene::frame`], moved within the pixel to the place of a pass of Halton's sequence.
    pub(crate) fn frame_within(&self, pass: u32, part: Part) -> mirror::Frame {
        let by = |base: u32| {
            let (mut index, mut share, mut sum) = (pass + 1, 1.0, 0.0);
            while index > 0 {
                share /= f64::from(base);
                sum += share * f64::from(index % base);
                index /= base;
            }
            2.0 * sum - 1.0
        };
        let shift = [by(2) / f64::from(self.shot.width), by(3) / f64::from(self.shot.height)];
        self.frame(Pass { number: pass, of: self.shot.samples }, shift, part, 1)
    }
}
