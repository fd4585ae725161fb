// What is seen, lit: what it is made of at a point, and what of the light comes back from it. The instance is the number
// of the look.

struct Corner {
    @builtin(position) clip: vec4f,
    @location(0) @interpolate(flat) look: u32,
}

@vertex
fn cover(@builtin(vertex_index) index: u32, @builtin(instance_index) look: u32) -> Corner {
    return Corner(over_all(index), look);
}

// A sample, or several that are one.
struct Spot {
    sample: vec2u,
    room: vec3f,
    normal: vec3f,
}

// Whether the look is a wood; told where the pass is made, for a pass that asks what it is told takes longer.
override IS_WOOD: bool = true;

@fragment
fn lit(corner: Corner) -> @location(0) vec4f {
    let pixel = 2 * vec2i(corner.clip.xy);
    // A bit for each sample of the look that is not lit yet.
    var left = 0u;
    for (var k = 0u; k < 4u; k++) {
        let sample = textureLoad(samples, pixel + beside(k), 0).xy;
        left |= select(0u, 1u << k, look_of(sample) == corner.look);
    }
    let share = 0.25 * f32(countOneBits(left));
    // Samples of one face are lit as one.
    var sum = vec3f(0.0);
    var face = Face(vec3f(0.0), vec3f(0.0), 0.0, vec3f(0.0), vec3f(0.0));
    var color = vec3f(0.0);
    while left != 0u {
        let first = spot(pixel + beside(firstTrailingBit(left)));
        left &= left - 1u;
        var room = first.room;
        var count = 1.0;
        for (var k = 0u; k < 4u; k++) {
            let other = spot(pixel + beside(k));
            if (left & (1u << k)) != 0u && is_same(first, other) {
                room += other.room;
                count += 1.0;
                left &= ~(1u << k);
            }
        }
        let spot = Spot(first.sample, room / count, first.normal);
        let got = shade(spot, vec2u(corner.clip.xy));
        sum += 0.25 * count * (got.color * got.matt + got.gloss);
        color = got.color;
        face = Face(spot.room, spot.normal, select(0.0, 1.0, count == 4.0), got.matt, got.gloss);
    }
    let even = among_neighbours(face, corner.clip.xy);
    if share == 0.0 {
        discard;
    }
    return vec4f(select(sum, color * even.matt + even.gloss, face.is_whole > 0.5), share);
}

// What a pixel shows, if all of its samples are of one face, and what comes back of the light on it: as a multiple of its
// colour, and besides.
struct Face {
    room: vec3f,
    normal: vec3f,
    is_whole: f32,
    matt: vec3f,
    gloss: vec3f,
}

// What comes back of the light as the mean of those pixels of the two by two that show the same face: these have all sets
// of lights between them. The colour is each pixel's own.
fn among_neighbours(own: Face, at: vec2f) -> Face {
    let to = 1.0 - 2.0 * vec2f(vec2u(at) & vec2u(1u));
    let aside = beside_x(own, to.x);
    let over = beside_y(own, to.y);
    let across = beside_y(aside, to.y);
    let weights = vec3f(goes_on(own, aside), goes_on(own, over), goes_on(own, across));
    let count = 1.0 + weights.x + weights.y + weights.z;
    let matt = own.matt + weights.x * aside.matt + weights.y * over.matt + weights.z * across.matt;
    let gloss = own.gloss + weights.x * aside.gloss + weights.y * over.gloss + weights.z * across.gloss;
    return Face(own.room, own.normal, own.is_whole, matt / count, gloss / count);
}

// The face of the pixel to the right or to the left; the hardware works on two by two pixels, and knows how they differ.
fn beside_x(own: Face, to: f32) -> Face {
    return Face(
        own.room + to * dpdxFine(own.room),
        own.normal + to * dpdxFine(own.normal),
        own.is_whole + to * dpdxFine(own.is_whole),
        own.matt + to * dpdxFine(own.matt),
        own.gloss + to * dpdxFine(own.gloss)
    );
}

// The same below or above.
fn beside_y(own: Face, to: f32) -> Face {
    return Face(
        own.room + to * dpdyFine(own.room),
        own.normal + to * dpdyFine(own.normal),
        own.is_whole + to * dpdyFine(own.is_whole),
        own.matt + to * dpdyFine(own.matt),
        own.gloss + to * dpdyFine(own.gloss)
    );
}

// 1 if two pixels show one smooth face, or else 0.
fn goes_on(a: Face, b: Face) -> f32 {
    let off = max(abs(dot(a.normal, b.room - a.room)), abs(dot(b.normal, b.room - a.room)));
    let near = 0.4 * frame.pixel * distance(frame.eye, a.room);
    let is_one = min(a.is_whole, b.is_whole) > 0.5 && dot(a.normal, b.normal) > 0.98 && off < near;
    return select(0.0, 1.0, is_one);
}

// From the first sample of a pixel to another.
fn beside(k: u32) -> vec2i {
    return vec2i(i32(k & 1u), i32(k >> 1u));
}

fn spot(place: vec2i) -> Spot {
    let sample = textureLoad(samples, place, 0).xy;
    let face = seen_at(vec2f(place) + 0.5, textureLoad(depths, place, 0));
    let share = select(1.0, share_to(face, frame.plane), (sample.y & IS_CAP) != 0u);
    return Spot(sample, mix(frame.eye, face, share), unpacked(sample.x));
}

// Whether two samples of a pixel lie on one smooth face of one colour.
fn is_same(a: Spot, b: Spot) -> bool {
    let off = abs(dot(a.normal, b.room - a.room));
    let near = 0.4 * frame.pixel * distance(frame.eye, a.room);
    return a.sample.y == b.sample.y && dot(a.normal, b.normal) > 0.995 && off < near;
}

fn unpacked(word: u32) -> vec3f {
    let flat = unpack2x16snorm(word);
    let up = 1.0 - abs(flat.x) - abs(flat.y);
    let folded = (1.0 - abs(flat.yx)) * select(vec2f(-1.0), vec2f(1.0), flat >= vec2f(0.0));
    return normalize(vec3f(select(flat, folded, up < 0.0), up));
}

// A surface as light meets it.
struct Surface {
    color: vec3f,
    roughness: f32,
    // How much of the finish's gloss there is.
    gloss: f32,
    // Along the fibres, in the room; zero where there are none.
    fibre: vec3f,
}

// What a surface is made of, and what comes back from it of the light of one set: as a multiple of its colour, and besides.
struct Shade {
    color: vec3f,
    matt: vec3f,
    gloss: vec3f,
}

fn shade(at: Spot, pixel: vec2u) -> Shade {
    let first = first_light(pixel);
    let chances = chances_of(pixel);
    let to_eye = normalize(frame.eye - at.room);
    var surface = Surface(body.early, body.roughness, 1.0, vec3f(0.0));
    if (at.sample.y & IS_PAINTED) != 0u {
        surface.color = light_of(unpack4x8unorm(at.sample.y).rgb);
    } else if IS_WOOD {
        surface = wood(to_piece(at.room), to_piece(at.normal), frame.pixel * distance(frame.eye, at.room));
    }
    var sum = Shade(surface.color, vec3f(0.0), vec3f(0.0));
    for (var light = first; light < first + LIGHTS; light++) {
        let toward = frame.lights[light].toward;
        let facing = dot(at.normal, toward);
        if facing > 0.0 {
            let lit = reaches(light, at.room, at.normal, facing, slack(light, facing), chances);
            let got = frame.lights[light].power * (facing * lit);
            let shares = back(surface, at.normal, to_eye, toward, frame.lights[light].breadth);
            sum.matt += got * shares.x;
            sum.gloss += got * shares.y;
        }
    }
    return sum;
}

// What throws shadows is thinned. A section shows faces from both sides, each of which would throw one on itself.
fn slack(light: u32, facing: f32) -> f32 {
    let is_cut = any(frame.plane.xyz != vec3f(0.0));
    return frame.lights[light].bias * select(1.0, 2.5 / max(facing, 0.12), is_cut);
}

fn square(x: f32) -> f32 {
    return x * x;
}

fn fourth(x: f32) -> f32 {
    return square(square(x));
}

fn fifth(x: f32) -> f32 {
    return fourth(x) * x;
}

// The light of an sRGB colour (IEC 61966-2-1).
fn light_of(color: vec3f) -> vec3f {
    return select(pow((color + 0.055) / 1.055, vec3f(2.4)), color / 12.92, color <= vec3f(0.04045));
}

// The share of light that a surface sends to the eye, of what a white matt one would: as a multiple of its colour, and
// besides.
fn back(surface: Surface, normal: vec3f, to_eye: vec3f, toward: vec3f, breadth: f32) -> vec2f {
    let half = normalize(to_eye + toward);
    let n_h = max(dot(normal, half), 0.0);
    let n_e = max(dot(normal, to_eye), 0.03);
    let n_l = max(dot(normal, toward), 0.03);
    let e_h = clamp(dot(to_eye, half), 0.0, 1.0);
    // Trowbridge and Reitz's lobe, with Smith's shadowing as Schlick simplifies it.
    let rough = max(surface.roughness, breadth);
    let a = rough * rough;
    let d = n_h * n_h * (a * a - 1.0) + 1.0;
    let k = 0.5 * a;
    let lobe = a * a / (4.0 * d * d * (n_e * (1.0 - k) + k) * (n_l * (1.0 - k) + k));
    let rest = fifth(1.0 - e_h);
    let metal = vec2f(1.0 - rest, rest) * lobe;
    let mirrored = 0.04 + 0.96 * rest;
    // Fibres are cylinders: they send light into a cone about themselves (Kajiya and Kay).
    let along = dot(surface.fibre, half);
    let eighth = fourth(square(max(1.0 - along * along, 0.0)));
    let shimmer = eighth * eighth * eighth * dot(surface.fibre, surface.fibre) * 0.22;
    let plain = vec2f((1.0 - mirrored) * (0.89 + shimmer), mirrored * lobe * surface.gloss);
    return mix(plain, metal, body.metallic);
}

// Numbers without order for a cell, 0 ... 1 (Jarzynski and Olano, Hash functions for GPU rendering, JCGT 2020: pcg3d).
fn chance(cell: vec3i) -> vec3f {
    var v = bitcast<vec3u>(cell) * 1664525u + 1013904223u;
    v.x += v.y * v.z;
    v.y += v.z * v.x;
    v.z += v.x * v.y;
    v ^= v >> vec3u(16u);
    v.x += v.y * v.z;
    v.y += v.z * v.x;
    v.z += v.x * v.y;
    return vec3f(v >> vec3u(8u)) / 16777216.0;
}

// Cells are told apart by the sum of their coordinates times these.
const KEYS = vec3u(2654435769u, 2246822519u, 3266489917u);
const HALF: f32 = 2147483648.0;

// A number without order for such a sum, −HALF ... HALF (Wellons, Prospecting for hash functions, 2018: lowbias32, cut
// short). Noise asks for so many that they must be cheap.
fn toss(sum: u32) -> f32 {
    var v = (sum ^ (sum >> 16u)) * 0x7feb352du;
    v = (v ^ (v >> 15u)) * 0x846ca68bu;
    return f32(bitcast<i32>(v));
}

fn tosses(sums: vec4u) -> vec4f {
    return vec4f(toss(sums.x), toss(sums.y), toss(sums.z), toss(sums.w));
}

// Smooth noise, −1 ... 1, that changes within a length of 1.
fn noise(at: vec3f) -> f32 {
    let cell = floor(at);
    let near = bitcast<vec3u>(vec3i(cell)) * KEYS;
    let far = near + KEYS;
    let f = at - cell;
    let s = f * f * (3.0 - 2.0 * f);
    let sums = vec4u(near.yy, far.yy) + vec4u(near.z, far.z, near.z, far.z);
    let along = mix(tosses(near.x + sums), tosses(far.x + sums), s.x);
    let across = mix(along.xy, along.zw, s.y);
    return mix(across.x, across.y, s.z) / HALF;
}

// Smooth noise along a line, of which there are many, −0.5 ... 0.5.
fn wander(at: f32, line: u32) -> f32 {
    let cell = floor(at);
    let near = bitcast<u32>(i32(cell)) * KEYS.x + line * KEYS.y;
    let f = at - cell;
    return 0.5 * mix(toss(near), toss(near + KEYS.x), f * f * (3.0 - 2.0 * f)) / HALF;
}

// How much is left to be seen of what is so large, at so large a pixel.
fn kept(size: f32, pixel: f32) -> f32 {
    return 1.0 - smoothstep(0.4, 1.6, pixel / size);
}

// Where a point is in the tree: along it, out from the pith, and around it, mm; in which ring, and how far in that; and the
// way out, across the axis.
struct Tree {
    along: f32,
    out: f32,
    around: f32,
    ring: f32,
    season: f32,
    outward: vec2f,
}

// Borders of rings are frayed, by some mm, for fibres that grew side by side did not stop together.
fn tree(p: vec3f, frayed: f32) -> Tree {
    // The pith leans against the axis and is never quite straight.
    let bend = vec2f(wander(p.x / 70.0, 1u), wander(p.x / 70.0, 2u));
    let across = p.yz - body.pith - vec2f(0.022, -0.034) * p.x - bend * 1.6;
    let out = length(across);
    // Rings bulge a little where others lag, and are not all as wide.
    let bulge = noise(vec3f(p.x / 55.0, across / 14.0)) * 0.32 + noise(vec3f(p.x / 16.0, across / 4.0)) * 0.06;
    let even = (out + frayed) / body.ring + bulge;
    let count = even + 0.65 * wander(even * 0.55, 3u) + 1.2 * wander(even * 0.13, 4u);
    let around = atan2(across.y, across.x) * length(body.pith);
    return Tree(p.x, out, around, floor(count), fract(count), across / max(out, 1e-3));
}

// How much latewood, 0 ... 1: rises over the ring, and ends where the next begins. A pixel takes in a share of a ring; what
// is thinner is drawn as wide, and so much paler, or lines would come apart into dots.
fn latewood(season: f32, pixel: f32) -> f32 {
    let wide = max(body.late_share, 1.2 * pixel);
    let full = 1.0 - wide;
    let rise = smoothstep(full - body.gradual * full, full + 0.35 * wide, season);
    return body.late_share / wide * rise * (1.0 - smoothstep(1.0 - max(0.035, 0.5 * pixel), 1.0, season));
}

// How much of a vessel, 0 ... 1: a thin tube along the grain, or none, in each cell of a lattice.
fn vessel(at: Tree, pixel: f32) -> f32 {
    let side = 2.0 * body.pore_width;
    let column = vec2f(at.out, at.around) / side;
    let place = vec2i(floor(column));
    // Neighbours along the grain do not begin together.
    let along = at.along / body.pore_length + chance(vec3i(place, 11)).x * 7.0;
    let cell = vec3i(place, i32(floor(along)));
    let luck = chance(cell);
    let early = mix(1.0, 1.35 * (1.0 - smoothstep(0.18, 0.4, at.season)), body.ring_porous);
    let share = body.pores * early;
    let radius = 0.25 * (0.7 + 0.6 * luck.y);
    // The last digits of a chance are one of their own.
    let center = vec2f(0.5) + (fract(luck.xy * 4096.0) - 0.5) * 0.45;
    let within = 2.0 * fract(along) - 1.0;
    let thick = radius * sqrt(1.0 - within * within);
    let blur = clamp(pixel / side, 0.04, 0.5);
    let inside = 1.0 - smoothstep(thick - blur, thick + blur, distance(fract(column), center));
    // Where cells are smaller than pixels, only their mean is left.
    return mix(0.13 * share, select(0.0, inside, luck.x < share), kept(side, pixel));
}

// How much of a ray, 0 ... 1: an upright sheet that runs outward, thin around the tree and of some height along it.
fn ray(at: Tree, pixel: f32) -> f32 {
    let side = 5.0 * body.ray_width;
    let drift = 0.35 * noise(vec3f(at.along / (2.0 * body.ray_height), at.out / 9.0, at.around / 9.0));
    let column = at.around / side + drift;
    let place = i32(floor(column));
    let far = i32(floor(at.out / 17.0 + chance(vec3i(place, 5, 3)).x));
    let along = at.along / (1.25 * body.ray_height) + chance(vec3i(place, far, 23)).x * 5.0;
    let luck = chance(vec3i(place, far, i32(floor(along))));
    let within = 2.0 * fract(along) - 1.0;
    let thick = 0.1 * (0.5 + luck.y) * sqrt(1.0 - within * within);
    let blur = clamp(pixel / side, 0.02, 0.5);
    let off = abs(fract(column) - 0.3 - 0.4 * luck.z);
    let inside = (1.0 - smoothstep(thick - blur, thick + blur, off)) * min(1.0, thick / blur + 0.15);
    return mix(0.13 * body.rays, select(0.0, inside, luck.x < body.rays), kept(side, pixel));
}

// Wood at a point of the piece frame, whose axis the fibres follow.
fn wood(p: vec3f, normal: vec3f, pixel: f32) -> Surface {
    let fine = noise(vec3f(p.x / 9.0, p.yz / 0.22)) * kept(0.22, pixel);
    let coarse = noise(vec3f(p.x / 34.0, p.yz / 1.1)) * kept(1.1, pixel);
    let at = tree(p, 0.045 * fine + 0.11 * coarse);
    let of_ring = chance(vec3i(i32(at.ring), 1, 1));
    let toward_bark = square(dot(normal.yz, at.outward));
    let clear = latewood(at.season, pixel / body.ring * sqrt(max(1.0 - toward_bark, 0.0)));
    let seasons = mix(0.4 * body.late_share + 0.1, clear, kept(0.6 * body.ring, pixel));
    // Where a face runs along a thin layer, light comes back from beneath it too.
    let late = seasons * (0.55 + 0.7 * of_ring.x) * (1.0 - 0.35 * square(toward_bark));
    let cloud = noise(vec3f(p.x / 85.0, p.yz / 16.0)) + 0.5 * noise(vec3f(p.x / 30.0, p.yz / 6.0));
    let darker = body.streaks * (0.13 * fine + 0.15 * coarse) + body.clouds * 0.3 * cloud;
    var color = mix(body.early, body.late, clamp(late + 0.9 * darker, -0.15, 1.3)) * (1.0 - 0.3 * darker);
    // Cut across, the ends of the fibres drink the finish and show darker.
    let end = smoothstep(0.25, 0.95, abs(normal.x));
    let aside = square(dot(normal.yz, vec2f(-at.outward.y, at.outward.x)));
    color = mix(color, mix(body.ray, body.fleck, max(aside, end)), 0.55 * ray(at, pixel));
    let hollow = vessel(at, pixel);
    color = mix(color, body.pore, 0.85 * hollow);
    color *= 1.0 - vec3f(0.13, 0.2, 0.27) * end;
    // Fibres that wave in and out shimmer.
    let wave = body.figure * 0.34 * noise(vec3f(p.x / 5.5, p.yz / 15.0)) + 0.05 * fine;
    let fibre = normalize(vec3f(1.0, wave, 0.6 * wave)) * (1.0 - end);
    return Surface(max(color, vec3f(0.0)), mix(body.roughness, 0.6, 0.6 * end), (1.0 - 0.6 * hollow) * (1.0 - 0.5 * end), to_room(fibre));
}
