// A notes box that is kept, and the button that gives the lesson anew. An ES module of an anywidget; no build step.

const PATIENCE = 8000; // ms until a text without an answer counts as lost

const STYLE = `
.tapkit-notes {font-size: 15px; line-height: 1.45; max-width: 62em; overflow: visible; color: var(--jp-ui-font-color1, #1a1f24)}
.tapkit-notes textarea {box-sizing: border-box; width: 100%; min-height: 8em; resize: vertical; font: inherit; padding: 8px;
  color: inherit; background: var(--jp-layout-color1, #fff); border: 1px solid #77828c; border-radius: 4px}
.tapkit-notes label {display: block; font-weight: 600; margin-bottom: 2px}
.tapkit-notes small {display: block; min-height: 1.5em; font-size: 13px}
.tapkit-notes button {font: inherit; padding: 7px 12px; margin: 6px 8px 0 0; color: inherit; border: 1px solid #77828c;
  border-radius: 4px; background: var(--jp-layout-color1, #fff); cursor: pointer}
.tapkit-notes :focus-visible {outline: 3px solid #1f4e8c; outline-offset: 2px}
:has(.tapkit-notes) > * .tapkit-notes-still, .jp-OutputArea:has(.tapkit-notes) .tapkit-notes-still {display: none}`;

function notesBox(model, words) {
  const box = element("textarea", { value: model.get("text"), spellcheck: false, id: `tapkit-n${Math.random()}` });
  const told = element("small", { textContent: model.get("told")[1] || words.how });
  told.setAttribute("role", "status");
  const place = `tapkit-notes ${location.pathname} ${words.title}`; // what is not on the disk yet outlives the page
  let patience = 0, count = 0, answeredTo = 0, sent = box.value;
  const send = () => {
    if (box.value === sent) return;
    sent = box.value;
    model.send({ text: sent, count: (count = Math.max(Date.now(), count + 1)) });
    clearTimeout(patience);
    patience = setTimeout(() => (told.textContent = words.lost), PATIENCE);
  };
  const written = () => {
    told.textContent = words.saving;
    try { localStorage.setItem(place, box.value); } catch { /* a browser that keeps nothing */ }
    if (answeredTo === count) send(); // else when the last one is answered
  };
  box.addEventListener("input", written);
  box.addEventListener("blur", send);
  addEventListener("pagehide", send);
  const answered = () => {
    const [which, said, isKept] = model.get("told");
    if (which !== count) return;
    answeredTo = count;
    clearTimeout(patience);
    if (box.value !== sent) return send();
    told.textContent = said;
    if (isKept) localStorage.removeItem(place);
  };
  model.on("change:told", answered);
  const left = localStorage.getItem(place);
  if (left !== null && left !== box.value) {
    box.value = left;
    written();
  }
  const label = element("label", { htmlFor: box.id, textContent: words.title });
  const end = () => (removeEventListener("pagehide", send), model.off("change:told", answered));
  return { parts: [label, box, told], end };
}

async function showAnew(model) {
  const context = model.widget_manager?.context;
  if (context?.revert) await context.revert();
  else location.reload();
}

function anewButton(model, words) {
  const ask = element("button", { type: "button", textContent: words.anew });
  const told = element("span", { hidden: true });
  const yes = element("button", { type: "button", textContent: words.yes, hidden: true });
  const no = element("button", { type: "button", textContent: words.no, hidden: true });
  told.setAttribute("role", "status");
  const open = (isOpen) => {
    [told, yes, no].forEach((one) => (one.hidden = !isOpen));
    ask.hidden = isOpen;
    told.textContent = words.sure;
    (isOpen ? no : ask).focus();
  };
  ask.addEventListener("click", () => open(true));
  no.addEventListener("click", () => open(false));
  yes.addEventListener("click", () => {
    yes.disabled = true;
    model.send({ anew: true });
  });
  const heard = (message) => {
    if (!("anew" in message)) return;
    yes.disabled = false;
    told.textContent = message.said;
    if (message.anew) showAnew(model);
  };
  model.on("msg:custom", heard);
  return { parts: [element("div", {}, ask, told, " ", yes, no)], end: () => model.off("msg:custom", heard) };
}

export default {
  render({ model, el }) {
    const words = model.get("words");
    const notes = notesBox(model, words);
    const anew = model.get("has_anew") ? anewButton(model, words) : { parts: [], end: () => {} };
    el.classList.add("tapkit-notes");
    keepKeys(el);
    el.append(element("style", { textContent: STYLE }), ...notes.parts, ...anew.parts);
    return () => (notes.end(), anew.end());
  },
};
