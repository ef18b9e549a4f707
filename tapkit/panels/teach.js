// One step of a lesson on the whole screen: title, question, picture. Keys: → PageDown Space on, ← PageUp back.
function render({ model, el }) {
  el.classList.add("tapkit-slide");
  el.tabIndex = 0;
  const words = model.get("words");
  const whole = () => el.closest(".tapkit-teach");
  const go = (by) => model.send({ by });
  const key = (label, onclick, className = "") => element("button", { type: "button", className, onclick }, label);
  const back = key(words.back, () => go(-1));
  const next = key(words.next, () => go(1), "tapkit-first");
  const screen = key(words.screen, () => {
    if (document.fullscreenElement) document.exitFullscreen();
    else whole().requestFullscreen().then(() => el.focus());
  });
  const place = element("span", { className: "tapkit-place" });
  const title = element("h2");
  const shown = element("p", { className: "tapkit-shown" });
  const picture = element("img");
  el.append(element("div", { className: "tapkit-keys" }, back, next, screen, place), title, shown, picture);
  const draw = () => {
    const step = model.get("step");
    place.textContent = step.place;
    title.textContent = step.title;
    shown.textContent = step.shown;
    back.disabled = step.first;
    next.disabled = step.last;
    const data = model.get("picture");
    picture.hidden = !data || !data.byteLength;
    if (picture.src) URL.revokeObjectURL(picture.src);
    if (picture.hidden) picture.removeAttribute("src");
    else picture.src = URL.createObjectURL(new Blob([data], { type: "image/png" }));
    picture.alt = step.alt;
  };
  const FORTH = ["ArrowRight", "PageDown", " "];
  const BACK = ["ArrowLeft", "PageUp"];
  const pressed = (event) => {
    const inside = whole() && whole().contains(event.target);
    if (!inside && document.fullscreenElement !== whole()) return;
    const typing = event.target.closest("input, select, textarea, button, [role=slider], [role=listbox], canvas");
    if (typing && !event.key.startsWith("Page")) return;
    const by = FORTH.includes(event.key) ? 1 : BACK.includes(event.key) ? -1 : 0;
    if (!by) return;
    event.preventDefault();
    event.stopPropagation();
    go(by);
  };
  const left = () => {
    screen.textContent = document.fullscreenElement ? words.leave : words.screen;
  };
  document.addEventListener("keydown", pressed, true);
  document.addEventListener("fullscreenchange", left);
  const end = heed(model, { "change:step change:picture": draw });
  draw();
  return () => {
    document.removeEventListener("keydown", pressed, true);
    document.removeEventListener("fullscreenchange", left);
    end();
  };
}

export default { render };
