// How far from the eye what is seen is, mm.

struct Point {
    @builtin(position) clip: vec4f,
    @location(0) room: vec3f,
}

@vertex
fn place(@location(0) position: vec3f) -> Point {
    let room = to_room(position);
    return Point(frame.to_clip * vec4f(room, 1.0), room);
}

@fragment
fn whole(point: Point) -> @location(0) f32 {
    return distance(point.room, frame.eye);
}

struct Pixel {
    @location(0) distance: f32,
    @builtin(frag_depth) depth: f32,
}

@fragment
fn cut(point: Point, @builtin(front_facing) is_front: bool) -> Pixel {
    let seen = through_section(point.room, vec3f(0.0), is_front);
    if seen.is_gone {
        discard;
    }
    return Pixel(distance(seen.room, frame.eye), nearness(seen, point.room));
}
