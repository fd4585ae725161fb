//! The shapes that are meant, in closed form, and the files they are handed over in.

use crate::shop::Cutter;

/// A shape to hold the piece against.
#[derive(Clone, Debug)]
pub(crate) struct Target {
    pub(crate) shape: Shape,
    /// Stations compared.
    pub(crate) span: [f64; 2],
    /// Depth below it that is reported.
    pub(crate) gouge: f64,
    /// Height over it that is reported.
    pub(crate) leftover: f64,
}

/// The shape itself.
#[derive(Clone, Debug)]
pub(crate) enum Shape {
    /// Station and radius.
    Profile(Vec<[f64; 2]>),
    /// Sections, each a station and the points (y, z) around the axis from +z by the right hand.
    Loft(Vec<(f64, Vec<[f64; 2]>)>),
}

impl Target {
    pub(crate) fn new(shape: Shape, span: [f64; 2]) -> Target {
        Target { shape, span, gouge: 0.08, leftover: 0.3 }
    }

    /// A turned shape.
    pub(crate) fn turned(radius: impl Fn(f64) -> f64, span: [f64; 2]) -> Target {
        let rows = stations(span, 0.25).into_iter().map(|station| [station, radius(station)]).collect();
        Target::new(Shape::Profile(rows), span)
    }

    /// A shape whose section, a radius by angle in degrees, winds with the station by so many degrees a mm.
    pub(crate) fn carved(
        radius: impl Fn(f64, f64) -> f64,
        angles: &[f64],
        twist: f64,
        [from, to]: [f64; 2],
        step: f64,
    ) -> Target {
        let section = |station: f64| {
            let point = |&angle: &f64| {
                let (sin, cos) = (angle + twist * station).to_radians().sin_cos();
                let out = radius(station, angle);
                [-out * sin, out * cos]
            };
            (station, angles.iter().map(point).collect())
        };
        // A little longer than what is compared, so that its end faces are no part of it.
        let sections = stations([from - 3.0, to + 3.0], step).into_iter().map(section).collect();
        Target::new(Shape::Loft(sections), [from, to])
    }

    pub(crate) fn greatest_radius(&self) -> f64 {
        let radii: Vec<f64> = match &self.shape {
            Shape::Profile(rows) => rows.iter().map(|row| row[1]).collect(),
            Shape::Loft(sections) => sections.iter().flat_map(|(_, ring)| ring).map(|[y, z]| y.hypot(*z)).collect(),
        };
        radii.into_iter().fold(0.0, f64::max)
    }

    pub(crate) fn file(&self) -> &'static str {
        if matches!(self.shape, Shape::Profile(_)) { "target.csv" } else { "target.stl" }
    }

    /// Its lines in the scene.
    pub(crate) fn entry(&self) -> String {
        let Target { span, gouge, leftover, .. } = self;
        format!("[target]\nfile = \"{}\"\nspan = {span:?}\ngouge = {gouge}\nleftover = {leftover}\n", self.file())
    }

    /// The bytes of its file.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        match &self.shape {
            Shape::Profile(rows) => rows.iter().flat_map(|[x, r]| format!("{x},{r:.5}\n").into_bytes()).collect(),
            Shape::Loft(sections) => binary_stl(&triangles(sections)),
        }
    }
}

/// Places from one end of a span to the other, at most a step apart.
pub(crate) fn stations([from, to]: [f64; 2], step: f64) -> Vec<f64> {
    let count = ((to - from).abs() / step - 1e-9).ceil().max(1.0);
    (0..=count as usize).map(|index| from + (to - from) * index as f64 / count).collect()
}

/// Angles of a section, degrees: fine within `window` of each of the `count` marks around, `coarse` between.
pub(crate) fn angles(count: usize, window: f64, fine: f64, coarse: f64) -> Vec<f64> {
    let apart = 360.0 / count as f64;
    let mut all = Vec::new();
    for mark in 0..count {
        let middle = mark as f64 * apart;
        let near = stations([middle - window, middle + window], fine);
        let far = stations([middle + window, middle + apart - window], coarse);
        all.extend(near);
        all.extend(&far[1..far.len() - 1]);
    }
    all
}

/// The height of a cutter's tip that just touches a turned shape from above.
pub(crate) fn touching(cutter: &Cutter, radius: impl Fn(f64) -> f64, station: f64) -> f64 {
    let half = cutter.diameter / 2.0;
    let over = |distance: &f64| radius(station + distance) - cutter.rise(distance.abs());
    stations([-half, half], 0.05).iter().map(over).fold(f64::MIN, f64::max)
}

type Triangle = [[f64; 3]; 3];

fn triangles(sections: &[(f64, Vec<[f64; 2]>)]) -> Vec<Triangle> {
    let point = |section: usize, index: usize| {
        let (station, ring) = &sections[section];
        let [y, z] = ring[index % ring.len()];
        [*station, y, z]
    };
    let (last, count) = (sections.len() - 1, sections[0].1.len());
    let mut all = Vec::new();
    for index in 0..count {
        let next = index + 1;
        all.push([[sections[0].0, 0.0, 0.0], point(0, next), point(0, index)]);
        all.push([[sections[last].0, 0.0, 0.0], point(last, index), point(last, next)]);
        for section in 0..last {
            let [a, b] = [point(section, index), point(section, next)];
            let [c, d] = [point(section + 1, next), point(section + 1, index)];
            all.extend([[a, b, c], [a, c, d]]);
        }
    }
    all
}

fn binary_stl(triangles: &[Triangle]) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for triangle in triangles {
        bytes.extend([0; 12]);
        for coordinate in triangle.iter().flatten() {
            bytes.extend((*coordinate as f32).to_le_bytes());
        }
        bytes.extend([0; 2]);
    }
    bytes
}
