// The tap in the round: drawn from the packed skin of the geometry, by the light of the plates, with WebGL 2.
// Turning it asks nothing of the kernel. The same module serves the notebook (anywidget) and the card (`mount`).

const VERTEX = `#version 300 es
precision highp float;
layout(location=0) in vec3 place; layout(location=1) in float edge;
layout(location=2) in vec3 normal; layout(location=3) in float open_;
layout(location=4) in vec3 across; layout(location=5) in float tint;
layout(location=6) in float along; layout(location=7) in uvec2 kind;
uniform mat3 rot; uniform vec3 shift; uniform vec2 half_, jitter; uniform float reach, middle, scale, centre, eye, deep, near_, most;
out vec3 n; out vec2 b; out vec4 marks; out vec2 at; out float depth, up; flat out uvec2 is;
out vec3 body;
void main() {
  vec3 q = place * reach + vec3(0, 0, middle);
  vec3 c = rot * q + shift;
  float w = 1.0 - c.z / eye;
  gl_Position = vec4((c.x * scale + jitter.x * w) / half_.x, (c.y * scale + (jitter.y - centre * scale) * w) / half_.y, -c.z / deep * w, w);
  n = rot * normal; b = (rot * across).xy; body = q;
  marks = vec4(open_, along * most, edge * near_, tint);
  at = gl_Position.xy / w / 2.0; depth = c.z; up = q.z; is = kind;
}`;

// With CUT the skin can be cut open; without it nothing is thrown away, so that the depth is asked before the light.
const fragment = (cut) => `#version 300 es
${cut ? "#define CUT" : ""}
precision highp float; precision highp sampler2DArray; precision highp usampler2D; precision highp isampler2D;
in vec3 n; in vec2 b; in vec4 marks; in vec2 at; in float depth, up; flat in uvec2 is; in vec3 body;
uniform sampler2DArray ball; uniform isampler2D grinding; uniform sampler2D teeth;
uniform float scale, dots, layers, side, ballMost, grindDeep, front, major, pointed, cutAt, high; uniform vec4 cut;
layout(location=0) out vec4 colour; layout(location=1) out vec4 id;
const vec3 FACE = vec3(1.30, 0.80, 0.26), EDGE = vec3(0.42, 0.045, 0.02);
vec3 layer(float k, vec2 uv) { vec3 v = texture(ball, vec3(uv, k)).rgb; return v * v * ballMost; }
float coded(float x) { return x <= 0.0031308 ? 12.92 * x : 1.055 * pow(x, 1.0 / 2.4) - 0.055; }
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
    lines *= 0.07 * clamp(dot(b, b) * 2.0 - 0.6, 0.0, 1.0);
    vec3 m = normalize(n);
    vec2 nn = m.xy + 0.16 * at + lines * b;
    vec2 uv = (clamp(nn, -1.0, 1.0) + 1.0) / 2.0 * ((side - 1.0) / side) + 0.5 / side;
    float turn = mod(atan(b.y, b.x) * layers / 3.14159265, layers);
    float low = floor(turn);
    l = mix(layer(mod(low, layers), uv), layer(mod(low + 1.0, layers), uv), turn - low);
    l *= (0.10 + 0.90 * marks.x * marks.x) * 1.9;
    l = l * sqrt(l + 0.08);
    l = l * (1.0 + l / 12.0) / (1.0 + l);
    vec4 load = texelFetch(teeth, ivec2(int(is.y), 0), 0);
    vec4 how = texelFetch(teeth, ivec2(int(is.y), 1), 0);
    float slant = (marks.y + up) * px / 8.0;
    bool told = load.a > 0.0 && is.y > 0u && (is.x == 1u ? marks.w > 0.01 : is.x == 0u);
    if (told) {
      float gray = dot(l, vec3(0.2126, 0.7152, 0.0722));
      float spacing = how.r * 255.0;
      float line = spacing > 0.5 ? clamp(1.8 - abs(fract((marks.y + up) * px / spacing) - 0.5) * 7.0, 0.0, 1.0) : 0.0;
      vec3 dyed = load.rgb * (0.35 + 0.95 * gray);
      l = mix(l, dyed * (1.0 - 0.45 * line), load.a);
    } else if (marks.w > 0.01) {
      float line = clamp(1.6 - abs(fract(slant) - 0.5) * 9.0, 0.0, 1.0) * marks.w;
      l = (l * 0.75 + 0.12) * (1.0 + marks.w * (FACE - 1.0)) * (1.0 - 0.35 * line);
    }
    if (marks.z * px < 1.5 && marks.w > 0.7) l = EDGE;
    if (pointed > 0.5 && float(is.y) == pointed && is.x < 2u) l = l * 0.55 + vec3(0.10, 0.34, 0.62) * 0.75;
    l *= 1.0 - 0.5 * clamp((front - depth - 0.7 * major) / (2.2 * major), 0.0, 1.0);
  }
  vec3 shown = vec3(coded(min(l.r, 1.0)), coded(min(l.g, 1.0)), coded(min(l.b, 1.0)));
  float rise = smoothstep(0.0, 0.09, 1.0 - gl_FragCoord.y / high);
  colour = vec4(mix(vec3(1), shown, rise), 1.0);
  id = vec4(float(is.y) / 255.0, float(is.x) / 255.0, gl_FragCoord.z, 1.0);
}`;

const FLAT = `#version 300 es
precision highp float;
out vec2 uv;
void main() { vec2 p = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0); uv = (p + 1.0) / 2.0; gl_Position = vec4(p, 0, 1); }`;

// Pale paper that turns white toward its borders, and the tap's soft shadow on it; drawn small and spread out.
const BACKDROP = `#version 300 es
precision highp float;
in vec2 uv; out vec4 colour;
uniform vec2 size; uniform vec4 box; uniform float soft, dots, strength;
float shadow(vec2 p) {
  vec2 d = abs(p - box.xy) - box.zw;
  float f = length(max(d, 0.0)) + min(max(d.x, d.y), 0.0);
  return 1.0 - smoothstep(-soft, soft, f);
}
void main() {
  vec2 q = uv * 2.0 - 1.0;
  vec2 rim = clamp((1.0 - abs(q)) / vec2(0.5, 0.3), 0.0, 1.0);
  float deep = smoothstep(0.0, 1.0, rim.x) * smoothstep(0.0, 1.0, rim.y) * (0.10 - 0.03 * q.y);
  float fade = smoothstep(0.0, 0.16, 1.0 - uv.y);
  colour = vec4((1.0 - deep * vec3(1.0, 0.93, 0.86)) * (1.0 - strength * fade * shadow(uv * size - vec2(5.0, -6.0) * dots)), 1.0);
}`;

// The outline of what was there before, as a thin line.
const OUTLINE = `#version 300 es
precision highp float;
in vec2 uv; out vec4 colour; uniform sampler2D ghost; uniform vec2 size; uniform float dots;
void main() {
  vec2 e = vec2(1.1 * dots) / size;
  float a = texture(ghost, uv + vec2(e.x, 0)).a, b = texture(ghost, uv - vec2(e.x, 0)).a;
  float c = texture(ghost, uv + vec2(0, e.y)).a, d = texture(ghost, uv - vec2(0, e.y)).a;
  colour = vec4(0.12, 0.37, 0.66, clamp(abs(a - b) + abs(c - d), 0.0, 1.0) * 0.9);
}`;

const COPY = `#version 300 es
precision highp float;
in vec2 uv; out vec4 colour; uniform sampler2D picture;
void main() { colour = texture(picture, uv); }`;

const HOME = { turn: 0, tilt: 18, zoom: 1 };
const VIEWS = { side: { turn: 0, tilt: 0 }, point: { turn: 0, tilt: 90 }, face: { turn: -22, tilt: 0 } };
const REST = 300; // milliseconds without a move before the fine picture begins
const PASSES = 12; // shifted pictures that make the fine one
const CHIP = 6; // the part by which chips are told in the picture of parts
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

class Scene {
  constructor(canvas, light, lightAbout) {
    const gl = canvas.getContext("webgl2", { antialias: false, alpha: true, premultipliedAlpha: true, preserveDrawingBuffer: true });
    if (!gl) throw new Error("no WebGL 2");
    Object.assign(this, { canvas, gl, lightAbout, view: { ...HOME }, pointed: 0, cut: null, frames: 0, busy: 0 });
    [this.steel, this.opened] = [false, true].map((cut) => program(gl, VERTEX, fragment(cut)));
    [this.backdrop, this.outline, this.copier] = [BACKDROP, OUTLINE, COPY].map((text) => program(gl, FLAT, text));
    this.float = gl.getExtension("EXT_color_buffer_float") || gl.getExtension("EXT_color_buffer_half_float");
    this.empty = gl.createVertexArray();
    this.lightTextures(light);
    this.teeth = this.texture(gl.TEXTURE_2D, gl.NEAREST);
    this.tell([]);
    this.current = null;
    this.before = null;
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
    const cells = vertices.byteLength / 80, index = new Uint32Array(6 * cells);
    for (let i = 0, k = 0; i < cells; i++)
      for (const corner of [0, 1, 2, 2, 1, 3]) index[k++] = 4 * i + corner;
    gl.bindVertexArray(made.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, made.buffers[0]);
    gl.bufferData(gl.ARRAY_BUFFER, vertices, gl.STATIC_DRAW);
    const lay = [[0, 3, gl.SHORT, 0], [1, 1, gl.UNSIGNED_SHORT, 6], [2, 3, gl.BYTE, 8], [3, 1, gl.UNSIGNED_BYTE, 11],
      [4, 3, gl.BYTE, 12], [5, 1, gl.UNSIGNED_BYTE, 15], [6, 1, gl.UNSIGNED_SHORT, 16]];
    for (const [at, count, kind, offset] of lay) {
      gl.enableVertexAttribArray(at);
      gl.vertexAttribPointer(at, count, kind, true, 20, offset);
    }
    gl.enableVertexAttribArray(7);
    gl.vertexAttribIPointer(7, 2, gl.UNSIGNED_BYTE, 20, 18);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, made.buffers[1]);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, index, gl.STATIC_DRAW);
    gl.bindVertexArray(null);
    made.count = index.length;
    if (performance.now() > this.ghostUntil || !this.before) {
      this.forget(this.before);
      this.before = this.current;
    } else this.forget(this.current);
    this.current = made;
    this.ghostUntil = this.before ? performance.now() + GHOST : 0;
  }

  forget(made) {
    if (!made) return;
    this.gl.deleteVertexArray(made.array);
    made.buffers.forEach((b) => this.gl.deleteBuffer(b));
  }

  // Colours of the teeth: [{number, colour: [r, g, b] 0–1 linear, spacing of the hatch in pixels}]
  tell(teeth) {
    const gl = this.gl, bytes = new Uint8Array(2 * 256 * 4);
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
    for (const old of this.targets || []) [old.frame, old.colour, old.id, old.depth].forEach((x) => x && x.drop());
    this.targets = [this.target(gl.RGBA8, 1, true), this.target(gl.RGBA8), this.float ? this.target(gl.RGBA16F) : null, this.target(gl.RGBA8, 4)];
  }

  target(format, part = 1, ids = false) {
    const gl = this.gl, [width, height] = [this.width, this.height].map((n) => Math.ceil(n / part)), frame = gl.createFramebuffer();
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
    const depth = gl.createRenderbuffer();
    gl.bindRenderbuffer(gl.RENDERBUFFER, depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT24, width, height);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, depth);
    const drop = (f, x) => ({ x, drop: () => gl[f](x) });
    return { width, height, frame: drop("deleteFramebuffer", frame), colour: drop("deleteTexture", colour),
      id: id && drop("deleteTexture", id), depth: drop("deleteRenderbuffer", depth) };
  }

  draw(made, target, jitter, ids) {
    const gl = this.gl, { made: prog, places: u } = this.cut ? this.opened : this.steel, about = made.about;
    const dots = this.dots, cam = camera(about, this.view, this.width, this.height, this.film && this.film.frame);
    if (ids) this.ground(cam);
    gl.bindFramebuffer(gl.FRAMEBUFFER, target.frame.x);
    gl.viewport(0, 0, this.width, this.height);
    gl.clearColor(0, 0, 0, 0);
    if (ids) {
      gl.drawBuffers([gl.COLOR_ATTACHMENT0, gl.COLOR_ATTACHMENT1]);
      gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      gl.drawBuffers([gl.COLOR_ATTACHMENT0, gl.NONE]);
      gl.disable(gl.BLEND);
      this.fill(this.copier, {}, { picture: this.targets[3].colour.x });
      gl.drawBuffers([gl.COLOR_ATTACHMENT0, gl.COLOR_ATTACHMENT1]);
    } else {
      gl.drawBuffers([gl.COLOR_ATTACHMENT0]);
      gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    }
    gl.enable(gl.DEPTH_TEST);
    gl.disable(gl.BLEND);
    (this.cut ? gl.disable : gl.enable).call(gl, gl.CULL_FACE);
    gl.useProgram(prog);
    const pose = this.film ? this.film.pose(cam) : { rows: cam.rows, shift: [0, 0, 0] };
    gl.uniformMatrix3fv(u.rot, true, pose.rows.flat());
    gl.uniform3fv(u.shift, pose.shift);
    gl.uniform2f(u.half_, this.width / 2, this.height / 2);
    gl.uniform2f(u.jitter, jitter[0], jitter[1]);
    const values = { reach: about.reach, middle: about.middle, scale: cam.scale, centre: cam.centre, eye: cam.eye, deep: cam.deep,
      near_: about.near, most: about.along, dots, layers: this.lightAbout.directions, side: this.lightAbout.side,
      ballMost: this.lightAbout.most, grindDeep: this.lightAbout.deep, front: cam.front, major: 2 * about.outer,
      pointed: this.pointed, high: this.height, cutAt: this.cut ? this.cut.at * about.outer : 0 };
    for (const [name, value] of Object.entries(values)) if (u[name]) gl.uniform1f(u[name], value);
    const across = cam.rows[2];
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
    gl.drawElements(gl.TRIANGLES, made.count, gl.UNSIGNED_INT, 0);
    gl.bindVertexArray(null);
    if (this.film && ids) this.film.draw(cam, jitter);
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

  ground(cam) {
    const gl = this.gl, about = this.current.about, to = this.targets[3], tilt = (this.view.tilt * Math.PI) / 180;
    const half = about.outer * cam.scale, middle = this.height / 2;
    const low = middle + (cam.low - cam.centre) * cam.scale;
    const high = middle + (about.end * Math.cos(tilt) + about.outer * Math.abs(Math.sin(tilt)) - cam.centre) * cam.scale;
    gl.bindFramebuffer(gl.FRAMEBUFFER, to.frame.x);
    gl.drawBuffers([gl.COLOR_ATTACHMENT0]);
    gl.viewport(0, 0, to.width, to.height);
    gl.disable(gl.BLEND);
    this.fill(this.backdrop, { size: [this.width, this.height], box: [this.width / 2, (low + high) / 2, half * 0.86, (high - low) / 2], soft: [half * 0.45], dots: [this.dots], strength: [this.film ? 0 : 0.22] });
  }

  show(source) {
    const gl = this.gl;
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
    gl.viewport(0, 0, this.width, this.height);
    if (source === this.targets[0]) {
      gl.bindFramebuffer(gl.READ_FRAMEBUFFER, source.frame.x);
      gl.readBuffer(gl.COLOR_ATTACHMENT0);
      gl.blitFramebuffer(0, 0, this.width, this.height, 0, 0, this.width, this.height, gl.COLOR_BUFFER_BIT, gl.NEAREST);
      gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    } else {
      gl.disable(gl.BLEND);
      this.fill(this.copier, {}, { picture: source.colour.x });
    }
  }

  // One sharp picture at once, over the outline of what was there before.
  quick() {
    if (!this.current) return null;
    const gl = this.gl, ghost = this.before && performance.now() < this.ghostUntil;
    const seen = ghost && JSON.stringify([this.view, this.width, this.height]);
    if (ghost && (this.ghostSeen?.made !== this.before || this.ghostSeen.view !== seen)) { // else its outline is there still
      this.draw(this.before, this.targets[1], [0, 0], false);
      this.ghostSeen = { made: this.before, view: seen };
    }
    const cam = this.draw(this.current, this.targets[0], [0, 0], true);
    if (ghost) {
      gl.drawBuffers([gl.COLOR_ATTACHMENT0, gl.NONE]);
      gl.enable(gl.BLEND);
      gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
      this.fill(this.outline, { size: [this.width, this.height], dots: [this.dots] }, { ghost: this.targets[1].colour.x });
      gl.disable(gl.BLEND);
    }
    this.show(this.targets[0]);
    this.passes = 1;
    this.frames += 1;
    return cam;
  }

  // The same picture finer: one more shifted picture into the mean. True when there is nothing left to do.
  finer() {
    const gl = this.gl, mean = this.targets[2];
    if (!mean || !this.current || this.passes > PASSES) return true;
    if (this.before && performance.now() >= this.ghostUntil) { this.forget(this.before); this.before = null; }
    const k = this.passes - 1, shift = [((0.5 + k * 0.7548776662) % 1) - 0.5, ((0.5 + k * 0.5698402909) % 1) - 0.5];
    this.draw(this.current, this.targets[0], shift, true);
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
  seen(tips, cam) {
    const gl = this.gl;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.targets[0].frame.x);
    gl.readBuffer(gl.COLOR_ATTACHMENT1);
    const bytes = new Uint8Array(5 * 5 * 4), deep = cam.deep;
    const found = tips.map(([x, y, z, number]) => {
      if (x < 3 || y < 3 || x > this.width - 4 || y > this.height - 4) return false;
      gl.readPixels(Math.round(x) - 2, this.height - 1 - Math.round(y) - 2, 5, 5, gl.RGBA, gl.UNSIGNED_BYTE, bytes);
      let own = false;
      for (let i = 0; i < 25; i++) own ||= bytes[4 * i + 3] > 0 && bytes[4 * i] === number && bytes[4 * i + 1] < 2;
      return own;
    });
    gl.readBuffer(gl.COLOR_ATTACHMENT0);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    return found;
  }

  end() {
    this.forget(this.current);
    this.forget(this.before);
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}

