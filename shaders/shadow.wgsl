// A map of shadows: how far from a light the surfaces are. The instance is the number of the light.

struct Point {
    @builtin(position) clip: vec4f,
    @location(0) room: vec3f,
}

@vertex
fn place(@location(0) position: vec3f, @builtin(instance_index) light: u32) -> Point {
    let room = to_room(position);
    return Point(frame.lights[light].to_map * vec4f(room, 1.0), room);
}

// Only bodies that the section cuts have a fragment stage here.
@fragment
fn cut(point: Point) {
    if is_cut(point.room) {
        discard;
    }
}
