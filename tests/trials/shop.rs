//! A job as a shop describes it: blank, holding, cutters, programs and the shape wanted, and how the machine stands.
//!
//! Everything is said in the piece's own terms (station, across, height over the axis, angle about it). [`Setting`] puts
//! that into a machine's words. A job holds two of them: how the machine is set up and how the programs were posted. In
//! a good job they are equal; many mistakes are nothing but a difference between the two.

use std::fmt::Write;

use crate::program::Program;
use crate::shape::Target;

/// The unit of a program.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Unit {
    Millimetre,
    Inch,
}

/// Where Z0 is, over the axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Height {
    Axis,
    /// On the blank: its greatest radius.
    Surface(f64),
    /// Anywhere else.
    At(f64),
}

impl Height {
    pub(crate) fn over_axis(self) -> f64 {
        match self {
            Height::Axis => 0.0,
            Height::Surface(height) | Height::At(height) => height,
        }
    }
}

/// What turns the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Rotary {
    Word(char),
    /// The linear word across the axis, wound on a diameter.
    Wrapped(f64),
    /// The words are left out.
    Lost,
}

/// How a machine is wired and zeroed, or how a program was posted for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Setting {
    pub(crate) unit: Unit,
    /// The unit that the program's head states.
    pub(crate) stated: Option<Unit>,
    pub(crate) height: Height,
    /// Station of X0.
    pub(crate) x: f64,
    /// How far Y0 is off the axis.
    pub(crate) y: f64,
    /// The machine's axis along the rotary axis, `x` or `y`.
    pub(crate) along: char,
    /// The side of the chuck, `-` or `+`.
    pub(crate) chuck: char,
    pub(crate) reversed: bool,
    pub(crate) rotary: Rotary,
    /// Whole turns that the rotary word counts already when the job begins.
    pub(crate) turns_before: f64,
}

impl Setting {
    /// Millimetres, zero on the axis at the jaw face, A along X, chuck on the left.
    pub(crate) fn plain() -> Setting {
        Setting {
            unit: Unit::Millimetre,
            stated: Some(Unit::Millimetre),
            height: Height::Axis,
            x: 0.0,
            y: 0.0,
            along: 'x',
            chuck: '-',
            reversed: false,
            rotary: Rotary::Word('A'),
            turns_before: 0.0,
        }
    }

    pub(crate) fn inch(self) -> Setting {
        Setting { unit: Unit::Inch, stated: Some(Unit::Inch), ..self }
    }

    pub(crate) fn on_surface(self, radius: f64) -> Setting {
        Setting { height: Height::Surface(radius), ..self }
    }

    pub(crate) fn zero_at(self, x: f64) -> Setting {
        Setting { x, ..self }
    }

    /// The rotary axis along Y, turned by B.
    pub(crate) fn along_y(self) -> Setting {
        Setting { along: 'y', rotary: Rotary::Word('B'), ..self }
    }

    pub(crate) fn chuck_right(self) -> Setting {
        Setting { chuck: '+', ..self }
    }

    pub(crate) fn reversed(self) -> Setting {
        Setting { reversed: !self.reversed, ..self }
    }

    pub(crate) fn wrapped(self, diameter: f64) -> Setting {
        Setting { rotary: Rotary::Wrapped(diameter), ..self }
    }

    /// +1 with the chuck on the minus side; on the plus side the piece is turned half about the vertical.
    pub(crate) fn side(&self) -> f64 {
        if self.chuck == '-' { 1.0 } else { -1.0 }
    }

    fn way(&self) -> f64 {
        if self.reversed { -1.0 } else { 1.0 }
    }

    /// The value, in mm, of the word along the axis that leads to a station.
    pub(crate) fn along_word(&self, station: f64) -> f64 {
        self.side() * (station - self.x)
    }

    pub(crate) fn across_word(&self, across: f64) -> f64 {
        self.side() * if self.along == 'x' { across } else { -across }
    }

    /// The letter and value, in mm or degrees, of the word that brings an angle on top.
    pub(crate) fn rotary_word(&self, angle_deg: f64) -> Option<(char, f64)> {
        let turned = self.way() * self.side() * angle_deg;
        match self.rotary {
            Rotary::Word(letter) => Some((letter, turned + 360.0 * self.turns_before)),
            Rotary::Wrapped(diameter) => {
                let arc = turned * std::f64::consts::PI * diameter / 360.0;
                Some(if self.along == 'x' { ('Y', -arc) } else { ('X', arc) })
            }
            Rotary::Lost => None,
        }
    }
}

/// The section of a blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Section {
    Round,
    Square,
    /// With this bore.
    Tube(f64),
}

/// The blank before anything is cut.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Blank {
    pub(crate) section: Section,
    /// Diameter or across flats.
    pub(crate) across: f64,
    pub(crate) length: f64,
}

impl Blank {
    pub(crate) fn corner(&self) -> f64 {
        let half = self.across / 2.0;
        if self.section == Section::Square { half * std::f64::consts::SQRT_2 } else { half }
    }
}

/// What holds the blank.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Holding {
    Chuck {
        hold: f64,
        jaws: u32,
    },
    Faceplate {
        screw_circle: f64,
        screw_length: f64,
    },
    /// A drive center on the left.
    Centers,
}

/// Height of the jaws over what they grip.
pub(crate) const JAW_HEIGHT: f64 = 16.0;
pub(crate) const FACEPLATE_RADIUS: f64 = 30.0;
pub(crate) const QUILL: f64 = 16.0;

/// The form of a cutter's end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Form {
    Flat,
    Ball,
    /// With this corner.
    Bull(f64),
    /// With this included angle.
    Vee(f64),
    Drill,
}

/// A cutter in its collet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cutter {
    pub(crate) number: u32,
    pub(crate) form: Form,
    pub(crate) diameter: f64,
    pub(crate) flute: f64,
    pub(crate) stickout: f64,
}

/// Fastest way straight down that its maker allows any of the cutters, mm/min.
pub(crate) const PLUNGE: f64 = 600.0;

impl Cutter {
    pub(crate) fn new(number: u32, form: Form, diameter: f64) -> Cutter {
        let flute = match form {
            Form::Vee(_) => 5.0,
            Form::Drill => 52.0,
            _ => 18.0,
        };
        Cutter { number, form, diameter, flute, stickout: if form == Form::Drill { 64.0 } else { 42.0 } }
    }

    /// What it may be asked for: as deep and as wide as it is thick, a vee as deep as it is ground; a drill goes down only.
    fn limits(&self) -> String {
        let Cutter { diameter, flute, .. } = *self;
        let sideways = match self.form {
            Form::Drill => String::new(),
            Form::Vee(_) => format!("depth = {flute}\nwidth = {diameter}\n"),
            _ => format!("depth = {diameter}\nwidth = {diameter}\n"),
        };
        format!("{sideways}plunge = {PLUNGE}\nchip = [0.004, 0.15]\n")
    }

    /// How far the cutter's edge is over its tip at a distance from its axis.
    pub(crate) fn rise(&self, distance: f64) -> f64 {
        let radius = self.diameter / 2.0;
        let round = |corner: f64| {
            let out = (distance - (radius - corner)).max(0.0);
            corner - (corner * corner - out * out).max(0.0).sqrt()
        };
        match self.form {
            Form::Flat => 0.0,
            Form::Ball => round(radius),
            Form::Bull(corner) => round(corner),
            Form::Vee(angle) => distance / (angle / 2.0).to_radians().tan(),
            Form::Drill => distance / 59_f64.to_radians().tan(),
        }
    }
}

/// What is made, as far as it decides which mistakes can be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Kind {
    Turned,
    Stepped,
    Ringed,
    Faceted,
    Fluted,
    Spiral,
    TwoSided,
    Openwork,
    Drilled,
    Lettered,
}

/// A job.
#[derive(Clone, Debug)]
pub(crate) struct Job {
    pub(crate) name: &'static str,
    pub(crate) kind: Kind,
    pub(crate) machine: Setting,
    pub(crate) posted: Setting,
    pub(crate) blank: Blank,
    pub(crate) holding: Holding,
    /// How far the quill stands out, if there is a tailstock.
    pub(crate) tailstock: Option<f64>,
    pub(crate) bed: f64,
    /// Power of the spindle, W.
    pub(crate) power: f64,
    /// What A can hold, and what the jaws or screws can, N·m.
    pub(crate) torque: f64,
    pub(crate) grip: f64,
    pub(crate) reach_x: [f64; 2],
    pub(crate) reach_z: [f64; 2],
    pub(crate) cutters: Vec<Cutter>,
    pub(crate) programs: Vec<Program>,
    pub(crate) target: Option<Target>,
    pub(crate) pitch: f64,
}

impl Job {
    /// A job without programs yet, held in a chuck.
    pub(crate) fn new(name: &'static str, kind: Kind, blank: Blank, setting: Setting) -> Job {
        Job {
            name,
            kind,
            machine: setting,
            posted: setting,
            blank,
            holding: Holding::Chuck { hold: 22.0, jaws: if blank.section == Section::Square { 4 } else { 3 } },
            tailstock: None,
            bed: 90.0,
            power: 800.0,
            torque: 4.0,
            grip: 8.0,
            reach_x: [-20.0, 700.0],
            reach_z: [0.0, 170.0],
            cutters: Vec::new(),
            programs: Vec::new(),
            target: None,
            pitch: 1.5,
        }
    }

    pub(crate) fn with_tailstock(self) -> Job {
        Job { tailstock: Some(3.0), ..self }
    }

    pub(crate) fn held_by(self, holding: Holding) -> Job {
        Job { holding, ..self }
    }

    /// Length of the blank that is held.
    pub(crate) fn hold(&self) -> f64 {
        if let Holding::Chuck { hold, .. } = self.holding { hold } else { 0.0 }
    }

    /// Station of the blank's free end.
    pub(crate) fn free_end(&self) -> f64 {
        self.blank.length - self.hold()
    }

    pub(crate) fn cutter(&self, number: u32) -> &Cutter {
        self.cutters.iter().find(|cutter| cutter.number == number).expect("every cutter is in the list")
    }

    /// The scene file.
    pub(crate) fn scene(&self) -> String {
        let mut text = format!("format = 1\ntitle = \"{}\"\ngrid = {{ pitch = {} }}\n", self.name, self.pitch);
        text += "controller = { m6 = \"changes\", tool_length = \"table\" }\n\n";
        for part in [self.machine_text(), self.blank_text(), self.holding_text(), self.cutters_text()] {
            text += &part;
        }
        text + &self.programs_text()
    }

    fn machine_text(&self) -> String {
        let set = &self.machine;
        let (along, chuck) = (set.along, set.chuck);
        let turns = if set.reversed { "reversed" } else { "iso" };
        let (rotary, wrap, turned) = match set.rotary {
            Rotary::Wrapped(diameter) if along == 'x' => ('Y', format!("wrap_diameter = {diameter}\n"), String::new()),
            Rotary::Wrapped(diameter) => ('X', format!("wrap_diameter = {diameter}\n"), String::new()),
            Rotary::Word(letter) => (letter, String::new(), format!(", a = {}", 360.0 * set.turns_before)),
            Rotary::Lost => ('A', String::new(), String::new()),
        };
        let zero = match set.height {
            Height::Axis => "\"axis\"".to_owned(),
            Height::Surface(_) => "\"surface\"".to_owned(),
            Height::At(height) => height.to_string(),
        };
        let start = (set.along_word(self.free_end() / 2.0), 100.0 - set.height.over_axis());
        format!(
            "[machine]\nalong = \"{along}\"\nchuck_on = \"{chuck}{along}\"\nturns = \"{turns}\"\nrotary = \"{rotary}\"\n{wrap}\
             feed_counts = \"linear\"\nrapid = {{ x = 5000, y = 5000, z = 3000, a = 7200 }}\n\
             reach = {{ x = {:?}, y = [-150, 150], z = {:?} }}\nstart = {{ x = {}, y = 0, z = {}{turned} }}\n\
             bed = {}\nspindle = [[52, 40], [80, 120]]\nspindle_power = {}\nrotary_torque = {}\n\n\
             [zero]\nx = {}\ny = {}\nz = {zero}\n\n",
            self.reach_x, self.reach_z, start.0, start.1, self.bed, self.power, self.torque, set.x, set.y
        )
    }

    fn blank_text(&self) -> String {
        let across = self.blank.across;
        let section = match self.blank.section {
            Section::Round => format!("diameter = {across}"),
            Section::Square => format!("shape = \"square\"\nacross_flats = {across}"),
            Section::Tube(bore) => format!("shape = \"tube\"\ndiameter = {across}\nbore = {bore}"),
        };
        format!("[blank]\n{section}\nlength = {}\nmaterial = \"hard maple\"\n\n", self.blank.length)
    }

    fn holding_text(&self) -> String {
        let grip = self.grip;
        let mut text = match self.holding {
            Holding::Chuck { hold, jaws } => format!(
                "[chuck]\nhold = {hold}\nbody = {{ diameter = 80, length = 45 }}\n\
                 jaws = {{ count = {jaws}, width = 14, length = 24, height = {JAW_HEIGHT} }}\n\
                 torque = {grip}\n\n"
            ),
            Holding::Faceplate { screw_circle, screw_length } => {
                let screw = |angle| {
                    format!("{{ radius = {screw_circle}, angle = {angle}, diameter = 4, length = {screw_length} }}")
                };
                let screws = [45, 135, 225, 315].map(screw).join(", ");
                let diameter = 2.0 * FACEPLATE_RADIUS;
                format!("[faceplate]\ndiameter = {diameter}\nthickness = 8\nscrews = [{screws}]\ntorque = {grip}\n\n")
            }
            Holding::Centers => format!(
                "[drive]\ncenter = {{ diameter = 16, length = 15, bite = 3 }}\n\
                 body = {{ diameter = 50, length = 60 }}\ntorque = {grip}\n\n"
            ),
        };
        if let Some(extension) = self.tailstock {
            let center = format!("{{ angle = 60, diameter = 12, quill = {QUILL}, extension = {extension} }}");
            writeln!(text, "[tailstock]\ncenter = {center}\ndimple = 2\nforce = 150").expect("a text takes all");
            text += "body = { width = 40, above = 36, length = 70 }\n\n";
        }
        text
    }

    fn cutters_text(&self) -> String {
        let mut text = String::new();
        for cutter in &self.cutters {
            let shape = match cutter.form {
                Form::Flat => "\"flat\"".to_owned(),
                Form::Ball => "\"ball\"".to_owned(),
                Form::Bull(corner) => format!("\"bull\"\ncorner = {corner}"),
                Form::Vee(angle) => format!("\"vee\"\nangle = {angle}"),
                Form::Drill => "\"drill\"".to_owned(),
            };
            let Cutter { number, diameter, flute, stickout, .. } = cutter;
            write!(
                text,
                "[[cutter]]\nnumber = {number}\nshape = {shape}\ndiameter = {diameter}\nflute = {flute}\n\
                 stickout = {stickout}\nholder = [[20, 8], [25, 20]]\n{}\n",
                cutter.limits()
            )
            .expect("a text takes all");
        }
        text
    }

    fn programs_text(&self) -> String {
        let mut text: String = self.programs.iter().map(Program::entry).collect();
        if let Some(target) = &self.target {
            text += &target.entry();
        }
        text
    }
}
