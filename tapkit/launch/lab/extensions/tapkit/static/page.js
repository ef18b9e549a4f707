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

  const STYLE = `
    .tapkit-words {
      position: fixed; z-index: 20000; top: 8px; left: 50%; transform: translateX(-50%); width: min(46em, 90vw);
    }
    .tapkit-ended {
      margin-bottom: 6px; padding: 10px 16px; color: #1a1f24; background: #fff8e6; border: 2px solid #9a6700;
      border-radius: 4px; font-size: 15px; line-height: 1.4;
    }
    .tapkit-ended button {
      font: inherit; margin-right: 8px; padding: 3px 10px; color: #fff; background: #1f4e8c; border: 0; border-radius: 4px;
    }`;

  // Where tapkit opened the page, loading it again brings everything back; elsewhere the cells are to be run again.
  function isLive() {
    const given = document.getElementById('jupyter-config-data');
    return Boolean(given) && JSON.parse(given.textContent).tapkitLive === true;
  }

  // Where words to the learner stand, one under the other.
  function place() {
    const found = document.querySelector('.tapkit-words');
    if (found) {
      return found;
    }
    const made = document.createElement('div');
    const style = document.createElement('style');
    style.textContent = STYLE;
    made.className = 'tapkit-words';
    made.append(style);
    document.body.append(made);
    return made;
  }

  function button(text, action) {
    const made = document.createElement('button');
    made.textContent = text;
    made.addEventListener('click', action);
    return made;
  }

  const watched = new WeakSet();
  function watchKernel(app, widget) {
    const session = widget && widget.context && widget.context.sessionContext;
    if (!session || watched.has(session)) {
      return;
    }
    watched.add(session);
    let said = null;
    let runsWhenIdle = false;

    const close = () => {
      said.remove();
      said = null;
    };
    const run = () => {
      app.shell.activateById(widget.id);
      app.commands.execute('notebook:run-all-cells', { semanticWidget: widget.id });
    };
    const runSoon = () => {
      const kernel = session.session && session.session.kernel;
      if (kernel && kernel.status === 'idle') {
        run();
        return;
      }
      runsWhenIdle = true;
      if (!kernel || kernel.status === 'dead') {
        session.restartKernel();
      }
    };
    const tell = () => {
      const name = widget.title.label;
      said = document.createElement('div');
      said.className = 'tapkit-ended';
      said.setAttribute('role', 'alert');
      said.append(`The kernel behind the panels of ${name} ended, so they no longer answer. Answers that were checked are kept. `);
      if (isLive()) {
        said.append(button('Load the page again', () => location.reload()));
      } else {
        said.append(button('Run all cells again', () => (close(), runSoon())), button('Close', close));
      }
      place().append(said);
    };

    session.statusChanged.connect((_, status) => {
      const panels = widget.node.querySelector('.tapkit-panel, .tapkit-quiz');
      if (panels && !said && (status === 'autorestarting' || status === 'dead')) {
        tell();
      } else if (status === 'idle' && runsWhenIdle) {
        runsWhenIdle = false;
        run();
      }
    });
  }

  const kernels = {
    id: 'tapkit:kernels',
    description: "Says so when the kernel behind tapkit's panels has ended.",
    autoStart: true,
    activate: app => {
      const look = () => Array.from(app.shell.widgets('main')).forEach(widget => watchKernel(app, widget));
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
