//! From what a controller calls X, Y, Z and A to the blank frame, and on to the piece.

use crate::angle;
use crate::motion::{Axis, Lean, Pose};

/// The machine axis the rotary axis lies along.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Along machine X.
    X,
    /// Along machine Y; the frame is turned so that internal X = machine Y, internal Y = −machine X.
    Y,
}

/// The side the chuck stands on, in the direction of the rotary axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Toward the smaller coordinates: stations grow with the word.
    Minus,
    /// Toward the greater coordinates: stations grow against the word.
    Plus,
}

/// How the rotary word counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turns {
    /// As ISO 841 has it: the word is the cutter's motion about the work, right-hand about the machine axis.
    Iso,
    /// The other way round.
    Reversed,
}

/// Where the blank's angle comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wrap {
    /// From a rotary word in degrees: 0, 1, 2 for A, B, C.
    Rotary(usize),
    /// From the linear word across the axis, as arc length on a drum of this diameter, mm.
    Across {
        /// Diameter the drawing was wound on, mm.
        diameter: f64,
    },
}

/// The set-up of one program: how its words become poses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Machine axis the rotary axis lies along.
    pub along: Along,
    /// Side of the chuck.
    pub chuck: Side,
    /// Sense of the rotary word.
    pub turns: Turns,
    /// What turns the blank.
    pub wrap: Wrap,
    /// Where the words are zero: station, internal Y and height in mm, θ on top in radians; as on an axis that lies true.
    pub zero: Pose,
    /// What the rotary axis leans.
    pub lean: Lean,
}

/// How one word drives one coordinate: coordinate = offset + scale · word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// The coordinate of the pose.
    pub axis: Axis,
    /// mm or radians a unit of the word (mm or degrees).
    pub scale: f64,
    /// Value of the coordinate where the word is zero, mm or radians.
    pub offset: f64,
}

impl Frame {
    /// What a mm of the word along the axis adds to the station.
    fn along(&self) -> f64 {
        match self.chuck {
            Side::Minus => 1.0,
            Side::Plus => -1.0,
        }
    }

    /// The words along the axis and across it, and what a mm of the latter adds to internal Y, which is machine Y, or
    /// −machine X where the axis lies along Y.
    fn level_words(&self) -> (usize, usize, f64) {
        match self.along {
            Along::X => (0, 1, 1.0),
            Along::Y => (1, 0, -1.0),
        }
    }

    /// The word that turns the blank, and by how many radians a unit of it does.
    fn turning(&self) -> (usize, f64) {
        let sense = match self.turns {
            Turns::Iso => 1.0,
            Turns::Reversed => -1.0,
        };
        match self.wrap {
            Wrap::Rotary(rotary) => (3 + rotary, sense * angle::radians(1.0)),
            Wrap::Across { diameter } => {
                let (_, word, across) = self.level_words();
                (word, -sense * across * 2.0 / diameter)
            }
        }
    }

    /// Which coordinate the word with this index drives (0 … 5: X Y Z A B C) on an axis that lies true, or `None` if it moves
    /// nothing here.
    pub fn drive(&self, word: usize) -> Option<Drive> {
        let ((along_word, across_word, across), (turning_word, turning)) = (self.level_words(), self.turning());
        let drive = |axis, scale, offset| Some(Drive { axis, scale, offset });
        match word {
            w if w == along_word => drive(Axis::X, self.along(), self.zero.x),
            w if w == turning_word => drive(Axis::Turn, turning, self.zero.turn),
            w if w == across_word => drive(Axis::Y, across, self.zero.y),
            2 => drive(Axis::Z, 1.0, self.zero.z),
            _ => None,
        }
    }

    /// The pose the six words (X Y Z in mm, A B C in degrees) stand for.
    // Every pass over the blocks asks twice a block, and a pose that comes back through memory is waited for.
    #[inline(always)]
    pub fn pose(&self, words: &[f64; 6]) -> Pose {
        let ((along_word, across_word, across), (turning_word, turning)) = (self.level_words(), self.turning());
        let Pose { x, y, z, turn } = self.zero;
        self.lean.over_axis(&Pose {
            x: x + self.along() * words[along_word],
            y: if turning_word == across_word { y } else { y + across * words[across_word] },
            z: z + words[2],
            turn: words.get(turning_word).map_or(turn, |word| turn + turning * word),
        })
    }

    /// The words (X Y Z in mm, A B C in degrees) that stand for a pose; words that drive nothing are 0.
    pub fn words(&self, pose: &Pose) -> [f64; 6] {
        let pose = self.lean.sent(pose);
        std::array::from_fn(|word| {
            let Some(drive) = self.drive(word) else { return 0.0 };
            let coordinate = match drive.axis {
                Axis::X => pose.x,
                Axis::Y => pose.y,
                Axis::Z => pose.z,
                Axis::Turn => pose.turn,
            };
            (coordinate - drive.offset) / drive.scale
        })
    }
}

/// The piece frame (x away from the jaw face, z at θ = 0, right-handed) of the point at a station, angle θ and radius.
///
/// The chuck on the minus side leaves the machine frame as it is; on the plus side the piece is the machine frame
/// turned half round the vertical. A reflection never happens, so a right-hand spiral stays one.
pub fn piece_from_blank(chuck: Side, station: f64, theta: f64, radius: f64) -> [f64; 3] {
    let (sine, cosine) = angle::sin_cos(theta);
    let across = match chuck {
        Side::Minus => -radius * sine,
        Side::Plus => radius * sine,
    };
    [station, across, radius * cosine]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::radians;

    fn frame() -> Frame {
        Frame {
            along: Along::X,
            chuck: Side::Minus,
            turns: Turns::Iso,
            wrap: Wrap::Rotary(0),
            zero: Pose { x: 20.0, y: 0.5, z: 30.0, turn: radians(10.0) },
            lean: Lean::default(),
        }
    }

    #[test]
    fn the_plain_set_up() {
        let pose = frame().pose(&[5.0, 1.0, -2.0, 90.0, 0.0, 0.0]);
        assert_eq!((pose.x, pose.y, pose.z), (25.0, 1.5, 28.0));
        assert!((pose.turn - radians(100.0)).abs() < 1e-12);
    }

    #[test]
    fn a_chuck_on_the_far_side_counts_stations_backward() {
        let pose = Frame { chuck: Side::Plus, ..frame() }.pose(&[5.0, 1.0, 0.0, 90.0, 0.0, 0.0]);
        assert_eq!((pose.x, pose.y), (15.0, 1.5));
        assert!((pose.turn - radians(100.0)).abs() < 1e-12);
    }

    #[test]
    fn an_axis_along_y_is_turned_into_the_frame() {
        let along_y = Frame { along: Along::Y, wrap: Wrap::Rotary(1), ..frame() };
        let pose = along_y.pose(&[1.0, 5.0, 0.0, 0.0, -90.0, 0.0]);
        assert_eq!((pose.x, pose.y), (25.0, -0.5));
        assert!((pose.turn + radians(80.0)).abs() < 1e-12);
    }

    #[test]
    fn a_wrapped_word_winds_a_drawing_on_without_mirroring_it() {
        let wrapped = Frame { wrap: Wrap::Across { diameter: 60.0 }, ..frame() };
        let quarter = std::f64::consts::PI * 60.0 / 4.0;
        let pose = wrapped.pose(&[0.0, quarter, 0.0, 0.0, 0.0, 0.0]);
        assert!((pose.turn - radians(10.0 - 90.0)).abs() < 1e-12);
        assert_eq!(pose.y, 0.5);
        // Along Y the wrapped word is X, and it enters as internal Y = −X.
        let along_y = Frame { along: Along::Y, ..wrapped };
        let pose = along_y.pose(&[quarter, 0.0, 0.0, 0.0, 0.0, 0.0]);
        assert!((pose.turn - radians(10.0 + 90.0)).abs() < 1e-12);
    }

    #[test]
    fn words_and_poses_are_inverse() {
        let words = [5.0, -1.0, 3.0, 720.0, 0.0, 0.0];
        for lean in [Lean::default(), Lean { up: 0.01, across: -0.02 }] {
            let frame = Frame { lean, ..frame() };
            let back = frame.words(&frame.pose(&words));
            for (a, b) in words.iter().zip(back) {
                assert!((a - b).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn an_axis_that_rises_and_leans_comes_nearer_and_goes_aside_with_the_station() {
        let lean = Lean { up: 0.5 / 300.0, across: 0.5 / 300.0 };
        for chuck in [Side::Minus, Side::Plus] {
            let (level, led) = (Frame { chuck, ..frame() }, Frame { chuck, lean, ..frame() });
            let words = [if chuck == Side::Minus { 280.0 } else { -280.0 }, 1.0, -2.0, 90.0, 0.0, 0.0];
            let (level, led) = (level.pose(&words), led.pose(&words));
            assert_eq!((led.x, led.turn), (300.0, level.turn));
            assert!((led.z - (level.z - 0.5)).abs() < 1e-12 && (led.y - (level.y - 0.5)).abs() < 1e-12);
        }
    }

    #[test]
    fn the_piece_frame_is_right_handed_on_both_sides() {
        // Seen from outside with the chuck at the left, +x right and +z toward the eye, θ grows downward for a chuck on
        // the minus side: the point a little further round lies at −y.
        let [_, y, z] = piece_from_blank(Side::Minus, 0.0, 0.1, 10.0);
        assert!(y < 0.0 && z > 9.9);
        let [_, y, _] = piece_from_blank(Side::Plus, 0.0, 0.1, 10.0);
        assert!(y > 0.0);
    }
}
