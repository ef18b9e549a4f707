// Gives tapkit's panels their names for screen readers: the sentence as the picture's text, the label as the
// slider's name, the sentence as a region that is read when it changes. Written by hand; no build step.
(() => {
  const named = new WeakSet();

  function nameSlider(slider) {
    const handle = slider.querySelector('.noUi-handle');
    const label = slider.querySelector('.widget-label');
    const readout = slider.querySelector('.widget-readout');
    if (!handle || !label) {
      return;
    }
    set(handle, 'aria-label', label.textContent);
    if (readout) {
      set(readout, 'aria-label', label.textContent);
      set(handle, 'aria-valuetext', readout.textContent);
    }
  }

  function namePicture(picture) {
    const title = picture.getAttribute('title');
    if (title) {
      set(picture, 'alt', title);
      picture.removeAttribute('title');
    }
  }

  function set(element, attribute, text) {
    if (element.getAttribute(attribute) !== text) {
      element.setAttribute(attribute, text);
    }
  }

  function nameAll() {
    document.querySelectorAll('.tapkit-slider').forEach(nameSlider);
    document.querySelectorAll('img.tapkit-picture').forEach(namePicture);
    document.querySelectorAll('.tapkit-sentence .widget-html-content').forEach(words => {
      if (!named.has(words)) {
        named.add(words);
        words.setAttribute('role', 'status');
        words.setAttribute('aria-live', 'polite');
      }
    });
  }

  let waiting = false;
  function soon() {
    if (!waiting) {
      waiting = true;
      setTimeout(() => {
        waiting = false;
        nameAll();
      }, 50);
    }
  }

  const plugin = {
    id: 'tapkit:names',
    description: "Names for screen readers on tapkit's panels.",
    autoStart: true,
    activate: () => {
      const watch = { childList: true, subtree: true, attributes: true, attributeFilter: ['title'] };
      new MutationObserver(soon).observe(document.body, watch);
      nameAll();
    }
  };

  const container = {
    init: () => undefined,
    get: name => Promise.resolve(() => (name === './extension' ? { __esModule: true, default: plugin } : {}))
  };
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB.tapkit = container;
})();
