// What every page that counts or ticks off shares: taps go into the outbox, are shown at once, and are
// sent again and again until the computer has confirmed them.
const AGAIN_MS = 3000;
const GATHER_MS = 250; // taps in quick succession go in one message
const NOTE_MS = 900; // a note is kept once the typing pauses

class SyncedView {
  constructor(root, log) {
    this.root = root;
    this.log = log;
    // keys of this page must not reach the hotkeys of the page around it
    root.addEventListener("keydown", (event) => event.key !== "Tab" && event.stopPropagation());
    this.onStorage = () => {
      this.outbox?.load();
      this.draw();
    };
    window.addEventListener("storage", this.onStorage);
    this.onBack = () => this.send();
    window.addEventListener("online", this.onBack);
    this.again = setInterval(() => {
      this.send();
      this.askWhy();
    }, AGAIN_MS);
    this.codeWanted = false;
    this.asked = 0;
    // The page around it puts a message over everything, again and again, while the computer does not
    // answer; work must go on, and the line at the top says the same.
    this.watcher = new MutationObserver(() => SyncedView.closeConnectionMessage());
    this.watcher.observe(document.body, { childList: true, subtree: true });
  }

  static closeConnectionMessage() {
    for (const message of document.querySelectorAll('[role="dialog"]')) {
      if (message.textContent.startsWith("Connection error")) message.querySelector("button")?.click();
    }
  }

  take(data, setStateValue) {
    this.setStateValue = setStateValue;
    if (this.data?.job !== data.job) this.outbox = new Outbox(this.log, data.job);
    this.data = data;
    this.words = data.words;
    this.outbox.drop(data.known);
    this.outbox.drop(data.refused);
    this.draw();
    if (this.outbox.taps().length) this.sendSoon();
  }

  destroy() {
    clearInterval(this.again);
    this.watcher.disconnect();
    window.removeEventListener("storage", this.onStorage);
    window.removeEventListener("online", this.onBack);
  }

  say(key, values = {}) {
    return this.words[key].replace(/\{(\w+)\}/g, (_, name) => values[name]);
  }

  tap(line, what, change, text = "") {
    const clock = Math.max(this.data.clock, 0, ...this.outbox.taps().map((tap) => tap.clock)) + 1;
    this.outbox.add({ id: Outbox.newId(), line, what, change, text, clock });
    this.draw();
    this.sendSoon();
  }

  sendSoon() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.send(), GATHER_MS);
  }

  send() {
    const taps = this.outbox?.taps() ?? [];
    if (!taps.length) return;
    // the number makes each message a change of state, so that it goes out again
    this.number = (this.number ?? 0) + 1;
    this.setStateValue("outbox", { job: this.data.job, taps: taps.slice(0, 400), number: this.number });
  }

  // While taps wait: is the computer away, or does it want the code again (a shared app after a restart)?
  async askWhy() {
    if (!this.outbox?.taps().length) {
      this.codeWanted = false;
      this.asked = 0;
      return;
    }
    this.asked += 1;
    if (this.asked < 3) return;
    let wanted = false;
    try {
      const answer = await fetch(new URL("/_stcore/health", location.href), { cache: "no-store" });
      wanted = answer.status === 401;
    } catch {
      wanted = false;
    }
    if (wanted !== this.codeWanted) {
      this.codeWanted = wanted;
      this.draw();
    }
  }

  // The value said last about a line: of what waits and what the computer knows.
  said(line, what, known, field) {
    let best = null;
    for (const tap of this.outbox.taps()) {
      if (tap.line !== line || tap.what !== what) continue;
      if (!best || tap.clock > best.clock || (tap.clock === best.clock && tap.id > best.id)) best = tap;
    }
    return best ? best[field] : known;
  }

  drawState() {
    const waiting = this.outbox.taps().length;
    const state = this.root.querySelector(".state");
    state.classList.toggle("waiting", waiting > 0 || !this.outbox.lasting);
    let sentence = waiting ? this.say(waiting === 1 ? "waiting_one" : "waiting", { n: waiting }) : this.say("kept");
    if (waiting && this.codeWanted) sentence = this.say("code_again", { n: waiting });
    if (!this.outbox.lasting && waiting) sentence = this.say("not_lasting");
    if (state.textContent !== sentence) state.textContent = sentence;
    state.dataset.waiting = String(waiting);
  }
}

function element(tag, css = "") {
  const node = document.createElement(tag);
  if (css) node.className = css;
  return node;
}

function put(node, selector, text) {
  const target = node.querySelector(selector);
  if (target.textContent !== text) target.textContent = text;
}

// One view per place on the page; the default export of a component hands over what it is called with.
const views = new WeakMap();

function showIn(parentElement, data, setStateValue, make) {
  let view = views.get(parentElement);
  if (!view) {
    view = make();
    views.set(parentElement, view);
  }
  const token = {};
  view.token = token;
  view.take(data, setStateValue);
  return () => {
    // a superseded call's cleanup may run late: only the newest may end the view
    if (view.token !== token) return;
    view.destroy();
    views.delete(parentElement);
  };
}
