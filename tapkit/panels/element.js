// An element with its attributes, data and children: stands before every module that makes some (panels/script.py).
function element(tag, { dataset = {}, ...attributes } = {}, ...children) {
  const one = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name in one && name !== "list") one[name] = value;
    else one.setAttribute(name, value);
  }
  Object.assign(one.dataset, dataset);
  one.append(...children);
  return one;
}

// Hears events of a model, each with its action; gives what ends it.
function heed(model, actions) {
  for (const [event, action] of Object.entries(actions)) model.on(event, action);
  return () => Object.entries(actions).forEach(([event, action]) => model.off(event, action));
}

// In a notebook a key may be a command (x cuts a cell): keys pressed in one of ours stay there, all but the key that saves.
function keepKeys(el) {
  el.addEventListener("keydown", (event) => {
    const saves = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s";
    if (!saves) event.stopPropagation();
  });
}
