// Gives tapkit's panels their names for screen readers: the sentence as the picture's text, the label as the
// slider's name, the sentence as a region that is read when it changes. And says so when the kernel behind them has
// ended, as they answer nothing then until the page is loaded again. Written by hand; no build step.
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

  function tellOfTheEnd() {
    if (document.querySelector('.tapkit-ended')) {
      return;
    }
    const said = document.createElement('div');
    const again = document.createElement('button');
    said.className = 'tapkit-ended';
    said.setAttribute('role', 'alert');
    said.append('The kernel behind these panels ended, so they no longer answer. Answers that were checked are kept. ');
    again.textContent = 'Load the page again';
    again.addEventListener('click', () => location.reload());
    said.append(again);
    document.body.append(said);
  }

  const watched = new WeakSet();
  function watchKernel(widget) {
    const session = widget && widget.context && widget.context.sessionContext;
    if (session && !watched.has(session)) {
      watched.add(session);
      session.statusChanged.connect((_, status) => {
        const panels = widget.node.querySelector('.tapkit-panel, .tapkit-quiz');
        if (panels && (status === 'autorestarting' || status === 'dead')) {
          tellOfTheEnd();
        }
      });
    }
  }

  const kernels = {
    id: 'tapkit:kernels',
    description: "Says so when the kernel behind tapkit's panels has ended.",
    autoStart: true,
    activate: app => {
      const look = () => Array.from(app.shell.widgets('main')).forEach(watchKernel);
      app.restored.then(() => {
        look();
        app.shell.currentChanged.connect(look);
      });
    }
  };

  const names = {
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
    get: name => Promise.resolve(() => (name === './extension' ? { __esModule: true, default: [names, kernels] } : {}))
  };
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB.tapkit = container;
})();
