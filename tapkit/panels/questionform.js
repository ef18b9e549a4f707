// A form whose fields are drawn from `fields`; a key comes in one message with all that stands in the form, so that
// nothing typed is overtaken by a click. What the kernel suggests goes into fields nobody has touched.
let forms = 0;

function field(one, model, touched, changed) {
  const id = `tapkit-form-${++forms}`;
  const row = element("div", { className: "tapkit-form-row" });
  let box;
  if (one.options && !one.free) {
    box = element("select", {}, ...one.options.map(([value, text]) => new Option(text, value)));
  } else {
    box = one.tall ? element("textarea", { rows: 3 }) : element("input");
    if (one.free) {
      box.setAttribute("list", `${id}-list`);
      row.append(element("datalist", { id: `${id}-list` }, ...one.options.map(([value]) => new Option(value))));
    }
  }
  Object.assign(box, { id, value: one.value });
  if (one.hint) box.placeholder = one.hint;
  box.addEventListener("input", () => {
    touched.add(one.key);
    if (box.tagName === "SELECT") changed(one.key);
  });
  keepKeys(box);
  box.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !one.tall) changed("enter");
  });
  row.append(element("label", { htmlFor: id }, one.label), box);
  if (one.help) {
    box.setAttribute("aria-describedby", `${id}-help`);
    row.append(element("small", { id: `${id}-help` }, one.help));
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
  const more = element("details", {}, element("summary", {}, model.get("words").more));
  for (const one of model.get("fields")) {
    boxes[one.key] = field(one, model, touched, changed);
    (one.more ? more : el).append(boxes[one.key].row);
  }
  const key = (press, className = "") => element("button", {
    type: "button", className, onclick: () => model.send({ press, values: values() }),
  }, model.get("words")[press]);
  const keys = [key("try", "tapkit-first"), key("keep"), key("close")];
  el.append(more, element("div", { className: "tapkit-keys" }, ...keys));
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
  suggest();
  fit();
  return heed(model, { "change:kept": clear, "change:suggested": suggest });
}

export default { render };
