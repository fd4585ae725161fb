//! From the zeros of a scene to the frame each program runs in.

use dryturn_geom::{Axis, Flutes, Frame, Lean, Pose, Turns, angle};

use crate::error::SceneError;
use crate::model::{Scene, ZeroHeight, ZeroKeys};
use crate::touch;

/// A zero that is touched off on wood which earlier programs have cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TouchOff {
    /// Index of the program.
    pub program: usize,
    /// Its coordinate system, 0 … 8 for G54 … G59.3.
    pub system: usize,
    station: f64,
    /// θ on top, radians.
    turn: f64,
}

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
        let keys = self.zero_keys(program, system);
        Pose {
            x: keys.x.unwrap_or(0.0),
            y: keys.y.unwrap_or(0.0),
            z: self.height(program, system).unwrap_or(0.0),
            turn: angle::radians(keys.a_deg.unwrap_or(0.0)),
        }
    }

    /// The keys that say where the zero of a system (0 is G54) lies for a program.
    pub fn zero_keys(&self, program: usize, system: usize) -> ZeroKeys {
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

    fn height(&self, program: usize, system: usize) -> Option<f64> {
        let keys = self.zero_keys(program, system);
        match keys.z.unwrap_or(ZeroHeight::Axis) {
            ZeroHeight::Axis => Some(0.0),
            ZeroHeight::Surface => Some(self.stock().corner_radius()),
            ZeroHeight::Flat => Some(self.blank.flat_radius()),
            ZeroHeight::Height(height) => Some(height),
            ZeroHeight::Touch { station, a_deg } => {
                let found = if self.is_on_cut_wood(program, system) {
                    self.touched.get(&(program, system)).copied()
                } else {
                    self.on_the_blank(station, self.turn_on_top(keys, a_deg))
                };
                // Where it is touched off the height is true, so an axis that rises is told apart from its rise elsewhere.
                found.map(|height| height + self.lean().up * station)
            }
        }
    }

    /// Where the first program's cutter comes down on the blank, mm over the axis.
    fn on_the_blank(&self, station: f64, turn: f64) -> Option<f64> {
        let stock = self.stock();
        let outline = |station: f64, theta: f64| Some(stock.spans(station, theta).as_slice().last()?.1);
        touch::height(&outline, self.touching(0)?, station, turn)
    }

    /// θ on top while a zero is touched off, radians.
    fn turn_on_top(&self, keys: ZeroKeys, a_deg: f64) -> f64 {
        let way = if self.machine.turns == Turns::Iso { 1.0 } else { -1.0 };
        angle::radians(keys.a_deg.unwrap_or(0.0) + way * a_deg)
    }

    /// The cutter in the spindle at the start of a program, which is touched off with.
    fn touching(&self, program: usize) -> Option<&Flutes> {
        let number = self.programs.get(program)?.cutter?;
        Some(&self.cutters.get(usize::from(self.cutter_by_number(number)?))?.flutes)
    }

    /// Whether a height is touched off by a program that others come before.
    fn is_on_cut_wood(&self, program: usize, system: usize) -> bool {
        let Some(entry) = self.programs.get(program).filter(|_| program > 0) else { return false };
        let of = |system: usize| entry.zeros.systems.get(system).and_then(|keys| keys.z);
        // What a system leaves open comes from the scene's of that name, and then from the program's G54.
        let of_scene = self.zeros.systems.get(system).and_then(|keys| keys.z).filter(|_| system > 0);
        let own = of(system).or(if of_scene.is_none() { of(0) } else { None });
        matches!(own, Some(ZeroHeight::Touch { .. }))
    }

    /// Whether every height that is touched off on the blank has wood, and a cutter, to touch with.
    pub(crate) fn touches(&self) -> bool {
        let found = |program: usize, system: usize| {
            let waits = self.is_on_cut_wood(program, system) && self.touching(program).is_some();
            waits || self.height(program, system).is_some()
        };
        (0..self.programs.len().max(1)).all(|program| (0..9).all(|system| found(program, system)))
    }

    /// The first zero that is to be touched off on wood which earlier programs have cut, and is not yet.
    pub fn next_touch_off(&self) -> Option<TouchOff> {
        let places = (1..self.programs.len()).flat_map(|program| (0..9).map(move |system| (program, system)));
        places
            .filter(|(program, system)| self.is_on_cut_wood(*program, *system))
            .filter(|place| !self.touched.contains_key(place))
            .find_map(|(program, system)| {
                let keys = self.zero_keys(program, system);
                let Some(ZeroHeight::Touch { station, a_deg }) = keys.z else { return None };
                Some(TouchOff { program, system, station, turn: self.turn_on_top(keys, a_deg) })
            })
    }

    /// Lets the cutter down where a zero is touched off and keeps the height; `outermost` tells how far the wood that the
    /// programs before have left reaches from the axis, mm, at a station (mm) and an angle θ (radians).
    ///
    /// # Errors
    /// [`SceneError::File`] where there is nothing to come down on.
    pub fn touch_off(&mut self, at: &TouchOff, outermost: &dyn Fn(f64, f64) -> Option<f64>) -> Result<(), SceneError> {
        let found = self.touching(at.program).and_then(|flutes| touch::height(outermost, flutes, at.station, at.turn));
        let height = found.ok_or_else(|| SceneError::File {
            path: self.name.clone(),
            message: format!(
                "the cutter comes down on nothing where the zero of program {} is touched off",
                at.program + 1
            ),
            help: format!("nothing is left at station {}; touch off where there is wood", at.station),
        })?;
        self.touched.insert((at.program, at.system), height);
        Ok(())
    }

    /// The scene as it is before a program (by its index) is run: only the programs before it, and no target.
    pub fn before(&self, program: usize) -> Scene {
        let mut scene = Scene { target: None, ..self.clone() };
        scene.programs.truncate(program);
        scene
    }

    /// The frame a program's words (in terms of its G54) were meant in: as its zeros were set, on an axis that lies true.
    pub fn frame_as_set(&self, program: usize) -> Frame {
        self.frame_at(self.zero(program, 0), Lean::default())
    }

    /// The frame a program really runs in: as set, and off by all that slipped up to it and by what the axis leans.
    pub fn frame(&self, program: usize) -> Frame {
        let mut zero = self.zero(program, 0);
        for entry in self.programs.iter().take(program + 1) {
            zero.x += entry.slip.x;
            zero.y += entry.slip.y;
            zero.z += entry.slip.z;
            zero.turn += angle::radians(entry.slip.a_deg);
        }
        self.frame_at(zero, self.lean())
    }

    /// What the rotary axis leans.
    fn lean(&self) -> Lean {
        Lean { up: self.machine.rise / 100.0, across: self.machine.skew / 100.0 }
    }

    fn frame_at(&self, zero: Pose, lean: Lean) -> Frame {
        let machine = &self.machine;
        Frame { along: machine.along, chuck: machine.chuck_on, turns: machine.turns, wrap: machine.wrap, zero, lean }
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
