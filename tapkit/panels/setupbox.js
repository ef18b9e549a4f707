// The set-up line under a panel: shows it, sends what is typed or pasted, copies it, and lists what is saved.

async function copy(box) {
  try {
    await navigator.clipboard.writeText(box.value);
  } catch {
    box.select();
    document.execCommand("copy"); // where the page is not served securely
  }
}

function menu(name, send) {
  const list = element("select", { title: name });
  list.setAttribute("aria-label", name);
  list.addEventListener("change", () => {
    const at = list.value;
    list.selectedIndex = 0;
    if (at !== "") send(Number(at));
  });
  return {
    list,
    show(texts) {
      list.replaceChildren(element("option", { value: "" }, name), ...texts.map((text, i) => element("option", { value: i }, text)));
      list.hidden = texts.length === 0;
    },
  };
}

function render({ model, el }) {
  const words = model.get("words");
  const box = element("input", { type: "text", spellcheck: false, autocomplete: "off", placeholder: words.hint, title: words.help });
  box.setAttribute("aria-label", words.name);
  const told = element("p", { className: "tapkit-told" });
  told.setAttribute("role", "status");
  const copied = element("button", { type: "button" }, words.copy);
  const keep = element("button", { type: "button" }, words.keep);
  const kept = menu(words.kept, (i) => take(model.get("kept")[i]));
  const taps = menu(words.taps, (i) => model.send({ tap: model.get("taps")[i] }));
  const take = (text) => {
    box.value = text;
    if (text.trim() && text.trim() !== model.get("line")) model.send({ line: text });
  };
  box.addEventListener("change", () => take(box.value));
  box.addEventListener("paste", () => setTimeout(() => take(box.value)));
  box.addEventListener("focus", () => (box.select(), model.send({ look: true })));
  box.addEventListener("keydown", (event) => {
    if (event.key === "Enter") take(box.value);
    if (event.key === "Escape") box.value = model.get("line");
  });
  copied.addEventListener("click", async () => {
    await copy(box);
    copied.textContent = words.copied;
    setTimeout(() => (copied.textContent = words.copy), 1500);
  });
  keep.addEventListener("click", () => model.send({ keep: true }));
  for (const list of [kept.list, taps.list]) list.addEventListener("pointerdown", () => model.send({ look: true }));
  const show = {
    "change:line": () => (box.value = model.get("line")),
    "change:told": () => (told.textContent = model.get("told")),
    "change:kept": () => kept.show(model.get("kept")),
    "change:taps": () => taps.show(model.get("taps")),
  };
  el.classList.add("tapkit-setup");
  el.append(told, element("div", {}, box, copied, keep, kept.list, taps.list));
  keepKeys(el);
  Object.values(show).forEach((action) => action());
  return heed(model, show);
}

export default { render };
