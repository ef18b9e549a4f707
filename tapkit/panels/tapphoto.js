// A photograph of a tap with marks to pull over it, by mouse, touch or keys. The picture stays in the page: only the
// places of the marks are sent.

const SVG = "http://www.w3.org/2000/svg";
const LENS = 150;
const CLOSER = 5;

function drawn(tag, attributes) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
}

function render({ model, el }) {
  const words = model.get("words");
  const spec = model.get("lines"); // by view: lines of {label, keys, colour, dash}
  const own = {}; // by view: a picture of the user's own
  let view = "side";
  const picture = element("img", { draggable: false });
  const sheet = drawn("svg", { preserveAspectRatio: "xMidYMid meet" });
  const lens = element("canvas", { width: LENS, height: LENS, className: "tapkit-lens" });
  lens.hidden = true;
  const place = element("div", { className: "tapkit-photo" }, picture, sheet, lens);
  const file = element("input", { type: "file", accept: "image/*" });
  file.setAttribute("aria-label", words.choose);
  const views = ["side", "point"].map((name) => {
    const button = element("button", { type: "button" }, words[name]);
    button.addEventListener("click", () => ((view = name), open()));
    return [name, button];
  });
  const over = element("input", { type: "checkbox", checked: true });
  over.addEventListener("change", () => draw());
  const settle = element("button", { type: "button", title: words.settle_help }, words.settle);
  settle.addEventListener("click", () => settleLines(spec[view].map((line) => line.name)));
  const bar = element("div", { className: "tapkit-photo-bar" }, ...views.map(([, button]) => button), settle,
    element("label", {}, element("span", {}, words.choose + " "), file), element("label", {}, over, " " + words.over));
  const told = element("p", { className: "tapkit-help" }, words.help);
  el.classList.add("tapkit-photos");
  el.append(bar, place, told);
  keepKeys(el);

  const size = () => own[view]?.size ?? model.get("sizes")[view];
  const marks = () => model.get("marks")[view];
  const send = (all) => {
    model.set({ marks: all, since: -1 });
    model.set("since", model.get("fresh")); // told each time: what stays as it was is not sent
    model.save_changes();
  };
  const put = (name, at) => {
    const all = structuredClone(model.get("marks"));
    const [wide, tall] = size();
    all[view][name] = [Math.min(Math.max(at[0], 0), wide), Math.min(Math.max(at[1], 0), tall)];
    send(all);
    draw();
  };
  const at = (event) => {
    const box = sheet.getBoundingClientRect();
    const [wide, tall] = size();
    return [((event.clientX - box.left) / box.width) * wide, ((event.clientY - box.top) / box.height) * tall];
  };
  const look = (name) => {
    const [x, y] = marks()[name];
    const half = LENS / 2 / CLOSER;
    const brush = lens.getContext("2d");
    const unit = size()[0] / sheet.getBoundingClientRect().width; // picture pixels in one of the screen
    const reach = half * unit;
    brush.fillStyle = "#fff";
    brush.fillRect(0, 0, LENS, LENS);
    brush.imageSmoothingEnabled = false;
    brush.drawImage(picture, x - reach, y - reach, 2 * reach, 2 * reach, 0, 0, LENS, LENS);
    brush.strokeStyle = "#b3202c";
    brush.beginPath();
    for (const [ax, ay, bx, by] of [[0, LENS / 2, LENS, LENS / 2], [LENS / 2, 0, LENS / 2, LENS]]) {
      brush.moveTo(ax, ay);
      brush.lineTo(bx, by);
    }
    brush.stroke();
    lens.hidden = false;
    lens.classList.toggle("tapkit-left", x > size()[0] / 2);
  };

  // The pixels around some marks, as one brightness each, and the place of the first.
  const around = (places, reach) => {
    const [low, high] = [Math.min, Math.max].map((most, k) => [0, 1].map((i) =>
      Math.round(Math.min(Math.max(most(...places.map((at) => at[i])) + (k ? 1 : -1) * (reach + 8), 0), size()[i]))));
    const [width, height] = [0, 1].map((i) => Math.max(high[i] - low[i], 2));
    const brush = element("canvas", { width, height }).getContext("2d", { willReadFrequently: true });
    brush.drawImage(picture, -low[0], -low[1]);
    const seen = brush.getImageData(0, 0, width, height).data;
    const data = Float32Array.from({ length: width * height }, (_, i) => 0.3 * seen[4 * i] + 0.59 * seen[4 * i + 1] + 0.11 * seen[4 * i + 2]);
    return [{ data, width, height }, low];
  };
  // Beside a line, where the axis of the tap runs by the marks of its end face.
  const onAxis = ([a, b]) => {
    const [p, q] = ["point_a", "point_b"].map((key) => marks()[key]);
    const along = [p[1] - q[1], q[0] - p[0]];
    const foot = [0, 1].map((i) => (p[i] + q[i]) / 2);
    const share = [0, 1].reduce((sum, i) => sum + ((a[i] + b[i]) / 2 - foot[i]) * along[i], 0) / Math.hypot(...along) ** 2;
    return foot.map((at, i) => at + share * along[i]);
  };
  function settleLines(names) {
    const all = structuredClone(model.get("marks"));
    const reach = Math.max(6, 8 * size()[0] / Math.max(sheet.getBoundingClientRect().width, 1));
    const done = [];
    for (const { name, keys, label } of spec[view].filter((line) => names.includes(line.name))) {
      const how = model.get("settles")[view]?.[name];
      if (!how) continue;
      const ends = keys.map((key) => all[view][key]);
      const [light, [x, y]] = around(ends, reach);
      const here = ([u, v]) => [u - x, v - y];
      const found = settled(light, ...ends.map(here), reach, how === "outermost" ? here(onAxis(ends)) : null);
      if (!found) continue;
      keys.forEach((key, i) => (all[view][key] = [found[i][0] + x, found[i][1] + y]));
      done.push(label);
    }
    told.textContent = done.length ? words.settled.replace("{lines}", done.join(", ")) : words.unsettled;
    send(all);
    draw();
  }

  let handles = {};
  function draw() {
    const [wide, tall] = size();
    const active = document.activeElement?.dataset?.mark;
    sheet.setAttribute("viewBox", `0 0 ${wide} ${tall}`);
    const unit = wide / Math.max(sheet.getBoundingClientRect().width, 1);
    if (handles.view !== view) build();
    handles.over.setAttribute("d", over.checked ? model.get("over")[view].map((line) =>
      line.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("")).join("") : "");
    handles.over.setAttribute("stroke-width", 1.6 * unit);
    const taken = []; // where words stand: left, right, height
    for (const one of handles.lines) {
      const ends = one.keys.map((key) => marks()[key]);
      one.path.setAttribute("d", ends.length > 1 && !one.loose ? "M" + ends.map((end) => end.join(" ")).join("L") : "");
      one.path.setAttribute("stroke-width", 2 * unit);
      one.path.setAttribute("stroke-dasharray", one.dash.map((length) => length * unit).join(" "));
      const alone = ends.length === 1; // one mark without a line has its words below it
      const long = 7.5 * unit * one.label.length;
      const isFree = ([x, y]) => x + long < wide && taken.every(([left, right, at]) => x > right || x + long < left || Math.abs(y - at) > 15 * unit);
      const spots = ends.flatMap(([x, y]) => [-8, 20].map((down) => [x + 10 * unit, y + down * unit]));
      const [x, y] = alone ? [ends[0][0], ends[0][1] + 22 * unit] : spots.find(isFree) ?? spots[0];
      taken.push([x - (alone ? long / 2 : 0), x + long / (alone ? 2 : 1), y]);
      one.text.setAttribute("x", x);
      one.text.setAttribute("y", y);
      one.text.setAttribute("text-anchor", alone ? "middle" : "start");
      one.text.setAttribute("font-size", 13 * unit);
      one.text.setAttribute("stroke-width", 3.5 * unit);
      one.keys.forEach((key, i) => {
        const dot = handles.dots[key];
        dot.setAttribute("cx", ends[i][0]);
        dot.setAttribute("cy", ends[i][1]);
        dot.setAttribute("r", 7 * unit);
        dot.setAttribute("stroke-width", 2.5 * unit);
      });
    }
    if (active && handles.dots[active]) look(active);
  }

  function build() {
    sheet.replaceChildren();
    handles = { view, lines: [], dots: {}, over: drawn("path", { fill: "none", stroke: "#0b7a3b", "stroke-opacity": 0.85 }) };
    sheet.append(handles.over);
    for (const line of spec[view]) {
      const path = drawn("path", { fill: "none", stroke: line.colour });
      const text = drawn("text", { fill: line.colour, stroke: "#fff", "paint-order": "stroke" });
      text.textContent = line.label;
      handles.lines.push({ ...line, path, text });
      sheet.append(path, text);
      line.keys.forEach((key, i) => {
        const dot = drawn("circle", { fill: "#fff", "fill-opacity": 0.25, stroke: line.colour, tabindex: 0, role: "button" });
        dot.setAttribute("aria-label", `${line.label} ${line.keys.length > 1 ? i + 1 : ""}: ${words.keys}`);
        dot.dataset.mark = key;
        handles.dots[key] = dot;
        let from = null;
        dot.addEventListener("pointerdown", (event) => {
          event.preventDefault();
          dot.setPointerCapture(event.pointerId);
          dot.focus();
          const [x, y] = at(event);
          from = [marks()[key][0] - x, marks()[key][1] - y];
          look(key);
        });
        dot.addEventListener("pointermove", (event) => {
          if (!from) return;
          const [x, y] = at(event);
          put(key, [x + from[0], y + from[1]]);
        });
        for (const end of ["pointerup", "pointercancel"]) dot.addEventListener(end, () => (from = null));
        dot.addEventListener("focus", () => look(key));
        dot.addEventListener("blur", () => (lens.hidden = true));
        dot.addEventListener("keydown", (event) => {
          if (event.key === "Enter") settleLines([line.name]);
          const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
          if (!way) return;
          event.preventDefault();
          const step = event.shiftKey ? 10 : 1;
          put(key, [marks()[key][0] + step * way[0], marks()[key][1] + step * way[1]]);
        });
        sheet.append(dot);
      });
    }
  }

  function open() {
    views.forEach(([name, button]) => button.setAttribute("aria-pressed", String(name === view)));
    settle.hidden = view === "point"; // no line there follows an edge for sure
    picture.alt = words[view];
    picture.src = own[view]?.url ?? model.get("pictures")[view];
    draw();
  }

  async function take(one) {
    if (!one || !one.type.startsWith("image/")) return (told.textContent = words.no_picture);
    const url = URL.createObjectURL(one);
    const probe = new Image();
    probe.src = url;
    try {
      await probe.decode();
    } catch {
      URL.revokeObjectURL(url);
      return (told.textContent = words.no_picture);
    }
    const before = size();
    if (own[view]) URL.revokeObjectURL(own[view].url);
    own[view] = { url, size: [probe.naturalWidth, probe.naturalHeight] };
    const all = structuredClone(model.get("marks"));
    for (const [name, [x, y]] of Object.entries(all[view])) {
      all[view][name] = [(x / before[0]) * own[view].size[0], (y / before[1]) * own[view].size[1]];
    }
    send(all);
    told.textContent = words.help;
    open();
  }
  file.addEventListener("change", () => take(file.files[0]));
  place.addEventListener("dragover", (event) => event.preventDefault());
  place.addEventListener("drop", (event) => {
    event.preventDefault();
    event.stopPropagation();
    take(event.dataTransfer.files[0]);
  });
  const watched = new ResizeObserver(() => draw());
  watched.observe(place);
  const reset = () => {
    for (const name of Object.keys(own)) delete own[name];
    open();
  };
  const end = heed(model, { "change:marks change:over": draw, "change:fresh": reset });
  open();
  return () => {
    watched.disconnect();
    end();
    Object.values(own).forEach((one) => URL.revokeObjectURL(one.url));
  };
}

export default { render };
