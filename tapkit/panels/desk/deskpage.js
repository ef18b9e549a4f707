// What the desk does in the page: what it says comes into sight, and answers from paper are typed by keys alone.

const INPUT = 'input[type=text]';

// Enter and the arrow down go to the next box, the arrow up to the one before; Enter in the last keeps the sheet.
function move(event) {
  const sheet = event.target.closest?.('.tapkit-from-paper');
  if (!sheet || !event.target.matches(INPUT) || !['Enter', 'ArrowDown', 'ArrowUp'].includes(event.key)) {
    return;
  }
  const boxes = [...sheet.querySelectorAll(INPUT)];
  const next = boxes[boxes.indexOf(event.target) + (event.key === 'ArrowUp' ? -1 : 1)];
  if (next) {
    next.focus();
    next.select();
    event.preventDefault();
  } else if (event.key === 'Enter') {
    sheet.querySelector('.tapkit-first').click();
    event.preventDefault();
  }
}

function focusFirst(desk, left = 20) {
  const box = desk.querySelector(`.tapkit-from-paper ${INPUT}`);
  if (box?.offsetParent) {
    box.focus();
    box.select();
  } else if (left) {
    setTimeout(() => focusFirst(desk, left - 1), 80);
  }
}

// What was just said, or shown together with the key that comes next, is in sight.
function bringIntoSight(changes) {
  const parts = new Set(changes.map(({ target }) => (target.closest ? target : target.parentElement)
    ?.closest('.tapkit-told, .tapkit-comes')).filter(part => part?.textContent.trim()));
  for (const part of parts) {
    const last = part.classList.contains('tapkit-comes') ? part.nextElementSibling ?? part : part;
    const show = () => [last, part].forEach(one => one.scrollIntoView({ block: 'nearest' }));
    requestAnimationFrame(show);
    setTimeout(show, 300);  // what goes away with it, as a fold that closes, has moved the page by then
  }
}

export default {
  render({ model, el }) {
    el.style.display = 'none';
    let desk = null;
    const watcher = new MutationObserver(changes => {
      if (Date.now() - (desk?.tapkitUsed ?? 0) < 30000) {  // nobody's page moves by itself
        bringIntoSight(changes);
      }
    });
    const used = () => { desk.tapkitUsed = Date.now(); };
    const begin = (left = 100) => {
      desk = el.closest('.tapkit-desk');
      if (!desk) {
        if (left) {
          setTimeout(() => begin(left - 1), 50);
        }
        return;
      }
      desk.addEventListener('keydown', move, true);  // a box keeps its keys to itself
      for (const kind of ['click', 'change', 'keydown', 'drop']) {
        desk.addEventListener(kind, used, true);
      }
      watcher.observe(desk, { childList: true, subtree: true, characterData: true });
    };
    const turn = () => desk && focusFirst(desk);
    begin();
    model.on('change:turn', turn);
    return () => {
      model.off('change:turn', turn);
      watcher.disconnect();
      desk?.removeEventListener('keydown', move, true);
    };
  }
};
