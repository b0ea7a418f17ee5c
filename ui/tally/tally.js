// The tally of delivery day. What is shown is what the computer knows plus what waits in the outbox.
class TallyView extends SyncedView {
  constructor(root) {
    super(root, "delivery");
    this.lines = new Map();
    this.timers = new Map();
  }

  counted(line, what, known) {
    let count = known;
    for (const tap of this.outbox.taps()) {
      if (tap.line === line && tap.what === what) count += tap.change;
    }
    return Math.max(0, count);
  }

  draw() {
    if (!this.data) return;
    this.drawState();
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

export default function ({ parentElement, data, setStateValue }) {
  const make = () => new TallyView(parentElement.querySelector(".tally"));
  return showIn(parentElement, data, setStateValue, make);
}
