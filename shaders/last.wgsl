// From sums of light to a picture: tone, ground, sRGB.

struct Last {
    ground: vec3f,
    kind: u32,
    size: vec2f,
    // Where in the whole picture this part of it begins.
    start: vec2f,
    share: f32,
    unused: f32,
    more: vec2f,
}

@group(0) @binding(0) var<uniform> last: Last;
@group(0) @binding(1) var sums: texture_2d<f32>;

const PLAIN: u32 = 1u;
const STUDIO: u32 = 2u;

@vertex
fn cover(@builtin(vertex_index) index: u32) -> @builtin(position) vec4f {
    return vec4f(f32(index & 1u) * 4.0 - 1.0, f32(index >> 1u) * 4.0 - 1.0, 0.0, 1.0);
}

// Straight up to a knee, and from there softly into white.
fn tone(light: vec3f) -> vec3f {
    const KNEE: f32 = 0.7;
    const WHITE: f32 = 3.0;
    let over = max(light - KNEE, vec3f(0.0)) / (1.0 - KNEE);
    let soft = over * (1.0 + over / (WHITE * WHITE)) / (1.0 + over);
    return min(light, vec3f(KNEE)) + (1.0 - KNEE) * min(soft, vec3f(1.0));
}

// Each part by itself bends bright colours, for the greatest is held back the most: wood in the sun would turn yellow. All
// by the greatest keeps the hue, and has no white highlights; so, some of both.
fn toned(light: vec3f) -> vec3f {
    let peak = max(max(light.r, light.g), max(light.b, 1e-4));
    return mix(light * (tone(vec3f(peak)).r / peak), tone(light), 0.3);
}

fn to_srgb(light: vec3f) -> vec3f {
    let low = light * 12.92;
    let high = 1.055 * pow(max(light, vec3f(0.0031308)), vec3f(1.0 / 2.4)) - 0.055;
    return select(high, low, light <= vec3f(0.0031308));
}

@fragment
fn finish(@builtin(position) at: vec4f) -> @location(0) vec4f {
    let sum = textureLoad(sums, vec2i(at.xy), 0) * last.share;
    let alpha = clamp(sum.a, 0.0, 1.0);
    let shown = toned(sum.rgb / max(alpha, 1e-4));
    if last.kind == PLAIN {
        return vec4f(to_srgb(mix(last.ground, shown, alpha)), 1.0);
    }
    if last.kind == STUDIO {
        // Half a step of disorder keeps the long gradient of the sweep from showing its steps (Jimenez, Next generation
        // post processing in Call of Duty, SIGGRAPH 2014: interleaved gradient noise).
        let place = at.xy + last.start;
        let disorder = fract(52.9829189 * fract(dot(floor(place), vec2f(0.06711056, 0.00583715)))) - 0.5;
        return vec4f(to_srgb(mix(studio(place / last.size), shown, alpha)) + disorder / 255.0, 1.0);
    }
    return vec4f(to_srgb(shown), alpha);
}

// A paper sweep: lightest where the piece stands, falling off behind and to the corners.
fn studio(at: vec2f) -> vec3f {
    let behind = smoothstep(0.75, 0.0, at.y);
    let corner = smoothstep(0.3, 1.1, length((at - vec2f(0.5, 0.62)) * vec2f(1.0, 1.1)));
    return vec3f(0.80, 0.795, 0.785) * (1.0 - 0.3 * behind) * (1.0 - 0.2 * corner);
}
