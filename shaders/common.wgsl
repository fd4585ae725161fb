// What all passes share: what they are told, the section, and shadows.

const LIGHTS: u32 = 16u;

struct Light {
    // From the room to its map of shadows.
    to_map: mat4x4f,
    toward: vec3f,
    bias: f32,
    power: vec3f,
    breadth: f32,
}

struct Frame {
    to_clip: mat4x4f,
    eye: vec3f,
    // Width of a pixel at a distance of 1.
    pixel: f32,
    // What has dot(xyz, p) > w is cut away.
    plane: vec4f,
    up: vec3f,
    ground: f32,
    middle: vec3f,
    open: f32,
    across: vec3f,
    is_clear: u32,
    along: vec3f,
    // One over the passes in which the ground was baked.
    baked_share: f32,
    rim: vec2f,
    unused: vec2u,
    lights: array<Light, LIGHTS>,
}

struct Body {
    early: vec3f,
    roughness: f32,
    late: vec3f,
    metallic: f32,
    pore: vec3f,
    ring: f32,
    ray: vec3f,
    late_share: f32,
    turn: vec2f,
    gradual: f32,
    ring_porous: f32,
    pore_width: f32,
    pore_length: f32,
    pores: f32,
    ray_width: f32,
    ray_height: f32,
    rays: f32,
    streaks: f32,
    clouds: f32,
    pith: vec2f,
    figure: f32,
    is_wood: u32,
}

@group(0) @binding(0) var<uniform> frame: Frame;
@group(0) @binding(1) var maps: texture_depth_2d_array;
@group(1) @binding(0) var<uniform> body: Body;

// From the piece frame to the room, in which the piece is turned about its axis.
fn to_room(p: vec3f) -> vec3f {
    return vec3f(p.x, p.y * body.turn.x - p.z * body.turn.y, p.y * body.turn.y + p.z * body.turn.x);
}

fn to_piece(p: vec3f) -> vec3f {
    return vec3f(p.x, p.y * body.turn.x + p.z * body.turn.y, p.z * body.turn.x - p.y * body.turn.y);
}

fn is_cut(room: vec3f) -> bool {
    return dot(frame.plane.xyz, room) > frame.plane.w;
}

// What is seen of a body that the section cuts.
struct Seen {
    room: vec3f,
    normal: vec3f,
    is_cap: bool,
    is_gone: bool,
}

// Of the faces beyond the cut the nearest decides what shows: one that is seen from inside is seen through the cut, and
// the plane's own point on the way to it shows; one that is seen from outside, as of a bore, shows itself.
fn through_section(room: vec3f, normal: vec3f, is_front: bool) -> Seen {
    if is_cut(room) {
        return Seen(room, normal, false, true);
    }
    if is_front {
        return Seen(room, normal, false, false);
    }
    let way = room - frame.eye;
    let over = frame.plane.w - dot(frame.plane.xyz, frame.eye);
    let share = over / dot(frame.plane.xyz, way);
    return Seen(frame.eye + share * way, frame.plane.xyz, true, share <= 0.0 || share > 1.0);
}

// How far faces seen from inside stand before what touches them from outside, mm.
const HAIR: f32 = 0.02;

// The point that decides what is nearer: the face's own, not that which shows.
fn nearness(seen: Seen, room: vec3f) -> f32 {
    let met = room + select(0.0, HAIR, seen.is_cap) * normalize(frame.eye - room);
    let clip = frame.to_clip * vec4f(met, 1.0);
    return clip.z / clip.w;
}

// The slope beyond which a face is taken to be no steeper against a light: it gets next to nothing of it anyway.
const STEEPEST: f32 = 8.0;

// How much of a light reaches a point, 0 … 1, on a face that is turned to it by a cosine. A texel knows the depth at its
// middle, up to 0.71 of its width aside: a face that leans has another depth there, and would lie in its own shadow.
fn reaches(light: u32, room: vec3f, facing: f32) -> f32 {
    let at = (frame.lights[light].to_map * vec4f(room, 1.0)).xyz;
    if any(abs(at.xy) >= vec2f(1.0)) {
        return 1.0;
    }
    let texel = vec2i((at.xy * vec2f(0.5, -0.5) + 0.5) * vec2f(textureDimensions(maps)));
    // Nothing is smoothed here: the many lights are what makes shadows soft.
    let slope = min(sqrt(max(1.0 - facing * facing, 0.0)) / facing, STEEPEST);
    return step(at.z - frame.lights[light].bias * (1.0 + 1.42 * slope), textureLoad(maps, texel, light, 0));
}
