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
