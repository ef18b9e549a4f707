// Files of the desk: printed, looked at or saved from the page itself, asked of the kernel only when they are wanted.

function print(url) {
  const before = document.activeElement;
  const style = 'position: fixed; width: 210mm; height: 297mm; left: -400mm; top: 0; border: 0';
  const frame = element('iframe', { className: 'tapkit-printing', style });
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
  const link = element('a', { href: url, download: name });
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
      el.replaceChildren(...model.get('items').map(item => element('button', {
        title: item.about || item.label, className: item.first ? 'tapkit-first' : '', onclick: () => ask(item)
      }, item.label)));
    };
    const have = (found, buffers) => {
      if (!found.have) {
        return;
      }
      const url = URL.createObjectURL(new Blob([buffers[0]], { type: found.type }));
      setTimeout(() => URL.revokeObjectURL(url), 600000);
      const opened = found.act === 'look' && windows.get(found.key);
      if (opened) {
        opened.location = url;
      } else if (found.act === 'print') {
        print(url);
      } else {
        save(url, found.name);
      }
    };
    show();
    return heed(model, { 'change:items': show, 'msg:custom': have });
  }
};
