// Adds a pass to those before it.

@group(0) @binding(0) var latest: texture_2d<f32>;
@group(0) @binding(1) var before: texture_2d<f32>;

@vertex
fn cover(@builtin(vertex_index) index: u32) -> @builtin(position) vec4f {
    return vec4f(f32(index & 1u) * 4.0 - 1.0, f32(index >> 1u) * 4.0 - 1.0, 0.0, 1.0);
}

@fragment
fn add(@builtin(position) at: vec4f) -> @location(0) vec4f {
    let pixel = vec2i(at.xy);
    return textureLoad(before, pixel, 0) + textureLoad(latest, pixel, 0);
}
