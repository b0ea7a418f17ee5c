// The tally of delivery day. What is shown is what the laptop knows plus what waits in the outbox.
const AGAIN_MS = 3000; // how often waiting taps are sent again until the laptop has confirmed them
const GATHER_MS = 250; // taps in quick succession go in one message
const NOTE_MS = 900; // a note is kept once the typing pauses

const views = new WeakMap();

class TallyView {
  constructor(root) {
    this.root = root;
    this.lines = new Map();
    this.timers = new Map();
    this.inFlight = false;
    // keys of this page must not reach the hotkeys of the page around it
    root.addEventListener("keydown", (event) => event.key !== "Tab" && event.stopPropagation());
    this.onStorage = () => { this.outbox?.load(); this.draw(); };
    window.addEventListener("storage", this.onStorage);
    this.onBack = () => this.send();
    window.addEventListener("online", this.onBack);
    this.again = setInterval(() => this.send(), AGAIN_MS);
    // The page around it puts a message over everything, again and again, while the computer does not
    // answer; counting must go on, and the line at the top says the same.
    this.watcher = new MutationObserver(() => TallyView.closeConnectionMessage());
    this.watcher.observe(document.body, { childList: true, subtree: true });
  }

  static closeConnectionMessage() {
    for (const message of document.querySelectorAll('[role="dialog"]')) {
      if (message.textContent.startsWith("Connection error")) message.querySelector("button")?.click();
    }
  }

  take(data, setStateValue) {
    this.setStateValue = setStateValue;
    if (this.data?.job !== data.job) this.outbox = new Outbox(data.job);
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

  // --- what is shown ---

  counted(line, what, known) {
    let count = known;
    for (const tap of this.outbox.taps()) {
      if (tap.line === line && tap.what === what) count += tap.change;
    }
    return Math.max(0, count);
  }

  said(line, what, known, field) {
    let best = null;
    for (const tap of this.outbox.taps()) {
      if (tap.line !== line || tap.what !== what) continue;
      if (!best || tap.clock > best.clock || (tap.clock === best.clock && tap.id > best.id)) best = tap;
    }
    return best ? best[field] : known;
  }

  draw() {
    if (!this.data) return;
    const waiting = this.outbox.taps().length;
    const state = this.root.querySelector(".state");
    state.classList.toggle("waiting", waiting > 0 || !this.outbox.lasting);
    let sentence = waiting ? this.say(waiting === 1 ? "waiting_one" : "waiting", { n: waiting }) : this.say("kept");
    if (!this.outbox.lasting && waiting) sentence = this.say("not_lasting");
    if (state.textContent !== sentence) state.textContent = sentence;
    state.dataset.waiting = String(waiting);
    const holder = this.root.querySelector(".lines");
    const wanted = this.data.lines.map((line) => line.line);
    for (const [name, node] of this.lines) {
      if (!wanted.includes(name)) { node.remove(); this.lines.delete(name); }
    }
    for (const line of this.data.lines) {
      if (!this.lines.has(line.line)) {
        const node = this.makeLine(line);
        this.lines.set(line.line, node);
        holder.append(node);
      }
      this.drawLine(this.lines.get(line.line), line);
    }
    this.drawWhole();
  }

  makeLine(line) {
    const node = element("article", "line");
    node.dataset.line = line.line;
    node.append(element("h3"), element("p", "kind"));
    const count = element("div", "count");
    count.append(element("span", "came"), element("span", "of"), element("span", "left"));
    const where = element("p", "where");
    const buttons = element("div", "buttons");
    buttons.append(
      this.button("one", () => this.tap(line.line, "arrived", 1)),
      this.button("pair", () => this.tap(line.line, "arrived", 2)),
      this.button("back", () => this.tap(line.line, "arrived", -1)),
    );
    const damaged = element("div", "buttons small");
    damaged.append(
      element("span", "damaged"),
      this.button("undamaged", () => this.tap(line.line, "damaged", -1)),
      this.button("spoiled", () => this.tap(line.line, "damaged", 1)),
    );
    const note = element("details");
    const area = element("textarea", "line-note");
    area.rows = 2;
    area.maxLength = 500;
    area.addEventListener("input", () => this.noteSoon(line.line, area));
    area.addEventListener("change", () => this.keepNote(line.line, area));
    note.append(element("summary"), area);
    node.append(count, where, buttons, damaged, note);
    return node;
  }

  button(name, act) {
    const node = element("button", name);
    node.type = "button";
    node.addEventListener("click", act);
    return node;
  }

  drawLine(node, line) {
    const came = this.counted(line.line, "arrived", line.arrived);
    const spoiled = this.counted(line.line, "damaged", line.damaged);
    const left = line.ordered - came;
    put(node, "h3", line.size);
    put(node, ".kind", line.kind);
    put(node, ".came", String(came));
    put(node, ".of", this.say("of", { n: line.ordered }));
    const rest = left > 0 ? this.say("to_come", { n: left }) : left < 0 ? this.say("too_many", { n: -left }) : this.say("all_there");
    put(node, ".left", rest);
    node.classList.toggle("settled", left === 0);
    put(node, ".where", this.goesTo(line, came));
    put(node, ".one", "+1");
    put(node, ".pair", "+2");
    put(node, ".back", "−1");
    node.querySelector(".one").setAttribute("aria-label", this.say("one_more", { size: line.size }));
    node.querySelector(".pair").setAttribute("aria-label", this.say("pair_more", { size: line.size }));
    node.querySelector(".back").setAttribute("aria-label", this.say("one_less", { size: line.size }));
    node.querySelector(".back").disabled = came === 0;
    put(node, ".damaged", this.say("damaged", { n: spoiled }));
    put(node, ".undamaged", "−1");
    put(node, ".spoiled", "+1");
    node.querySelector(".undamaged").setAttribute("aria-label", this.say("damaged_less", { size: line.size }));
    node.querySelector(".spoiled").setAttribute("aria-label", this.say("damaged_more", { size: line.size }));
    node.querySelector(".undamaged").disabled = spoiled === 0;
    node.querySelector(".spoiled").disabled = spoiled >= came;
    const note = this.said(line.line, "note", line.note, "text");
    put(node, "summary", note ? this.say("note_there") : this.say("note_add"));
    const area = node.querySelector(".line-note");
    area.setAttribute("aria-label", this.say("note_of", { size: line.size }));
    this.showNote(line.line, area, note);
    if (note && !node.dataset.opened) { node.querySelector("details").open = true; node.dataset.opened = "1"; }
  }

  // Stacks are filled in the order given; the next board goes to the first that is not full.
  goesTo(line, came) {
    let before = 0;
    for (const place of line.places) {
      if (came < before + place.count) {
        return this.say("goes_to", { stack: place.stack, where: place.where, n: came - before + 1, of: place.count });
      }
      before += place.count;
    }
    if (!line.places.length) return this.say("no_place");
    return came >= line.ordered ? this.say("line_done") : this.say("no_place");
  }

  drawWhole() {
    put(this.root, ".note-label", this.say("whole_note"));
    const area = this.root.querySelector(".whole .note");
    area.setAttribute("aria-label", this.say("whole_note"));
    this.showNote("", area, this.said("", "note", this.data.note, "text"));
    const finished = Boolean(this.said("", "finished", this.data.finished ? 1 : 0, "change"));
    const button = this.root.querySelector(".finish");
    if (!button.dataset.wired) {
      button.dataset.wired = "1";
      button.addEventListener("click", () => this.tap("", "finished", button.dataset.finished === "1" ? 0 : 1));
      area.addEventListener("input", () => this.noteSoon("", area));
      area.addEventListener("change", () => this.keepNote("", area));
    }
    button.dataset.finished = finished ? "1" : "0";
    put(this.root, ".finish", finished ? this.say("reopen") : this.say("finish"));
  }

  // --- notes ---

  showNote(line, area, note) {
    const typing = area.getRootNode().activeElement === area || this.timers.has(line);
    if (!typing && area.value !== note) area.value = note;
    area.dataset.kept = note;
  }

  noteSoon(line, area) {
    clearTimeout(this.timers.get(line));
    this.timers.set(line, setTimeout(() => this.keepNote(line, area), NOTE_MS));
  }

  keepNote(line, area) {
    clearTimeout(this.timers.get(line));
    this.timers.delete(line);
    if (area.value !== area.dataset.kept) this.tap(line, "note", 0, area.value);
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

export default function ({ parentElement, data, setStateValue }) {
  let view = views.get(parentElement);
  if (!view) {
    view = new TallyView(parentElement.querySelector(".tally"));
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
