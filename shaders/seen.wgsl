// What of the bodies is seen at each sample. The instance is the number of the look.

struct Point {
    @builtin(position) clip: vec4f,
    @location(0) room: vec3f,
    @location(1) normal: vec3f,
    @location(2) @interpolate(flat) paint: u32,
}

@vertex
fn place(
    @location(0) position: vec3f,
    @location(1) normal: vec4f,
    @location(2) color: vec4u,
    @builtin(instance_index) look: u32,
) -> Point {
    let room = to_room(position);
    let painted = color.r | color.g << 8u | color.b << 16u | select(0u, IS_PAINTED, color.a > 127u);
    return Point(frame.to_clip * vec4f(room, 1.0), room, to_room(normal.xyz), painted | look << 24u);
}

@fragment
fn whole(point: Point) -> @location(0) vec2u {
    return vec2u(packed(normalize(point.normal)), point.paint);
}

struct Sample {
    @location(0) seen: vec2u,
    @builtin(frag_depth) depth: f32,
}

@fragment
fn cut(point: Point, @builtin(front_facing) is_front: bool) -> Sample {
    let seen = through_section(point.room, normalize(point.normal), is_front);
    if seen.is_gone {
        discard;
    }
    // Colours of triangles are those of their surface; the inside is the look's own.
    let paint = select(point.paint, IS_CAP | (point.paint & ~IS_PAINTED), seen.is_cap);
    return Sample(vec2u(packed(seen.normal), paint), nearness(seen, point.room));
}

// A unit vector on an octahedron, unfolded (Cigolle and others, Survey of efficient representations for independent unit
// vectors, JCGT 2014).
fn packed(normal: vec3f) -> u32 {
    let flat = normal.xy / (abs(normal.x) + abs(normal.y) + abs(normal.z));
    let folded = (1.0 - abs(flat.yx)) * select(vec2f(-1.0), vec2f(1.0), flat >= vec2f(0.0));
    return pack2x16snorm(select(flat, folded, normal.z < 0.0));
}
