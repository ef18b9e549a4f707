// The tap in the round: drawn from the packed skin of the geometry, by the light of the plates, with WebGL 2.
// Turning it asks nothing of the kernel. The same module serves the notebook (anywidget) and the card (`mount`).

const vertex = (cut) => `#version 300 es
${cut ? "#define CUT" : ""}
precision highp float;
layout(location=0) in vec4 where; layout(location=1) in vec4 facing; layout(location=2) in uvec4 kind;
uniform mat3 rot; uniform vec3 shift; uniform vec2 half_, jitter; uniform float reach, middle, scale, centre, eye, deep, near_, most;
out vec3 n; out vec2 b; out vec4 marks; out float up; flat out uvec2 is;
#ifdef CUT
out vec3 body;
#endif
// The fourth of each four is a share without a sign; read as whole fours, as three alone are slow to fetch.
float share(float signed_, float most) { return (signed_ * most + (signed_ < 0.0 ? 2.0 * most + 2.0 : 0.0)) / (2.0 * most + 1.0); }
void main() {
  vec3 q = where.xyz * reach + vec3(0, 0, middle);
  vec3 c = rot * q + shift;
  float w = 1.0 - c.z / eye;
  gl_Position = vec4((c.x * scale + jitter.x * w) / half_.x, (c.y * scale + (jitter.y - centre * scale) * w) / half_.y, -c.z / deep * w, w);
  vec3 f = facing.xyz;
  vec2 out_ = q.xy / max(length(q.xy), 1e-4); // away from the axis
  vec3 ground = kind.w > 0u ? vec3(f.y, -f.x, 0) : vec3(-f.z * out_, dot(f.xy, out_)); // across the marks of grinding
  n = rot * f; b = (rot * ground).xy;
#ifdef CUT
  body = q;
#endif
  marks = vec4(float(kind.x) / 255.0, share(facing.w, 32767.0) * most, share(where.w, 32767.0) * near_, float(kind.y >> 3u) / 31.0);
  up = q.z; is = uvec2(kind.y & 7u, kind.z);
}`;

// With CUT the skin can be cut open; without it nothing is thrown away, so that the depth is asked before the light.
const fragment = (cut) => `#version 300 es
${cut ? "#define CUT" : ""}
precision highp float; precision highp sampler2DArray; precision highp usampler2D; precision highp isampler2D;
in vec3 n; in vec2 b; in vec4 marks; in float up; flat in uvec2 is;
#ifdef CUT
in vec3 body;
#endif
uniform sampler2DArray ball; uniform isampler2D grinding; uniform sampler2D teeth;
uniform float scale, dots, layers, faces, side, ballMost, grindDeep, front, major, pointed, cutAt, high, deep; uniform vec4 cut, window; uniform vec2 lamp;
layout(location=0) out vec4 colour; layout(location=1) out vec4 id;
const vec3 FACE = vec3(1.30, 0.80, 0.26), EDGE = vec3(0.42, 0.045, 0.02), POINTED = vec3(0.42, 0.01, 0.19); // pointed at: a colour of no flute and no load
vec3 layer(float k, vec2 uv) { vec3 v = texture(ball, vec3(uv, k)).rgb; return v * v * ballMost; }
vec3 coded(vec3 x) { // sRGB, by roots
  vec3 s = sqrt(x), t = sqrt(s);
  return 0.662002687 * s + 0.684122060 * t - 0.323583601 * sqrt(t) - 0.0225411470 * x;
}
void main() {
  vec3 l;
  float px = scale / dots;
#ifdef CUT
  if (dot(body, cut.xyz) > cutAt) discard;
  if (!gl_FrontFacing) {
    float s = fract((gl_FragCoord.x + gl_FragCoord.y) / (dots * 9.0));
    float line = smoothstep(0.42, 0.5, s) - smoothstep(0.62, 0.70, s);
    l = mix(vec3(0.72, 0.75, 0.78), vec3(0.12, 0.16, 0.22), line * 0.8);
  } else
#endif
  {
    float lines = float(texelFetch(grinding, ivec2(int(marks.y * px / 1.8) & 4095, 0), 0).r) / 127.0 * grindDeep;
    lines *= clamp(dot(b, b) * 2.0 - 0.6, 0.0, 1.0);
    vec3 m = normalize(n);
    vec2 nn = m.xy + 0.16 * ((gl_FragCoord.xy - window.xy) / window.zw - 0.5) + 0.07 * lines * b + lamp;
    vec2 uv = (clamp(nn, -1.0, 1.0) + 1.0) / 2.0 * ((side - 1.0) / side) + 0.5 / side;
    float turn = mod(atan(b.y, b.x) * layers / 3.14159265, layers);
    float low = floor(turn);
    l = mix(layer(mod(low, layers), uv), layer(mod(low + 1.0, layers), uv), turn - low);
    l *= (0.10 + 0.90 * marks.x * marks.x) * 1.9 * max(1.0 + 0.11 * lines, 0.0);
    l = l * sqrt(l + 0.08);
    l = l * (1.0 + l / 12.0) / (1.0 + l);
    vec4 load = vec4(0);
    if (is.y > 0u && (is.x == 1u ? marks.w > 0.01 : is.x == 0u)) load = texelFetch(teeth, ivec2(int(is.y), 0), 0);
    if (load.a > 0.0) {
      float gray = dot(l, vec3(0.2126, 0.7152, 0.0722));
      float spacing = texelFetch(teeth, ivec2(int(is.y), 1), 0).r * 255.0;
      float line = spacing > 0.5 ? clamp(1.8 - abs(fract((marks.y + up) * px / spacing) - 0.5) * 7.0, 0.0, 1.0) : 0.0;
      vec3 dyed = load.rgb * (0.35 + 0.95 * gray);
      l = mix(l, dyed * (1.0 - 0.45 * line), load.a);
    } else if (marks.w > 0.01) {
      float line = clamp(1.6 - abs(fract((marks.y + up) * px / 8.0) - 0.5) * 9.0, 0.0, 1.0) * marks.w;
      l = (l * 0.75 + 0.12) * (1.0 + min(marks.w, faces) * (FACE - 1.0)) * (1.0 - 0.35 * line);
    }
    if (marks.z * px < 1.5 && marks.w > 0.7) l = EDGE;
    if (pointed > 0.5 && float(is.y) == pointed && is.x < 2u) l = l * 0.45 + POINTED;
    l *= 1.0 - 0.5 * clamp((front - (1.0 - 2.0 * gl_FragCoord.z) * deep - 0.7 * major) / (2.2 * major), 0.0, 1.0);
  }
  colour = vec4(coded(min(l, vec3(1))), 1.0) * smoothstep(0.0, 0.09, 1.0 - gl_FragCoord.y / high);
  id = vec4(float(is.y) / 255.0, float(is.x) / 255.0, gl_FragCoord.z, 1.0);
}`;

const FLAT = `#version 300 es
precision highp float;
out vec2 uv;
void main() { vec2 p = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0); uv = (p + 1.0) / 2.0; gl_Position = vec4(p, 0, 1); }`;

// The outline of what was there before, as a thin line.
const OUTLINE = `#version 300 es
precision highp float;
in vec2 uv; out vec4 colour; uniform sampler2D ghost; uniform vec2 size; uniform float dots;
void main() {
  vec2 e = vec2(1.1 * dots) / size;
  float a = texture(ghost, uv + vec2(e.x, 0)).a, b = texture(ghost, uv - vec2(e.x, 0)).a;
  float c = texture(ghost, uv + vec2(0, e.y)).a, d = texture(ghost, uv - vec2(0, e.y)).a;
  colour = vec4(0.09, 0.125, 0.17, 1.0) * clamp(abs(a - b) + abs(c - d), 0.0, 1.0) * 0.9;
}`;

const COPY = `#version 300 es
precision highp float;
in vec2 uv; out vec4 colour; uniform sampler2D picture;
void main() { colour = texture(picture, uv); }`;

// Soft darkening of hollows by how much nearer the picture is around each pixel (drawing/photo.py, _hollows), at half size.
const HOLLOWS = `#version 300 es
precision highp float; precision highp sampler2D;
in vec2 uv; out vec4 colour; uniform sampler2D depths; uniform float major, range;
float up(ivec2 at) { return (1.0 - 2.0 * texelFetch(depths, clamp(at, ivec2(0), textureSize(depths, 0) - 1), 0).r) * range; }
void main() {
  ivec2 here = ivec2(uv * vec2(textureSize(depths, 0)));
  float d = up(here), total = 0.0;
  if (d <= -0.999 * range) { colour = vec4(1); return; }
  for (int i = 0; i < 5; i++) {
    float share = i == 0 ? 0.01 : i == 1 ? 0.02 : i == 2 ? 0.04 : i == 3 ? 0.07 : 0.12;
    float weight = i == 0 ? 0.5 : i == 1 ? 0.7 : i == 3 ? 1.0 : 0.9, far = max(floor(share * major + 0.5), 1.0);
    for (int k = 0; k < 4; k++) {
      ivec2 by = ivec2(floor((k == 0 ? vec2(1, 0) : k == 1 ? vec2(0, 1) : k == 2 ? vec2(0.7, 0.7) : vec2(0.7, -0.7)) * far + 0.5)); // whole dots, as far to one side as to the other
      float lift = clamp(up(here + by) - d, -2.0 * far, 2.0 * far) + clamp(up(here - by) - d, -2.0 * far, 2.0 * far);
      total += weight / far * clamp(lift, -0.5 * far, 2.0 * far);
    }
  }
  colour = vec4(pow(clamp(1.0 - 0.045 * total, 0.25, 1.0), 0.4545));
}`;

// The fine picture with its hollows; a seam thinner than a pixel, where the backdrop shines through, is closed.
const FINE = `#version 300 es
precision highp float;
in vec2 uv; out vec4 colour; uniform sampler2D picture, hollows;
void main() {
  vec4 c = texture(picture, uv);
  if (c.a > 0.0 && c.a < 0.999) {
    vec2 one = 1.0 / vec2(textureSize(picture, 0));
    vec4 l = texture(picture, uv - vec2(one.x, 0)), r = texture(picture, uv + vec2(one.x, 0));
    vec4 d = texture(picture, uv - vec2(0, one.y)), u = texture(picture, uv + vec2(0, one.y));
    if (min(l.a, r.a) > 0.999) c = (l + r) / 2.0;
    else if (min(d.a, u.a) > 0.999) c = (d + u) / 2.0;
  }
  vec2 half_ = 0.5 / vec2(textureSize(hollows, 0));
  float soft = 0.0;
  for (int i = 0; i < 4; i++) soft += texture(hollows, uv + half_ * vec2(i % 2 == 0 ? -1 : 1, i < 2 ? -1 : 1)).r / 4.0;
  colour = vec4(c.rgb * soft, c.a);
}`;

const HOME = { turn: 0, tilt: 18, zoom: 1 };
const VIEWS = { side: { turn: 0, tilt: 0 }, point: { turn: 0, tilt: 90 }, face: { turn: -22, tilt: 0 } };
const REST = 300; // milliseconds without a move before the fine picture begins
const PASSES = 12; // shifted pictures that make the fine one
const CHIP = 6; // the part by which chips are told in the picture of parts
const BEND = 0.01; // cells turned away by less are drawn all the same
const DEPTHS = 512; // how finely cells are put in order by their depth
const GHOST = 1600; // milliseconds the last outline stays after a change

const clamp = (x, low, high) => Math.min(Math.max(x, low), high);
const wrap = (turn) => ((((turn + 180) % 360) + 360) % 360) - 180;

function program(gl, vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made));
  const places = {};
  for (let i = 0; i < gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS); i++) {
    const name = gl.getActiveUniform(made, i).name;
    places[name] = gl.getUniformLocation(made, name);
  }
  return { made, places };
}

// The camera of the plates (tapkit/drawing/raster.py), for a size in pixels; `frame` says what must be in the picture
// along and across the axis, the tap itself where it is not given.
function camera(about, view, width, height, frame) {
  const rad = Math.PI / 180, side = about.hand === "right" ? -1 : 1;
  const a = side * (view.turn + about.firstTurn) * rad, t = view.tilt * rad;
  const [ca, sa, ct, st] = [Math.cos(a), Math.sin(a), Math.cos(t), Math.sin(t)];
  const rows = [[sa, ca, 0], [st * ca, -st * sa, ct], [ct * ca, -ct * sa, -st]];
  const length = (frame ? frame.high - frame.low : about.length) / view.zoom;
  const across = frame ? frame.radius : about.outer;
  const radius = across * Math.abs(st);
  const low = frame ? (frame.low / view.zoom) * ct - radius : Math.min(-radius, -about.tip * ct);
  const high = (frame ? frame.high / view.zoom : length) * ct + radius;
  const scale = Math.min(((1 - 2 * about.margin) * height) / (high - low), ((frame ? 0.94 : 0.74) * width * (frame ? view.zoom : 1)) / (2 * across));
  const eye = about.distance * (frame ? frame.high - frame.low : about.length);
  const front = about.outer * Math.abs(ct) + (t < 0 ? Math.min(about.end, length) * -st : 0);
  const project = (p) => {
    const [x, y, z] = rows.map((r) => r[0] * p[0] + r[1] * p[1] + r[2] * p[2]);
    const size = scale / (1 - z / eye);
    return [width / 2 + x * size, height / 2 - (y * size - ((low + high) / 2) * scale), z];
  };
  return { rows, low, high, scale, eye, front, centre: (low + high) / 2, project, side, deep: 2 * (about.end + 4 * about.outer + (frame ? frame.high - frame.low : 0)) };
}

// The corners of every cell, four vertices of five words each, from the vertices that neighbours share (drawing/packed.py);
// its middle and outward direction and how far its triangles bend from it, seven numbers each; and whether its corners run
// the other way round. Cells that have closed to a line are left out.
function cellsOf(vertices, about) {
  const shared = new Uint32Array(vertices.slice().buffer), most = about.shapes.reduce((n, [patches, rows, columns]) => n + patches * (rows - 1) * (columns - 1), 0);
  const words = new Uint32Array(20 * most), raw = new Int16Array(words.buffer), cells = new Float32Array(7 * most), turned = new Uint8Array(most), size = about.reach / 32767;
  let count = 0, first = 0;
  const cell = (at) => {
    const w = 20 * count, tooth = shared[5 * at[3] + 4] & 0xff0000;
    for (let c = 0; c < 4; c++) {
      const from = 5 * at[c], to = w + 5 * c;
      for (let i = 0; i < 4; i++) words[to + i] = shared[from + i];
      words[to + 4] = (shared[from + 4] & 0xff00ffff) | tooth;
    }
    const p = 40 * count, k = 7 * count;
    const dx = raw[p + 10] - raw[p + 20], dy = raw[p + 11] - raw[p + 21], dz = raw[p + 12] - raw[p + 22];
    const ex = raw[p + 30] - raw[p], ey = raw[p + 31] - raw[p + 1], ez = raw[p + 32] - raw[p + 2];
    const nx = dy * ez - dz * ey, ny = dz * ex - dx * ez, nz = dx * ey - dy * ex, long = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (long < 1) return;
    const fx = raw[p + 20] - raw[p], fy = raw[p + 21] - raw[p + 1], fz = raw[p + 22] - raw[p + 2];
    const mx = dy * fz - dz * fy, my = dz * fx - dx * fz, mz = dx * fy - dy * fx; // of the first three corners alone
    const ox = nx - mx, oy = ny - my, oz = nz - mz; // and of the last three
    let out = 0;
    for (let q = p + 4; q < p + 40; q += 10) out += raw[q] * nx + raw[q + 1] * ny + raw[q + 2] * nz;
    const away = long * (out < 0 ? -1 : 1);
    const one = Math.sqrt(mx * mx + my * my + mz * mz), other = Math.sqrt(ox * ox + oy * oy + oz * oz);
    const alike = Math.min(one < 1e-3 * long ? 1 : (mx * nx + my * ny + mz * nz) / (one * long), other < 1e-3 * long ? 1 : (ox * nx + oy * ny + oz * nz) / (other * long));
    turned[count] = out < 0 ? 1 : 0;
    cells[k] = ((raw[p] + raw[p + 10] + raw[p + 20] + raw[p + 30]) * size) / 4;
    cells[k + 1] = ((raw[p + 1] + raw[p + 11] + raw[p + 21] + raw[p + 31]) * size) / 4;
    cells[k + 2] = ((raw[p + 2] + raw[p + 12] + raw[p + 22] + raw[p + 32]) * size) / 4 + about.middle;
    cells[k + 3] = nx / away; cells[k + 4] = ny / away; cells[k + 5] = nz / away;
    cells[k + 6] = BEND + Math.sqrt(Math.max(2 - 2 * alike, 0));
    count += 1;
  };
  const at = [0, 0, 0, 0];
  for (const [patches, rows, columns] of about.shapes) {
    for (let patch = 0; patch < patches; patch++, first += rows * columns) {
      for (let row = 0; row < rows - 1; row++) {
        for (let v = first + row * columns, end = v + columns - 1; v < end; v++) {
          at[0] = v; at[1] = v + 1; at[2] = v + columns; at[3] = v + columns + 1;
          cell(at);
        }
      }
    }
  }
  return { corners: words.subarray(0, 20 * count), cells: cells.subarray(0, 7 * count), turned };
}

class Scene {
  constructor(canvas, light, lightAbout) {
    const gl = canvas.getContext("webgl2", { antialias: false, alpha: true, premultipliedAlpha: true, preserveDrawingBuffer: true });
    if (!gl) throw new Error("no WebGL 2");
    Object.assign(this, { canvas, gl, lightAbout, view: { ...HOME }, pointed: 0, cut: null, frames: 0 });
    [this.steel, this.opened] = [false, true].map((cut) => program(gl, vertex(cut), fragment(cut)));
    [this.outline, this.copier, this.hollower, this.finish] = [OUTLINE, COPY, HOLLOWS, FINE].map((text) => program(gl, FLAT, text));
    this.float = gl.getExtension("EXT_color_buffer_float") || gl.getExtension("EXT_color_buffer_half_float");
    this.empty = gl.createVertexArray();
    this.lightTextures(light);
    this.teeth = this.texture(gl.TEXTURE_2D, gl.NEAREST);
    this.tell([]);
    this.current = null;
    this.outlined = "";
    this.ghostUntil = 0;
  }

  texture(kind, filter) {
    const gl = this.gl, made = gl.createTexture();
    gl.bindTexture(kind, made);
    for (const [what, value] of [["MIN_FILTER", filter], ["MAG_FILTER", filter], ["WRAP_S", gl.CLAMP_TO_EDGE], ["WRAP_T", gl.CLAMP_TO_EDGE]])
      gl.texParameteri(kind, gl["TEXTURE_" + what], value);
    return made;
  }

  lightTextures(light) {
    const gl = this.gl, { side, directions } = this.lightAbout, size = 3 * side * side * directions;
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    this.ball = this.texture(gl.TEXTURE_2D_ARRAY, gl.LINEAR);
    gl.texImage3D(gl.TEXTURE_2D_ARRAY, 0, gl.RGB8, side, side, directions, 0, gl.RGB, gl.UNSIGNED_BYTE, light.subarray(0, size));
    this.grinding = this.texture(gl.TEXTURE_2D, gl.NEAREST);
    const marks = new Int8Array(light.buffer, light.byteOffset + size, 4096);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.R8I, 4096, 1, 0, gl.RED_INTEGER, gl.BYTE, marks);
  }

  // A new tap; the one before stays for a moment as an outline.
  put(vertices, about) {
    const gl = this.gl, made = { about, array: gl.createVertexArray(), buffers: [gl.createBuffer(), gl.createBuffer()] };
    const { corners, ...found } = cellsOf(vertices, about);
    Object.assign(made, found);
    made.index = new Uint32Array((6 * corners.length) / 20);
    gl.bindVertexArray(made.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, made.buffers[0]);
    gl.bufferData(gl.ARRAY_BUFFER, corners, gl.STATIC_DRAW);
    for (const at of [0, 1, 2]) gl.enableVertexAttribArray(at);
    for (const at of [0, 1]) gl.vertexAttribPointer(at, 4, gl.SHORT, true, 20, 8 * at);
    gl.vertexAttribIPointer(2, 4, gl.UNSIGNED_BYTE, 20, 16);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, made.buffers[1]);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, made.index.byteLength, gl.DYNAMIC_DRAW);
    gl.bindVertexArray(null);
    if (this.current && performance.now() > this.ghostUntil) this.keepOutline();
    this.forget(this.current);
    this.current = made;
    if (this.outlined) this.ghostUntil = performance.now() + GHOST;
  }

  // The outline of what is shown now, kept to be laid over what comes; it holds for this view alone.
  keepOutline() {
    const gl = this.gl, { width, height } = this;
    if (!this.frames) return;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.targets[4].frame.x);
    gl.viewport(0, 0, width, height);
    gl.disable(gl.BLEND);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT);
    this.between(this.span, () => this.fill(this.outline, { size: [width, height], dots: [this.dots] }, { ghost: this.targets[0].colour.x }));
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    this.outlined = this.posed();
  }

  // The outline over what is shown, between two columns of the picture.
  drawOutline(span) {
    const gl = this.gl;
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    this.between(span, () => this.fill(this.copier, {}, { picture: this.targets[4].colour.x }));
    gl.disable(gl.BLEND);
  }

  // What is drawn touches only what lies between two columns of the picture.
  between([left, right], draw) {
    const gl = this.gl;
    gl.enable(gl.SCISSOR_TEST);
    gl.scissor(left, 0, right - left, this.height);
    draw();
    gl.disable(gl.SCISSOR_TEST);
  }

  // How far from the axis toward the eye the section plane lies [mm]; in the film it goes through the hole.
  cutDeep() {
    const deep = this.cut ? this.cut.at * this.current.about.outer : 0, most = this.film ? 0.96 * this.film.data.hole : Infinity;
    return clamp(deep, -most, most);
  }

  // What an outline holds for.
  posed() {
    return JSON.stringify([this.view, this.width, this.height, this.film?.depth, this.cut]);
  }

  dropOutline() {
    this.outlined = "";
    this.ghostUntil = 0;
  }

  // The cells that can be seen in this pose, the nearest first, so that what lies behind them is not lit in vain; all of
  // them where the skin is cut open. Gives the number of corners to draw.
  order(made, pose, cam) {
    const key = JSON.stringify([pose, cam.eye, !!this.cut]);
    if (made.ordered === key) return made.drawn;
    made.ordered = key;
    const gl = this.gl, { cells, turned, index } = made, count = cells.length / 7, near = new Float32Array(count);
    const [r, u, e] = pose.rows, [sx, sy, sz] = pose.shift, lift = cam.eye - sz;
    const eye = [0, 1, 2].map((i) => e[i] * lift - r[i] * sx - u[i] * sy);
    const starts = new Uint32Array(DEPTHS + 1), reach = cam.deep;
    for (let i = 0, k = 0; i < count; i++, k += 7) {
      const x = cells[k], y = cells[k + 1], z = cells[k + 2], dx = eye[0] - x, dy = eye[1] - y, dz = eye[2] - z;
      const facing = cells[k + 3] * dx + cells[k + 4] * dy + cells[k + 5] * dz;
      if (!this.cut && facing < -cells[k + 6] * lift) { near[i] = -1; continue; }
      near[i] = clamp(Math.floor((0.5 - (e[0] * x + e[1] * y + e[2] * z) / reach) * DEPTHS), 0, DEPTHS - 1);
      starts[near[i] + 1] += 1;
    }
    for (let d = 0; d < DEPTHS; d++) starts[d + 1] += starts[d];
    made.drawn = 6 * starts[DEPTHS];
    for (let i = 0; i < count; i++) {
      if (near[i] < 0) continue;
      const k = 6 * starts[near[i]]++, v = 4 * i, b = v + 1 + turned[i], c = v + 2 - turned[i];
      index[k] = v; index[k + 1] = b; index[k + 2] = c; index[k + 3] = c; index[k + 4] = b; index[k + 5] = v + 3;
    }
    gl.bufferSubData(gl.ELEMENT_ARRAY_BUFFER, 0, index, 0, made.drawn);
    return made.drawn;
  }

  forget(made) {
    if (!made) return;
    this.gl.deleteVertexArray(made.array);
    made.buffers.forEach((b) => this.gl.deleteBuffer(b));
  }

  // Colours of the teeth: [{number, colour: [r, g, b] 0–1 linear, spacing of the hatch in pixels}]
  tell(teeth) {
    const gl = this.gl, bytes = new Uint8Array(2 * 256 * 4);
    this.faces = teeth.length ? 0.3 : 1; // where colours tell the load, a face has none of its own
    for (const t of teeth) {
      bytes.set([...t.colour.map((c) => Math.round(255 * c)), 235], 4 * t.number);
      bytes[4 * (256 + t.number)] = t.spacing;
    }
    gl.bindTexture(gl.TEXTURE_2D, this.teeth);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA8, 256, 2, 0, gl.RGBA, gl.UNSIGNED_BYTE, bytes);
  }

  size(width, height) {
    if (this.width === width && this.height === height) return;
    const gl = this.gl;
    Object.assign(this, { width, height });
    this.canvas.width = width;
    this.canvas.height = height;
    for (const old of (this.targets || []).filter(Boolean)) [old.frame, old.colour, old.id, old.depth].forEach((x) => x && x.drop());
    this.targets = [this.target(gl.RGBA8, true), this.target(gl.RGBA8), this.float ? this.target(gl.RGBA16F) : null, this.target(gl.RGBA8, false, 2), this.target(gl.RGBA8)];
  }

  target(format, ids = false, part = 1) {
    const gl = this.gl, [width, height] = [this.width, this.height].map((side) => Math.max(Math.round(side / part), 1)), frame = gl.createFramebuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    const colour = this.texture(gl.TEXTURE_2D, gl.LINEAR);
    gl.texStorage2D(gl.TEXTURE_2D, 1, format, width, height);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, colour, 0);
    let id = null;
    if (ids) {
      id = this.texture(gl.TEXTURE_2D, gl.NEAREST);
      gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA8, width, height);
      gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT1, gl.TEXTURE_2D, id, 0);
    }
    const depth = this.texture(gl.TEXTURE_2D, gl.NEAREST);
    gl.texStorage2D(gl.TEXTURE_2D, 1, gl.DEPTH_COMPONENT24, width, height);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.TEXTURE_2D, depth, 0);
    const drop = (f, x) => ({ x, drop: () => gl[f](x) });
    return { width, height, frame: drop("deleteFramebuffer", frame), colour: drop("deleteTexture", colour),
      id: id && drop("deleteTexture", id), depth: drop("deleteTexture", depth) };
  }

  // All of the picture into a target; or only its main `part`, with the inset left as it was, or only the "inset".
  draw(made, target, jitter, ids, part) {
    const gl = this.gl, { width, height } = this, inset = ids ? this.inset : 0;
    gl.bindFramebuffer(gl.FRAMEBUFFER, target.frame.x);
    gl.clearColor(0, 0, 0, 0);
    gl.drawBuffers(ids ? [gl.COLOR_ATTACHMENT0, gl.COLOR_ATTACHMENT1] : [gl.COLOR_ATTACHMENT0]);
    const square = [width - inset, height - inset, inset, inset], wide = [0, 0, width, height - inset], left = [0, height - inset, width - inset, inset];
    if (!part) gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    else {
      gl.enable(gl.SCISSOR_TEST);
      for (const [box, what] of part === "main" ? [[wide, gl.COLOR_BUFFER_BIT], [left, gl.COLOR_BUFFER_BIT], [[0, 0, width, height], gl.DEPTH_BUFFER_BIT]] : [[square, gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT]]) {
        gl.scissor(...box);
        gl.clear(what);
      }
      gl.disable(gl.SCISSOR_TEST);
    }
    const cam = part === "inset" ? null : this.window(made, [0, 0, width, height], this.view, jitter);
    if (this.film && ids) this.film.draw(cam, jitter);
    if (inset && part !== "main") {
      this.window(made, square, { turn: this.view.turn, tilt: 90, zoom: 1 }, jitter);
      gl.viewport(0, 0, width, height);
    }
    return cam;
  }

  // The tap into a part of the picture: left, low, width, height.
  window(made, [left, low, width, height], view, jitter) {
    const gl = this.gl, { made: prog, places: u } = this.cut ? this.opened : this.steel, about = made.about;
    const dots = this.dots, cam = camera(about, view, width, height, this.film && this.film.frame);
    gl.viewport(left, low, width, height);
    gl.enable(gl.DEPTH_TEST);
    gl.disable(gl.BLEND);
    (this.cut ? gl.disable : gl.enable).call(gl, gl.CULL_FACE);
    gl.useProgram(prog);
    const pose = this.film ? this.film.pose(cam) : { rows: cam.rows, shift: [0, 0, 0] };
    gl.uniformMatrix3fv(u.rot, true, pose.rows.flat());
    gl.uniform3fv(u.shift, pose.shift);
    gl.uniform2f(u.half_, width / 2, height / 2);
    gl.uniform4f(u.window, left, low, width, height);
    gl.uniform2f(u.jitter, jitter[0], jitter[1]);
    const values = { reach: about.reach, middle: about.middle, scale: cam.scale, centre: cam.centre, eye: cam.eye, deep: cam.deep,
      near_: about.near, most: about.along, dots, layers: this.lightAbout.directions, side: this.lightAbout.side,
      ballMost: this.lightAbout.most, grindDeep: this.lightAbout.deep, front: cam.front, major: 2 * about.outer,
      pointed: this.pointed, faces: this.faces, high: low ? 1e6 : height, cutAt: this.cutDeep() };
    for (const [name, value] of Object.entries(values)) if (u[name]) gl.uniform1f(u[name], value);
    const across = pose.rows[2], front = clamp((view.tilt - 45) / 45, 0, 1);
    gl.uniform2f(u.lamp, -0.22 * front, 0.06 * front); // as on the plates (drawing/photo.py)
    const flat = Math.hypot(across[0], across[1]) || 1;
    if (this.cut) gl.uniform4f(u.cut, across[0] / flat, across[1] / flat, 0, 1);
    [[gl.TEXTURE_2D_ARRAY, this.ball, "ball"], [gl.TEXTURE_2D, this.grinding, "grinding"], [gl.TEXTURE_2D, this.teeth, "teeth"]].forEach(
      ([kind, made_, name], i) => {
        gl.activeTexture(gl.TEXTURE0 + i);
        gl.bindTexture(kind, made_);
        gl.uniform1i(u[name], i);
      });
    gl.activeTexture(gl.TEXTURE0);
    gl.bindVertexArray(made.array);
    gl.drawElements(gl.TRIANGLES, this.order(made, pose, cam), gl.UNSIGNED_INT, 0);
    gl.bindVertexArray(null);
    return cam;
  }

  // A whole-picture program into what is bound now.
  fill({ made: prog, places: u }, values, textures = {}) {
    const gl = this.gl;
    gl.disable(gl.DEPTH_TEST);
    gl.disable(gl.CULL_FACE);
    gl.useProgram(prog);
    for (const [name, value] of Object.entries(values)) gl[`uniform${value.length}fv`](u[name], value);
    Object.entries(textures).forEach(([name, texture], i) => {
      gl.activeTexture(gl.TEXTURE0 + i);
      gl.bindTexture(gl.TEXTURE_2D, texture);
      gl.uniform1i(u[name], i);
    });
    gl.activeTexture(gl.TEXTURE0);
    gl.bindVertexArray(this.empty);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.bindVertexArray(null);
  }

  show(source, span, whole) {
    const gl = this.gl;
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
    gl.viewport(0, 0, this.width, this.height);
    if (source === this.targets[0]) {
      const { width, height, inset } = this, aside = Math.max(span[1], width - inset);
      gl.clearColor(0, 0, 0, 0);
      if (!whole) gl.clear(gl.COLOR_BUFFER_BIT);
      gl.bindFramebuffer(gl.READ_FRAMEBUFFER, source.frame.x);
      gl.readBuffer(gl.COLOR_ATTACHMENT0);
      for (const [left, low, right] of whole ? [[0, 0, width]] : [[span[0], 0, span[1]], ...(aside < width ? [[aside, height - inset, width]] : [])])
        gl.blitFramebuffer(left, low, right, height, left, low, right, height, gl.COLOR_BUFFER_BIT, gl.NEAREST); // where there is something
      gl.bindFramebuffer(gl.FRAMEBUFFER, null);
      if (this.outlined) this.drawOutline(span);
    } else {
      gl.disable(gl.BLEND);
      this.fill(this.finish, {}, { picture: source.colour.x, hollows: this.targets[3].colour.x });
    }
  }

  // One sharp picture at once, or a `part` of it as `draw` has it.
  quick(part) {
    const gl = this.gl;
    if (!this.current) return null;
    if (this.outlined && this.outlined !== this.posed()) this.dropOutline();
    const cam = this.draw(this.current, this.targets[0], [0, 0], true, part);
    if (cam) {
      const half = 1.12 * this.current.about.outer * cam.scale + 4, middle = this.width / 2;
      this.span = [middle - half, middle + half].map((x) => clamp(Math.round(x), 0, this.width)); // where the tap is
    }
    this.show(this.targets[0], this.span, !!this.film);
    this.passes = 1;
    this.frames += 1;
    if (this.drawn) gl.deleteSync(this.drawn);
    this.drawn = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    gl.flush();
    return cam;
  }

  // Whether what was asked for is drawn.
  ready() {
    return !this.drawn || this.gl.isContextLost() || this.gl.getSyncParameter(this.drawn, this.gl.SYNC_STATUS) === this.gl.SIGNALED;
  }

  // The same picture finer: one more shifted picture into the mean. True when there is nothing left to do.
  finer() {
    const gl = this.gl, mean = this.targets[2];
    if (!mean || !this.current || this.passes > PASSES) return true;
    const k = this.passes - 1, shift = [((0.5 + k * 0.7548776662) % 1) - 0.5, ((0.5 + k * 0.5698402909) % 1) - 0.5];
    const cam = this.draw(this.current, this.targets[0], shift, true);
    if (k === 0) this.hollows(cam);
    gl.bindFramebuffer(gl.FRAMEBUFFER, mean.frame.x);
    gl.viewport(0, 0, this.width, this.height);
    gl.enable(gl.BLEND);
    gl.blendColor(0, 0, 0, 1 / (k + 1));
    gl.blendFunc(gl.CONSTANT_ALPHA, gl.ONE_MINUS_CONSTANT_ALPHA);
    this.fill(this.copier, {}, { picture: this.targets[0].colour.x });
    gl.disable(gl.BLEND);
    this.passes += 1;
    if (this.passes > PASSES) this.show(mean);
    this.under(0, 0); // waits until it is drawn, so that a move never stands behind a row of fine pictures
    return this.passes > PASSES;
  }

  hollows(cam) {
    const gl = this.gl, half = this.targets[3], values = { major: [2 * this.current.about.outer * cam.scale], range: [cam.deep * cam.scale] };
    gl.bindFramebuffer(gl.FRAMEBUFFER, half.frame.x);
    gl.viewport(0, 0, half.width, half.height);
    this.fill(this.hollower, values, { depths: this.targets[0].depth.x });
  }

  // Number of the tooth and depth under a point of the canvas (device pixels from the upper left corner).
  under(x, y) {
    const gl = this.gl, bytes = new Uint8Array(4);
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.targets[0].frame.x);
    gl.readBuffer(gl.COLOR_ATTACHMENT1);
    gl.readPixels(clamp(Math.round(x), 0, this.width - 1), clamp(this.height - 1 - Math.round(y), 0, this.height - 1), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, bytes);
    gl.readBuffer(gl.COLOR_ATTACHMENT0);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    return { tooth: bytes[3] ? bytes[0] : 0, part: bytes[1], depth: bytes[2], some: bytes[3] > 0 };
  }

  // Whether each tip is in sight: nothing clearly nearer at the pixels around it.
  seen(tips) {
    const gl = this.gl;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.targets[0].frame.x);
    gl.readBuffer(gl.COLOR_ATTACHMENT1);
    const spots = tips.map(([x, y, , number]) => [Math.round(x), this.height - 1 - Math.round(y), number]);
    const inside = ([x, y]) => x >= 3 && y >= 3 && x <= this.width - 4 && y <= this.height - 4;
    const [xs, ys] = [0, 1].map((i) => spots.filter(inside).map((s) => s[i])), left = Math.min(...xs) - 2, low = Math.min(...ys) - 2;
    const wide = Math.max(...xs) + 3 - left, bytes = new Uint8Array(xs.length ? 4 * wide * (Math.max(...ys) + 3 - low) : 0);
    if (xs.length) gl.readPixels(left, low, wide, Math.max(...ys) + 3 - low, gl.RGBA, gl.UNSIGNED_BYTE, bytes); // all in one: each waits for the picture
    const found = spots.map((spot) => {
      if (!inside(spot)) return false;
      for (let i = 0; i < 25; i++) {
        const at = 4 * ((spot[1] - 2 - low + Math.floor(i / 5)) * wide + spot[0] - 2 - left + (i % 5));
        if (bytes[at + 3] > 0 && bytes[at] === spot[2] && bytes[at + 1] < 2) return true;
      }
      return false;
    });
    gl.readBuffer(gl.COLOR_ATTACHMENT0);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    return found;
  }

  end() {
    this.forget(this.current);
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}

