const bytes = (view) => new Uint8Array(view.buffer, view.byteOffset, view.byteLength);

const filmOf = (get) => (get("film").pitch ? { ...get("film"), levels: bytes(get("levels")) } : null);

// In the notebook: an anywidget. What moves the kernel need not know is told when the hand rests.
function render({ model, el }) {
  let later = 0;
  const heard = (what, value) => {
    if (what === "pointed") { model.set("pointed", value); model.save_changes(); return; }
    clearTimeout(later);
    later = setTimeout(() => { model.set("view", value); model.save_changes(); }, 250);
  };
  const get = (name) => model.get(name);
  const made = mount(el, {
    vertices: bytes(get("vertices")), about: get("about"), light: bytes(get("light")), lightAbout: get("light_about"),
    film: filmOf(get), units: get("units"), words: get("words"), teeth: get("teeth"), steps: get("steps"), view: get("view"), ratio: get("ratio"),
  }, heard);
  el.tapkitRound = made;
  model.on("change:vertices", () => made.update({ about: get("about"), vertices: bytes(get("vertices")), teeth: get("teeth"), steps: get("steps"), words: get("words"), units: get("units"), film: filmOf(get) }));
  model.on("change:teeth", () => made.update({ teeth: get("teeth"), steps: get("steps") }));
  model.on("change:words", () => made.update({ words: get("words") }));
  model.on("change:pointed", () => made.point(get("pointed"), true));
  model.on("change:view", () => made.look(get("view")));
  return () => { clearTimeout(later); made.end(); };
}

export default { render };
