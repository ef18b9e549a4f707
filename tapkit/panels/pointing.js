// Teeth in a drawn picture: whoever points at one lights it in every view of the page, and the other way round.
// Which tooth it is goes over the window as "tapkit-point"; the kernel need not know.
const NS = "http://www.w3.org/2000/svg";
const CSS = `
.tapkit-teeth {position: absolute; z-index: 4; pointer-events: none; overflow: visible}
.tapkit-teeth:focus-visible {outline: 3px solid #1f5fa8; outline-offset: 2px}
.tapkit-teeth polygon {fill: transparent; stroke: none; pointer-events: all; cursor: pointer}
.tapkit-teeth polygon.is-pointed {fill: rgba(176, 18, 123, .2); stroke: #b0127b; stroke-width: 3px}
.tapkit-tooth-told {position: absolute; z-index: 5; pointer-events: none; background: rgba(255,255,255,.94); color: #17202b;
  border: 1px solid #4d5865; border-radius: 4px; padding: 3px 8px; font-size: 14px; line-height: 1.35}
.tapkit-projector .tapkit-tooth-told {font-size: inherit}
.tapkit-tooth-told:empty {opacity: 0}
@media print {.tapkit-teeth, .tapkit-tooth-told {display: none}}
`;

function shape(points) {
  const made = document.createElementNS(NS, "polygon");
  made.setAttribute("points", points.join(" "));
  made.setAttribute("vector-effect", "non-scaling-stroke");
  return made;
}

function put(el, picture, words) {
  const svg = document.createElementNS(NS, "svg"), told = document.createElement("div"), style = document.createElement("style");
  style.textContent = CSS;
  svg.setAttribute("class", "tapkit-teeth");
  for (const [name, value] of [["viewBox", "0 0 1 1"], ["preserveAspectRatio", "none"], ["tabindex", "0"], ["role", "application"], ["aria-label", words]])
    svg.setAttribute(name, value);
  told.className = "tapkit-tooth-told";
  told.setAttribute("role", "status");
  el.append(style);
  let image = null, teeth = new Map(), now = 0, asked = 0;

  const say = (tooth) => window.dispatchEvent(new CustomEvent("tapkit-point", { detail: tooth }));
  const light = (tooth) => {
    now = teeth.has(tooth) ? tooth : 0;
    for (const [number, one] of teeth) for (const part of one.parts) part.classList.toggle("is-pointed", number === now);
    told.textContent = now ? teeth.get(now).words : "";
    place();
  };
  const heard = (e) => light(e.detail);

  function take() {
    teeth = new Map();
    for (const [number, told_, points] of picture.get("spots") ?? []) {
      const one = teeth.get(number) ?? { words: told_, parts: [] }, part = shape(points);
      part.dataset.tooth = number;
      part.addEventListener("pointerenter", () => say(number));
      part.addEventListener("pointerleave", () => say(0));
      one.parts.push(part);
      teeth.set(number, one);
    }
    svg.replaceChildren(...[...teeth.values()].flatMap((one) => one.parts));
    light(now);
  }

  // Over the picture, wherever it lies, and as large as it is drawn.
  function place() {
    asked = 0;
    image = image?.isConnected ? image : el.closest(".tapkit-panel")?.querySelector(".tapkit-view img.tapkit-picture");
    if (!image) { if (el.isConnected || !svg.isConnected) later(); return; }
    if (svg.previousSibling !== image) {
      image.after(svg);
      image.closest(".tapkit-view").append(told);
      watcher.observe(image);
      image.addEventListener("load", later);
    }
    const box = image.getBoundingClientRect(), from = (image.offsetParent ?? document.body).getBoundingClientRect();
    const ratio = image.naturalWidth / image.naturalHeight || box.width / box.height;
    const width = Math.min(box.width, box.height * ratio);
    svg.style.cssText = `left:${box.left - from.left}px; top:${box.top - from.top}px; width:${width}px; height:${width / ratio}px`;
    const under = (told.offsetParent ?? document.body).getBoundingClientRect(); // below the picture, so that it hides nothing of it
    told.style.cssText = `left:${box.left - under.left}px; top:${Math.min(box.top + width / ratio, window.innerHeight - 40) - under.top}px; max-width:${width - 30}px`;
  }
  const later = () => { asked ||= requestAnimationFrame(place); };
  const watcher = new ResizeObserver(later);

  svg.addEventListener("keydown", (e) => {
    const all = [...teeth.keys()].sort((a, b) => a - b), at = all.indexOf(now);
    const to = { ArrowRight: all[Math.min(at + 1, all.length - 1)], ArrowLeft: all[Math.max(at - 1, 0)], Home: all[0], End: all.at(-1), Escape: 0 }[e.key];
    if (to === undefined) return;
    e.preventDefault();
    e.stopPropagation();
    say(to);
  });
  svg.addEventListener("blur", () => say(0));
  window.addEventListener("tapkit-point", heard);
  window.addEventListener("scroll", later, { capture: true, passive: true });
  picture.on("change:spots", take);
  take();
  return () => {
    window.removeEventListener("tapkit-point", heard);
    window.removeEventListener("scroll", later, { capture: true });
    picture.off("change:spots", take);
    watcher.disconnect();
    cancelAnimationFrame(asked);
    svg.remove();
    told.remove();
  };
}

async function render({ model, el }) {
  const picture = await model.widget_manager.get_model(model.get("picture").replace("IPY_MODEL_", ""));
  return put(el, picture, model.get("words"));
}

export default { render };
