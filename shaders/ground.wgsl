// The ground: what of its light the bodies keep from it, as alpha over black.

struct Point {
    @builtin(position) clip: vec4f,
    @location(0) room: vec3f,
    @location(1) disc: vec2f,
}

@vertex
fn place(@builtin(vertex_index) index: u32) -> Point {
    let disc = vec2f(f32(index & 1u), f32(index >> 1u)) * 2.0 - 1.0;
    let room = frame.middle + (frame.across * disc.x + frame.along * disc.y) * frame.radius;
    return Point(frame.to_clip * vec4f(room, 1.0), room, disc);
}

@fragment
fn shadow(point: Point) -> @location(0) vec4f {
    var got = 0.0;
    for (var light = 0u; light < LIGHTS; light++) {
        let facing = dot(frame.up, frame.lights[light].toward);
        if facing > 0.0 {
            got += frame.lights[light].power.g * facing * reaches(light, point.room);
        }
    }
    let rim = 1.0 - smoothstep(0.6, 1.0, length(point.disc));
    return vec4f(0.0, 0.0, 0.0, (1.0 - clamp(got / frame.open, 0.0, 1.0)) * rim);
}
