// Bodies while somebody turns them: one pass, three lights that go with the eye, no shadows but what a vertex brings.

struct Live {
    // From the room to the picture.
    to_clip: mat4x4f,
    // The picture's own directions, in the room: to the right, up and back to the eye.
    right: vec3f,
    // Share of the vertices' own colours.
    tint: f32,
    upward: vec3f,
    // How much of the grain there is; of metal it is none.
    grain: f32,
    back: vec3f,
    // How far a body is faded into the ground.
    faded: f32,
    // What has dot(xyz, p) > w is cut away, in the room.
    plane: vec4f,
    // Colours are linear: earlywood, latewood, and the ground.
    early: vec3f,
    ring: f32,
    late: vec3f,
    gloss: f32,
    ground: vec3f,
    opacity: f32,
    // Cosine and sine of how far the body is turned, and the pith.
    turn: vec2f,
    pith: vec2f,
}

@group(0) @binding(0) var<uniform> live: Live;

struct Spot {
    @builtin(position) clip: vec4f,
    @location(0) at: vec3f,
    @location(1) normal: vec3f,
    @location(2) color: vec4f,
}

struct Drawn {
    @location(0) color: vec4f,
    @builtin(frag_depth) depth: f32,
}

fn turned(p: vec3f) -> vec3f {
    return vec3f(p.x, p.y * live.turn.x - p.z * live.turn.y, p.y * live.turn.y + p.z * live.turn.x);
}

fn unturned(p: vec3f) -> vec3f {
    return vec3f(p.x, p.y * live.turn.x + p.z * live.turn.y, p.z * live.turn.x - p.y * live.turn.y);
}

@vertex
fn place(@location(0) position: vec3f, @location(1) normal: vec4f, @location(2) color: vec4f) -> Spot {
    let room = turned(position);
    return Spot(live.to_clip * vec4f(room, 1.0), room, turned(normal.xyz), color);
}

@fragment
fn whole(spot: Spot) -> @location(0) vec4f {
    return lit(spot.at, normalize(spot.normal), spot.color);
}

// Of a closed body a face seen from behind is seen through the cut, and the plane's own point before it shows.
@fragment
fn cut(spot: Spot, @builtin(front_facing) is_front: bool) -> Drawn {
    if dot(live.plane.xyz, spot.at) > live.plane.w {
        discard;
    }
    if is_front {
        return Drawn(lit(spot.at, normalize(spot.normal), spot.color), spot.clip.z);
    }
    let nearer = (live.plane.w - dot(live.plane.xyz, spot.at)) / dot(live.plane.xyz, live.back);
    if !(nearer > 0.0) {
        discard;
    }
    // The nearest face decides, and so keeps its own depth: a bore that is looked into hides the wall behind it.
    let point = spot.at + nearer * live.back;
    return Drawn(lit(point, live.plane.xyz, vec4f(0.0, 0.0, 0.0, 1.0)), spot.clip.z);
}

fn lit(at: vec3f, normal: vec3f, color: vec4f) -> vec4f {
    // The inside has no colour of its own: the maps are of the surface.
    let own = mix(matter(unturned(at)), pow(color.rgb, vec3f(2.2)), live.tint * step(0.002, dot(color.rgb, color.rgb)));
    let facing = vec3f(dot(normal, live.right), dot(normal, live.upward), dot(normal, live.back));
    let key = max(dot(facing, normalize(vec3f(-0.5, 0.8, 0.62))), 0.0);
    let fill = max(dot(facing, normalize(vec3f(0.85, 0.1, 0.5))), 0.0);
    let rim = pow(1.0 - abs(facing.z), 3.0) * max(facing.y, 0.0);
    let sky = 0.5 + 0.5 * facing.y;
    let open = mix(1.0, color.a, 0.85);
    let light = vec3f(1.0, 0.965, 0.9) * (0.78 * key * mix(1.0, open, 0.5)) + vec3f(0.86, 0.93, 1.0) * (0.16 * fill + 0.3 * sky * open + 0.1 * rim);
    let shine = pow(max(dot(facing, normalize(vec3f(-0.26, 0.42, 0.87))), 0.0), 38.0) * live.gloss * open;
    let bright = own * light * 1.06 + vec3f(shine);
    let grey = vec3f(dot(bright, vec3f(0.2126, 0.7152, 0.0722)));
    let shown = mix(bright, mix(grey, live.ground, 0.45), live.faded);
    return vec4f(pow(clamp(shown, vec3f(0.0), vec3f(1.0)), vec3f(1.0 / 2.2)), 1.0) * live.opacity;
}

// Rings about a pith that lies beside the axis, and fibres along it.
fn matter(p: vec3f) -> vec3f {
    if live.grain <= 0.0 {
        return live.early;
    }
    let sway = wave(vec3f(p.x / 60.0, p.yz / 25.0)) + 0.4 * wave(vec3f(p.x / 20.0, p.yz / 6.0));
    let out = length(p.yz - live.pith) / live.ring + 0.9 * sway;
    let season = fract(out);
    let ring = smoothstep(0.35, 0.92, season) * (1.0 - smoothstep(0.95, 1.0, season));
    let fibre = wave(vec3f(p.x / 7.0, p.yz * 3.4));
    let share = clamp(live.grain * (0.75 * ring + 0.22 * fibre) + 0.1, 0.0, 1.0);
    return mix(live.early, live.late, share);
}

// Smooth noise, −1 ... 1 (value noise on a lattice; the numbers by pcg3d, Jarzynski and Olano, JCGT 2020).
fn wave(at: vec3f) -> f32 {
    let cell = floor(at);
    let f = at - cell;
    let s = f * f * (3.0 - 2.0 * f);
    let i = vec3i(cell);
    let near = mix(mix(luck(i), luck(i + vec3i(1, 0, 0)), s.x), mix(luck(i + vec3i(0, 1, 0)), luck(i + vec3i(1, 1, 0)), s.x), s.y);
    let far = mix(mix(luck(i + vec3i(0, 0, 1)), luck(i + vec3i(1, 0, 1)), s.x), mix(luck(i + vec3i(0, 1, 1)), luck(i + vec3i(1, 1, 1)), s.x), s.y);
    return 2.0 * mix(near, far, s.z) - 1.0;
}

fn luck(cell: vec3i) -> f32 {
    var v = bitcast<vec3u>(cell) * 1664525u + 1013904223u;
    v.x += v.y * v.z;
    v.y += v.z * v.x;
    v.z += v.x * v.y;
    v.x ^= v.x >> 16u;
    v.x += v.y * v.z;
    return f32(v.x >> 8u) / 16777216.0;
}
