const CSS = `
.tapkit-round {position: relative; display: block; width: 100%; color: #17202b; font: 14px/1.4 "DejaVu Sans", "Segoe UI", Arial, sans-serif}
.tapkit-round-view {position: relative; width: 100%; background: radial-gradient(ellipse 50% 50% at 50% 50%, #dfe2e5 0, #e9ebed 45%, #fff 100%); max-height: var(--tapkit-tall, none); touch-action: none; cursor: grab; border-radius: 4px; overflow: hidden}
.tapkit-round-view:active {cursor: grabbing}
.tapkit-round-view:focus-visible {outline: 3px solid #1f5fa8; outline-offset: 2px}
.tapkit-round canvas {display: block; width: 100%; height: 100%}
.tapkit-round-label {position: absolute; transform: translate(-50%, -50%); font-size: 13px; pointer-events: none; white-space: nowrap;
  background: rgba(255,255,255,.86); border: 1px solid #c9d0d8; border-radius: 9px; padding: 0 6px; min-width: 8px; text-align: center; color: #17202b}
.tapkit-round-label.is-pointed {background: #b0127b; color: #fff; border-color: #b0127b; font-weight: 600}
.tapkit-round svg {position: absolute; inset: 0; width: 100%; height: 100%; pointer-events: none}
.tapkit-round-bar {display: flex; flex-wrap: wrap; gap: 6px; padding: 6px 0 0; align-items: center}
.tapkit-round :is(.tapkit-round-bar, .tapkit-round-film) button {font: inherit; line-height: 1; padding: 7px 10px; color: #17202b; background: #fff; border: 1px solid #4d5865; border-radius: 4px; cursor: pointer}
.tapkit-round-bar button[aria-pressed=true] {background: #1f5fa8; color: #fff}
.tapkit-round :is(button, input):focus-visible {outline: 3px solid #1f5fa8; outline-offset: 2px}
.tapkit-round-scale {display: flex; align-items: center; gap: 8px; padding-top: 6px; font-size: 13px; flex-wrap: wrap}
.tapkit-round-scale span {display: inline-flex; align-items: center; gap: 4px}
.tapkit-round-scale i {display: inline-block; width: 22px; height: 14px; border: 1px solid #17202b}
.tapkit-round-teeth {display: flex; gap: 2px; align-items: flex-end; height: 58px; padding-top: 6px}
.tapkit-round-teeth button {flex: 0 1 26px; min-width: 12px; height: 58px; padding: 0; border: 0; background: none; font: 12px/16px inherit; font-size: 12px; color: inherit; cursor: pointer; display: flex; flex-direction: column; justify-content: flex-end; align-items: stretch; text-align: center}
.tapkit-round-teeth i {display: block; border: 1px solid #17202b; min-height: 1px}
.tapkit-round-teeth button[aria-current=true] {font-weight: 700; color: #b0127b; box-shadow: inset 0 -3px #b0127b}
.tapkit-round-inset {position: absolute; right: 4px; text-align: center; font-size: 13px; pointer-events: none}
.tapkit-round-told {position: absolute; left: 8px; top: 8px; background: rgba(255,255,255,.92); border: 1px solid #c9d0d8; border-radius: 4px; padding: 3px 8px; max-width: 70%; pointer-events: none}
.tapkit-round-told:empty {opacity: 0}
.tapkit-round [hidden] {display: none !important}
.tapkit-round-film {display: flex; flex-wrap: wrap; gap: 6px 10px; align-items: center; padding-top: 6px}
.tapkit-round-film input[type=range] {flex: 1 1 180px; min-width: 120px}
.tapkit-round-film[hidden] {display: none}
.tapkit-round-strip {width: 100%; height: 84px; display: block; position: static !important; pointer-events: auto}
.tapkit-round-chart {position: relative; width: 100%; box-sizing: border-box; padding: 0 4px 18px 46px; font-size: 12px; line-height: 14px; font-variant-numeric: tabular-nums}
.tapkit-round-chart span {position: absolute; white-space: nowrap}
.tapkit-round-axes {position: absolute; inset: 0 4px 0 46px; pointer-events: none}
.tapkit-round-axes .is-up {right: 100%; margin-right: 4px; transform: translateY(-50%)}
.tapkit-round-axes .is-along {bottom: 0; transform: translateX(-50%)}
.tapkit-round-axes .is-name {left: 6px; background: rgba(255,255,255,.94)}
.tapkit-round-said {width: 100%; min-height: 1.4em; font-variant-numeric: tabular-nums}
@container (min-width: 700px) {
  .tapkit-round:has(.tapkit-round-film:not([hidden])) {display: grid; grid-template-columns: minmax(0, 1fr) 280px; grid-template-rows: min-content min-content min-content 1fr; column-gap: 16px; align-items: start}
  .tapkit-round:has(.tapkit-round-film:not([hidden])) > * {grid-column: 2}
  .tapkit-round:has(.tapkit-round-film:not([hidden])) > .tapkit-round-view {grid-column: 1; grid-row: 1 / span 4; aspect-ratio: auto !important; height: min(var(--tapkit-most, 560px), 100vh - var(--tapkit-under, 200px)); max-height: none}
}
@container (max-width: 240px) {
  .tapkit-round .tapkit-round-bar {gap: 3px}
  .tapkit-round .tapkit-round-bar button {padding: 4px 6px; font-size: 12px}
  .tapkit-round .tapkit-round-scale {font-size: 12px; gap: 2px 6px}
}
@media (max-height: 520px) {
  .tapkit-round {display: grid; grid-template-columns: minmax(0, 1fr) 112px; column-gap: 8px; align-items: start}
  .tapkit-round > * {grid-column: 2}
  .tapkit-round > .tapkit-round-view {grid-column: 1; grid-row: 1 / span 6; aspect-ratio: auto !important; height: calc(100vh - 130px); max-height: none}
  .tapkit-round :is(.tapkit-round-bar, .tapkit-round-film) {gap: 3px; padding: 0}
  .tapkit-round :is(.tapkit-round-bar, .tapkit-round-film) button {padding: 4px 6px; font-size: 12px}
  .tapkit-round :is(.tapkit-round-chart, .tapkit-round-teeth, .tapkit-round-scale) {display: none}
  .tapkit-round-said {font-size: 12px}
}
.tapkit-projector .tapkit-round {font-size: 18px}
.tapkit-projector .tapkit-round :is(.tapkit-round-label, .tapkit-round-scale, .tapkit-round-inset) {font-size: 17px}
.tapkit-round-none {border: 1px solid #c9d0d8; border-radius: 4px; padding: 12px}
`;

const encode = (x) => Math.round(255 * (x <= 0.0031308 ? 12.92 * x : 1.055 * x ** (1 / 2.4) - 0.055));

// Put a tap in the round into an element.
//   data: {vertices, about, light, lightAbout, words, teeth, view, ratio}; heard(what, value) is told of moves.
function mount(el, data, heard = () => {}) {
  const words = data.words;
  const style = element("style", { textContent: CSS });
  const canvas = element("canvas");
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("aria-hidden", "true");
  const labels = element("div", { ariaHidden: "true" });
  const beside = element("div", { className: "tapkit-round-inset", textContent: words.straightOn, hidden: true });
  const told = element("div", { className: "tapkit-round-told" });
  told.setAttribute("role", "status");
  const view = element("div", { className: "tapkit-round-view", tabIndex: 0 }, canvas, svg, labels, beside, told);
  view.setAttribute("role", "application");
  view.setAttribute("aria-label", data.name);
  view.setAttribute("aria-roledescription", words.kind);
  const bar = element("div", { className: "tapkit-round-bar" });
  const key = element("div", { className: "tapkit-round-scale" });
  const bars = element("div", { className: "tapkit-round-teeth", hidden: true });
  bars.setAttribute("role", "group");
  bars.setAttribute("aria-label", words.scale);
  const whole = element("div", { className: "tapkit-round" }, style, view, bar, bars, key);
  el.style.containerType = "inline-size";
  el.append(whole);
  view.style.aspectRatio = String(data.ratio || 0.8);

  let scene;
  try {
    scene = new Scene(canvas, data.light, data.lightAbout);
  } catch (error) {
    view.remove();
    bar.remove();
    const still = element("img", { style: "display:block; max-width:100%; height:auto", hidden: true });
    whole.append(still, element("p", { className: "tapkit-round-none", textContent: words.none }));
    const show = (more) => {
      Object.assign(data, more);
      still.alt = data.name;
      if (!more.still?.byteLength) return;
      URL.revokeObjectURL(still.src);
      still.src = URL.createObjectURL(new Blob([more.still], { type: more.still[0] === 60 ? "image/svg+xml" : "image/jpeg" }));
      still.hidden = false;
    };
    return { ok: false, why: String(error), update: show, point() {}, look() {}, end() { whole.remove(); } };
  }
  Object.assign(scene.view, data.view || {});
  if (data.inset) {
    const sign = (style, text) => { const swatch = element("i"); swatch.style.cssText = style; return element("span", {}, swatch, text); };
    const hatch = "repeating-linear-gradient(60deg, rgba(23,32,43,.4) 0 1.2px, transparent 1.2px 6px), #c99a4e";
    whole.append(element("div", { className: "tapkit-round-scale" }, sign(`background: ${hatch}`, words.cuts), sign("background: #cdbfae", words.guides), sign("height: 0; border: 0; border-top: 3px solid #ad3b28", words.edge)));
  }
  let asked = 0, early = false, insetAsked = 0, insetLater = false, begun = 0, resting = 0, last = null, teeth = [], fresh = false, inSight = true;

  const soon = () => { asked ||= requestAnimationFrame(paint); };
  const ask = () => { early = false; soon(); };
  const rest = () => {
    clearTimeout(resting);
    resting = setTimeout(function more() {
      const wait = scene.ghostUntil - performance.now();
      if (scene.outlined && wait > 0) { resting = setTimeout(more, wait); return; }
      if (scene.outlined) { scene.dropOutline(); scene.quick(); }
      if (!scene.finer()) resting = setTimeout(more, 0);
    }, REST);
  };

  // What stands beside the picture follows it.
  const beyond = new Set();
  const afterwards = (what) => { beyond.add(what); soon(); };
  function paint() {
    asked = 0;
    if (early && !scene.ready()) { soon(); return; } // the page goes on while a new tap is drawn
    if (!early) picture();
    early = false;
    if (last) finish();
    if (beyond.size) setTimeout(() => { const all = [...beyond]; beyond.clear(); all.forEach((what) => what()); });
  }
  function picture() {
    last = null;
    const box = view.getBoundingClientRect();
    if (box.width < 8 || !scene.current || !inSight) return; // painted when it comes in sight
    let dots = clamp(window.devicePixelRatio || 1, 1, 2);
    if (playing && slow) dots = 1; // a slow machine shows the running film with fewer dots, the still one with all
    scene.dots = dots;
    scene.size(Math.round(box.width * dots), Math.round(box.height * dots));
    const small = Math.round(Math.min(0.34 * box.width, 0.42 * box.height, 230) * dots);
    const before = scene.inset;
    scene.inset = data.inset && !scene.film && !scene.cut && scene.view.tilt < 60 && box.width > 380 ? small : 0;
    if (scene.inset !== before) {
      beside.hidden = !scene.inset;
      beside.style.cssText = `width: ${small / dots}px; top: ${small / dots}px`;
    }
    insetLater = fresh && scene.inset && scene.inset === before && scene.frames > 0;
    begun = performance.now();
    last = scene.quick(insetLater ? "main" : undefined); // a new tap is looked at first, its point follows in the next frame
  }
  // What goes with a picture once it is drawn.
  function finish() {
    if (insetLater) insetAsked ||= requestAnimationFrame(paintInset);
    insetLater = false;
    label(scene.dots);
    if (fresh) view.dispatchEvent(new CustomEvent("tapkit-shown", { bubbles: true }));
    fresh = false;
    rest();
  }
  function paintInset() {
    insetAsked = 0;
    if (!asked && scene.inset) scene.quick("inset");
  }

  // Numbers beside the teeth in sight; they stay on their teeth and hide behind the metal.
  function label(dots) {
    if (scene.film) { if (labels.firstChild) { svg.innerHTML = ""; labels.replaceChildren(); } return; }
    const about = scene.current.about;
    const tips = about.teeth.map((t) => [...last.project(t.at), t.number]);
    const seen = scene.seen(tips);
    const taken = [], large = whole.closest(".tapkit-projector") ? 1.3 : 1;
    const lines = [], made = [];
    const half = about.outer * last.scale;
    tips.map((t, i) => [t, i]).filter(([, i]) => seen[i]).sort((p, q) => q[0][1] - p[0][1]).forEach(([[x, y, , number]]) => {
      const side = x > scene.width / 2 ? 1 : -1;
      const end = scene.view.tilt > 60 ? clamp(x + (x - scene.width / 2) * 0.18, 12, scene.width - 12) : scene.width / 2 + side * (half + 20 * dots);
      const up = scene.view.tilt > 60 ? y + (y - scene.height / 2 + last.centre * 0) * 0.18 : y;
      const spot = [clamp(end, 14 * dots, scene.width - 14 * dots) / dots, clamp(up / dots, 10, scene.height / dots - 10)];
      if (taken.some(([a, b]) => Math.abs(a - spot[0]) < 24 * large && Math.abs(b - spot[1]) < 19 * large)) return;
      taken.push(spot);
      lines.push(`<line x1="${x / dots}" y1="${y / dots}" x2="${spot[0]}" y2="${spot[1]}" stroke="#4d5865" stroke-width="1"/>`);
      made.push(element("div", { className: "tapkit-round-label" + (number === scene.pointed ? " is-pointed" : ""), textContent: number, style: `left:${spot[0]}px;top:${spot[1]}px` }));
    });
    svg.innerHTML = lines.join("");
    labels.replaceChildren(...made);
  }

  function move(change, quiet) {
    const v = scene.view;
    v.turn = wrap(change.turn ?? v.turn);
    v.tilt = scene.film ? clamp(change.tilt ?? v.tilt, -60, 30) : clamp(change.tilt ?? v.tilt, -60, 90);
    v.zoom = clamp(change.zoom ?? v.zoom, 1, 6);
    ask();
    if (!quiet) heard("view", { turn: Math.round(v.turn * 10) / 10, tilt: Math.round(v.tilt * 10) / 10, zoom: Math.round(v.zoom * 100) / 100 });
  }

  // A tooth of which nothing else is told, by its place on the tap.
  function named(number) {
    const on = count() - 1, { flute } = scene.current.about.teeth[number - 1] ?? {};
    return (number > on ? words.whole : words.tooth).replace("{number}", number).replace("{count}", on).replace("{flute}", flute);
  }

  function tell() {
    const number = scene.pointed, text = number ? (teeth.find((t) => t.number === number)?.words ?? named(number)) : "";
    if (told.textContent !== text) told.textContent = text;
  }

  function point(number, quiet) {
    if (number === scene.pointed) return;
    scene.pointed = number;
    for (const b of bars.children) b.setAttribute("aria-current", String(Number(b.value) === number));
    tell();
    ask();
    if (!quiet) window.dispatchEvent(new CustomEvent("tapkit-point", { detail: number }));
  }
  // Who points at a tooth in another view of the page lights it here too.
  const pointedElsewhere = (e) => point(e.detail <= most() ? e.detail : 0, true);
  window.addEventListener("tapkit-point", pointedElsewhere);

  // Point at a tooth, and turn the tap until its cutting face is in sight.
  function turnTo(number) {
    const teeth = scene.current?.about.teeth ?? [], found = teeth.find((t) => t.number === number);
    if (found && !scene.film) {
      const angle = (t) => Math.atan2(t.at[1], t.at[0]), side = scene.current.about.hand === "right" ? -1 : 1;
      move({ turn: VIEWS.face.turn - (side * (angle(found) - angle(teeth[0])) * 180) / Math.PI });
    }
    point(number);
  }

  // --- hands: mouse, touch, wheel, keys ---
  const fingers = new Map();
  let spread = 0;
  const gap = () => { const [a, b] = [...fingers.values()]; return Math.hypot(a.x - b.x, a.y - b.y); };
  view.addEventListener("pointerdown", (e) => {
    view.setPointerCapture(e.pointerId);
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
    if (fingers.size === 2) spread = gap();
  });
  view.addEventListener("pointermove", (e) => {
    const from = fingers.get(e.pointerId);
    if (!from) {
      const box = view.getBoundingClientRect();
      const under = scene.current && scene.width ? scene.under((e.clientX - box.left) * scene.dots, (e.clientY - box.top) * scene.dots) : { tooth: 0 };
      point(under.some && (under.part < 2 || under.part === CHIP) && under.tooth <= most() ? under.tooth : 0);
      return;
    }
    const [dx, dy] = [e.clientX - from.x, e.clientY - from.y];
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
    if (fingers.size === 2) {
      const now = gap();
      if (spread > 0) move({ zoom: (scene.view.zoom * now) / spread });
      spread = now;
    } else move({ turn: scene.view.turn + dx * 0.5 * (scene.current?.about.hand === "left" ? 1 : -1), tilt: scene.view.tilt + dy * 0.35 });
  });
  for (const kind of ["pointerup", "pointercancel"]) view.addEventListener(kind, (e) => fingers.delete(e.pointerId));
  for (const place of [view, bars]) place.addEventListener("pointerleave", () => point(0));
  view.addEventListener("wheel", (e) => { e.preventDefault(); move({ zoom: scene.view.zoom * Math.exp(-e.deltaY * 0.0015) }); }, { passive: false });
  view.addEventListener("dblclick", () => move({ ...HOME }));
  const count = () => scene.current?.about.teeth.length ?? 0; // teeth with a number on the tap
  const most = () => Math.max(count(), ...teeth.map((t) => t.number)); // and those in the ledger of loads
  const keys = {
    ArrowLeft: () => move({ turn: scene.view.turn - 5 }), ArrowRight: () => move({ turn: scene.view.turn + 5 }),
    ArrowUp: () => move({ tilt: scene.view.tilt - 5 }), ArrowDown: () => move({ tilt: scene.view.tilt + 5 }),
    "+": () => move({ zoom: scene.view.zoom * 1.15 }), "-": () => move({ zoom: scene.view.zoom / 1.15 }),
    Home: () => move({ ...HOME }),
    n: () => turnTo((scene.pointed % count()) + 1), p: () => turnTo(((scene.pointed + count() - 2) % count()) + 1),
    Escape: () => point(0),
  };
  keys["="] = keys["+"];
  view.addEventListener("keydown", (e) => {
    const act = keys[e.key];
    if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
    e.preventDefault();
    e.stopPropagation();
    act();
  });

  for (const [name, to] of Object.entries(VIEWS)) {
    const button = element("button", { type: "button", textContent: words[name], title: words[name + "Help"] || "" });
    button.addEventListener("click", () => move({ ...HOME, ...to, zoom: scene.view.zoom }));
    bar.append(button);
  }
  const home = element("button", { type: "button", textContent: words.home });
  home.addEventListener("click", () => move({ ...HOME }));
  const cutter = element("button", { type: "button", textContent: words.cut, ariaPressed: "false" });
  const slide = element("input", { type: "range", min: -0.98, max: 0.98, step: 0.02, value: 0, ariaLabel: words.cutAt, hidden: true });
  cutter.addEventListener("click", () => {
    scene.cut = scene.cut ? null : { at: Number(slide.value) };
    cutter.ariaPressed = String(!!scene.cut);
    slide.hidden = !scene.cut;
    tellCut();
    ask();
  });
  slide.addEventListener("input", () => { scene.cut = { at: Number(slide.value) }; tellCut(); ask(); });
  const tellCut = () => slide.setAttribute("aria-valuetext", words.cutOff.replace("{depth}", `${shown(scene.cutDeep(), "length")} ${data.units.length.unit}`));
  bar.append(home, cutter, slide);

  // --- the film: play, stop, step by tooth or by turn, wind to any depth ---
  const reel = element("div", { className: "tapkit-round-film", hidden: true });
  const strip = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  strip.setAttribute("class", "tapkit-round-strip");
  strip.setAttribute("aria-hidden", "true");
  const axes = element("div", { className: "tapkit-round-axes", ariaHidden: "true" });
  const plot = element("div", { className: "tapkit-round-chart" }, strip, axes);
  const said = element("div", { className: "tapkit-round-said" });
  said.setAttribute("role", "status");
  const still = window.matchMedia?.("(prefers-reduced-motion: reduce)").matches;
  const press = (text, act) => {
    const made = element("button", { type: "button", textContent: text });
    made.addEventListener("click", act);
    return made;
  };
  let playing = 0, slow = false, shownAt = 0, again = 0; // again: the film goes on when nothing has changed for a moment
  const filming = press(words.film, () => { scene.film ? leave() : enter(); });
  filming.ariaPressed = "false";
  filming.hidden = true;
  const play = press(words.play, () => (playing ? stop() : start()));
  const wind = element("input", { type: "range", ariaLabel: words.depth, step: "any" });
  wind.addEventListener("input", () => { stop(); to(Number(wind.value)); });
  wind.addEventListener("keydown", (e) => {
    const f = scene.film?.data, by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[e.key];
    if (!f || !by) return;
    e.preventDefault();
    stop();
    to(scene.film.depth + by * f.spacing);
  });
  const step = (length) => { stop(); to(scene.film.depth + length); };
  reel.append(play, press(words.byTooth, () => step(scene.film.data.spacing)), press(words.byTurn, () => step(scene.film.data.pitch)), wind, plot, said);
  bar.append(filming);
  whole.append(reel);

  const lastDepth = (f) => (f.packs === null ? f.end : Math.min(f.packs + 0.001, f.end));
  function enter() {
    scene.film = scene.reel ??= new Film(scene, data.film);
    Object.assign(scene.view, { turn: 0, tilt: -16, zoom: 1 });
    reel.hidden = false;
    filming.ariaPressed = "true";
    opened(data.film, still || !data.film.chips ? null : start);
  }
  // The film of this data stands open; where it only asks, the scene stands still and shows no numbers.
  function opened(f, then) {
    reel.hidden = filming.hidden = !f.chips;
    Object.assign(wind, { min: f.begin, max: f.end });
    if (f.chips) afterwards(plotted);
    to(f.stands ?? scene.film.depth);
    if (then) then();
  }
  function leave() {
    stop();
    scene.film = null;
    Object.assign(scene.view, HOME);
    reel.hidden = true;
    filming.ariaPressed = "false";
    ask();
  }
  function start() {
    again = 0;
    if (scene.film.depth >= lastDepth(data.film) - 1e-6) to(data.film.begin);
    if (still) { step(data.film.pitch); return; }
    play.textContent = words.stop;
    said.ariaLive = "off"; // read out when it stands
    shownAt = performance.now();
    playing = requestAnimationFrame(run);
  }
  function stop() {
    clearTimeout(again);
    again = 0;
    cancelAnimationFrame(playing);
    if (playing) { said.ariaLive = "polite"; said.textContent = said.textContent; }
    playing = 0;
    play.textContent = words.play;
  }
  function run(now) {
    const f = data.film, seconds = Math.min((now - shownAt) / 1000, 0.1);
    playing = requestAnimationFrame(run);
    if (!scene.ready()) return; // one picture at a time
    slow ||= now - shownAt > 60;
    shownAt = now;
    if (inSight) to(scene.film.depth + (seconds * f.pitch) / (data.secondsPerTurn || 3));
    if (scene.film.depth >= lastDepth(f) - 1e-9) stop();
  }
  function to(depth) {
    const f = data.film;
    scene.film.depth = clamp(depth, f.begin, playing ? lastDepth(f) : f.end);
    wind.value = scene.film.depth;
    tellDepth();
    ask();
  }

  const at = (xs, ys, x) => {
    let i = 1;
    while (i < xs.length - 1 && xs[i] < x) i += 1;
    const t = clamp((x - xs[i - 1]) / (xs[i] - xs[i - 1] || 1), 0, 1);
    return ys[i - 1] + (ys[i] - ys[i - 1]) * t;
  };
  const shown = (value, kind) => {
    const how = data.units[kind];
    return (value * how.factor).toFixed(how.decimals).replace(".", how.mark).replace("-", "−");
  };
  function tellDepth() {
    const f = data.film, d = scene.film.depth, t = f.torque;
    if (!t) return;
    const full = f.packs !== null && d >= f.packs - 1e-6;
    const text = full ? words.full : words.now, r = f.room;
    const share = (ys) => Math.round((100 * at(r.depth, ys, d)) / Math.max(at(r.depth, r.room, d), 1e-6));
    const [least, most] = r ? [share(r.low), share(r.high)] : [0, 0];
    const wants = (least === most ? words.roomOne : words.room).replace("{least}", least).replace("{most}", most);
    const room = r && !full ? `; ${wants}` : "";
    said.textContent = text
      .replace("{depth}", `${shown(d, "length")} ${data.units.length.unit}`)
      .replace("{turns}", ((d - f.begin) / f.pitch).toFixed(1).replace(".", data.units.length.mark))
      .replace("{low}", shown(at(t.depth, t.low, d), "torque"))
      .replace("{high}", `${shown(at(t.depth, t.high, d), "torque")} ${data.units.torque.unit}`) + room;
    const mark = strip.querySelector(".now");
    if (mark) mark.setAttribute("transform", `translate(${strip.across(d)} 0)`);
    wind.setAttribute("aria-valuetext", said.textContent);
  }
  function plotted() {
    if (!scene.film?.data.chips) return;
    chart();
    tellDepth();
  }
  // Torque along the depth as a band, from where the room is full open above; below it, where chips stay, the room they
  // want as a band against the room there is.
  function chart() {
    const f = data.film, t = f.torque, W = 600, H = f.room ? 112 : 70, left = 6, low = 62, foot = f.room ? 106 : low;
    strip.style.height = `${H}px`;
    const most = Math.max(...t.high, 1e-6) * 1.15;
    strip.across = (d) => left + ((W - 2 * left) * (d - f.begin)) / (f.end - f.begin || 1);
    const up = (v) => low - ((low - 6) * v) / most;
    strip.setAttribute("viewBox", `0 0 ${W} ${H}`);
    strip.setAttribute("preserveAspectRatio", "none");
    const line = (ys) => t.depth.map((d, i) => `${strip.across(clamp(d, f.begin, f.end)).toFixed(1)},${up(ys[i]).toFixed(1)}`);
    const band = `<polygon points="${line(t.low).join(" ")} ${line(t.high).reverse().join(" ")}" fill="#d7ebf5" stroke="#1f5fa8" stroke-width="1" vector-effect="non-scaling-stroke"/>`;
    const room = () => {
      const r = f.room, top = Math.max(...r.room, 1e-6) * 1.05, y = (v) => foot - (36 * Math.min(v, top)) / top;
      const path = (ys) => r.depth.map((d, i) => `${strip.across(clamp(d, f.begin, f.end)).toFixed(1)},${y(ys[i]).toFixed(1)}`);
      return `<polygon points="${path(r.low).join(" ")} ${path(r.high).reverse().join(" ")}" fill="#d9c6b0" stroke="#8c6d4f" vector-effect="non-scaling-stroke"/>
        <polyline points="${path(r.room).join(" ")}" fill="none" stroke="#17202b" stroke-dasharray="6 3" vector-effect="non-scaling-stroke"/>
        <line x1="${left}" x2="${W - left}" y1="${foot}" y2="${foot}" stroke="#17202b" vector-effect="non-scaling-stroke"/>`;
    };
    const open = f.openFrom ?? f.packs;
    const full = open === null || open >= f.end ? "" : `<rect x="${strip.across(open)}" y="4" width="${W - left - strip.across(open)}" height="${low - 4}" fill="#b3202c" opacity="0.25"/>`;
    const may = f.mayPack === null || f.mayPack === undefined ? "" : `<line x1="${strip.across(f.mayPack)}" x2="${strip.across(f.mayPack)}" y1="4" y2="${low}" stroke="#b3202c" stroke-dasharray="4 3" vector-effect="non-scaling-stroke"/>`;
    strip.innerHTML = `${band}${may}${full}${f.room ? room() : ""}<line x1="${left}" x2="${W - left}" y1="${low}" y2="${low}" stroke="#17202b" vector-effect="non-scaling-stroke"/>
      <g class="now"><line y1="2" y2="${foot}" stroke="#17202b" stroke-width="2" vector-effect="non-scaling-stroke"/></g>`;
    // Figures on the axes, round in the unit shown.
    const ticks = (low, high, kind, count) => {
      const { factor } = data.units[kind], rough = ((high - low) * factor) / count, ten = 10 ** Math.floor(Math.log10(rough || 1));
      const size = [1, 2, 5, 10].map((m) => m * ten).find((n) => n >= rough - 1e-9), first = Math.ceil((low * factor) / size - 1e-6);
      return Array.from({ length: Math.max(Math.floor((high * factor) / size + 1e-6) - first + 1, 0) }, (_, i) => [((first + i) * size) / factor, Number(((first + i) * size).toPrecision(6))]);
    };
    const figure = (name, place, text) => element("span", { className: name, style: place, textContent: String(text).replace(".", data.units.length.mark) });
    const along = ticks(f.begin, f.end, "length", 5), upward = ticks(0, most, "torque", 2);
    axes.replaceChildren(
      ...upward.map(([v, n], i) => figure("is-up", `top:${up(v)}px`, i === upward.length - 1 ? `${n} ${data.units.torque.unit}` : n)),
      ...along.map(([d, n], i) => figure("is-along", `left:${(100 * strip.across(d)) / W}%`, i === along.length - 1 ? `${n} ${data.units.length.unit}` : n)),
      figure("is-name", "top:0", words.torque), ...(f.room ? [figure("is-name", `top:${low + 2}px`, words.chipRoom)] : []));
  }

  const dye = (step) => {
    const line = step.spacing ? `repeating-linear-gradient(60deg, rgba(23,32,43,.55) 0 1.2px, transparent 1.2px ${step.spacing}px), ` : "";
    return `${line}rgb(${step.colour.map(encode).join(",")})`;
  };
  // The scale of the colours, and a bar for every tooth: choosing one lights its tooth.
  function scale() {
    const now = teeth.filter((t) => t.colour);
    key.replaceChildren();
    key.hidden = bars.hidden = !now.length;
    const chosen = document.activeElement?.parentNode === bars ? Number(document.activeElement.value) : 0;
    bars.replaceChildren(...now.map((tooth) => {
      const fill = element("i");
      fill.style.cssText = `background: ${dye(tooth)}; height: ${Math.max(Math.round(38 * (tooth.share ?? 0)), 1)}px`;
      const button = element("button", { type: "button", value: tooth.number, ariaLabel: tooth.words, title: tooth.words }, fill, String(tooth.number));
      button.setAttribute("aria-current", String(tooth.number === scene.pointed));
      button.addEventListener("pointerenter", () => point(tooth.number));
      for (const how of ["focus", "click"]) button.addEventListener(how, () => turnTo(tooth.number));
      button.addEventListener("keydown", (e) => {
        const to = { ArrowRight: button.nextSibling, ArrowLeft: button.previousSibling, Home: bars.firstChild, End: bars.lastChild }[e.key];
        if (!to) return;
        e.preventDefault();
        to.focus();
      });
      return button;
    }));
    [...bars.children].find((b) => Number(b.value) === chosen)?.focus();
    if (!now.length) return;
    key.append(element("b", { textContent: words.scale }));
    for (const step of data.steps || []) {
      const swatch = element("i");
      swatch.style.background = dye(step);
      key.append(element("span", {}, swatch, step.words));
    }
  }

  function update(more) {
    Object.assign(data, more);
    fresh = true;
    if (more.vertices?.byteLength) scene.put(more.vertices, data.about);
    if (more.film !== undefined) {
      const { depth, data: before } = scene.film ?? {}, going = playing > 0 || again > 0;
      stop();
      scene.reel?.end();
      scene.reel = scene.film = null;
      filming.hidden = !data.film;
      if (before && data.film) {
        scene.film = scene.reel = new Film(scene, data.film);
        if (before.chips) scene.film.depth = depth;
        opened(data.film, before.chips ? going && (() => { again = setTimeout(start, 700); }) : !still && start); // answered: it begins
      } else if (before) leave();
    }
    if (more.teeth || more.vertices?.byteLength) { teeth = data.teeth || []; scene.tell(teeth.filter((t) => t.colour)); tell(); }
    if (more.teeth || more.steps) afterwards(scale);
    if (more.units) afterwards(plotted);
    if (more.name !== undefined) view.setAttribute("aria-label", data.name);
    ask();
    if (scene.frames) picture(); // at once, not only with the next frame of the page
    early = scene.frames > 0 && !!last;
  }
  // While a control of the panel is moved, the film stands.
  const hold = (e) => {
    if (!playing || whole.contains(e.target) || !el.closest(".tapkit-panel")?.contains(e.target)) return;
    stop();
    again = setTimeout(start, 1500);
  };
  document.addEventListener("input", hold, true);

  const watcher = new ResizeObserver(ask);
  watcher.observe(view);
  const seer = new IntersectionObserver((found) => { inSight = found.at(-1).isIntersecting; if (inSight) ask(); });
  seer.observe(view);
  update({ vertices: data.vertices, teeth: data.teeth || [], film: data.film || null });
  if (data.plays && data.film) enter();
  return {
    ok: true, scene, update, to: (depth) => { if (!scene.film) enter(); stop(); to(depth); }, chips: () => chipsAt(data.film, scene.current.about, scene.film.depth), point, look: (v) => move(v, true), ask,
    end() { window.removeEventListener("tapkit-point", pointedElsewhere); document.removeEventListener("input", hold, true); stop(); watcher.disconnect(); seer.disconnect(); clearTimeout(resting); cancelAnimationFrame(asked); cancelAnimationFrame(insetAsked); scene.end(); whole.remove(); },
  };
}

