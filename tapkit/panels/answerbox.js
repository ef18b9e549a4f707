// A question's keys, and the boxes and choices one answers in. A key is sent in one message with all that stands in the
// question, so that nothing is judged before it has arrived. An ES module of an anywidget; no build step.

// What stands on the screen: texts by key, what is chosen by key, and of which question.
function standing(el, number) {
  const quiz = el.closest(".tapkit-quiz, .tapkit-predict") ?? el;
  const all = (what) => [...quiz.querySelectorAll(what)];
  const boxes = all(".tapkit-typed input");
  const choices = all(".tapkit-choice");
  const typed = Object.fromEntries(boxes.map((box) => [box.dataset.key, box.value]));
  const chosen = Object.fromEntries(choices.map((one) => [one.dataset.key, placeIn(one)]));
  const first = [...boxes, ...choices][0];
  return { typed, chosen, number: first ? Number(first.dataset.number) : number };
}

let count = 0;
const fresh = () => `tapkit-a${(count += 1)}-${Math.random().toString(36).slice(2, 8)}`;

// What one answers in: all that is done is sent with a count, and a state that answers an older count is let pass.
function answering(model, el, put) {
  const me = fresh();
  const number = model.get("number");
  let sent = 0;
  const tell = (what) => model.send({ ...what, from: [me, (sent += 1)] });
  keepKeys(el);
  el.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !event.isComposing && event.target.tagName === "INPUT") {
      tell({ press: "enter", ...standing(el, number) });
    }
  });
  const show = () => {
    const [who, heard] = model.get("answers");
    if (who !== me || heard >= sent) put();
  };
  return { me, number, tell, leave: heed(model, { change: show }) };
}

function renderBoxes(model, el) {
  el.classList.add("tapkit-typed");
  const put = () => {
    for (const box of el.querySelectorAll("input")) {
      const text = model.get("texts")[box.dataset.key] ?? "";
      box.readOnly = model.get("locked");
      if ((box.readOnly || document.activeElement !== box) && box.value !== text) box.value = text;
    }
  };
  const { number, tell, leave } = answering(model, el, put);
  for (const { key, label } of model.get("boxes")) {
    const box = element("input", { type: "text", spellcheck: false, autocomplete: "off" });
    Object.assign(box.dataset, { key, number });
    box.addEventListener("input", () => tell({ typed: { [key]: box.value } }));
    el.append(element("label", { className: "tapkit-typing" }, element("span", { className: "widget-label", textContent: label }), box));
  }
  put();
  return leave;
}

const placeIn = (choice) => {
  const list = choice.querySelector("select");
  return list ? list.selectedIndex - 1 : [...choice.querySelectorAll("input")].findIndex((one) => one.checked);
};

function roundButtons({ key, label, options }, name) {
  const buttons = options.map((text) => element("label", {}, element("input", { type: "radio", name: `${name}-${key}` }), element("span", { textContent: text })));
  const group = element("div", { className: "tapkit-options" }, ...buttons);
  group.setAttribute("role", "radiogroup");
  group.setAttribute("aria-label", label);
  return element("div", { className: "tapkit-choice" }, element("span", { className: "widget-label", textContent: label }), group);
}

function list({ label, options, unchosen }) {
  const all = [unchosen, ...options].map((textContent) => element("option", { textContent }));
  return element("label", { className: "tapkit-choice" }, element("span", { className: "widget-label", textContent: label }), element("select", {}, ...all));
}

function renderChoices(model, el) {
  el.classList.add("tapkit-choices");
  const choices = {};
  const put = () => {
    for (const [key, choice] of Object.entries(choices)) {
      const place = model.get("chosen")[key] ?? -1;
      for (const one of choice.querySelectorAll("input, select")) one.disabled = model.get("locked");
      if (placeIn(choice) === place) continue;
      const select = choice.querySelector("select");
      if (select) select.selectedIndex = place + 1;
      else choice.querySelectorAll("input").forEach((one, i) => (one.checked = i === place));
    }
  };
  const { me, number, tell, leave } = answering(model, el, put);
  for (const group of model.get("groups")) {
    const choice = (choices[group.key] = group.unchosen ? list(group) : roundButtons(group, me));
    Object.assign(choice.dataset, { key: group.key, number });
    choice.addEventListener("change", () => tell({ chosen: { [group.key]: placeIn(choice) } }));
    el.append(choice);
  }
  put();
  return leave;
}

function renderKeys(model, el) {
  el.classList.add("tapkit-keys");
  const buttons = {};
  const show = () => {
    for (const { key, label, look, disabled } of model.get("shown")) {
      if (!buttons[key]) {
        const press = () => model.send({ press: key, ...standing(el, model.get("number")) });
        buttons[key] = element("button", { type: "button", onclick: press });
        el.append(buttons[key]);
      }
      Object.assign(buttons[key], { className: `jupyter-button ${look}`, disabled });
      if (buttons[key].textContent !== label) buttons[key].textContent = buttons[key].title = label;
    }
  };
  show();
  return heed(model, { "change:shown": show });
}

const KINDS = { boxes: renderBoxes, choices: renderChoices, keys: renderKeys };

export default { render: ({ model, el }) => KINDS[model.get("kind")](model, el) };
