// A form whose fields are drawn from `fields`; a key comes in one message with all that stands in the form, so that
// nothing typed is overtaken by a click. What the kernel suggests goes into fields nobody has touched.
let forms = 0;

function field(one, model, touched, changed) {
  const id = `tapkit-form-${++forms}`;
  const row = document.createElement("div");
  row.className = "tapkit-form-row";
  const label = document.createElement("label");
  label.textContent = one.label;
  label.htmlFor = id;
  let box;
  if (one.options && !one.free) {
    box = document.createElement("select");
    for (const [value, text] of one.options) box.add(new Option(text, value));
  } else {
    box = document.createElement(one.tall ? "textarea" : "input");
    if (one.tall) box.rows = 3;
    if (one.free) {
      const list = document.createElement("datalist");
      list.id = `${id}-list`;
      for (const [value] of one.options) list.append(new Option(value));
      box.setAttribute("list", list.id);
      row.append(list);
    }
  }
  box.id = id;
  box.value = one.value;
  if (one.hint) box.placeholder = one.hint;
  box.addEventListener("input", () => {
    touched.add(one.key);
    if (box.tagName === "SELECT") changed(one.key);
  });
  keepKeys(box);
  box.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !one.tall) changed("enter");
  });
  row.append(label, box);
  if (one.help) {
    const help = document.createElement("small");
    help.textContent = one.help;
    help.id = `${id}-help`;
    box.setAttribute("aria-describedby", help.id);
    row.append(help);
  }
  return { row, box };
}

function render({ model, el }) {
  el.classList.add("tapkit-form");
  const touched = new Set();
  const boxes = {};
  const values = () => Object.fromEntries(Object.entries(boxes).map(([key, one]) => [key, one.box.value]));
  const fit = () => {
    for (const one of model.get("fields"))
      boxes[one.key].row.hidden = Boolean(one.when) && !one.when.includes(boxes.kind.box.value);
  };
  const changed = (key) => {
    fit();
    model.send(key === "enter" ? { press: "try", values: values() } : { changed: key, values: values() });
  };
  const more = document.createElement("details");
  const summary = document.createElement("summary");
  summary.textContent = model.get("words").more;
  more.append(summary);
  for (const one of model.get("fields")) {
    boxes[one.key] = field(one, model, touched, changed);
    (one.more ? more : el).append(boxes[one.key].row);
  }
  const keys = document.createElement("div");
  keys.className = "tapkit-keys";
  for (const [press, look] of [["try", "tapkit-first"], ["keep", ""], ["close", ""]]) {
    const key = document.createElement("button");
    key.type = "button";
    key.className = look;
    key.textContent = model.get("words")[press];
    key.addEventListener("click", () => model.send({ press, values: values() }));
    keys.append(key);
  }
  el.append(more, keys);
  const suggest = () => {
    for (const [key, value] of Object.entries(model.get("suggested")))
      if (boxes[key] && !touched.has(key)) boxes[key].box.value = value;
  };
  const clear = () => {
    for (const one of model.get("fields").filter((field) => field.more || field.key === "title")) {
      boxes[one.key].box.value = "";
      touched.delete(one.key);
    }
  };
  model.on("change:kept", clear);
  model.on("change:suggested", suggest);
  suggest();
  fit();
  return () => {
    model.off("change:suggested", suggest);
    model.off("change:kept", clear);
  };
}

export default { render };
