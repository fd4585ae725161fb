// The ground: the shadow on it, as alpha over black.

@group(1) @binding(0) var baked: texture_2d<f32>;

struct Point {
    @builtin(position) clip: vec4f,
    @location(0) place: vec2f,
}

@vertex
fn place(@builtin(vertex_index) index: u32) -> Point {
    let place = vec2f(f32(index & 1u), f32(index >> 1u)) * 2.0 - 1.0;
    let room = frame.middle + frame.across * place.x + frame.along * place.y;
    return Point(frame.to_clip * vec4f(room, 1.0), place);
}

@fragment
fn shadow(point: Point) -> @location(0) vec4f {
    let size = vec2f(textureDimensions(baked));
    let at = (point.place * 0.5 + 0.5) * size - 0.5;
    let first = vec2i(floor(at));
    let within = at - floor(at);
    let low = mix(dark(first), dark(first + vec2i(1, 0)), within.x);
    let high = mix(dark(first + vec2i(0, 1)), dark(first + vec2i(1, 1)), within.x);
    let shadow = mix(low, high, within.y);
    // Programs that lay the picture over another colour mix sRGB values, not light.
    let mixed = 1.0 - select(1.055 * pow(1.0 - shadow, 1.0 / 2.4) - 0.055, 12.92 * (1.0 - shadow), shadow > 0.9968);
    return vec4f(0.0, 0.0, 0.0, select(shadow, mixed, frame.is_clear == 1u));
}

fn dark(place: vec2i) -> f32 {
    let inside = clamp(place, vec2i(0), vec2i(textureDimensions(baked)) - 1);
    return clamp(textureLoad(baked, inside, 0).a * frame.baked_share, 0.0, 1.0);
}
