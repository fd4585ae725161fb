//! Solids with a closed form, carved and meshed.

#![allow(dead_code, clippy::unwrap_used, reason = "each test crate uses its own part, and tests may fail")]

#[path = "../../../carve/tests/common/mod.rs"]
pub(crate) mod carving;

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::sync::Arc;

use carving::{Program, cutter, oracle, pose};
use dryturn_carve::{Carved, Cutter, Grid, Job, Replay, RunOptions, carve};
use dryturn_geom::{AnySolid, Motion, Offset, Section, Shape, Side, Solid, Stock};
use dryturn_surface::{Kind, Mesh, Topology, build};
use glam::DVec3;

/// Radius and length of the blank, mm, unless said otherwise.
pub(crate) const R: f64 = 25.0;

/// How far a point (station, y, z) lies outside the wood, mm; negative inside, exact near its faces.
pub(crate) type Outside = Box<dyn Fn([f64; 3]) -> f64>;

/// A job, and the solid that must be left by it.
pub(crate) struct Scene {
    pub(crate) name: &'static str,
    pub(crate) stock: Stock,
    pub(crate) cutters: Vec<Cutter>,
    pub(crate) motions: Vec<Motion>,
    /// Volume left, mm³.
    pub(crate) left: f64,
    pub(crate) genus: i64,
    pub(crate) outside: Outside,
    /// Most that the mesh may be off at a pitch of 0.25 mm: of the volume, and of the surface in µm.
    pub(crate) most: (f64, f64),
}

impl Scene {
    pub(crate) fn job(&self) -> Job<'_> {
        Job { stock: &self.stock, dimple: None, cutters: &self.cutters, motions: &self.motions }
    }

    pub(crate) fn carved(&self, pitch: f64) -> Carved {
        carve(&self.job(), &Grid::over(&self.stock, pitch), &RunOptions::default()).unwrap()
    }

    pub(crate) fn mesh(&self, pitch: f64) -> Mesh {
        self.mesh_with(pitch, &RunOptions::default())
    }

    pub(crate) fn mesh_with(&self, pitch: f64, options: &RunOptions<'_>) -> Mesh {
        let job = self.job();
        let carved = carve(&job, &Grid::over(&self.stock, pitch), options).unwrap();
        build(&carved, &Replay::new(&job, options).unwrap(), Side::Minus, options).unwrap()
    }

    /// The farthest that a vertex on an edge or in a corner lies off the solid, mm.
    pub(crate) fn worst_edge(&self, mesh: &Mesh) -> f64 {
        let sharp = mesh.kinds.iter().zip(&mesh.vertices).filter(|(kind, _)| **kind != Kind::Smooth);
        sharp.map(|(_, vertex)| (self.outside)(*vertex).abs()).fold(0.0, f64::max)
    }

    /// The farthest that the mesh lies off the solid, mm, over ten points of every triangle.
    pub(crate) fn worst(&self, mesh: &Mesh) -> f64 {
        let worst_of = |corners: [[f64; 3]; 3]| {
            let shares = (0..4).flat_map(|i| (0..4 - i).map(move |j| [i, j, 3 - i - j]));
            let point = |share: [i32; 3]| {
                std::array::from_fn(|k| (0..3).map(|c| f64::from(share[c]) / 3.0 * corners[c][k]).sum())
            };
            shares.map(|share| (self.outside)(point(share)).abs()).fold(0.0, f64::max)
        };
        mesh.triangles.iter().map(|it| worst_of(it.map(|v| mesh.vertices[v as usize]))).fold(0.0, f64::max)
    }
}

/// What holds of every mesh: it bounds a body and does not pass through itself.
pub(crate) fn sound(name: &str, mesh: &Mesh) -> Topology {
    let crossings = mesh.crossings(&RunOptions::default()).unwrap();
    assert!(crossings.is_empty(), "{name}: {} pairs of triangles pass through each other", crossings.len());
    bounding(name, mesh)
}

/// The greatest angle by which two neighbouring triangles fold over, degrees. Those lower than a micrometre may look
/// anywhere.
pub(crate) fn sharpest_fold(mesh: &Mesh) -> f64 {
    let corners = |triangle: [u32; 3]| triangle.map(|vertex| DVec3::from_array(mesh.vertices[vertex as usize]));
    let normal = |triangle: [u32; 3]| {
        let [a, b, c] = corners(triangle);
        let longest = (b - a).length().max((c - b).length()).max((a - c).length());
        let twice = (b - a).cross(c - a);
        (twice.length() > 1e-3 * longest).then_some(twice)
    };
    let edges = |triangle: &[u32; 3]| {
        let [a, b, c] = *triangle;
        [[a, b], [b, c], [c, a]].map(|edge| (edge, [a, b, c]))
    };
    let by_edge: BTreeMap<[u32; 2], [u32; 3]> = mesh.triangles.iter().flat_map(edges).collect();
    let fold = |(&[from, to], &one): (&[u32; 2], &[u32; 3])| {
        let other = by_edge.get(&[to, from])?;
        Some(normal(one)?.angle_between(normal(*other)?).to_degrees())
    };
    by_edge.iter().filter_map(fold).fold(0.0, f64::max)
}

/// What holds however coarse the grid is: it bounds a body.
pub(crate) fn bounding(name: &str, mesh: &Mesh) -> Topology {
    assert!(mesh.vertices.iter().flatten().all(|it| it.is_finite()), "{name}");
    mesh.topology().unwrap_or_else(|fault| panic!("{name}: {fault}"))
}

fn flat(radius: f64) -> Cutter {
    cutter(Shape::Flat, radius, 80.0)
}

fn ball(radius: f64) -> Cutter {
    cutter(Shape::Ball, radius, 80.0)
}

fn ring(x: f64, z: f64) -> Vec<Motion> {
    Program::new(pose(x, 0.0, z, 0.0)).ring(x, 0.0, z).motions.clone()
}

fn passes(degrees: &[f64], z: f64) -> Vec<Motion> {
    let mut program = Program::new(pose(0.0, 0.0, z, 0.0));
    for &a in degrees {
        program.resume(pose(-60.0, 0.0, z, a), 0).feed(pose(160.0, 0.0, z, a));
    }
    program.motions
}

fn plunge(x: f64, z: f64) -> Vec<Motion> {
    Program::new(pose(x, 0.0, 40.0, 0.0)).feed(pose(x, 0.0, z, 0.0)).motions.clone()
}

fn evenly(count: u32) -> Vec<f64> {
    (0..count).map(|k| 360.0 / f64::from(count) * f64::from(k)).collect()
}

/// Outside a bar round the axis.
fn bar([x, y, z]: [f64; 3], radius: f64, length: f64) -> f64 {
    (y.hypot(z) - radius).max(-x).max(x - length)
}

/// Across and up, as seen with the ray at so many degrees on top.
fn on_top([_, y, z]: [f64; 3], degrees: f64) -> (f64, f64) {
    let (sine, cosine) = degrees.to_radians().sin_cos();
    (y * cosine + z * sine, z * cosine - y * sine)
}

/// Outside a ball of radius `b` round the height `c` with a shaft of its width above.
fn rounded(across: f64, up: f64, b: f64, c: f64) -> f64 {
    if up > c { across.abs() - b } else { across.hypot(up - c) - b }
}

/// A ball with its centre on the axis.
#[derive(Debug)]
struct Sphere(f64);

impl Solid for Sphere {
    fn spans(&self, station: f64, _: (f64, f64), _: Offset) -> Vec<(f64, f64)> {
        let square = self.0 * self.0 - (station - self.0) * (station - self.0);
        if square > 0.0 { vec![(0.0, square.sqrt())] } else { vec![] }
    }

    fn surface(&self, [x, y, z]: [f64; 3]) -> (f64, [f64; 3]) {
        let from = [x - self.0, y, z];
        let distance = from.iter().map(|it| it * it).sum::<f64>().sqrt();
        (distance - self.0, from.map(|it| it / distance))
    }

    fn greatest_radius(&self, _: f64) -> f64 {
        self.0
    }
}

/// A bar round the axis with a round cone of 60° in its near end, beside the axis.
#[derive(Debug)]
struct Dimpled {
    radius: f64,
    /// Station of the cone's tip, and how far it lies off the axis.
    tip: (f64, f64),
}

impl Solid for Dimpled {
    fn spans(&self, station: f64, (sine, cosine): (f64, f64), _: Offset) -> Vec<(f64, f64)> {
        let cone = (self.tip.0 - station).max(0.0) * (PI / 6.0).tan();
        let (nearest, square) = (self.tip.1 * cosine, cone * cone - (self.tip.1 * sine).powi(2));
        let [from, to] = [-1.0, 1.0].map(|side| (nearest + side * square.max(0.0).sqrt()).clamp(0.0, self.radius));
        [(0.0, from), (to, self.radius)].into_iter().filter(|(from, to)| from < to).collect()
    }

    fn surface(&self, [x, y, z]: [f64; 3]) -> (f64, [f64; 3]) {
        let (radius, aside) = (y.hypot(z), y.hypot(z - self.tip.1));
        let (sine, cosine) = (PI / 6.0).sin_cos();
        let into = (self.tip.0 - x) * sine - aside * cosine;
        if into > radius - self.radius {
            (into, [-sine, -y / aside * cosine, -(z - self.tip.1) / aside * cosine])
        } else {
            (radius - self.radius, [0.0, y / radius, z / radius])
        }
    }

    fn greatest_radius(&self, _: f64) -> f64 {
        self.radius
    }
}

/// A short bar with a dimple whose tip lies so far in, and off the axis, mm.
pub(crate) fn dimpled(tip: (f64, f64)) -> Scene {
    let section = Section::Solid(AnySolid(Arc::new(Dimpled { radius: 30.0, tip })));
    Scene {
        stock: Stock { section, ..Stock::round(30.0, 5.0) },
        ..scene("dimple beside the axis", 5.0, flat(3.0), vec![], 0.0, |_| 0.0)
    }
}

/// A bar of thirteen sides, twisted so that its edges pass from column to column at a small angle.
pub(crate) fn twisted() -> Scene {
    let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    for a in evenly(13) {
        program.resume(pose(-60.0, 0.0, 20.0, a), 0).feed(pose(160.0, 0.0, 20.0, a + 60.0));
    }
    scene("twisted bar", 100.0, flat(12.0), program.motions, 0.0, |_| 0.0)
}

/// Rings of a small ball side by side, two of them between many neighbouring rays.
pub(crate) fn combed() -> Scene {
    let stations: Vec<f64> = (0..20).map(|k| 5.0 + 0.5 * f64::from(k)).collect();
    let mut program = Program::new(pose(0.0, 0.0, 26.0, 0.0));
    for &x in &stations {
        program.ring(x, 0.0, 24.0);
    }
    scene("comb", 20.0, ball(1.0), program.motions, 0.0, move |p| {
        let ring = |x: &f64| rounded(p[0] - x, p[1].hypot(p[2]), 1.0, 25.0);
        stations.iter().map(ring).fold(f64::INFINITY, f64::min)
    })
}

fn scene(
    name: &'static str,
    length: f64,
    cutter: Cutter,
    motions: Vec<Motion>,
    left: f64,
    cut: impl Fn([f64; 3]) -> f64 + 'static,
) -> Scene {
    let outside = Box::new(move |point| bar(point, R, length).max(-cut(point)));
    Scene {
        name,
        stock: Stock::round(R, length),
        cutters: vec![cutter],
        motions,
        left,
        genus: 0,
        outside,
        most: (3e-6, 3.0),
    }
}

/// Grooves, all round; V01 is the blank.
pub(crate) fn grooves() -> Vec<Scene> {
    let length = 20.0;
    let blank = PI * R * R * length;
    let vee = cutter(Shape::Vee { half_angle: PI / 6.0, tip_radius: 0.0 }, 6.0, 40.0);
    let radius = |[_, y, z]: [f64; 3]| y.hypot(z);
    vec![
        scene("V01 blank", length, flat(3.0), vec![], blank, |_| 1.0),
        scene("V07 flat groove", length, flat(3.0), ring(10.0, 20.0), blank - oracle("V07", ""), move |p| {
            ((p[0] - 10.0).abs() - 3.0).max(20.0 - radius(p))
        }),
        Scene {
            most: (3e-6, 6.0),
            ..scene("V08 ball groove", length, ball(3.0), ring(10.0, 20.0), blank - oracle("V08", ""), move |p| {
                rounded(p[0] - 10.0, radius(p), 3.0, 23.0)
            })
        },
        Scene {
            most: (5e-6, 4.0),
            ..scene(
                "V09 shallow ball groove",
                length,
                ball(3.0),
                ring(10.0, 24.0),
                blank - oracle("V09", ""),
                move |p| rounded(p[0] - 10.0, radius(p), 3.0, 27.0),
            )
        },
        scene("V10 vee groove", length, vee, ring(10.0, 20.0), blank - oracle("V10", ""), move |p| {
            ((p[0] - 10.0).abs() - (radius(p) - 20.0) * (PI / 6.0).tan()) * (PI / 6.0).cos()
        }),
    ]
}

/// Holes across the axis.
pub(crate) fn holes() -> Vec<Scene> {
    let length = 20.0;
    let blank = PI * R * R * length;
    let aside = |[x, y, _]: [f64; 3]| (x - 10.0).hypot(y);
    let through = oracle("V11", "radius 5.0 in cylinder radius 25.0");
    let napkin = Stock { section: Section::Solid(AnySolid(Arc::new(Sphere(20.0)))), ..Stock::round(20.0, 40.0) };
    vec![
        Scene {
            genus: 1,
            ..scene("V11 cross hole", length, flat(5.0), plunge(10.0, -30.0), blank - through, move |p| aside(p) - 5.0)
        },
        scene("V12 flat plunge", length, flat(5.0), plunge(10.0, 15.0), blank - oracle("V12", ""), move |p| {
            (aside(p) - 5.0).max(15.0 - p[2])
        }),
        Scene {
            most: (3e-6, 4.0),
            ..scene("V13 ball plunge", length, ball(5.0), plunge(10.0, 15.0), blank - oracle("V13", ""), move |p| {
                rounded(aside(p), p[2], 5.0, 20.0)
            })
        },
        Scene {
            stock: napkin,
            genus: 1,
            outside: Box::new(|[x, y, z]| {
                let ball = ((x - 20.0).powi(2) + y * y + z * z).sqrt() - 20.0;
                ball.max(5.0 - (x - 20.0).hypot(y))
            }),
            // Where the rim touches a row of rays, vertices are drawn back into their cells.
            most: (3e-6, 20.0),
            ..scene("V21 napkin ring", 40.0, flat(5.0), plunge(20.0, -30.0), oracle("V21", ""), |_| 0.0)
        },
    ]
}

/// Passes along the axis.
pub(crate) fn passed() -> Vec<Scene> {
    let length = 100.0;
    let blank = PI * R * R * length;
    let slot = |degrees: Vec<f64>| {
        move |point: [f64; 3]| {
            let one = |a: &f64| {
                let (across, up) = on_top(point, *a);
                (across.abs() - 3.0).max(20.0 - up)
            };
            degrees.iter().map(one).fold(f64::INFINITY, f64::min)
        }
    };
    let six = blank - oracle("V14b", "");
    vec![
        scene("V14 six slots", length, flat(3.0), passes(&evenly(6), 20.0), six, slot(evenly(6))),
        scene("V15 ball slot", length, ball(3.0), passes(&[0.0], 20.0), blank - oracle("V15", ""), |p| {
            let (across, up) = on_top(p, 0.0);
            rounded(across, up, 3.0, 23.0)
        }),
    ]
}

/// Bars with flats, by passes of a wide cutter.
pub(crate) fn flats() -> Vec<Scene> {
    let length = 100.0;
    let blank = PI * R * R * length;
    let rows = [
        ("V16 one flat", blank - oracle("V16", ""), 1, 20.0),
        ("V17 hexagon", oracle("V17", ""), 6, 20.0),
        ("V18 square", oracle("V18", ""), 4, 15.0),
        ("V18 square, round corners", oracle("V18b", ""), 4, 20.0),
        ("V19 octagon", oracle("V19", ""), 8, 20.0),
    ];
    rows.map(|(name, left, sides, apothem)| Scene {
        most: if name.contains("flat") || name.contains("round") { (3e-6, 1.0) } else { (1e-9, 0.01) },
        ..scene(name, length, flat(21.0), passes(&evenly(sides), apothem), left, move |p| {
            evenly(sides).iter().map(|a| apothem - on_top(p, *a).1).fold(f64::INFINITY, f64::min)
        })
    })
    .into()
}

/// A square bar turned round.
pub(crate) fn turned() -> Scene {
    let length = 100.0;
    let mut program = Program::new(pose(0.0, 0.0, R, 0.0));
    program.ring(2.0, 0.0, R).feed(pose(98.0, 0.0, R, 360.0 * 21.0)).feed(pose(98.0, 0.0, R, 360.0 * 22.0));
    Scene {
        stock: Stock { section: Section::Polygon { apothem: R, sides: 4 }, ..Stock::round(R, length) },
        ..scene("V20 square turned round", length, flat(3.0), program.motions, oracle("V01", ""), |_| 1.0)
    }
}
