// What of its light the bodies keep from each place of the ground.

struct Point {
    @builtin(position) clip: vec4f,
    @location(0) place: vec2f,
}

@vertex
fn place(@builtin(vertex_index) index: u32) -> Point {
    let corner = vec2f(f32(index & 1u), f32(index >> 1u)) * 4.0 - 1.0;
    return Point(vec4f(corner, 0.0, 1.0), corner * vec2f(1.0, -1.0));
}

@fragment
fn shadow(point: Point) -> @location(0) vec4f {
    let room = frame.middle + frame.across * point.place.x + frame.along * point.place.y;
    var got = 0.0;
    var open = 0.0;
    // Every other texel has the same two sets; what is seen of the ground is the mean of texels of both kinds.
    let chances = chances_of(vec2u(point.clip.xy));
    let half = (u32(point.clip.x) + u32(point.clip.y) + frame.number) & 1u;
    for (var number = 0u; number < 2u * LIGHTS; number++) {
        let light = number + LIGHTS * (half + select(0u, 1u, number >= LIGHTS));
        let facing = dot(frame.up, frame.lights[light].toward);
        if facing > 0.0 {
            let power = frame.lights[light].power.g * facing;
            open += power;
            // What touches the ground hides it, though it lies no deeper; the ground itself is on no map.
            got += power * reaches(light, room, frame.up, facing, -frame.lights[light].bias, chances);
        }
    }
    let inside = smoothstep(vec2f(0.0), frame.rim, 1.0 - abs(point.place));
    return vec4f(0.0, 0.0, 0.0, (1.0 - clamp(got / open, 0.0, 1.0)) * inside.x * inside.y);
}
