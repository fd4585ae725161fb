
"use strict";
(() => {
  const page = document.documentElement;
  const canvas = document.getElementById("piece");
  const about = JSON.parse(document.getElementById("about").textContent);

  // What the page tells of itself, for whoever looks from outside: what is shown, and why if it is the picture.
  const tell = (name, value) => { page.dataset[name] = value; };
  const give_up = (why) => {
    canvas.hidden = true;
    document.getElementById("help").hidden = true;
    document.getElementById("picture").hidden = false;
    tell("shown", "picture");
    tell("because", String(why && why.message || why));
  };

  // ---- The mesh -----------------------------------------------------------------------------------------------------

  const unpacked = async () => {
    const packed = Uint8Array.from(atob(document.getElementById("mesh").textContent), (c) => c.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  };

  // Streams of whole numbers, one after another: the differences from one number to the next, their signs in the lowest
  // bit, all lowest bytes first, then all second ones, and so on.
  const reader = (bytes) => {
    let at = 0;
    return (count, width) => {
      const numbers = new Int32Array(count);
      let sum = 0;
      for (let i = 0; i < count; i++) {
        let difference = 0;
        for (let plane = 0; plane < width; plane++) difference |= bytes[at + plane * count + i] << (8 * plane);
        sum += (difference >>> 1) ^ -(difference & 1);
        numbers[i] = sum;
      }
      at += count * width;
      return numbers;
    };
  };

  const mesh_of = (bytes) => {
    const { vertices, triangles } = about;
    const next = reader(bytes);
    const places = new Uint16Array(4 * vertices);
    const normals = new Int16Array(2 * vertices);
    for (let axis = 0; axis < 3; axis++) next(vertices, 3).forEach((value, i) => { places[4 * i + axis] = value; });
    for (let axis = 0; axis < 2; axis++) next(vertices, 3).forEach((value, i) => { normals[2 * i + axis] = value; });
    return { places, normals, corners: new Uint32Array(next(3 * triangles, 4)) };
  };

  // ---- The picture --------------------------------------------------------------------------------------------------

  const VERTEX = `#version 300 es
    uniform vec3 least, extent;
    uniform mat4 projection, view;
    in vec3 place;
    in vec2 normal;
    out vec3 spot, facing, seen;
    vec3 unfolded(vec2 p) {
      vec3 n = vec3(p, 1.0 - abs(p.x) - abs(p.y));
      float under = max(-n.z, 0.0);
      n.xy -= vec2(n.x < 0.0 ? -under : under, n.y < 0.0 ? -under : under);
      return normalize(n);
    }
    void main() {
      spot = least + place * extent;
      facing = mat3(view) * unfolded(normal);
      vec4 at = view * vec4(spot, 1.0);
      seen = at.xyz;
      gl_Position = projection * at;
    }`;

  // Wood is a solid: rings about a pith beside the axis, vessels and fibres along it. The noise is of a lattice with values
  // by a whole-number hash, so that it is the same on every machine.
  const FRAGMENT = `#version 300 es
    precision highp float;
    precision highp int;
    uniform bool wood;
    uniform vec3 early, late, pore;
    uniform vec2 pith;
    uniform float ring, lateShare, gradual, poreWidth, poreLength, pores, ringPorous, streaks, roughness, metallic;
    in vec3 spot, facing, seen;
    out vec4 color;

    float hashed(ivec3 p) {
      uint h = uint(p.x) * 0x8da6b343u ^ uint(p.y) * 0xd8163841u ^ uint(p.z) * 0xcb1ab31fu;
      h = (h ^ (h >> 13)) * 0x5bd1e995u;
      h = (h ^ (h >> 15)) * 0x27d4eb2du;
      return float((h ^ (h >> 16)) & 0xffffu) / 65535.0;
    }
    float noise(vec3 p) {
      vec3 low = floor(p), t = p - low;
      t = t * t * (3.0 - 2.0 * t);
      ivec3 i = ivec3(low), j = i + ivec3(0, 0, 1);
      vec4 near = vec4(hashed(i), hashed(i + ivec3(1, 0, 0)), hashed(i + ivec3(0, 1, 0)), hashed(i + ivec3(1, 1, 0)));
      vec4 far = vec4(hashed(j), hashed(j + ivec3(1, 0, 0)), hashed(j + ivec3(0, 1, 0)), hashed(j + ivec3(1, 1, 0)));
      vec4 m = mix(near, far, t.z);
      vec2 n = mix(m.xz, m.yw, t.x);
      return mix(n.x, n.y, t.y);
    }
    // What is finer than a pixel is not drawn: 1 where a length shows well, 0 where it does not.
    float shows(float length, float pixel) { return clamp(2.0 * length / max(pixel, 1e-6) - 0.6, 0.0, 1.0); }

    vec3 grown(vec3 p) {
      float pixel = length(fwidth(p));
      vec2 wander = ring * vec2(noise(vec3(p.x / 110.0, p.yz / 30.0)), noise(vec3(40.0 + p.x / 90.0, p.zy / 30.0)));
      float years = length(p.yz - pith + 0.8 * wander) / ring + 0.1 * noise(vec3(p.x / 60.0, p.yz / 4.0));
      // Some years grow fast, others slowly.
      years += 0.35 * noise(vec3(years * 0.9, 0.5, 0.5));
      // Lines that are thinner than a pixel are drawn as wide and so much paler, or they would come apart into dots.
      float step = fwidth(years), wide = max(lateShare, 1.2 * step);
      float share = fract(years), from = 1.0 - wide;
      float summer = smoothstep(from - gradual * from, from + 0.35 * wide, share)
        * (1.0 - smoothstep(1.0 - max(0.05, 0.5 * step), 1.0, share)) * lateShare / wide;
      float clear = 1.0 - smoothstep(0.25, 0.8, step);
      summer = mix(0.6 * lateShare + 0.1, summer, clear);
      summer *= mix(1.0, 0.7 + 0.6 * hashed(ivec3(int(floor(years)), 3, 7)), clear);
      vec3 own = mix(early, late, summer);
      float fibre = noise(vec3(p.x / 14.0, p.yz * 4.0)) + noise(vec3(p.x / 40.0, p.yz * 1.3)) - 1.0;
      own *= 1.0 + 0.3 * streaks * fibre * mix(0.5, 1.0, shows(0.25, pixel));
      float early_only = mix(1.0, 1.0 - smoothstep(0.1, 0.45, share), ringPorous);
      float vessel = noise(vec3(p.x / poreLength, p.yz * 0.5 / poreWidth));
      vessel = smoothstep(0.78 - 0.3 * pores, 0.86 - 0.3 * pores, vessel) * early_only;
      return mix(own, pore, mix(0.22 * pores * early_only, 0.75 * vessel, shows(poreWidth, pixel)));
    }
    // The share of light that a surface throws back toward the eye: Trowbridge and Reitz.
    vec3 shine(vec3 n, vec3 light, vec3 eye, vec3 own) {
      vec3 between = normalize(light + eye);
      float a = roughness * roughness, d = max(dot(n, between), 0.0), e = d * d * (a * a - 1.0) + 1.0;
      vec3 straight = mix(vec3(0.035), own, metallic);
      vec3 edge = straight + (1.0 - straight) * pow(1.0 - max(dot(between, eye), 0.0), 5.0);
      return edge * (a * a / (e * e * 4.0 * max(dot(light, between), 0.1))) * max(dot(n, light), 0.0);
    }
    vec3 shown(vec3 c) {
      c = c / (1.0 + 0.12 * c);
      return mix(12.92 * c, 1.055 * pow(max(c, 0.0), vec3(1.0 / 2.4)) - 0.055, step(0.0031308, c));
    }
    void main() {
      vec3 eye = normalize(-seen), n = normalize(facing);
      float turned = dot(n, eye);
      if (turned < 0.0) n = normalize(n - turned * 1.02 * eye);
      vec3 own = early;
      if (wood) own = grown(spot);
      const vec3 KEY = vec3(-0.436, 0.727, 0.533), FILL = vec3(0.843, 0.105, 0.527), RIM = vec3(0.25, 0.45, -0.857);
      float wrapped = max((dot(n, KEY) + 0.18) / 1.18, 0.0);
      vec3 light = 0.98 * wrapped * vec3(1.0, 0.97, 0.93) + 0.26 * max(dot(n, FILL), 0.0) * vec3(0.88, 0.94, 1.0)
        + 0.3 * max(dot(n, RIM), 0.0) + mix(vec3(0.20, 0.185, 0.17), vec3(0.36, 0.37, 0.39), 0.5 + 0.5 * n.y);
      vec3 c = own * light * (1.0 - 0.7 * metallic);
      c += 1.6 * shine(n, KEY, eye, own) + 0.5 * shine(n, FILL, eye, own) + 0.2 * shine(n, RIM, eye, own);
      vec3 mirrored = reflect(-eye, n);
      float rim = 0.035 + 0.965 * pow(1.0 - max(dot(n, eye), 0.0), 5.0);
      vec3 room = mix(vec3(0.32, 0.31, 0.30), vec3(0.95, 0.97, 1.0), smoothstep(-0.3, 0.9, mirrored.y));
      c += room * mix(vec3(0.2 * rim * (1.0 - roughness)), own * 0.75, metallic);
      color = vec4(shown(c), 1.0);
    }`;

  const compiled = (gl) => {
    const program = gl.createProgram();
    for (const [kind, source] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.bindAttribLocation(program, 0, "place");
    gl.bindAttribLocation(program, 1, "normal");
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) {
      const said = gl.getAttachedShaders(program).map((shader) => gl.getShaderInfoLog(shader));
      throw new Error([gl.getProgramInfoLog(program), ...said].join(" "));
    }
    return program;
  };

  const painter = (gl, mesh) => {
    const program = compiled(gl);
    const uniform = (name) => gl.getUniformLocation(program, name);
    const fill = (target, data) => {
      gl.bindBuffer(target, gl.createBuffer());
      gl.bufferData(target, data, gl.STATIC_DRAW);
    };
    gl.useProgram(program);
    fill(gl.ARRAY_BUFFER, mesh.places);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.UNSIGNED_SHORT, true, 8, 0);
    fill(gl.ARRAY_BUFFER, mesh.normals);
    gl.enableVertexAttribArray(1);
    gl.vertexAttribPointer(1, 2, gl.SHORT, true, 4, 0);
    fill(gl.ELEMENT_ARRAY_BUFFER, mesh.corners);
    for (const name of ["least", "extent"]) gl.uniform3fv(uniform(name), about[name]);
    for (const [name, value] of Object.entries(about.finish)) {
      if (value.length === 3) gl.uniform3fv(uniform(name), value);
      else if (value.length === 2) gl.uniform2fv(uniform(name), value);
      else gl.uniform1f(uniform(name), value);
    }
    gl.enable(gl.DEPTH_TEST);
    gl.clearColor(0, 0, 0, 0);
    const [projection, view] = [uniform("projection"), uniform("view")];
    return (camera) => {
      gl.viewport(0, 0, canvas.width, canvas.height);
      gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      gl.uniformMatrix4fv(projection, false, camera.projection());
      gl.uniformMatrix4fv(view, false, camera.view());
      gl.drawElements(gl.TRIANGLES, mesh.corners.length, gl.UNSIGNED_INT, 0);
    };
  };

  // ---- The camera ---------------------------------------------------------------------------------------------------

  const turned = (angle, [x, y, z]) => {
    const c = Math.cos(angle), s = Math.sin(angle), t = 1 - c;
    return [t * x * x + c, t * x * y + s * z, t * x * z - s * y, t * x * y - s * z, t * y * y + c, t * y * z + s * x,
      t * x * z + s * y, t * y * z - s * x, t * z * z + c];
  };
  // Matrices of three by three, column by column.
  const times = (a, b) => b.map((_, i) => {
    const [row, column] = [i % 3, 3 * Math.floor(i / 3)];
    return a[row] * b[column] + a[row + 3] * b[column + 1] + a[row + 6] * b[column + 2];
  });
  // A piece turned many times over would slowly lose its shape.
  const straightened = (m) => {
    const unit = (v) => { const l = Math.hypot(...v); return v.map((part) => part / l); };
    const x = unit(m.slice(0, 3)), d = m[3] * x[0] + m[4] * x[1] + m[5] * x[2];
    const y = unit([m[3] - d * x[0], m[4] - d * x[1], m[5] - d * x[2]]);
    return [...x, ...y, x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0]];
  };

  // Opening of the view from top to bottom, radians, and how much of it is filled.
  const OPENING = 0.42, FILLED = 0.94;
  // Stations run to the right, θ = 0 stands upright, and the eye stands a little to the free end and above.
  const beginning = () => {
    const room = about.standing ? [0, 1, 0, 0, 0, -1, -1, 0, 0] : [1, 0, 0, 0, 0, -1, 0, 1, 0];
    return times(turned(about.tilt, [1, 0, 0]), times(turned(-about.turn, [0, 1, 0]), room));
  };
  // The piece as discs on its axis, so that it is as large however it is turned about that: stations and radii, mm.
  const discs_of = ({ places }) => {
    const COUNT = 64, STEPS = 65535;
    const radii = new Float64Array(COUNT + 1);
    for (let at = 0; at < places.length; at += 4) {
      const [y, z] = [1, 2].map((axis) => about.least[axis] + about.extent[axis] * places[at + axis] / STEPS);
      const radius = Math.hypot(y, z), part = Math.min(COUNT - 1, Math.floor(places[at] / STEPS * COUNT));
      for (const side of [part, part + 1]) radii[side] = Math.max(radii[side], radius);
    }
    return Array.from(radii, (radius, number) => [about.least[0] + about.extent[0] * number / COUNT, radius]);
  };
  const camera = {
    discs: [],
    reset() {
      this.way = beginning();
      this.aside = [0, 0];
      this.fit();
      this.distance = this.fitting;
    },
    turn(angle, axis) {
      this.way = straightened(times(turned(angle, axis), this.way));
      this.refit();
    },
    // A piece that is seen whole stays whole, as large as there is room for; one that was come near to stays as near.
    refit() {
      const before = this.fitting;
      this.fit();
      if (this.distance > 0.999 * before) this.distance *= this.fitting / before;
    },
    shape() { return canvas.width / canvas.height; },
    // How far away the eye must be to see all of the piece as it is turned, and where the middle of that is.
    fit() {
      const middle = about.extent.map((side, axis) => about.least[axis] + 0.5 * side);
      const along = this.way.slice(0, 3);
      const discs = this.discs.map(([station, radius]) =>
        [this.seen_of([station - middle[0], -middle[1], -middle[2]]), radius]);
      const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
      const farthest = (way) => {
        const out = Math.sqrt(Math.max(0, dot(way, way) - dot(way, along) ** 2));
        return Math.max(...discs.map(([at, radius]) => dot(way, at) + out * radius));
      };
      // Each side of the picture is a plane through the eye: what reaches out farthest decides.
      const reach = (axis, half) => {
        const [plus, minus] = [1, -1].map((sign) => farthest([0, 1, 2].map((k) => k === axis ? sign : k === 2 ? half : 0)));
        return { middle: 0.5 * (plus - minus), distance: 0.5 * (plus + minus) / half };
      };
      const up = FILLED * Math.tan(0.5 * OPENING);
      const [x, y] = [reach(0, up * this.shape()), reach(1, up)];
      this.middle = [x.middle, y.middle];
      this.fitting = Math.max(x.distance, y.distance);
    },
    seen_of([x, y, z]) {
      const m = this.way;
      return [0, 1, 2].map((row) => m[row] * x + m[row + 3] * y + m[row + 6] * z);
    },
    // Millimetres at the piece that a pixel of the page is worth.
    pixel() { return 2 * this.distance * Math.tan(0.5 * OPENING) / canvas.clientHeight; },
    // Comes nearer to a place of the canvas: what is seen there stays there.
    approach(factor, x = 0.5 * canvas.clientWidth, y = 0.5 * canvas.clientHeight) {
      const before = this.pixel();
      this.distance = Math.min(2 * this.fitting, Math.max(this.fitting / 40, this.distance / factor));
      const change = before - this.pixel();
      this.aside[0] -= change * (x - 0.5 * canvas.clientWidth);
      this.aside[1] += change * (y - 0.5 * canvas.clientHeight);
    },
    push(x, y) {
      this.aside[0] += x * this.pixel();
      this.aside[1] -= y * this.pixel();
    },
    view() {
      const m = this.way, [x, y] = this.aside;
      const moved = this.seen_of(about.least.map((least, axis) => -least - 0.5 * about.extent[axis]));
      return [m[0], m[1], m[2], 0, m[3], m[4], m[5], 0, m[6], m[7], m[8], 0,
        moved[0] + x - this.middle[0], moved[1] + y - this.middle[1], moved[2] - this.distance, 1];
    },
    projection() {
      const f = 1 / Math.tan(0.5 * OPENING), d = this.distance, r = 0.55 * Math.hypot(...about.extent);
      const near = Math.max(0.02 * d, d - r), far = d + r;
      return [f / this.shape(), 0, 0, 0, 0, f, 0, 0, 0, 0, (far + near) / (near - far), -1,
        0, 0, 2 * far * near / (near - far), 0];
    },
  };

  // ---- Hands --------------------------------------------------------------------------------------------------------

  const RIGHT = [0, 1, 0], DOWN = [1, 0, 0], ROLL = [0, 0, 1];
  const calm = matchMedia("(prefers-reduced-motion: reduce)");

  const listen = (redraw) => {
    const fingers = new Map();
    let speed = [0, 0], beat = 0;
    const drag = (x, y) => {
      const share = Math.PI / Math.min(canvas.clientWidth, canvas.clientHeight);
      camera.turn(x * share, RIGHT);
      camera.turn(y * share, DOWN);
      redraw();
    };
    // The piece runs on a little when it is let go, unless less motion is wanted.
    const run_on = () => {
      if (fingers.size > 0 || calm.matches || Math.hypot(...speed) < 0.3) return;
      speed = speed.map((part) => 0.93 * part);
      drag(...speed);
      requestAnimationFrame(run_on);
    };
    const middle = () => {
      const all = [...fingers.values()];
      const mean = [0, 1].map((k) => all.reduce((sum, at) => sum + at[k], 0) / all.length);
      return { mean, spread: Math.max(1, Math.hypot(all[0][0] - mean[0], all[0][1] - mean[1])) };
    };
    const place = (event) => [event.offsetX, event.offsetY];

    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, place(event));
      speed = [0, 0];
    });
    canvas.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const now = place(event);
      if (fingers.size === 1) {
        speed = [now[0] - before[0], now[1] - before[1]];
        beat = event.timeStamp;
        fingers.set(event.pointerId, now);
        drag(...speed);
        return;
      }
      const was = middle();
      fingers.set(event.pointerId, now);
      const is = middle();
      camera.push(is.mean[0] - was.mean[0], is.mean[1] - was.mean[1]);
      camera.approach(is.spread / was.spread, ...is.mean);
      redraw();
    });
    const lift = (event) => {
      if (!fingers.delete(event.pointerId) || fingers.size > 0) return;
      if (event.timeStamp - beat < 60) run_on();
    };
    canvas.addEventListener("pointerup", lift);
    canvas.addEventListener("pointercancel", lift);
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      speed = [0, 0];
      const step = event.deltaMode === 0 ? 1 : event.deltaMode === 1 ? 16 : 300;
      camera.approach(Math.exp(-0.0015 * step * event.deltaY), ...place(event));
      redraw();
    }, { passive: false });
    canvas.addEventListener("dblclick", () => { speed = [0, 0]; camera.reset(); redraw(); });

    const step = Math.PI / 24;
    const keys = {
      ArrowLeft: () => camera.turn(-step, RIGHT), ArrowRight: () => camera.turn(step, RIGHT),
      ArrowUp: () => camera.turn(-step, DOWN), ArrowDown: () => camera.turn(step, DOWN),
      q: () => camera.turn(step, ROLL), e: () => camera.turn(-step, ROLL),
      "+": () => camera.approach(1.15), "=": () => camera.approach(1.15), "-": () => camera.approach(1 / 1.15),
      Home: () => camera.reset(),
    };
    canvas.addEventListener("keydown", (event) => {
      const act = keys[event.key] || keys[event.key.toLowerCase()];
      if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      // What is asked for by a key is where the piece stays.
      speed = [0, 0];
      act();
      redraw();
    });
  };

  // ---- The run ------------------------------------------------------------------------------------------------------

  const start = async () => {
    if (typeof DecompressionStream !== "function") throw new Error("no DecompressionStream");
    const gl = canvas.getContext("webgl2", { antialias: true });
    if (!gl) throw new Error("no WebGL 2");
    const mesh = mesh_of(await unpacked());
    const paint = painter(gl, mesh);
    let is_asked = false, frames = 0;
    const draw = () => {
      is_asked = false;
      const scale = Math.min(window.devicePixelRatio || 1, 2);
      const [width, height] = [canvas.clientWidth, canvas.clientHeight].map((side) => Math.max(1, Math.round(side * scale)));
      if (canvas.width !== width || canvas.height !== height) {
        [canvas.width, canvas.height] = [width, height];
        camera.refit();
      }
      paint(camera);
      if (frames === 0 && gl.getError() !== gl.NO_ERROR) return give_up("the first frame could not be drawn");
      frames += 1;
      tell("frames", frames);
      tell("triangles", mesh.corners.length / 3);
      tell("shown", "piece");
    };
    const redraw = () => {
      if (!is_asked) requestAnimationFrame(draw);
      is_asked = true;
    };
    for (const id of ["piece", "help"]) document.getElementById(id).hidden = false;
    document.getElementById("picture").hidden = true;
    canvas.addEventListener("webglcontextlost", () => give_up("the drawing context was lost"));
    camera.discs = discs_of(mesh);
    camera.reset();
    listen(redraw);
    new ResizeObserver(redraw).observe(canvas);
    redraw();
  };
  start().catch(give_up);
})();
