// The film of a cut: the part cut open, the groove as the teeth leave it, the chips. All of it follows from the depth.

// Light mirrored by machined metal, from the same table as the tap's: of a normal and the direction across the marks.
const MIRROR = `
uniform sampler2DArray ball; uniform float layers, ballSide, ballMost, dull; // dull: no metal
vec3 layer(float k, vec2 uv) { vec3 v = texture(ball, vec3(uv, k)).rgb; return v * v * ballMost; }
vec3 mirrored(vec3 n, vec2 b) {
  vec2 uv = (clamp(n.xy, -1.0, 1.0) + 1.0) / 2.0 * ((ballSide - 1.0) / ballSide) + 0.5 / ballSide;
  float turn = mod(atan(b.y, b.x) * layers / 3.14159265, layers), low = floor(turn);
  vec3 l = mix(layer(mod(low, layers), uv), layer(mod(low + 1.0, layers), uv), turn - low) * 1.9;
  l = l * sqrt(l + 0.08);
  return l * (1.0 + l / 12.0) / (1.0 + l);
}
vec3 coded(vec3 x) { return pow(clamp(x, 0.0, 1.0), vec3(1.0 / 2.2)); }
`;

const WORK_VERTEX = `#version 300 es
precision highp float;
layout(location=0) in vec4 v;  // angle from the middle of what is kept, turn, place across the pitch, 0 wall to 1 outside
uniform mat3 rot; uniform vec2 half_, jitter;
uniform float scale, centre, eye, deep_, pitch, first, firstAngle, side, facing, base, hole, groove, at, deep, thick, cone, outside, rows, spacing, z0, push;
uniform sampler2D levels;
out vec3 body; out float kind, radius, cutDepth;
float level(float k, float x) {
  float n = float(textureSize(levels, 0).x - 1), u = clamp(x / pitch + 0.5, 0.0, 1.0) * n, i = floor(u);
  float a = texelFetch(levels, ivec2(int(i), int(k)), 0).r, b = texelFetch(levels, ivec2(int(min(i + 1.0, n)), int(k)), 0).r;
  return mix(hole, groove, mix(a, b, u - i));
}
// The angle of a vertex where the part is cut open by a plane pushed toward the eye by so much; through the axis it is v.x.
float opened(float r) { return v.x * acos(clamp(-push / r, -1.0, 1.0)) / 1.57079633 + facing; }
void main() {
  float a = opened(mix(0.5 * (hole + groove), outside, v.w)), z, r;
  kind = v.w;
  float ridge0 = first - pitch * (side * a - firstAngle) / 6.2831853 - base;
  if (v.y > 996.0 && v.y < 998.0) {  // the top face
    z = 0.0;
    float ridge = ridge0 - pitch * floor(ridge0 / pitch + 0.5);
    r = level(clamp(floor((at + ridge - z0) / spacing + 1e-3) + 1.0, 0.0, rows - 1.0), -ridge);
  } else if (v.y > 500.0) {  // below the cylinder of a blind hole: the drill's cone, then whole metal
    z = v.z <= 1.0 ? -deep - cone * v.z : -thick;
    r = v.z <= 1.0 ? hole * (1.0 - v.z) : 0.0;
  } else {
    float ridge = ridge0 - pitch * v.y;
    z = clamp(ridge + v.z, -deep, 0.0);
    float passed = clamp(floor((at + ridge - z0) / spacing + 1e-3) + 1.0, 0.0, rows - 1.0);
    r = level(passed, z - ridge);
  }
  radius = r;
  cutDepth = (r - hole) / max(groove - hole, 1e-6);
  r = mix(r, outside, v.w);
  a = opened(max(r, 1e-4));
  vec3 q = vec3(r * cos(a), r * sin(a), z);
  body = q;
  vec3 c = rot * q;
  float w = 1.0 - c.z / eye;
  gl_Position = vec4((c.x * scale + jitter.x * w) / half_.x, (c.y * scale + (jitter.y - centre * scale) * w) / half_.y, -c.z / deep_ * w, w);
}`;

const WORK_FRAGMENT = `#version 300 es
precision highp float; precision highp sampler2DArray;${MIRROR}
in vec3 body; in float kind, radius, cutDepth;
uniform mat3 rot; uniform float section, dots, scale, packed_, depth_; uniform vec3 metal;
layout(location=0) out vec4 colour; layout(location=1) out vec4 id;
void main() {
  vec3 n = normalize(cross(dFdx(body), dFdy(body)));
  n = rot * n;
  if (n.z < 0.0) n = -n;
  vec3 l;
  if (section > 1.5) l = vec3(0.09, 0.125, 0.17);
  else if (section > 0.5) {
    float s = fract((gl_FragCoord.x - gl_FragCoord.y) / (dots * 11.0));
    float line = smoothstep(0.40, 0.47, s) - smoothstep(0.55, 0.62, s);
    l = mix(vec3(0.937, 0.914, 0.875), vec3(0.42, 0.44, 0.47), line * 0.75);
    if (body.z < -packed_) l = mix(l, vec3(0.80, 0.16, 0.18), 0.30);
  } else {
    bool top = abs(body.z) < 1e-3;
    vec2 across = normalize((rot * (top ? vec3(body.y, -body.x, 0.0) : vec3(0, 0, 1))).xy + vec2(1e-4, 0));
    float fine = sin(body.z * 21.0 + 2.0 * sin(body.z * 7.0)) * (top ? 0.0 : 0.03);
    vec3 m = mirrored(n + vec3(fine * across, 0), across);
    float shade = 0.5 + 0.5 * clamp(dot(n, normalize(vec3(-0.3, 0.35, 0.9))), 0.0, 1.0);
    float deep = top ? 1.0 : mix(1.0, 0.75, smoothstep(0.0, 1.0, -body.z / max(depth_, 1e-3)));
    l = coded((metal * 1.5 + 0.04) * (0.26 + 1.1 * m) * shade * deep + 0.10 * m * cutDepth);
    l = mix(l, coded(metal * shade * deep), dull);
  }
  colour = vec4(l, 1.0);
  id = vec4(0.0, 7.0 / 255.0, gl_FragCoord.z, 1.0);
}`;

const CHIP_VERTEX = `#version 300 es
precision highp float;
layout(location=0) in vec3 place; layout(location=1) in vec3 normal; layout(location=2) in vec3 across; layout(location=3) in vec4 look;
uniform mat3 rot; uniform vec2 half_, jitter; uniform float scale, centre, eye, deep_;
out vec3 n; out vec2 b; out vec4 shade;
void main() {
  vec3 c = rot * place;
  float w = 1.0 - c.z / eye;
  gl_Position = vec4((c.x * scale + jitter.x * w) / half_.x, (c.y * scale + (jitter.y - centre * scale) * w) / half_.y, -c.z / deep_ * w, w);
  n = rot * normal; b = (rot * across).xy; shade = look;
}`;

const CHIP_FRAGMENT = `#version 300 es
precision highp float; precision highp sampler2DArray;${MIRROR}
in vec3 n; in vec2 b; in vec4 shade;
uniform float pointed;
layout(location=0) out vec4 colour; layout(location=1) out vec4 id;
void main() {
  vec3 m = normalize(n);
  bool outside = m.z < 0.0;  // the side that lay on the tool's face is bright, the other is torn and dull
  if (outside) m = -m;
  vec3 l = mirrored(m, normalize(b + vec2(1e-4, 0)));
  l = coded(shade.rgb * (outside ? 0.22 + 0.75 * l : 0.12 + 2.1 * l));
  l = mix(l, coded(shade.rgb * (0.35 + 0.65 * clamp(dot(m, normalize(vec3(-0.3, 0.5, 0.8))), 0.0, 1.0))), dull);
  if (pointed > 0.5 && abs(shade.a * 255.0 - pointed) < 0.5) l = mix(l, vec3(0.69, 0.07, 0.48), 0.6);
  colour = vec4(min(l, 1.0), 1.0);
  id = vec4(shade.a, ${CHIP}.0 / 255.0, gl_FragCoord.z, 1.0);
}`;

// Evenly spread numbers 0–1 from two whole numbers: the same chip looks the same each time, no two alike.
function luck(a, b) {
  let h = (Math.imul(a + 1, 374761393) + Math.imul(b + 7, 668265263)) | 0;
  h = Math.imul(h ^ (h >>> 13), 1274126177);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}

const mixed = (a, b, t) => a + (b - a) * t;
const eased = (t) => { const u = clamp(t, 0, 1); return u * u * (3 - 2 * u); };
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const unit = (a) => { const n = Math.hypot(...a) || 1; return a.map((c) => c / n); };
const plus = (a, b, t = 1) => [a[0] + b[0] * t, a[1] + b[1] * t, a[2] + b[2] * t];
const dot3 = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

// The chips at a depth of the point: for each its tooth, age and the line of its middle, in the frame of the part
// (z up, 0 at the top face), `line` of points, `wide` half-widths as vectors, `seen` 0–1.
function chipsAt(film, about, depth) {
  const c = film.chips, found = [], P = film.pitch, D = 2 * about.outer, side = about.hand === "right" ? -1 : 1;
  const frame = (angle) => ({ out: [Math.cos(angle), side * Math.sin(angle), 0], fore: [-Math.sin(angle), side * Math.cos(angle), 0] });
  if (!c) return found; // it asks first
  const step = c.every * P, growth = Math.min(c.every, 0.5) * P;
  const spin = (2 * Math.PI) / P;
  const teeth = film.teeth.map((t) => ({ ...t, ...about.teeth[Math.min(t.number, about.teeth.length) - 1] })).filter((t) => t.at);
  for (let flute = 1; flute <= about.flutes; flute++) {
    const own = teeth.filter((t) => t.flute === flute);
    if (!own.length) continue;
    for (let i = 0; ; i++) {
      const n = i + c.seed, born = film.begin + (i + 0.8 * luck(n, flute)) * step;
      if (born > depth) break;
      const cutting = own.filter((t) => born - t.at[2] >= 0 && born - t.at[2] <= film.deep);
      if (!cutting.length) continue;
      const tooth = cutting[Math.floor(luck(n, 50 + flute) * cutting.length * 0.999)];
      const chance = 2 * luck(n, 90 + flute) - 1, age = depth - born;
      const grown = clamp(age / growth, 0, 1), free = Math.max(age - growth, 0);
      const [ex, ey, ez] = tooth.at, radius = Math.hypot(ex, ey), edge = Math.atan2(side * ey, ex);
      let drift = c.drift;
      if (c.way === "either") drift = c.wander * chance * 3;
      let travel = drift * free;
      if (c.stays) travel = chance * Math.min(Math.abs(travel), 0.45 * depth + 0.3 * D);
      const settle = eased(free / (0.35 * P));
      const room = (about.core + film.hole) / 2;
      let z = ez + travel, seen = 1, turned = spin * depth, down = depth;
      let angle = mixed(edge, about.half - (2 * Math.PI * (flute - 1)) / about.flutes - about.twist * z - 2 * Math.PI * Math.round((about.half - (2 * Math.PI * (flute - 1)) / about.flutes - about.twist * z - edge) / (2 * Math.PI)), settle);
      let r = mixed(radius, room, settle);
      if (drift < 0 && !c.stays) {
        const leave = Math.max((ez + 0.15 * D) / -drift, 0); // free depth at which it has left the flutes
        if (free > leave) {
          turned = spin * (born + growth + leave);
          const fall = free - leave;
          z = -0.15 * D - fall * -drift * 1.6 - (depth - (born + growth + leave)) * 0;
          down = born + growth + leave;
          r = mixed(r, room * (0.35 + 0.5 * luck(n, 140)), eased(fall / P));
          if (film.through) {
            if (z - down < -film.deep) z -= (-(film.deep) - (z - down)) * 1.5;
            seen = 1 - eased((-(z - down) - film.deep - 0.4 * D) / (0.5 * D));
          } else {
            const floor = -film.deep - 0.2 * film.cone + c.curl * (0.5 + (i * about.flutes) * 0.07 * (0.6 + luck(n, 7)));
            z = Math.max(z, Math.min(floor, -depth - 0.3 * c.curl) + down);
          }
        }
      } else if (c.stays) {
        z = clamp(z, 0.2 * P, Math.max(depth - 0.2 * P, 0.3 * P));
      } else if (z - depth > 1.0 * D) seen = 1 - eased((z - depth - 1.0 * D) / (0.5 * D));
      if (seen <= 0.01) continue;
      for (let crumb = 0; crumb < (c.pieces ?? 1); crumb++) { // powder falls apart as it leaves the edge
        const loose = settle * (crumb ? 1 : 0), own = n * 8 + crumb;
        const spot = { angle: angle + turned + loose * 1.1 * (luck(own, 70) - 0.5), r: r + loose * room * 0.5 * (luck(own, 71) - 0.6), z: z - down + loose * 1.6 * P * (luck(own, 72) - 0.5) };
        found.push({ tooth: tooth.number, flute, age, grown, seen, tone: 0.8 + 0.4 * luck(own, flute), ...ribbon(film, c, tooth, own, flute, grown, settle, spot, frame, chance, about) });
      }
    }
  }
  return found;
}

// One chip as a band: it leaves the edge along the computed vector and curls off the face.
function ribbon(film, c, tooth, i, flute, grown, settle, spot, frame, chance, about) {
  const { out, fore } = frame(spot.angle), axial = [0, 0, 1];
  const v = unit(plus(plus(out.map((x) => x * c.vector[0]), fore, c.vector[1]), axial, c.vector[2]));
  const off = unit(plus(fore, v, -dot3(fore, v)));
  let along = unit(cross(v, off));
  const wanted = c.drift ? Math.sign(c.drift) : chance >= 0 ? 1 : -1;
  if (along[2] * wanted < 0) along = along.map((x) => -x);
  const powder = c.kind === "short";
  const size = (powder ? 0.6 : 0.75) + 0.6 * luck(i, 20 + flute);
  const most = 0.5 * c.tight * (film.hole - about.core);
  const curl = Math.min(c.curl * size, powder ? 0.5 * c.curl + 0.1 : most);
  const length = Math.max(2 * Math.PI * curl * c.turns * (0.55 + 0.9 * luck(i, 33 + flute)) * grown, 0.02);
  const count = Math.max(4, Math.min(110, Math.round((length / curl) * 6)));
  const lead = powder ? 0.05 : 0.14 + 0.16 * luck(i, 61 + flute), sway = 0.28 * (luck(i, 62 + flute) - 0.5);
  const half = 0.45 * Math.max(powder ? 0.5 * tooth.width : tooth.width, 0.05 * about.outer);
  const start = plus(out.map((x) => x * spot.r), axial, spot.z), wall = 0.96 * film.hole;
  const line = [], wide = [];
  for (let k = 0; k <= count; k++) {
    const s = (length * k) / count, a = s / curl, loose = 1 + sway * (k / count) * Math.sin(0.55 * a + 6 * luck(i, 63));
    const u = curl * loose * Math.sin(a), w = curl * loose * (1 - Math.cos(a)), t = s * lead;
    const here = [0, 1, 2].map((j) => start[j] + v[j] * u + off[j] * w + along[j] * t);
    const far = Math.hypot(here[0], here[1]);
    if (k && far > wall && here[2] < 0.1 * wall) { here[0] *= wall / far; here[1] *= wall / far; } // the hole's wall turns it back
    line.push(here);
    const ends = Math.min(1, 0.35 + 3 * Math.min(k, count - k) / count) * (0.93 + 0.14 * luck(i + k, 64));
    wide.push(along.map((x) => x * half * (k ? ends : 1)));
  }
  return { line, wide, vector: v };
}

class Film {
  constructor(scene, data) {
    const gl = scene.gl;
    Object.assign(this, { scene, data, depth: data.begin, metal: data.metal });
    scene.filmPrograms ??= [program(gl, WORK_VERTEX, WORK_FRAGMENT), program(gl, CHIP_VERTEX, CHIP_FRAGMENT)];
    [this.work, this.chip] = scene.filmPrograms;
    const D = scene.current.about.outer * 2;
    this.frame = { low: -data.thick - (data.through ? 0.55 : 0.05) * D, high: 1.35 * D, radius: data.wall };
    this.levels = scene.texture(gl.TEXTURE_2D, gl.NEAREST);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    const raw = new Uint16Array(data.levels.slice().buffer);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.R32F, data.samples, data.rows, 0, gl.RED, gl.FLOAT, Float32Array.from(raw, (n) => n / 65535));
    const shape = JSON.stringify([data.deep, data.pitch, data.groove, data.hole, data.through]);
    if (scene.part?.shape !== shape) { // else the part is the one before
      Object.values(scene.part?.meshes ?? {}).forEach((mesh) => scene.forget(mesh));
      scene.part = { shape, meshes: { walls: this.sheet(this.wallMesh()), cuts: this.sheet(this.sectionMesh()), rims: this.lines() } };
    }
    Object.assign(this, scene.part.meshes);
    this.band = { array: gl.createVertexArray(), buffers: [gl.createBuffer(), gl.createBuffer()] };
    gl.bindVertexArray(this.band.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.band.buffers[0]);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.band.buffers[1]);
    [[0, 3, 0], [1, 3, 12], [2, 3, 24], [3, 4, 36]].forEach(([at, n, o]) => { gl.enableVertexAttribArray(at); gl.vertexAttribPointer(at, n, gl.FLOAT, false, 52, o); });
    gl.bindVertexArray(null);
  }

  end() {
    const gl = this.scene.gl;
    gl.deleteTexture(this.levels);
    this.scene.forget(this.band);
  }

  nodes() {
    const { pitch, groove, hole } = this.data, foot = pitch / 16 + (groove - hole) / Math.sqrt(3), half = pitch / 2;
    const all = [-half, -foot, -(foot + pitch / 16) / 2, -pitch / 16, 0, pitch / 16, (foot + pitch / 16) / 2, foot, half];
    return all.map((x) => clamp(x, -half, half));
  }

  rowsOf(turns) {
    const rows = [];
    for (let m = -1; m <= turns; m++) for (const x of [...this.nodes()].reverse()) rows.push([m, x]);
    if (!this.data.through) for (const u of [0, 0.5, 1]) rows.push([999, u]);
    return rows;
  }

  grid(columns, rows, at) {
    const v = [], index = [];
    rows.forEach((row, j) => columns.forEach((col, i) => {
      v.push(...at(col, row));
      if (i && j) { const k = j * columns.length + i, up = k - columns.length; index.push(up - 1, up, k - 1, k - 1, up, k); }
    }));
    return { v, index };
  }

  wallMesh() {
    const turns = Math.ceil(this.data.deep / this.data.pitch) + 1;
    const angles = Array.from({ length: 61 }, (_, i) => -Math.PI / 2 + (Math.PI * i) / 60);
    return [this.grid(angles, this.rowsOf(turns), (a, [m, x]) => [a, m, x, 0]), this.grid(angles, [0, 1], (a, w) => [a, 997, 0, w])];
  }

  sectionMesh() {
    const turns = Math.ceil(this.data.deep / this.data.pitch) + 1, rows = this.rowsOf(turns);
    if (!this.data.through) rows.push([999, 2]);
    const faces = [-1, 1].map((s) => this.grid([0, 1], rows, (w, [m, x]) => [(s * Math.PI) / 2, m, x, w]));
    return faces;
  }

  // Edges of the section: the groove, and the outside of the part.
  lines() {
    const turns = Math.ceil(this.data.deep / this.data.pitch) + 1, rows = this.rowsOf(turns), v = [], index = [];
    const strip = (points) => points.forEach((p, i) => { v.push(...p); if (i) index.push(v.length / 4 - 2, v.length / 4 - 1); });
    const last = this.data.through ? rows[rows.length - 1] : [999, 2];
    for (const a of [-Math.PI / 2, Math.PI / 2]) {
      strip(rows.map(([m, x]) => [a, m, x, 0]));
      strip([[a, 997, 0, 0], [a, 997, 0, 1], [a, last[0], last[1], 1], ...(this.data.through ? [[a, last[0], last[1], 0]] : [[a, 999, 2, 0]])]);
    }
    strip(Array.from({ length: 61 }, (_, i) => [-Math.PI / 2 + (Math.PI * i) / 60, 997, 0, 0]));
    strip(Array.from({ length: 61 }, (_, i) => [-Math.PI / 2 + (Math.PI * i) / 60, 997, 0, 1]));
    return this.sheet([{ v, index }]);
  }

  sheet(parts) {
    const gl = this.scene.gl, array = gl.createVertexArray(), buffers = [gl.createBuffer(), gl.createBuffer()];
    const v = [], index = [];
    for (const p of parts) { const from = v.length / 4; v.push(...p.v); index.push(...p.index.map((i) => i + from)); }
    gl.bindVertexArray(array);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffers[0]);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(v), gl.STATIC_DRAW);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 4, gl.FLOAT, false, 16, 0);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffers[1]);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, new Uint32Array(index), gl.STATIC_DRAW);
    gl.bindVertexArray(null);
    return { array, buffers, count: index.length };
  }

  // How the tap stands at this depth: turned by its lead, sunk by the depth.
  pose(cam) {
    const turn = (cam.side * 2 * Math.PI * this.depth) / this.data.pitch, [c, s] = [Math.cos(turn), Math.sin(turn)];
    const rows = cam.rows.map(([x, y, z]) => [x * c + y * s, -x * s + y * c, z]);
    return { rows, shift: cam.rows.map((r) => -r[2] * this.depth) };
  }

  draw(cam, jitter) {
    const gl = this.scene.gl, { width, height, dots } = this.scene, about = this.scene.current.about, d = this.data;
    gl.disable(gl.CULL_FACE);
    const shared = (u) => {
      gl.uniformMatrix3fv(u.rot, true, cam.rows.flat());
      gl.uniform2f(u.half_, width / 2, height / 2);
      gl.uniform2f(u.jitter, jitter[0], jitter[1]);
      for (const [name, value] of Object.entries({ scale: cam.scale, centre: cam.centre, eye: cam.eye, deep_: cam.deep, dots,
        layers: this.scene.lightAbout.directions, ballSide: this.scene.lightAbout.side, ballMost: this.scene.lightAbout.most, depth_: d.deep, dull: d.dull })) if (u[name]) gl.uniform1f(u[name], value);
      gl.activeTexture(gl.TEXTURE1);
      gl.bindTexture(gl.TEXTURE_2D_ARRAY, this.scene.ball);
      gl.uniform1i(u.ball, 1);
      gl.activeTexture(gl.TEXTURE0);
    };
    const facing = Math.atan2(-cam.rows[2][1], -cam.rows[2][0]);
    const ridge = about.firstTooth - (d.pitch * (cam.side * facing - about.firstAngle)) / (2 * Math.PI);
    const u = this.work.places;
    gl.useProgram(this.work.made);
    shared(u);
    const values = { pitch: d.pitch, first: about.firstTooth, firstAngle: about.firstAngle, side: cam.side, facing, base: d.pitch * Math.ceil(ridge / d.pitch),
      hole: d.hole, groove: d.groove, at: this.depth, deep: d.deep, thick: d.thick, cone: d.cone, outside: d.wall, rows: d.rows, spacing: d.spacing, z0: d.first, push: this.scene.cutDeep(), packed_: d.packs !== null && this.depth >= d.packs - 1e-6 ? Math.max(this.depth - 0.6 * (2 * about.outer), 0) : 1e6 };
    for (const [name, value] of Object.entries(values)) if (u[name]) gl.uniform1f(u[name], value);
    gl.uniform3fv(u.metal, this.metal);
    gl.bindTexture(gl.TEXTURE_2D, this.levels);
    gl.uniform1i(u.levels, 0);
    for (const [mesh, section] of [[this.walls, 0], [this.cuts, 1]]) {
      gl.uniform1f(u.section, section);
      gl.bindVertexArray(mesh.array);
      gl.drawElements(gl.TRIANGLES, mesh.count, gl.UNSIGNED_INT, 0);
    }
    gl.uniform1f(u.section, 2);
    gl.bindVertexArray(this.rims.array);
    for (const [x, y] of dots > 1 ? [[0, 0], [1, 0], [0, 1], [1, 1]] : [[0, 0], [0.6, 0.6]]) {
      gl.uniform2f(u.jitter, jitter[0] + x, jitter[1] + y);
      gl.drawElements(gl.LINES, this.rims.count, gl.UNSIGNED_INT, 0);
    }
    this.drawChips(shared);
    gl.bindVertexArray(null);
  }

  drawChips(shared) {
    const gl = this.scene.gl, { chips } = this.data;
    if (!chips) return;
    if (this.made?.depth !== this.depth) this.made = this.chipMesh(chipsAt(this.data, this.scene.current.about, this.depth));
    if (!this.made.count) return;
    gl.useProgram(this.chip.made);
    shared(this.chip.places);
    gl.uniform1f(this.chip.places.pointed, this.scene.pointed);
    gl.bindVertexArray(this.band.array);
    if (!this.made.sent) {
      gl.bindBuffer(gl.ARRAY_BUFFER, this.band.buffers[0]);
      gl.bufferData(gl.ARRAY_BUFFER, this.made.values, gl.DYNAMIC_DRAW);
      gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, this.made.index, gl.DYNAMIC_DRAW);
      this.made.sent = true;
    }
    gl.drawElements(gl.TRIANGLES, this.made.count, gl.UNSIGNED_INT, 0);
  }

  // Two corners at every place of a chip's line, with the normal between its neighbours, so that a curl looks round.
  chipMesh(chips) {
    const points = chips.reduce((n, c) => n + c.line.length, 0), values = new Float32Array(points * 2 * 13), index = [];
    const { shade } = this.data.chips;
    let o = 0, vertex = 0;
    for (const { line, wide, seen, tone, tooth } of chips) {
      for (let k = 0; k < line.length; k++, vertex += 2) {
        const [a, b, w] = [line[Math.max(k - 1, 0)], line[Math.min(k + 1, line.length - 1)], wide[k]];
        const n = unit(cross([b[0] - a[0], b[1] - a[1], b[2] - a[2]], w)), side = unit(w), old = 1 - 0.25 * (k / line.length);
        for (const s of [seen, -seen]) {
          for (let j = 0; j < 3; j++) { values[o + j] = line[k][j] + w[j] * s; values[o + 3 + j] = n[j]; values[o + 6 + j] = side[j]; values[o + 9 + j] = shade[j] * tone * old; }
          values[o + 12] = tooth / 255;
          o += 13;
        }
        if (k) index.push(vertex - 2, vertex - 1, vertex, vertex, vertex - 1, vertex + 1);
      }
    }
    return { depth: this.depth, values, index: new Uint32Array(index), count: index.length };
  }
}
