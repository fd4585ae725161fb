//! From the zeros of a scene to the frame each program runs in.

use dryturn_geom::{Axis, Frame, Pose, Turns, angle};

use crate::model::{Scene, ZeroHeight, ZeroKeys};
use crate::touch;

impl ZeroKeys {
    /// These keys, with what they leave open taken from others.
    pub(crate) fn over(self, under: ZeroKeys) -> ZeroKeys {
        ZeroKeys {
            x: self.x.or(under.x),
            y: self.y.or(under.y),
            z: self.z.or(under.z),
            a_deg: self.a_deg.or(under.a_deg),
        }
    }
}

impl Scene {
    /// The zero of a program's coordinate system (0 … 8 for G54 … G59.3) in the blank frame, as it was set at the
    /// machine.
    ///
    /// What the program says comes first, then the scene; what a system leaves open is as in G54.
    pub fn zero(&self, program: usize, system: usize) -> Pose {
        let keys = self.keys(program, system);
        Pose {
            x: keys.x.unwrap_or(0.0),
            y: keys.y.unwrap_or(0.0),
            z: self.height(keys).unwrap_or(0.0),
            turn: angle::radians(keys.a_deg.unwrap_or(0.0)),
        }
    }

    fn keys(&self, program: usize, system: usize) -> ZeroKeys {
        let of_scene = &self.zeros.systems;
        let g54 = |of: &[ZeroKeys; 9]| of[0];
        let mut keys = g54(of_scene);
        if let Some(entry) = self.programs.get(program) {
            keys = g54(&entry.zeros.systems).over(keys);
            if let (1.., Some(own), Some(scene)) = (system, entry.zeros.systems.get(system), of_scene.get(system)) {
                keys = own.over(scene.over(keys));
            }
        }
        keys
    }

    fn height(&self, keys: ZeroKeys) -> Option<f64> {
        match keys.z.unwrap_or(ZeroHeight::Axis) {
            ZeroHeight::Axis => Some(0.0),
            ZeroHeight::Surface => Some(self.stock().corner_radius()),
            ZeroHeight::Flat => Some(self.blank.flat_radius()),
            ZeroHeight::Height(height) => Some(height),
            ZeroHeight::Touch { station, a_deg } => {
                let number = self.programs.first()?.cutter?;
                let flutes = &self.cutters.get(usize::from(self.cutter_by_number(number)?))?.flutes;
                let machine = &self.machine;
                let way = if machine.turns == Turns::Iso { 1.0 } else { -1.0 };
                let turn = angle::radians(keys.a_deg.unwrap_or(0.0) + way * a_deg);
                touch::height(&self.stock(), flutes, station, turn)
            }
        }
    }

    /// Whether every height that is touched off has wood, and a cutter, to touch with.
    pub(crate) fn touches(&self) -> bool {
        (0..self.programs.len().max(1))
            .all(|program| (0..9).all(|system| self.height(self.keys(program, system)).is_some()))
    }

    /// The frame a program's words (in terms of its G54) were meant in: as its zeros were set.
    pub fn frame_as_set(&self, program: usize) -> Frame {
        self.frame_at(self.zero(program, 0))
    }

    /// The frame a program really runs in: as set, and off by all that slipped up to it.
    pub fn frame(&self, program: usize) -> Frame {
        let mut zero = self.zero(program, 0);
        for entry in self.programs.iter().take(program + 1) {
            zero.x += entry.slip.x;
            zero.y += entry.slip.y;
            zero.z += entry.slip.z;
            zero.turn += angle::radians(entry.slip.a_deg);
        }
        self.frame_at(zero)
    }

    fn frame_at(&self, zero: Pose) -> Frame {
        let machine = &self.machine;
        Frame { along: machine.along, chuck: machine.chuck_on, turns: machine.turns, wrap: machine.wrap, zero }
    }

    /// Origins of G54 … G59.3 of a program in terms of its G54, mm and degrees.
    pub fn origins(&self, program: usize) -> [[f64; 6]; 9] {
        let frame = self.frame_as_set(program);
        std::array::from_fn(|system| frame.words(&self.zero(program, system)))
    }

    /// Where machine zero lies in terms of a program's G54, mm and degrees; the height is that of the holder's lower
    /// face.
    pub fn machine_zero(&self, program: usize) -> [Option<f64>; 6] {
        let home = &self.machine.home;
        let frame = self.frame_as_set(program);
        std::array::from_fn(|word| {
            let drive = frame.drive(word)?;
            let coordinate = match drive.axis {
                Axis::X => home.x,
                Axis::Y => home.y,
                Axis::Z => home.z,
                Axis::Turn => home.a.map(angle::radians),
            };
            Some((coordinate? - drive.offset) / drive.scale)
        })
    }
}
