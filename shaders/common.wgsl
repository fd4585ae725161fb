// What all passes share: what they are told, the section, and shadows.

// Lights that light a pixel in one pass, and sets of them, between which the pixels alternate.
const LIGHTS: u32 = 20u;
const SETS: u32 = 4u;
// Side of a map of shadows, texels.
const MAP: f32 = 512.0;
// Maps side by side, and below each other.
const ACROSS: u32 = 8u;
const DOWN: u32 = 10u;

struct Light {
    // From the room to its map of shadows.
    to_map: mat4x4f,
    toward: vec3f,
    bias: f32,
    power: vec3f,
    breadth: f32,
    // In the room, from the middle of a texel of its map to the next ones: to the right, and down.
    texel_right: vec3f,
    // How much depth of its map a millimetre is.
    deep: f32,
    texel_down: vec3f,
    // How far from it the part of the sky reaches that it stands for, as a tangent.
    spread: f32,
}

struct Frame {
    to_clip: mat4x4f,
    from_clip: mat4x4f,
    eye: vec3f,
    // Width of a pixel at a distance of 1.
    pixel: f32,
    // What has dot(xyz, p) > w is cut away.
    plane: vec4f,
    up: vec3f,
    ground: f32,
    middle: vec3f,
    unused: f32,
    across: vec3f,
    is_clear: u32,
    along: vec3f,
    // One over the passes in which the ground was baked.
    baked_share: f32,
    rim: vec2f,
    // The passes of the picture.
    passes: f32,
    // The number of this one.
    number: u32,
    lights: array<Light, LIGHTS * SETS>,
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
    fleck: vec3f,
    gradual: f32,
    turn: vec2f,
    ring_porous: f32,
    pore_width: f32,
    pore_length: f32,
    pores: f32,
    ray_width: f32,
    ray_height: f32,
    rays: f32,
    streaks: f32,
    clouds: f32,
    figure: f32,
    pith: vec2f,
    unused: vec2f,
}

@group(0) @binding(0) var<uniform> frame: Frame;
@group(0) @binding(1) var maps: texture_depth_2d;
@group(0) @binding(2) var texels: sampler;
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
    let share = share_to(room, frame.plane);
    return Seen(mix(frame.eye, room, share), frame.plane.xyz, true, share <= 0.0 || share > 1.0);
}

// How far faces seen from inside stand before what touches them from outside, mm.
const HAIR: f32 = 0.02;

// The point that decides what is nearer: the face's own, not that which shows.
fn nearness(seen: Seen, room: vec3f) -> f32 {
    let met = room + select(0.0, HAIR, seen.is_cap) * normalize(frame.eye - room);
    let clip = frame.to_clip * vec4f(met, 1.0);
    return clip.z / clip.w;
}

// The first light of the set that lights a pixel. Two by two pixels have all sets between them, and over the passes each has
// one after the other, so that what one set leaves in steps all of them fill.
fn first_light(pixel: vec2u) -> u32 {
    return LIGHTS * ((2u * (pixel.x & 1u) + 3u * (pixel.y & 1u) + frame.number) % SETS);
}

// The cosine below which a face is taken to be no steeper against a light: it gets next to nothing of it anyway.
const STEEPEST: f32 = 0.06;

// How much of a quarter of the sky around a light is open to chance: enough to break up the steps of four, too little to
// be seen as grain.
const DISORDER: f32 = 0.4;

// How much of a light reaches a point, 0 … 1, on a face that is turned to it by a cosine. What lies less than `slack` of a
// map's depth behind another surface is not in its shadow. `chances` are two numbers of a pixel, 0 … 1.
fn reaches(light: u32, room: vec3f, normal: vec3f, facing: f32, slack: f32, chances: vec2f) -> f32 {
    let at = (frame.lights[light].to_map * vec4f(room, 1.0)).xyz;
    if any(abs(at.xy) >= vec2f(1.0)) {
        return 1.0;
    }
    let place = (at.xy * vec2f(0.5, -0.5) + 0.5) * MAP - 0.5;
    let right = frame.lights[light].texel_right;
    let down = frame.lights[light].texel_down;
    let slopes = frame.lights[light].deep / max(facing, STEEPEST) * vec2f(dot(normal, right), dot(normal, down));
    let depth = at.z - slack;
    let behind = hidden(light, place, vec2f(0.0), slopes, depth);
    if behind <= 0.0 {
        return 1.0;
    }
    // A light stands for all of the sky up to the next ones: from somewhere there it may reach past what is in the way. So
    // shadows fade from one light's to the next one's, and no edge of a single one is seen.
    let reach = frame.lights[light].spread * behind / frame.lights[light].deep / vec2f(length(right), length(down));
    let chance = fract(chances + vec2f(0.7548777, 0.5698403) * f32(light + LIGHTS * SETS * frame.number));
    var lit = 0.0;
    for (var quarter = 0u; quarter < 4u; quarter++) {
        let sky = vec2f(vec2u(quarter & 1u, quarter >> 1u)) - 0.5 + DISORDER * (chance - 0.5);
        lit += select(0.0, 0.25, hidden(light, place, reach * sky, slopes, depth) <= 0.0);
    }
    return lit;
}

// By how much of a map's depth a face at a place among its texels lies behind another, looked at some texels aside; nought
// or less where it is lit. A texel knows the depth at its middle: what is asked is whether the face would be lit there,
// were it to go on straight. All four texels about the place must agree that it is, for one beyond a corner knows nothing
// of the wall there.
fn hidden(light: u32, place: vec2f, aside: vec2f, slopes: vec2f, depth: f32) -> f32 {
    let first = clamp(floor(place + aside), vec2f(0.0), vec2f(MAP - 2.0));
    // Nothing is smoothed here: the many lights are what makes shadows soft. The corner that four texels share gives all of
    // them: below on the left, on the right, and above on the right, on the left.
    let corner = first + 1.0 + MAP * vec2f(f32(light % ACROSS), f32(light / ACROSS));
    let met = textureGather(maps, texels, corner / (MAP * vec2f(f32(ACROSS), f32(DOWN))));
    let own = depth + dot(first - place, slopes) + vec4f(slopes.y, slopes.x + slopes.y, slopes.x, 0.0);
    let behind = own - met;
    return max(max(behind.x, behind.y), max(behind.z, behind.w));
}

// Two numbers of a pixel, 0 … 1, that are spread evenly over pixels side by side (Jimenez, Next generation post processing in
// Call of Duty, SIGGRAPH 2014: interleaved gradient noise).
fn chances_of(pixel: vec2u) -> vec2f {
    let at = vec2f(pixel & vec2u(63u));
    let spread = vec2f(dot(at, vec2f(0.06711056, 0.00583715)), dot(at.yx + 17.0, vec2f(0.06711056, 0.00583715)));
    return fract(52.9829189 * fract(spread));
}

// What is seen at each sample: two by two to a pixel. The first number is the normal, the second holds the colour of a
// triangle, red in the lowest byte, then the number of the look, and two marks.
@group(0) @binding(3) var samples: texture_2d<u32>;
@group(0) @binding(4) var depths: texture_depth_2d;

// The colour takes the place of the look's own.
const IS_PAINTED: u32 = 1u << 30u;
// The section's plane shows, not the face behind it.
const IS_CAP: u32 = 1u << 31u;

// The number of the look, from 1; 0 where nothing is seen.
fn look_of(sample: vec2u) -> u32 {
    return (sample.y >> 24u) & 63u;
}

// A point of the room that is seen at a place among the samples.
fn seen_at(place: vec2f, depth: f32) -> vec3f {
    let share = place / vec2f(textureDimensions(samples));
    let room = frame.from_clip * vec4f(share * vec2f(2.0, -2.0) + vec2f(-1.0, 1.0), depth, 1.0);
    return room.xyz / room.w;
}

// Where the way from the eye through a point of the room meets a plane, as a share of that way.
fn share_to(room: vec3f, plane: vec4f) -> f32 {
    return (plane.w - dot(plane.xyz, frame.eye)) / dot(plane.xyz, room - frame.eye);
}

// A corner of a triangle over the whole picture.
fn over_all(index: u32) -> vec4f {
    return vec4f(f32(index & 1u) * 4.0 - 1.0, f32(index >> 1u) * 4.0 - 1.0, 0.0, 1.0);
}
