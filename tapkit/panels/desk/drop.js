// A place to drop files on, or to choose them: each goes to the kernel as it is, one after the other.

const LARGEST = 8 * 1024 * 1024;

export default {
  render({ model, el }) {
    const words = model.get('words');
    el.classList.add('tapkit-drop');
    const label = document.createElement('label');
    const input = document.createElement('input');
    const told = document.createElement('span');
    const line = document.createElement('b');
    line.textContent = words.drop;
    told.textContent = ' ' + words.how;
    input.type = 'file';
    input.multiple = model.get('many');
    input.setAttribute('aria-label', words.drop);
    label.append(line, told, input);
    el.append(label);
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
    for (const kind of ['dragenter', 'dragover']) {
      el.addEventListener(kind, event => {
        event.preventDefault();
        event.stopPropagation();
        el.classList.add('over');
      });
    }
    el.addEventListener('dragleave', () => el.classList.remove('over'));
    el.addEventListener('drop', event => {
      event.preventDefault();
      event.stopPropagation();
      el.classList.remove('over');
      send([...event.dataTransfer.files]);
    });
  }
};
