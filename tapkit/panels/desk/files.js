// Files of the desk: printed, looked at or saved from the page itself, asked of the kernel only when they are wanted.

function blobOf(found, buffers) {
  return new Blob([buffers[0]], { type: found.type });
}

function print(url) {
  const before = document.activeElement;
  const frame = document.createElement('iframe');
  frame.className = 'tapkit-printing';
  frame.style.cssText = 'position: fixed; width: 210mm; height: 297mm; left: -400mm; top: 0; border: 0';
  frame.addEventListener('load', () => {
    frame.contentWindow.addEventListener('afterprint', () => before?.focus());
    frame.contentWindow.focus();
    frame.contentWindow.print();
  });
  document.querySelectorAll('iframe.tapkit-printing').forEach(old => old.remove());
  frame.src = url;
  document.body.append(frame);
}

function save(url, name) {
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
}

export default {
  render({ model, el }) {
    el.classList.add('tapkit-files');
    const windows = new Map();
    const ask = item => {
      if (item.act === 'look') {  // opened at once, as browsers let a click do, and filled when the file is there
        windows.set(item.key, window.open('', '_blank'));
      }
      model.send({ want: item.key, act: item.act });
    };
    const show = () => {
      el.replaceChildren(...model.get('items').map(item => {
        const button = document.createElement('button');
        button.textContent = item.label;
        button.title = item.about || item.label;
        button.classList.toggle('tapkit-first', Boolean(item.first));
        button.addEventListener('click', () => ask(item));
        return button;
      }));
    };
    const have = (found, buffers) => {
      if (!found.have) {
        return;
      }
      const url = URL.createObjectURL(blobOf(found, buffers));
      setTimeout(() => URL.revokeObjectURL(url), 600000);
      if (found.act === 'look') {
        const opened = windows.get(found.key);
        if (opened) {
          opened.location = url;
        } else {
          save(url, found.name);
        }
      } else if (found.act === 'print') {
        print(url);
      } else {
        save(url, found.name);
      }
    };
    show();
    model.on('change:items', show);
    model.on('msg:custom', have);
    return () => {
      model.off('change:items', show);
      model.off('msg:custom', have);
    };
  }
};
