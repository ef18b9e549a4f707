// Exercises to choose from, by lesson, each with its picture. Pictures and questions of a lesson come when it is opened.

export default {
  render({ model, el }) {
    const words = model.get('words');
    el.classList.add('tapkit-pick');
    const boxes = new Map();
    const pictures = new Map();
    const count = element('p', { role: 'status' });
    const tell = () => {
      const chosen = model.get('chosen');
      count.textContent = `${words.chosen} ${chosen.length}`;
      boxes.forEach((box, name) => { box.checked = chosen.includes(name); });
      el.querySelectorAll('details').forEach(part => {
        const own = [...part.querySelectorAll('input')].filter(box => box.checked).length;
        part.querySelector('summary i').textContent = own ? ` · ${own}` : '';
      });
    };
    const choose = () => {
      // a message of its own keeps its place before the next button; a changed trait may wait and come after it
      const chosen = [...boxes].filter(([, box]) => box.checked).map(([name]) => name);
      model.set('chosen', chosen);
      model.send({ chosen });
      tell();
    };
    const card = item => {
      const box = element('input', { type: 'checkbox', value: item.name, onchange: choose });
      const picture = element('img', { alt: '' });
      boxes.set(item.name, box);
      pictures.set(item.name, picture);
      return element('label', {}, box, picture, element('b', {}, item.title), element('span', {}, item.about));
    };
    const draw = lesson => {
      const onclick = () => {
        const own = lesson.items.map(item => boxes.get(item.name));
        const wanted = own.some(box => !box.checked);
        own.forEach(box => { box.checked = wanted; });
        choose();
      };
      const part = element('details', {}, element('summary', {}, lesson.title, element('i')),
        element('button', { onclick }, words.all),
        element('div', { className: 'tapkit-cards' }, ...lesson.items.map(card)));
      part.addEventListener('toggle', () => {
        if (part.open && !part.dataset.asked) {
          part.dataset.asked = '1';
          model.send({ lesson: lesson.number });
        }
      });
      return part;
    };
    const drawAll = () => {  // again when a question of one's own is there
      const open = [...el.querySelectorAll('details')].map(part => part.open);
      boxes.clear();
      pictures.clear();
      el.replaceChildren(...model.get('lessons').map(draw), count);
      el.querySelectorAll('details').forEach((part, at) => { part.open = open[at]; });
      tell();
    };
    drawAll();
    const picture = (found, buffers) => {
      if (found.picture && pictures.has(found.picture)) {
        const one = pictures.get(found.picture);
        one.src = URL.createObjectURL(new Blob([buffers[0]], { type: 'image/png' }));
        one.parentElement.title = found.text;
      }
    };
    return heed(model, { 'msg:custom': picture, 'change:chosen': tell, 'change:lessons': drawAll });
  }
};
