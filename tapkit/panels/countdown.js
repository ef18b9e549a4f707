// Time left, counted in the page from what the kernel said; says so when it is over.
function render({ model, el }) {
  el.className += " tapkit-countdown";
  el.setAttribute("role", "timer");
  let end = 0;
  const say = () => {
    const left = Math.max(0, Math.round((end - performance.now()) / 1000));
    const words = model.get("words");
    const clock = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
    el.textContent = left ? words.left.replace("{time}", clock) : words.over;
    el.classList.toggle("tapkit-soon", left < 120);
  };
  const begin = () => {
    end = performance.now() + 1000 * model.get("seconds");
    say();
  };
  model.on("change:seconds", begin);
  begin();
  const clock = setInterval(say, 500);
  return () => {
    clearInterval(clock);
    model.off("change:seconds", begin);
  };
}

export default { render };
