const bytes = (view) => new Uint8Array(view.buffer, view.byteOffset, view.byteLength);

// What the tap in the round takes, from the traits of these names; what arrives in one message is taken in one go.
const READ = {
  vertices: (get) => ({ about: get("about"), vertices: bytes(get("vertices")) }),
  film: (get) => ({ film: get("film").pitch ? { ...get("film"), levels: bytes(get("levels")) } : null }),
  still: (get) => ({ still: bytes(get("still")) }),
};
for (const name of ["units", "words", "name", "teeth", "steps"]) READ[name] = (get) => ({ [name]: get(name) });

// In the notebook: an anywidget. What moves the kernel need not know is told when the hand rests.
function render({ model, el }) {
  let later = 0, waiting = false, ended = false;
  const changed = new Set();
  const heard = (what, value) => {
    clearTimeout(later);
    later = setTimeout(() => { model.set("view", value); model.save_changes(); }, 250);
  };
  const get = (name) => model.get(name);
  const take = (names) => Object.assign({}, ...names.map((name) => READ[name](get)));
  const made = mount(el, { ...take(Object.keys(READ)), light: bytes(get("light")), lightAbout: get("light_about"), view: get("view"), ratio: get("ratio"), plays: get("plays"), inset: get("inset") }, heard);
  el.tapkitRound = made;
  if (!made.ok) { model.set("wants_still", true); model.save_changes(); made.update(take(["still"])); }
  // Beside a picture of the panel the tap lets that one be painted first: drawing it keeps the page's frames waiting.
  const soon = (what) => get("second") ? requestAnimationFrame(() => requestAnimationFrame(what)) : queueMicrotask(what);
  const tell = () => {
    waiting = false;
    if (ended) return;
    const names = [...changed];
    changed.clear();
    made.update(take(names));
  };
  for (const name of [...Object.keys(READ), "levels"])
    model.on(`change:${name}`, () => {
      changed.add(name === "levels" ? "film" : name);
      if (!waiting) { waiting = true; soon(tell); }
    });
  model.on("change:view", () => made.look(get("view")));
  return () => { ended = true; clearTimeout(later); made.end(); };
}

export default { render };
