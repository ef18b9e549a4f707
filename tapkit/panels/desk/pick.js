// Exercises to choose from, by lesson, each with its picture. Pictures and questions of a lesson come when it is opened.

export default {
  render({ model, el }) {
    const words = model.get('words');
    el.classList.add('tapkit-pick');
    const boxes = new Map();
    const pictures = new Map();
    const count = document.createElement('p');
    count.setAttribute('role', 'status');
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
      const label = document.createElement('label');
      const box = document.createElement('input');
      const picture = document.createElement('img');
      const title = document.createElement('b');
      const about = document.createElement('span');
      box.type = 'checkbox';
      box.value = item.name;
      box.addEventListener('change', choose);
      picture.alt = '';
      title.textContent = item.title;
      about.textContent = item.about;
      boxes.set(item.name, box);
      pictures.set(item.name, picture);
      label.append(box, picture, title, about);
      return label;
    };
    const draw = lesson => {
      const part = document.createElement('details');
      const head = document.createElement('summary');
      const all = document.createElement('button');
      const cards = document.createElement('div');
      head.append(lesson.title, document.createElement('i'));
      all.textContent = words.all;
      all.addEventListener('click', () => {
        const own = lesson.items.map(item => boxes.get(item.name));
        const wanted = own.some(box => !box.checked);
        own.forEach(box => { box.checked = wanted; });
        choose();
      });
      cards.className = 'tapkit-cards';
      cards.append(...lesson.items.map(card));
      part.append(head, all, cards);
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
    model.on('msg:custom', picture);
    model.on('change:chosen', tell);
    model.on('change:lessons', drawAll);
    return () => {
      model.off('msg:custom', picture);
      model.off('change:chosen', tell);
      model.off('change:lessons', drawAll);
    };
  }
};
