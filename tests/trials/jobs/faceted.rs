//! Faces milled while the blank stands still: prisms, tapers, and two-sided work.

use super::{layers, round};
use crate::program::Program;
use crate::program::Word::{A, X, Y, Z};
use crate::shape::Target;
use crate::shop::{Blank, Cutter, Form, Job, Kind, Setting};

/// Faces around the axis.
struct Faces {
    name: &'static str,
    sides: usize,
    /// Distance of the faces from the axis at both ends of the span.
    apothem: [f64; 2],
    span: [f64; 2],
    blank: Blank,
    setting: Setting,
    /// Diameters of the flat cutters: roughing, if any, and finishing.
    cutters: (Option<f64>, f64),
}

impl Faces {
    fn apothem_at(&self, station: f64) -> f64 {
        let share = (station - self.span[0]) / (self.span[1] - self.span[0]);
        self.apothem[0] + (self.apothem[1] - self.apothem[0]) * share
    }

    fn radius(&self) -> f64 {
        self.blank.across / 2.0
    }

    /// Half the width of the widest face.
    fn half_width(&self) -> f64 {
        let narrow = self.apothem[0].min(self.apothem[1]);
        let wide = self.apothem[0].max(self.apothem[1]);
        let corner = if self.sides > 2 { wide * (180.0 / self.sides as f64).to_radians().tan() } else { f64::MAX };
        corner.min((self.radius().powi(2) - narrow * narrow).sqrt())
    }

    fn program(&self, name: &'static str, cutter: &Cutter, extra: f64, depth: f64) -> Program {
        let mut program = Program::new(name, cutter.number, self.radius() + 5.0);
        program.indexed = true;
        for side in 0..self.sides {
            program.rapid([A(360.0 / self.sides as f64 * side as f64)]);
            let floor = self.apothem[0].min(self.apothem[1]) + extra;
            for layer in layers(self.radius(), floor, depth) {
                self.face(&mut program, cutter, extra, layer);
            }
        }
        program.end()
    }

    /// A face in lines along the blank; in from one side and out at the other.
    fn face(&self, program: &mut Program, cutter: &Cutter, extra: f64, layer: f64) {
        let half = cutter.diameter / 2.0;
        let slope = (self.apothem[1] - self.apothem[0]) / (self.span[1] - self.span[0]);
        let height = |station: f64| (self.apothem_at(station) + extra + slope.abs() * half).max(layer);
        let outside = self.radius() + half + 2.0;
        let mut ends = self.span;
        let reach = (self.half_width() - half + 1.0).max(0.0);
        program.rapid([X(ends[0]), Y(-outside)]);
        program.rapid([Z(height(ends[0]))]);
        for across in crate::shape::stations([-reach, reach], 0.7 * cutter.diameter) {
            program.feed([Y(across)], 900.0);
            program.feed([X(ends[1]), Z(height(ends[1]))], 1200.0);
            ends.swap(0, 1);
        }
        program.feed([Y(outside)], 900.0);
        program.retract();
    }

    fn target(&self) -> Target {
        let apart = 360.0 / self.sides as f64;
        let angles: Vec<f64> = (0..360).map(|index| apart / 2.0 + f64::from(index)).collect();
        let radius = |station: f64, angle: f64| {
            let from_middle = (angle + apart / 2.0).rem_euclid(apart) - apart / 2.0;
            let face = self.apothem_at(station) / from_middle.to_radians().cos().max(1e-9);
            face.min(self.radius())
        };
        // Where the faces run out on the round, they do so along curves.
        let corner = self.apothem[0].max(self.apothem[1]) / (apart / 2.0).to_radians().cos().max(1e-9);
        let clipped = corner > self.radius();
        Target::carved(radius, &angles, 0.0, self.span, if clipped { 2.0 } else { 100.0 })
    }

    fn job(self) -> Job {
        let kind = if self.sides == 2 { Kind::TwoSided } else { Kind::Faceted };
        let mut job = Job::new(self.name, kind, self.blank, self.setting);
        if self.blank.length > 110.0 {
            job = job.with_tailstock();
        }
        if let Some(diameter) = self.cutters.0 {
            let rough = Cutter::new(1, Form::Flat, diameter);
            let mut program = self.program("rough", &rough, 0.6, 4.0);
            program.shapes = false;
            job.cutters.push(rough);
            job.programs.push(program);
        }
        let finish = Cutter::new(2, Form::Flat, self.cutters.1);
        let depth = if self.cutters.0.is_some() { 20.0 } else { 4.0 };
        job.programs.push(self.program("faces", &finish, 0.0, depth));
        job.cutters.push(finish);
        job.target = Some(self.target());
        job
    }
}

pub(super) fn jobs() -> Vec<Job> {
    let mm = Setting::plain();
    let faces = |name, sides, apothem, span, blank, setting, cutters| Faces {
        name,
        sides,
        apothem,
        span,
        blank,
        setting,
        cutters,
    };
    [
        faces("hexagon handle", 6, [16.0, 16.0], [8.0, 60.0], round(40.0, 98.0), mm, (None, 6.0)),
        faces("octagon table leg", 8, [21.0, 16.0], [8.0, 80.0], round(48.0, 130.0), mm.inch(), (Some(10.0), 8.0)),
        faces("square drawer knob", 4, [12.0, 12.0], [7.0, 36.0], round(36.0, 66.0), mm.along_y(), (None, 6.0)),
        faces(
            "octagon chisel handle",
            8,
            [12.0, 14.0],
            [8.0, 70.0],
            round(34.0, 96.0),
            mm.on_surface(17.0),
            (Some(8.0), 6.0),
        ),
        faces(
            "pentagon bottle stopper",
            5,
            [13.0, 10.0],
            [8.0, 40.0],
            round(34.0, 66.0),
            mm.chuck_right().zero_at(50.0),
            (None, 6.0),
        ),
        faces(
            "triangular puzzle foot",
            3,
            [11.0, 11.0],
            [8.0, 30.0],
            round(36.0, 62.0),
            mm.inch().on_surface(18.0).reversed(),
            (None, 8.0),
        ),
        faces("butter paddle", 2, [4.0, 4.0], [10.0, 70.0], round(40.0, 130.0), mm, (Some(10.0), 8.0)),
        faces("comb blank", 2, [5.0, 3.0], [10.0, 60.0], round(34.0, 120.0), mm.inch().along_y(), (None, 8.0)),
        faces(
            "shoe horn core",
            2,
            [6.0, 5.0],
            [8.0, 70.0],
            round(38.0, 125.0),
            mm.on_surface(19.0).chuck_right(),
            (Some(8.0), 6.0),
        ),
    ]
    .map(Faces::job)
    .into()
}
