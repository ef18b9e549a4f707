// The controls of a panel: draws the state it is sent, tells what was moved, typed or picked, and keeps nothing itself.

const LONG = 9; // a list of more options is narrowed by typing

let count = 0;
const fresh = () => `tapkit-c${(count += 1)}-${Math.random().toString(36).slice(2, 8)}`;

// A box that takes typing: an answer that comes while one is typing does not overwrite it.
function typed(box) {
  let last = "";
  return {
    set: (text) => (box.value = last = text),
    put: (text) => document.activeElement === box && box.value !== last ? last : (box.value = last = text),
    isNew: () => box.value !== last,
    taken: () => (last = box.value),
  };
}

// Every kind of control: its elements, and `show(item)` which makes them show an item of the state.

function number(spec, send) {
  const range = element("input", { type: "range", min: 0, step: 1, className: "tapkit-range" });
  const box = element("input", { type: "text", className: "tapkit-box", spellcheck: false, autocomplete: "off" });
  const words = typed(box);
  let now = {};
  const printed = () => ((now.first + Number(range.value)) * now.step).toFixed(now.decimals);
  const fill = () => {
    const share = now.count ? (100 * range.value) / now.count : 0;
    range.style.setProperty("--filled", `${share}%`);
  };
  const spoken = (text) => {
    const unit = Number(text) === 1 && now.one ? now.one : now.unit;
    range.setAttribute("aria-valuetext", unit ? `${text} ${unit}` : text);
  };
  range.addEventListener("input", () => {
    spoken(words.set(Number(printed()).toString()));
    fill();
    send({ position: Number(range.value) });
  });
  box.addEventListener("change", () => words.isNew() && send({ text: words.taken() }));
  box.addEventListener("focus", () => box.select());
  box.addEventListener("keydown", (event) => {
    if (event.key === "Escape") words.set(now.text);
  });
  return {
    main: range,
    parts: [range, box],
    show(item) {
      now = item;
      range.max = item.count;
      range.value = item.position;
      words.put(item.text);
      spoken(item.text);
      fill();
    },
    named(label) {
      range.setAttribute("aria-label", label);
      box.setAttribute("aria-label", `${label} =`);
    },
    hidden: (item) => item.count === 0,
  };
}

function list(spec, send) {
  const select = element("select", {}, ...spec.options.map((text, i) => element("option", { value: i }, text)));
  select.addEventListener("change", () => send({ pick: Number(select.value) }));
  return {
    main: select,
    parts: [select],
    show: (item) => {
      select.value = item.pick;
      select.title = spec.options[item.pick] ?? ""; // all of it where the box is too narrow
    },
    named: (label) => select.setAttribute("aria-label", label),
  };
}

const plain = (text) => text.toLowerCase().replaceAll(",", ".").replaceAll("×", "x");

function narrowed(spec, send) {
  const id = fresh();
  const input = element("input", {
    type: "text", role: "combobox", spellcheck: false, autocomplete: "off", className: "tapkit-combo",
    "aria-expanded": "false", "aria-controls": id, "aria-autocomplete": "list",
  });
  const box = element("ul", { role: "listbox", id, hidden: true });
  const words = typed(input);
  const options = spec.options.map((text, i) =>
    element("li", { role: "option", id: `${id}-${i}`, dataset: { i } }, text));
  box.append(...options);
  let now = { text: "", pick: -1 };
  let active = -1;
  const shown = () => options.filter((option) => !option.hidden);
  const mark = (option) => {
    options.forEach((one) => one.setAttribute("aria-selected", one === option));
    active = option ? Number(option.dataset.i) : -1;
    if (!option) return input.removeAttribute("aria-activedescendant");
    input.setAttribute("aria-activedescendant", option.id);
    option.scrollIntoView({ block: "nearest" });
  };
  const open = (wanted) => {
    const parts = plain(wanted).split(/\s+/).filter(Boolean);
    options.forEach((option, i) => {
      const text = plain(spec.options[i]);
      option.hidden = !parts.every((part) => text.includes(part));
    });
    box.hidden = shown().length === 0;
    input.setAttribute("aria-expanded", String(!box.hidden));
    const apart = (text) => ` ${text.replace(/[^a-z0-9/.#-]+|\.(?!\d)/g, " ")} `; // 40 is no word of "4140"
    const hasAll = (text) => parts.every((part) => text.includes(` ${part} `));
    const whole = shown().find((option) => hasAll(apart(plain(option.textContent))));
    mark(wanted ? whole ?? shown()[0] : options[now.pick]);
  };
  const close = () => {
    box.hidden = true;
    input.setAttribute("aria-expanded", "false");
    mark(null);
  };
  const pick = (i) => {
    close();
    words.set(spec.options[i]);
    send({ pick: i });
  };
  const take = () => {
    close();
    if (!words.isNew()) return;
    const exact = spec.options.findIndex((option) => plain(option) === plain(input.value.trim()));
    if (exact >= 0) pick(exact);
    else if (input.value.trim()) send({ text: words.taken() });
    else words.set(now.text);
  };
  input.addEventListener("click", () => (input.select(), open("")));
  input.addEventListener("input", () => open(input.value));
  input.addEventListener("blur", take);
  input.addEventListener("keydown", (event) => {
    const { key } = event;
    if (key === "Escape") return words.set(now.text), close();
    if (key === "Enter") {
      const isWhole = words.isNew() && spec.options.some((option) => plain(option) === plain(input.value.trim()));
      return active >= 0 && !box.hidden && !isWhole ? pick(active) : take();
    }
    if (key !== "ArrowDown" && key !== "ArrowUp") return;
    event.preventDefault();
    if (box.hidden) return open("");
    const all = shown();
    const place = all.findIndex((option) => Number(option.dataset.i) === active);
    mark(all[Math.min(Math.max(place + (key === "ArrowDown" ? 1 : -1), 0), all.length - 1)]);
  });
  box.addEventListener("pointerdown", (event) => {
    event.preventDefault(); // the input keeps the focus
    const option = event.target.closest("[role=option]");
    if (option) pick(Number(option.dataset.i));
  });
  return {
    main: input,
    parts: [element("div", { className: "tapkit-combo-place" }, input, box)],
    show(item) {
      now = item;
      words.put(item.text);
    },
    named: (label) => input.setAttribute("aria-label", label),
  };
}

function tick(spec, send) {
  const box = element("input", { type: "checkbox" });
  box.addEventListener("change", () => send({ tick: box.checked }));
  return {
    main: box,
    parts: [element("label", { className: "tapkit-tick" }, box, spec.label)],
    show: (item) => (box.checked = item.tick),
    named: () => {},
  };
}

function entry(spec, send) {
  const box = element("input", { type: "text", placeholder: spec.hint, className: "tapkit-entry", autocomplete: "off" });
  const words = typed(box);
  box.addEventListener("change", () => send({ text: words.taken() }));
  return {
    main: box,
    parts: [box],
    show: (item) => words.put(item.text),
    named: (label) => box.setAttribute("aria-label", label),
  };
}

const KINDS = { number, tick, entry, pick: (spec, send) => (spec.options.length > LONG ? narrowed : list)(spec, send) };

function row(spec, send) {
  const control = KINDS[spec.kind](spec, send);
  const name = element("span", { className: "tapkit-name" });
  const help = element("span", { className: "tapkit-help", id: fresh(), hidden: true }, spec.help);
  const ask = element("button", { type: "button", className: "tapkit-ask", tabIndex: -1, "aria-hidden": "true" }, "?");
  ask.addEventListener("click", () => (help.hidden = !help.hidden));
  const told = element("p", { className: "tapkit-told", role: "status" });
  const head = element("div", { className: "tapkit-head" }, ...(spec.kind === "tick" ? [] : [name]), ...(spec.help ? [ask] : []));
  const line = element("div", { className: "tapkit-line" }, ...control.parts);
  const frame = element("div", { className: "tapkit-row", dataset: { key: spec.key } }, head, help, line, told);
  if (spec.help) {
    control.main.setAttribute("aria-describedby", help.id);
    head.title = spec.help;
  }
  const show = (item) => {
    const label = item.unit ? `${spec.label}, ${item.unit}` : spec.label;
    if (name.textContent !== label) {
      name.textContent = label;
      control.named(label);
    }
    frame.hidden = Boolean(control.hidden?.(item));
    control.show(item);
    const said = item.said ?? "";
    if (told.textContent !== said) told.textContent = said;
  };
  return { element: frame, show };
}

function render({ model, el }) {
  const me = fresh();
  let sent = 0;
  const rows = {};
  for (const group of model.get("spec")) {
    const place = group.title
      ? element("details", { open: group.open, className: "tapkit-group" }, element("summary", {}, group.title))
      : element("div", { className: "tapkit-group" });
    for (const spec of group.controls) {
      const send = (what) => model.send({ key: spec.key, ...what, from: [me, (sent += 1)] });
      rows[spec.key] = row(spec, send);
      place.append(rows[spec.key].element);
    }
    el.append(place);
  }
  el.classList.add("tapkit-moves");
  keepKeys(el);
  const show = () => {
    const { answers, items } = model.get("shown");
    if (answers[0] === me && answers[1] < sent) return; // something was moved since
    for (const [key, item] of Object.entries(items)) rows[key]?.show(item);
  };
  show();
  return heed(model, { "change:shown": show });
}

export default { render };
