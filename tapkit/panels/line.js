// A word while the line to the server is cut, in place of the lab's own dialogs, and going on by itself once it is back.

// What those dialogs begin with: no server; a saving that failed because nothing answered, in three browsers' words.
const LOST = /^(Server unavailable or unreachable|Server Connection Error|File Save Error.*(fetch|NetworkError|Load failed))/s;
const TRY_AGAIN = 2000; // milliseconds between two looks
const TOO_LONG = { busy: 60000, unknown: 8000, idle: 8000 }; // silence that is longer may be a cut, by the kernel's state
const MOST_ASKED = 600; // models whose state is asked for where nothing is missing: a large page has thousands

const line = (globalThis.tapkitLine ??= { waiting: new Map(), isWatched: false, isWatching: false });

const labSettings = () => JSON.parse(document.getElementById("jupyter-config-data")?.textContent ?? '{"baseUrl": "/"}');
const pause = (time) => new Promise((done) => setTimeout(done, time));

// How the server is: "here", "stopped" where only the hub before it answers, "cut" where nothing does.
async function askServer() {
  try {
    const answer = await fetch(`${labSettings().baseUrl}api`, { cache: "no-store", signal: AbortSignal.timeout(8000) });
    return answer.ok ? "here" : "stopped";
  } catch {
    return "cut";
  }
}

const isOff = (kernel) => kernel.connectionStatus !== "connected";

function isSilent(kernel) {
  const waiting = line.waiting.get(kernel);
  const [oldest] = waiting.values();
  const silence = Date.now() - Math.max(oldest?.since, waiting.heard);
  return oldest && silence > (TOO_LONG[kernel.status] ?? TOO_LONG.idle);
}

const isLost = (kernel) => !kernel.isDisposed && (isOff(kernel) || isSilent(kernel));
const lost = () => [...line.waiting.keys()].filter(isLost);

const BOX = "position: fixed; z-index: 20000; top: 8px; left: 50%; transform: translateX(-50%); width: min(46em, 90vw);" +
  "padding: 10px 16px; color: #1a1f24; background: #fff8e6; border: 2px solid #9a6700; border-radius: 4px;" +
  "font: 15px/1.4 sans-serif";
const KEY = "font: inherit; margin-left: 8px; padding: 3px 10px; color: #fff; background: #1f4e8c; border: 0; border-radius: 4px";

// One box at the top of the page, with a key where there is something to do.
function tell(name, text, label, action) {
  document.querySelector(`.${name}`)?.remove();
  const said = element("div", { className: name, role: "alert", style: BOX }, text);
  if (label) said.append(element("button", { type: "button", textContent: label, style: KEY, onclick: () => action(said) }));
  document.body.append(said);
}

function tellLine(state, words) {
  const { hubPrefix, hubUser } = labSettings();
  if (state === "stopped" && hubUser) {
    const start = () => location.assign(`${hubPrefix}spawn/${hubUser}?next=${encodeURIComponent(location.pathname)}`);
    tell("tapkit-cut", words.stopped, words.start, start);
  } else {
    tell("tapkit-cut", hubUser ? words.cut : words.gone);
  }
}

// The kernels' own tries come more and more seldom, and end: one now, and time for it.
async function joinAgain() {
  lost().forEach((kernel) => kernel.reconnect().catch(() => {}));
  for (let left = 40; left && lost().length; left -= 1) await pause(500);
}

// Look until all kernels answer again; what is said changes only with what is found twice.
async function watchLine(words) {
  if (line.isWatching) return;
  line.isWatching = true;
  let [before, said] = ["", ""];
  for (;;) {
    const now = await askServer();
    if (now === "here" && !lost().length) break;
    if (now === "here" && before === "here") await joinAgain();
    if (now !== "here" && now === before && now !== said) tellLine((said = now), words);
    before = now;
    await pause(TRY_AGAIN);
  }
  document.querySelector(".tapkit-cut")?.remove();
  line.isWatching = false;
}

// What the page said and no answer came to: the kernel hears each message once, however often it comes (panels/once.py).
function keepUnanswered(kernel) {
  const waiting = Object.assign(new Map(), { heard: 0 }); // by number; when the kernel was last heard
  line.waiting.set(kernel, waiting);
  kernel.anyMessage.connect((_, { msg, direction }) => {
    if (direction === "recv") waiting.heard = Date.now();
    if (direction === "send" && msg.header.msg_type === "comm_msg" && msg.content.data?.method !== ASK.method) {
      waiting.set(msg.header.msg_id, { msg, since: Date.now() });
    } else if (msg.header.msg_type === "status" && msg.content.execution_state === "idle") {
      waiting.delete(msg.parent_header.msg_id);
    }
  });
  return waiting;
}

const ASK = { method: "request_state" };

// After a cut all that has no answer is said again, in its order, and what the kernel said in vain is asked for.
async function sayAgain(kernel, waiting, manager) {
  const queue = kernel._pendingMessages;
  const missing = [...waiting.values()].filter(({ msg }) => !queue.includes(msg));
  for (const one of waiting.values()) one.since = Date.now();
  queue.unshift(...missing.map(({ msg }) => msg));
  for (const [id, comm] of missing.length || kernel._comms.size < MOST_ASKED ? [...kernel._comms] : []) {
    const model = manager.has_model(id) && (await manager.get_model(id));
    if (model && !model.get("_model_name").startsWith("Text")) comm.send(ASK); // not over a box in use
  }
}

function watchKernelLine(manager, words) {
  const kernel = manager.kernel;
  const waiting = keepUnanswered(kernel);
  let wasHere = !isOff(kernel);
  let isBack = false;
  kernel.connectionStatusChanged.connect((_, state) => {
    if (state === "connected" && isBack) sayAgain(kernel, waiting, manager);
    wasHere ||= state === "connected";
    isBack = wasHere && state !== "connected";
    if (isBack && !kernel.isDisposed) watchLine(words);
  });
  kernel.disposed.connect(() => line.waiting.delete(kernel));
  watchAll(words);
}

// The lab's own dialogs on this are put away: they take the keys from a box and stay when the line is back.
async function putAway(dialog, words) {
  for (let left = 100; left && dialog.isConnected; left -= 1) {
    if (LOST.test(dialog.querySelector(".jp-Dialog-content")?.textContent ?? "")) {
      dialog.querySelector("button.jp-mod-reject, button.jp-mod-accept")?.click();
      watchLine(words);
    }
    await pause(50); // its words, and its ears, come a little later than itself
  }
}

// A lost line that nobody tells of is found by what has no answer.
function watchAll(words) {
  if (line.isWatched) return;
  line.isWatched = true;
  setInterval(() => lost().some(isSilent) && watchLine(words), TRY_AGAIN);
  new MutationObserver((changes) => {
    for (const added of changes.flatMap((change) => [...change.addedNodes])) {
      if (added.classList?.contains("jp-Dialog")) putAway(added, words);
    }
  }).observe(document.body, { childList: true });
}
