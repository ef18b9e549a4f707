// A place to drop files on, or to choose them: each goes to the kernel as it is, one after the other.

const LARGEST = 8 * 1024 * 1024;

export default {
  render({ model, el }) {
    const words = model.get('words');
    const input = element('input', { type: 'file', multiple: model.get('many'), 'aria-label': words.drop });
    el.classList.add('tapkit-drop');
    el.append(element('label', {}, element('b', {}, words.drop), element('span', {}, ' ' + words.how), input));
    const send = async files => {
      let number = 0;
      for (const file of files) {
        number += 1;
        const data = file.size > LARGEST ? new ArrayBuffer(0) : await file.arrayBuffer();
        model.send({ file: file.name, size: file.size, last: number === files.length }, undefined, [data]);
      }
      input.value = '';
    };
    input.addEventListener('change', () => send([...input.files]));
    const drags = { dragenter: true, dragover: true, dragleave: false, drop: false };
    for (const [kind, isOver] of Object.entries(drags)) {
      el.addEventListener(kind, event => {
        if (kind !== 'dragleave') {
          event.preventDefault();
          event.stopPropagation();
        }
        el.classList.toggle('over', isOver);
      });
    }
    el.addEventListener('drop', event => send([...event.dataTransfer.files]));
  }
};
