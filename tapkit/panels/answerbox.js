// A question's keys, and the boxes one types in. A key is sent in one message with all that stands in the question, so
// that nothing is judged before it has arrived. An ES module of an anywidget; no build step.

function made(tag, more = {}, ...children) {
  const element = Object.assign(document.createElement(tag), more);
  element.append(...children);
  return element;
}

// What stands on the screen: texts by key, for each group of round buttons which one is chosen, and of which question.
function standing(el, number) {
  const quiz = el.closest(".tapkit-quiz, .tapkit-predict");
  const all = (what) => [...(quiz?.querySelectorAll(what) ?? [])];
  const boxes = all(".tapkit-typed input");
  const chosen = all(".widget-radio").map((group) => [...group.querySelectorAll("input")].findIndex((one) => one.checked));
  const typed = Object.fromEntries(boxes.map((box) => [box.dataset.key, box.value]));
  return { typed, chosen, number: boxes.length ? Number(boxes[0].dataset.number) : number };
}

function renderBoxes(model, el) {
  el.classList.add("tapkit-typed");
  const number = model.get("number");
  for (const { key, label } of model.get("boxes")) {
    const box = made("input", { type: "text", spellcheck: false, autocomplete: "off", value: model.get("texts")[key] ?? "" });
    Object.assign(box.dataset, { key, number });
    box.addEventListener("input", () => model.send({ typed: { [key]: box.value } }));
    box.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && !event.isComposing) model.send({ press: "enter", ...standing(el, number) });
    });
    el.append(made("label", { className: "tapkit-typing" }, made("span", { className: "widget-label", textContent: label }), box));
  }
  const show = () => {
    for (const box of el.querySelectorAll("input")) {
      const text = model.get("texts")[box.dataset.key] ?? "";
      if (document.activeElement !== box && box.value !== text) box.value = text;
    }
  };
  model.on("change:texts", show);
  return () => model.off("change:texts", show);
}

function renderKeys(model, el) {
  el.classList.add("tapkit-keys");
  const buttons = {};
  const show = () => {
    for (const { key, label, look, disabled } of model.get("shown")) {
      if (!buttons[key]) {
        const press = () => model.send({ press: key, ...standing(el, model.get("number")) });
        buttons[key] = made("button", { type: "button", onclick: press });
        el.append(buttons[key]);
      }
      Object.assign(buttons[key], { className: `jupyter-button ${look}`, disabled });
      if (buttons[key].textContent !== label) buttons[key].textContent = buttons[key].title = label;
    }
  };
  model.on("change:shown", show);
  show();
  return () => model.off("change:shown", show);
}

export default { render: ({ model, el }) => (model.get("kind") === "boxes" ? renderBoxes : renderKeys)(model, el) };
