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
    for (var light = 0u; light < LIGHTS; light++) {
        let facing = dot(frame.up, frame.lights[light].toward);
        if facing > 0.0 {
            got += frame.lights[light].power.g * facing * reaches(light, room, frame.up, facing, 0.0);
        }
    }
    let inside = smoothstep(vec2f(0.0), frame.rim, 1.0 - abs(point.place));
    return vec4f(0.0, 0.0, 0.0, (1.0 - clamp(got / frame.open, 0.0, 1.0)) * inside.x * inside.y);
}
