// What a panel does in the page itself: names for screen readers, keys that stay in the question, the focus on the
// next answer, and a word when the kernel behind it has ended. An ES module of an anywidget; no build step.

function set(element, attribute, text) {
  if (element && element.getAttribute(attribute) !== text) {
    element.setAttribute(attribute, text);
  }
}

function namePicture(picture) {
  const title = picture.getAttribute('title');
  if (title) {
    set(picture, 'alt', title);
    picture.removeAttribute('title');
  }
}

// Links between workbooks in what widgets show: opened in the lab, beside the one they stand in.
function linkWorkbook(link) {
  const here = decodeURIComponent(location.pathname).match(/\/tree\/(.*\/)?[^/]+\.ipynb$/);
  const path = `${here?.[1] ?? ''}${link.dataset.workbook}`;
  set(link, 'data-commandlinker-command', 'docmanager:open');
  set(link, 'data-commandlinker-args', JSON.stringify({ path }));
}

// Words on the spot: a term's meaning and picture, from the list `panels.lesson_words` leaves in the workbook.
const TERM = '.tk-term, a[href*="glossary.ipynb"]';

function wordOf(node) {
  const term = node instanceof Element ? node.closest(TERM) : null;
  const key = term?.dataset.word ?? decodeURIComponent(term?.hash?.slice(1) ?? '');
  const row = key && document.querySelector(`.tk-words [data-word="${CSS.escape(key)}"]`);
  return row ? { term, row } : null;
}

function showWord({ term, row }) {
  hideWord();
  const tip = element('div', { id: 'tapkit-word', role: 'tooltip', innerHTML: row.innerHTML });
  if (row.dataset.picture) {
    tip.append(element('div', { className: 'tk-picture', dataset: { picture: row.dataset.picture } }));
  }
  tip.addEventListener('pointerenter', () => clearTimeout(page.leaving));
  tip.addEventListener('pointerleave', hideWord);
  document.body.append(tip);
  const at = term.getBoundingClientRect();
  const box = tip.getBoundingClientRect();
  const below = at.bottom + 4 + box.height < innerHeight || at.top < box.height + 4;
  tip.style.top = `${Math.max(4, below ? Math.min(at.bottom + 4, innerHeight - box.height - 4) : at.top - box.height - 4)}px`;
  tip.style.left = `${Math.max(4, Math.min(at.left, innerWidth - box.width - 4))}px`;
  term.setAttribute('aria-describedby', tip.id);
  page.shown = term;
}

function hideWord() {
  clearTimeout(page.leaving);
  document.getElementById('tapkit-word')?.remove();
  page.shown?.removeAttribute('aria-describedby');
  page.shown = null;
}

function watchWords() {
  const show = event => {
    const found = wordOf(event.target);
    if (found && found.term !== page.shown) {
      showWord(found);
    }
    clearTimeout(page.leaving);
  };
  const leave = event => {
    if (page.shown?.contains(event.target)) {
      clearTimeout(page.leaving);
      page.leaving = setTimeout(hideWord, 250);
    }
  };
  document.addEventListener('pointerover', event => wordOf(event.target) && show(event));
  document.addEventListener('pointerout', leave);
  document.addEventListener('focusin', event => wordOf(event.target) && show(event));
  document.addEventListener('focusout', leave);
  document.addEventListener('scroll', hideWord, true);
  document.addEventListener('keydown', event => event.key === 'Escape' && hideWord(), true);
  let seen = null;  // the first touch shows a linked word, the second follows the link
  document.addEventListener('pointerdown', event => {
    const found = event.pointerType === 'touch' ? wordOf(event.target) : null;
    seen = found && page.touched !== found.term ? found.term : null;
    page.touched = found?.term;
  }, true);
  document.addEventListener('click', event => {
    const found = seen && wordOf(event.target);
    if (found?.term === seen) {
      event.preventDefault();
      event.stopPropagation();
      showWord(found);
    }
    seen = null;
  }, true);
}

function markLabel(label) {
  const key = label.textContent.split(',')[0].trim().toLowerCase().replaceAll(' ', '-');
  if (label.dataset.word !== key && document.querySelector(`.tk-words [data-word="${CSS.escape(key)}"]`)) {
    label.classList.add('tk-term');
    label.dataset.word = key;
    label.tabIndex = -1;
    label.parentElement.removeAttribute('title');
  }
}

function nameAll() {
  document.querySelectorAll('.tapkit-controls .tapkit-name').forEach(markLabel);
  document.querySelectorAll('a[data-workbook]').forEach(linkWorkbook);
  document.querySelectorAll('img.tapkit-picture').forEach(namePicture);
  document.querySelectorAll(':is(.tapkit-sentence, .tapkit-told) > .widget-html-content').forEach(words => {
    set(words, 'role', 'status');
    set(words, 'aria-live', 'polite');
  });
}

// A control that a key has reached is in sight together with its picture, as far as the window holds both.
function showBoth(event) {
  const row = event.target.closest?.('.tapkit-panel .tapkit-row');
  if (!row || !event.target.matches(':focus-visible')) {
    return;
  }
  const wanted = '.tapkit-view :is(.tapkit-round-view, .tapkit-picture, .tapkit-photo)';
  const wide = one => one.getBoundingClientRect().width;
  const [picture] = [...row.closest('.tapkit-panel').querySelectorAll(wanted)].sort((one, other) => wide(other) - wide(one));
  requestAnimationFrame(() => [picture, row].forEach(one => one?.scrollIntoView({ block: 'nearest' })));
}

// What the lab shows where it looked for a panel's state while a busy page stood still for two seconds: it looks no more,
// though the state has come by then. It is shown anew; where the state has not come, a key is offered.
const MISSING = 'Error displaying widget: model not found';
const VIEW = 'application/vnd.jupyter.widget-view+json';

function showAnew(cell, manager) {
  const outputs = manager.context?.model.cells.get(Number(cell.dataset.windowedListIndex))?.outputs;
  for (let at = 0; at < (outputs?.length ?? 0); at += 1) {
    const one = outputs.get(at);
    if (one.data[VIEW] && manager.has_model(one.data[VIEW].model_id)) {
      outputs.set(at, one.toJSON());
    }
  }
}

function mendMissing(model) {
  for (const node of document.querySelectorAll('.jp-OutputArea .jupyter-widgets')) {
    const cell = node.textContent === MISSING && node.closest('[data-windowed-list-index]');
    const tried = Number(node.dataset.tried ?? 0);
    node.dataset.tried = cell ? tried + 1 : tried;
    if (cell && tried < 3) {
      page.managers.forEach(manager => showAnew(cell, manager));
    } else if (cell && !document.querySelector('.tapkit-missing')) {
      const words = model.get('words');
      tell('tapkit-missing', words.missing, words.reload, () => location.reload());
    }
  }
}

// Each widget loads this module for itself; the page is watched once.
const page = (globalThis.tapkitPage ??= { isWatched: false, kernels: new WeakSet(), managers: new Set() });

// A line to copy: the button beside it carries the text.
async function copyLine(event) {
  const button = event.target instanceof Element ? event.target.closest('button[data-copy]') : null;
  if (!button || button.dataset.before) {
    return;
  }
  try {
    await navigator.clipboard.writeText(button.dataset.copy);
  } catch {  // where the page is not served securely
    getSelection().selectAllChildren(button.parentElement.querySelector('code'));
    document.execCommand('copy');
  }
  button.dataset.before = button.textContent;
  button.textContent = button.dataset.copied;
  setTimeout(() => { button.textContent = button.dataset.before; delete button.dataset.before; }, 1500);
}

// A long touch or the other mouse button in a box brings the browser's menu, which pastes, and not the lab's.
function ownMenu(event) {
  if (event.target.matches?.('.jp-OutputArea :is(input, textarea)')) {
    event.stopPropagation();
  }
}

function watchPage(model) {
  if (page.isWatched) {
    return;
  }
  page.isWatched = true;
  document.body.classList.add('tapkit-live');
  watchWords();
  document.addEventListener('focusin', showBoth);
  document.addEventListener('click', copyLine);
  window.addEventListener('contextmenu', ownMenu, true);
  let isWaiting = false;
  const soon = () => {
    if (!isWaiting) {
      isWaiting = true;
      setTimeout(() => { isWaiting = false; nameAll(); mendMissing(model); }, 50);
    }
  };
  new MutationObserver(soon).observe(document.body, {
    childList: true, subtree: true, attributes: true, attributeFilter: ['title']
  });
  nameAll();
}

function tellEnded(model) {
  const [isLive, words] = [model.get('is_live'), model.get('words')];
  const act = said => (isLive ? location.reload() : said.remove());
  tell('tapkit-ended', `${words.ended} ${isLive ? '' : words.run}`, isLive ? words.reload : words.close, act);
}

function watchKernel(model) {
  const kernel = model.widget_manager?.kernel;
  if (!kernel?.statusChanged || page.kernels.has(kernel)) {
    return;
  }
  page.kernels.add(kernel);
  watchKernelLine(model.widget_manager, model.get('words'));
  kernel.statusChanged.connect((_, status) => {
    if (['autorestarting', 'dead'].includes(status) && !document.querySelector('.tapkit-ended')) {
      tellEnded(model);
    }
  });
}

function whenInPage(element, action, left = 100) {
  if (element.isConnected) {
    action();
  } else if (left) {
    setTimeout(() => whenInPage(element, action, left - 1), 50);
  }
}

function focusAnswer(quiz, left = 12) {
  const wanted = '.tapkit-answer :is(input[type=text], input[type=radio]), .tapkit-keys button';
  const found = [...quiz.querySelectorAll(wanted)].find(x => !x.disabled && x.offsetParent);
  if (found && !found.closest('.tapkit-gone')) {
    found.focus();
  } else if (left) {
    setTimeout(() => focusAnswer(quiz, left - 1), 80);
  }
}

function setUpQuiz(quiz, model) {
  if (!quiz.dataset.keys) {  // in the notebook's command mode a letter would cut cells
    quiz.dataset.keys = '1';
    keepKeys(quiz);
    quiz.setAttribute('role', 'group');
  }
  if (model.get('label')) {
    set(quiz, 'aria-label', model.get('label'));
  }
}

export default {
  initialize({ model }) {
    page.managers.add(model.widget_manager);
    watchPage(model);
    watchKernel(model);
  },
  render({ model, el }) {
    el.style.display = 'none';
    const inQuiz = action => whenInPage(el, () => {
      const quiz = el.closest('.tapkit-quiz');
      if (quiz) {
        action(quiz);
      }
    });
    const label = () => inQuiz(quiz => setUpQuiz(quiz, model));
    const focus = () => inQuiz(quiz => setTimeout(() => focusAnswer(quiz), 60));
    label();
    return heed(model, { 'change:label': label, 'change:turn': focus });
  }
};
