//! One drawing, every way a machine can be set up: the piece must be the same.
//!
//! The drawings here are made in the piece's own terms: station from the jaw face, and the angle about the axis that
//! points away from it, by the right hand. [`Setting`] puts them into a machine's words.

use std::f64::consts::PI;
use std::fmt::Write;

use tiny_skia::Pixmap;

use crate::skin::Skin;
use crate::workshop::Workshop;

/// Radius of the blank, mm.
const RADIUS: f64 = 20.0;
/// Its length, mm; program zero stands at its middle where the chuck is on the far side.
const LENGTH: f64 = 100.0;
const WRAP: f64 = 40.0;

/// How a machine is wired and set up.
#[derive(Clone, Copy, Debug)]
struct Setting {
    along: char,
    chuck: char,
    turns: &'static str,
    /// The word that turns the blank: A, B, or the linear word across the axis.
    rotary: char,
}

impl Setting {
    fn all() -> Vec<Setting> {
        let mut all = Vec::new();
        for (along, rotaries) in [('x', ['A', 'Y']), ('y', ['B', 'X'])] {
            for chuck in ['-', '+'] {
                for turns in ["iso", "reversed"] {
                    all.extend(rotaries.map(|rotary| Setting { along, chuck, turns, rotary }));
                }
            }
        }
        all
    }

    fn wrapped(self) -> bool {
        "XY".contains(self.rotary)
    }

    /// +1 with the chuck on the minus side. On the plus side the piece is turned half about the vertical.
    fn side(self) -> f64 {
        if self.chuck == '-' { 1.0 } else { -1.0 }
    }

    /// Where program zero stands along the axis, station.
    fn zero(self) -> f64 {
        if self.chuck == '-' { 0.0 } else { LENGTH / 2.0 }
    }

    /// The word along the axis that brings the cutter to a station.
    fn along_word(self, station: f64) -> String {
        let value = self.side() * (station - self.zero());
        format!("{}{value:.6}", self.along.to_ascii_uppercase())
    }

    /// The word that brings the piece's angle on top. Seen from the chuck on the plus side it runs the other way.
    fn turn_word(self, angle_deg: f64) -> String {
        let wired = if self.turns == "iso" { 1.0 } else { -1.0 };
        let degrees = wired * self.side() * angle_deg;
        // A linear word carries the drawing as it lies on the table: it grows to the left of the way the axis points.
        let value = match self.rotary {
            'Y' => -degrees * PI * WRAP / 360.0,
            'X' => degrees * PI * WRAP / 360.0,
            _ => degrees,
        };
        format!("{}{value:.6}", self.rotary)
    }

    /// The word that sets the cutter off the axis, to the left of the way the piece points.
    fn across_word(self, left: f64) -> String {
        let value = self.side() * left;
        if self.along == 'x' { format!("Y{value:.6}") } else { format!("X{:.6}", -value) }
    }

    fn scene(self, blank: &str) -> String {
        let Setting { along, chuck, turns, rotary } = self;
        let wrap = if self.wrapped() { format!("wrap_diameter = {WRAP}\n") } else { String::new() };
        format!(
            "format = 1\n{blank}\nprogram = [{{ file = \"part.nc\" }}]\n\
             cutter = [{{ shape = \"ball\", diameter = 4 }}]\nzero = {{ x = {} }}\n\
             [machine]\nalong = \"{along}\"\nchuck_on = \"{chuck}{along}\"\nturns = \"{turns}\"\nrotary = \"{rotary}\"\n{wrap}\
             [grid]\npitch = 0.5\n",
            self.zero()
        )
    }

    /// Carves a drawing and gives back the piece as it is: θ counted about the axis that points away from the jaws.
    fn piece(self, program: &str) -> Skin {
        let workshop = self.carve(program);
        let skin = Skin::read(&workshop, "out");
        if self.chuck == '-' { skin } else { skin.turned_over() }
    }

    fn carve(self, program: &str) -> Workshop {
        let blank = format!("blank = {{ diameter = {}, length = {LENGTH} }}", 2.0 * RADIUS);
        let workshop = Workshop::with(&[("scene.toml", &self.scene(&blank)), ("part.nc", program)]);
        workshop.expect(0, "prove . --out out");
        workshop
    }
}

const DEPTH: f64 = 1.5;
const FLOOR: f64 = RADIUS - DEPTH;

/// A groove that turns by the right hand over its length, one turn in 30 mm, from station 15 at 0°.
fn spiral(setting: Setting) -> String {
    let (at, turn) = (|station| setting.along_word(station), |angle| setting.turn_word(angle));
    let start = format!("G21 G90\nM3 S9000\nG0 Z30\nG0 {} {}\nG1 Z{FLOOR} F300\n", at(15.0), turn(0.0));
    format!("{start}G1 {} {} F900\nG0 Z30\nM30\n", at(75.0), turn(720.0))
}

#[test]
fn a_right_hand_spiral_is_one_on_every_machine() {
    let pieces: Vec<(Setting, Skin)> =
        Setting::all().into_iter().map(|setting| (setting, setting.piece(&spiral(setting)))).collect();
    for (setting, piece) in &pieces {
        for station in [20.0, 32.5, 45.0, 60.0, 72.5] {
            let angle = (station - 15.0) * 12.0;
            let (there, mirrored) = (piece.value(station, angle), piece.value(station, 90.0 - angle));
            // The nearest ray is up to half a step off the middle of the groove, 0.35 mm on the skin.
            assert!((there - FLOOR).abs() < 0.05, "{setting:?}, station {station}: {there}");
            assert!(piece.value(station, angle + 180.0) > RADIUS - 1e-3, "{setting:?}, station {station}");
            assert!(mirrored > FLOOR + 0.5, "{setting:?}, station {station}: {mirrored}");
        }
        let difference = pieces[0].1.difference(piece);
        assert!(difference < 1e-3, "{setting:?}: {difference}");
    }
}

/// Plunged off the axis, to the left of the way the piece points: the hole leans by the angle of the cutter there.
#[test]
fn left_of_the_axis_is_the_same_side_on_every_machine() {
    let left = 8.0;
    // From the top to the left is the turn against the right hand.
    let angle = -f64::atan2(left, (RADIUS * RADIUS - left * left).sqrt()).to_degrees();
    for setting in Setting::all().into_iter().filter(|setting| !setting.wrapped()) {
        let place = format!("{} {} {}", setting.along_word(70.0), setting.across_word(left), setting.turn_word(0.0));
        let piece = setting.piece(&format!("G21 G90\nM3 S9000\nG0 Z30\nG0 {place}\nG1 Z14 F300\nG0 Z30\nM30\n"));
        let (there, mirrored) = (piece.value(70.0, angle), piece.value(70.0, -angle));
        assert!(there < RADIUS - 2.0, "{setting:?}: {there}");
        assert!(mirrored > RADIUS - 1e-3, "{setting:?}: {mirrored}");
        assert!(piece.value(30.0, angle) > RADIUS - 1e-3, "{setting:?}");
    }
}

/// The letter, one row a line from the top, as wide as a hand would draw it.
const LETTER: &str = "
#####
#....
#....
####.
#....
#....
#....
";
/// Width of a column and height of a row of the letter, mm.
const CELL: f64 = 6.0;
/// Its middle: station.
const MIDDLE: f64 = 50.0;

/// The strokes of the letter: from and to, each as column and row from the left top.
const STROKES: [[[f64; 2]; 2]; 3] = [[[0.0, 0.0], [0.0, 6.0]], [[0.0, 0.0], [4.0, 0.0]], [[0.0, 3.0], [3.0, 3.0]]];

/// A program that letters the skin for one who looks at it from outside with the chuck at the left.
fn letter(setting: Setting) -> String {
    let place = |[column, row]: [f64; 2]| {
        let up = (3.0 - row) * CELL;
        // From such a place up is against the right hand about the axis that points away, to the right.
        let angle = 180.0 - (up / (PI * 2.0 * RADIUS)) * 360.0;
        format!("{} {}", setting.along_word(MIDDLE + (column - 2.0) * CELL), setting.turn_word(angle))
    };
    let mut text = "G21 G90\nM3 S9000\nG0 Z30\n".to_owned();
    for [from, to] in STROKES {
        let (from, to) = (place(from), place(to));
        write!(text, "G0 {from}\nG1 Z{FLOOR} F300\nG1 {to} F900\nG0 Z30\n").unwrap();
    }
    text + "M30\n"
}

/// A picture of a skin, and where on it the skin lies, pixels.
struct Drawn {
    picture: Pixmap,
    skin: [u32; 4],
}

impl Drawn {
    fn of(workshop: &Workshop) -> Drawn {
        let bytes = std::fs::read(workshop.path("out/maps/remaining-radius.png")).unwrap();
        let picture = Pixmap::decode_png(&bytes).unwrap();
        let mut drawn = Drawn { picture, skin: [0; 4] };
        drawn.skin = drawn.uncut();
        drawn
    }

    fn colour(&self, x: u32, y: u32) -> [u8; 3] {
        let pixel = self.picture.pixel(x, y).unwrap().demultiply();
        [pixel.red(), pixel.green(), pixel.blue()]
    }

    /// The rectangle of the colour that the picture has most of besides its paper: left, top, right, bottom.
    fn uncut(&self) -> [u32; 4] {
        let (width, height) = (self.picture.width(), self.picture.height());
        let paper = self.colour(0, 0);
        let mut counts = std::collections::BTreeMap::new();
        let pixels = || (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
        for (x, y) in pixels() {
            *counts.entry(self.colour(x, y)).or_insert(0) += 1;
        }
        counts.remove(&paper);
        let most = counts.into_iter().max_by_key(|&(_, count)| count).unwrap().0;
        // The legend shows that colour too, in a few pixels: a row or column of the skin is full of it.
        let row = |y: u32| (0..width).filter(|&x| self.colour(x, y) == most).count();
        let column = |x: u32| (0..height).filter(|&y| self.colour(x, y) == most).count();
        let rows: Vec<u32> = (0..height).filter(|&y| row(y) > width as usize / 5).collect();
        let columns: Vec<u32> = (0..width).filter(|&x| column(x) > height as usize / 5).collect();
        [columns[0], rows[0], columns[columns.len() - 1], rows[rows.len() - 1]]
    }

    /// What stands in the places of the letter: `#` where the skin is cut.
    fn text(&self) -> String {
        let [left, top, right, bottom] = self.skin.map(f64::from);
        let uncut = self.colour(self.skin[0] + 4, self.skin[1] + 4);
        let cell = |column: u32, row: u32| {
            let along = (MIDDLE + (f64::from(column) - 2.0) * CELL) / LENGTH;
            let down = 0.5 + (f64::from(row) - 3.0) * CELL / (PI * 2.0 * RADIUS);
            let (x, y) = (left + along * (right - left), top + down * (bottom - top));
            if self.colour(x.round() as u32, y.round() as u32) == uncut { '.' } else { '#' }
        };
        let line = |row: u32| (0..5).map(|column| cell(column, row)).chain(['\n']).collect::<String>();
        "\n".chars().chain((0..7).map(line).collect::<String>().chars()).collect()
    }
}

#[test]
fn a_letter_reads_right_way_round_on_the_drawn_skin() {
    for setting in Setting::all().into_iter().filter(|setting| setting.turns == "iso") {
        let workshop = setting.carve(&letter(setting));
        assert_eq!(Drawn::of(&workshop).text(), LETTER, "{setting:?}");
    }
}

/// Drawn flat on the table with a wrapped word, X to the right and Y up, and the chuck at the left: as on paper.
#[test]
fn a_flat_drawing_stays_unmirrored_when_it_is_wound_on() {
    let setting = Setting { along: 'x', chuck: '-', turns: "iso", rotary: 'Y' };
    let middle = PI * WRAP / 2.0;
    let mut program = "G21 G90\nM3 S9000\nG0 Z30\n".to_owned();
    for [from, to] in STROKES {
        let [from, to] = [from, to]
            .map(|[column, row]| format!("X{:.4} Y{:.4}", MIDDLE + (column - 2.0) * CELL, middle + (3.0 - row) * CELL));
        write!(program, "G0 {from}\nG1 Z{FLOOR} F300\nG1 {to} F900\nG0 Z30\n").unwrap();
    }
    assert_eq!(Drawn::of(&setting.carve(&(program + "M30\n"))).text(), LETTER);
}

#[test]
fn an_inch_program_cuts_what_its_metric_twin_cuts() {
    let scene = "format = 1\nblank = { diameter = 38.1, length = 101.6 }\nprogram = [{ file = \"part.nc\" }]\n\
                 cutter = [{ shape = \"ball\", diameter = 6.35 }]\ngrid = { pitch = 0.5 }\nzero = { x = 12.7 }\n";
    let in_inches = "format = 1\nunits = \"inch\"\nblank = { diameter = 1.5, length = 4 }\n\
                     program = [{ file = \"part.nc\" }]\ncutter = [{ shape = \"ball\", diameter = 0.25 }]\n\
                     grid = { pitch = \"0.5 mm\" }\nzero = { x = 0.5 }\n";
    let metric = "G21 G90 G94\nM3 S9000\nG0 X12.7 Y0 Z25.4 A0\nG1 Z15.875 F254\nG1 X50.8 A500 F762\n\
                  G2 X63.5 I6.35 J0 F508\nG91 G1 X6.35 Z-1.27\nG90 G0 Z25.4\nM30\n";
    let inches = "G20 G90 G94\nM3 S9000\nG0 X0.5 Y0 Z1 A0\nG1 Z0.625 F10\nG1 X2 A500 F30\n\
                  G2 X2.5 I0.25 J0 F20\nG91 G1 X0.25 Z-0.05\nG90 G0 Z1\nM30\n";
    let prove = |scene: &str, program: &str| {
        let workshop = Workshop::with(&[("scene.toml", scene), ("part.nc", program)]);
        workshop.expect(0, "prove . --out out");
        (workshop.report("out")["removed_mm3"].as_f64().unwrap(), Skin::read(&workshop, "out"))
    };
    let (removed, skin) = prove(scene, metric);
    assert!(removed > 100.0, "{removed}");
    for (other, what) in [(scene, "program"), (in_inches, "program and scene")] {
        let (volume, other) = prove(other, inches);
        assert!((volume - removed).abs() < 1e-3, "{what}: {volume} for {removed} mm³");
        assert!(skin.difference(&other) < 1e-4, "{what}: {} mm", skin.difference(&other));
    }
}
