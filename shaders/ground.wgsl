// Adds the ground where nothing else is seen: the shadow on it, as alpha over black.

@group(1) @binding(0) var baked: texture_2d<f32>;
@group(1) @binding(1) var sums: texture_2d<f32>;

@vertex
fn cover(@builtin(vertex_index) index: u32) -> @builtin(position) vec4f {
    return over_all(index);
}

@fragment
fn shadow(@builtin(position) at: vec4f) -> @location(0) vec4f {
    let sum = textureLoad(sums, vec2i(at.xy), 0);
    let way = seen_at(2.0 * at.xy, 0.5);
    let share = share_to(way, vec4f(frame.up, frame.ground));
    let aside = mix(frame.eye, way, share) - frame.middle;
    let place = vec2f(dot(aside, frame.across), dot(aside, frame.along))
        / vec2f(dot(frame.across, frame.across), dot(frame.along, frame.along));
    if share <= 0.0 || any(abs(place) >= vec2f(1.0)) {
        return sum;
    }
    return sum + vec4f(0.0, 0.0, 0.0, max(frame.passes - sum.a, 0.0) * shadow_at(place));
}

fn shadow_at(place: vec2f) -> f32 {
    let at = (place * 0.5 + 0.5) * vec2f(textureDimensions(baked)) - 0.5;
    let middle = floor(at + 0.5);
    // Between the means of two by two texels, which have all lights between them.
    let g = at + 0.5 - middle;
    let x = vec3f(0.5 - 0.5 * g.x, 0.5, 0.5 * g.x);
    let y = vec3f(0.5 - 0.5 * g.y, 0.5, 0.5 * g.y);
    let first = vec2i(middle) - 1;
    let shadow = dot(y, vec3f(dot(x, dark(first)), dot(x, dark(first + vec2i(0, 1))), dot(x, dark(first + vec2i(0, 2)))));
    // Programs that lay the picture over another colour mix sRGB values, not light.
    let mixed = 1.0 - select(1.055 * pow(1.0 - shadow, 1.0 / 2.4) - 0.055, 12.92 * (1.0 - shadow), shadow > 0.9968);
    return select(shadow, mixed, frame.is_clear == 1u);
}

// How dark three texels side by side are.
fn dark(first: vec2i) -> vec3f {
    return vec3f(dark_at(first), dark_at(first + vec2i(1, 0)), dark_at(first + vec2i(2, 0)));
}

fn dark_at(place: vec2i) -> f32 {
    let inside = clamp(place, vec2i(0), vec2i(textureDimensions(baked)) - 1);
    return clamp(textureLoad(baked, inside, 0).a * frame.baked_share, 0.0, 1.0);
}
