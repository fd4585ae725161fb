// Bodies, lit.

struct Point {
    @builtin(position) clip: vec4f,
    @location(0) room: vec3f,
    @location(1) normal: vec3f,
    @location(2) color: vec4f,
}

@vertex
fn place(@location(0) position: vec3f, @location(1) normal: vec4f, @location(2) color: vec4f) -> Point {
    let room = to_room(position);
    return Point(frame.to_clip * vec4f(room, 1.0), room, to_room(normal.xyz), color);
}

@fragment
fn whole(point: Point) -> @location(0) vec4f {
    return vec4f(shade(point.room, normalize(point.normal), point.color), 1.0);
}

struct Pixel {
    @location(0) color: vec4f,
    @builtin(frag_depth) depth: f32,
}

@fragment
fn cut(point: Point, @builtin(front_facing) is_front: bool) -> Pixel {
    let seen = through_section(point.room, normalize(point.normal), is_front);
    // Colours of triangles are those of their surface; the inside is the finish's own.
    let color = select(point.color, vec4f(0.0), seen.is_cap);
    let shaded = shade(seen.room, seen.normal, color);
    if seen.is_gone {
        discard;
    }
    let clip = frame.to_clip * vec4f(seen.room, 1.0);
    return Pixel(vec4f(shaded, 1.0), clip.z / clip.w);
}

fn shade(room: vec3f, normal: vec3f, color: vec4f) -> vec3f {
    let to_eye = normalize(frame.eye - room);
    let own = mix(body.early, color.rgb, color.a);
    var sum = vec3f(0.0);
    for (var light = 0u; light < LIGHTS; light++) {
        let facing = dot(normal, frame.lights[light].toward);
        if facing > 0.0 {
            let got = frame.lights[light].power * facing * reaches(light, room);
            sum += got * own;
        }
    }
    return sum;
}
