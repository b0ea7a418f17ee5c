// The wall editor: what is shown and chosen, and what goes to and comes from Python. What is done to
// marks stands in framing_acts.js and point_acts.js, whose methods are added to this class.
// Python holds the truth. A whole corrections document goes out per edit with a rising `seq`; a view
// that has not seen the newest edit yet, or comes during a drag, waits in `held`.

const TAP_SLOP = { mouse: 4, pen: 6, touch: 9 };
const KEY_PAUSE_MS = 250;

class WallEditor {
  constructor(root) {
    this.root = root.querySelector(".editor");
    this.pane = root.querySelector(".pane");
    this.photo = root.querySelector(".photo");
    this.loupe = new Loupe(root.querySelector(".loupe"));
    this.say = root.querySelector(".say");
    this.drawing = new Drawing(root.querySelector(".marks"));
    this.cards = new Cards(this, root);
    this.gestures = new Gestures(this);
    this.view = null;
    this.tool = "studs";
    this.chosen = null;
    this.ghost = null;
    this.box = null;
    this.corners = null; // the four (or fewer) corners being set, until they are sent
    this.tape = null; // a tape mark being set
    this.slot = "reference"; // which known length is at hand: the first, or the "second" that checks it
    this.mark = null; // where the finger that places a mark is now
    this.boardsOn = false;
    this.seq = 0;
    this.held = null;
    this.keyTimer = 0;
    this.head = null; // how far down the page the photo begins, and in which window
    this.relaid = () => this.layout();
    this.resized = new ResizeObserver(this.relaid);
    this.resized.observe(this.root);
    window.addEventListener("resize", this.relaid);
  }

  destroy() {
    this.flush();
    this.resized.disconnect();
    window.removeEventListener("resize", this.relaid);
    this.gestures.destroy();
  }

  // --- Python -> screen ---

  receive(data) {
    const fresh = !this.view || this.view.session !== data.session;
    if (fresh) {
      // another session, or another photo of the wall: nothing of the one before holds here
      this.flush();
      this.seq = data.seq;
      this.view = this.frame = this.chosen = this.box = null;
    }
    if (!fresh && (this.gestures.busy() || this.unsent || data.seq < this.seq)) {
      this.held = data;
      return;
    }
    this.show(data);
  }

  show(data) {
    const before = this.view;
    this.held = null;
    this.view = structuredClone(data);
    this.words = data.words;
    this.plane = makePlane(data.plane);
    const photo = data.photo;
    if (!before || before.photo.url !== photo.url) {
      this.photo.src = photo.url;
      this.loupe.img.src = photo.url;
    }
    if (!this.snapping || !before || before.photo.url !== photo.url) {
      this.snapping = new Snapping(this.photo, photo.width_px);
    }
    this.photo.alt = this.words.photo_alt;
    if (!this.frame || this.frame.photoWidth !== photo.width_px || this.frame.photoHeight !== photo.height_px) {
      this.frame = new Frame(photo.width_px, photo.height_px);
    }
    if (!before || before.revision !== data.revision) {
      this.corners = null;
      this.tape = null;
      this.ghost = this.mark = null;
      if (!data.corrections.reference) this.slot = "reference";
    }
    if (!before) {
      this.tool = data.start_tool || "studs";
    } else if (data.start_tool && before.start_tool !== data.start_tool) this.setTool(data.start_tool);
    if (this.chosen && !this.subject(this.chosen)) this.chosen = null;
    if (this.lengthSent) {
      // the length was taken: on to the studs; else the card says what is wrong with it
      this.lengthSent = false;
      if (!data.problem) this.setTool("studs");
    }
    this.layout();
  }

  takeHeld() {
    if (this.held && !this.unsent && this.held.seq >= this.seq) this.show(this.held);
  }

  layout() {
    if (!this.view) return;
    const room = this.root.clientWidth;
    if (!room) return;
    const aspect = this.frame.photoWidth / this.frame.photoHeight;
    const { width, beside } = paneFor(aspect, room, this.heightLeft(), window.innerHeight);
    this.root.classList.toggle("beside", beside);
    this.pane.style.width = `${width}px`;
    const ratio = width / this.frame.paneWidth;
    this.frame.left *= ratio;
    this.frame.top *= ratio;
    this.frame.paneWidth = width;
    this.pane.style.height = `${this.frame.paneHeight}px`;
    this.frame.settle();
    this.draw();
  }

  heightLeft() {
    // What the window has from the photo's top down while the page is not scrolled. Of all the tops seen the
    // least counts: what is unfolded above, or said there later, must not change the photo's size.
    const { innerWidth, innerHeight } = window;
    if (this.head?.innerWidth !== innerWidth || this.head.innerHeight !== innerHeight || this.head.frame !== this.frame) {
      this.head = { innerWidth, innerHeight, frame: this.frame, top: Infinity };
    }
    if (!this.gestures.busy()) {
      let top = this.root.getBoundingClientRect().top;
      for (let n = this.root.getRootNode().host; n; n = n.parentElement) top += n.scrollTop;
      this.head.top = Math.min(this.head.top, top);
    }
    return Math.max(innerHeight - this.head.top - 12, innerHeight / 2);
  }

  draw() {
    const f = this.frame;
    this.photo.style.transform = `translate(${f.left}px, ${f.top}px) scale(${f.zoom})`;
    this.pane.classList.toggle("free", f.zoom > 1 || this.tool !== "studs");
    drawScene(this);
    this.cards.draw();
  }

  // --- screen -> Python ---

  push(doc, spoken, later = false) {
    this.view.corrections = doc;
    this.unsent = true;
    clearTimeout(this.keyTimer);
    if (later) this.keyTimer = setTimeout(() => this.flush(), KEY_PAUSE_MS);
    else this.flush();
    if (spoken) this.say.textContent = spoken;
  }

  flush() {
    if (!this.unsent) return;
    clearTimeout(this.keyTimer);
    this.unsent = false;
    this.seq += 1;
    const { session, revision, corrections } = this.view;
    this.setStateValue("edit", { seq: this.seq, session, revision, corrections });
  }

  command(name) {
    this.flush();
    this.setTriggerValue("command", { name, session: this.view.session, nonce: newMarkId() });
  }

  // --- what there is ---

  subject({ type, key }) {
    const list = type === "stud" ? this.view.studs : type === "opening" ? this.view.openings : [];
    return list.find((m) => m.key === key);
  }
  chosenStud() {
    return this.chosen?.type === "stud" ? this.subject(this.chosen) : null;
  }
  chosenOpening() {
    return this.chosen?.type === "opening" ? this.subject(this.chosen) : null;
  }
  isChosen(type, key) {
    return this.chosen?.type === type && this.chosen.key === key;
  }
  doubtful() {
    return this.view.studs.filter((s) => !s.sure && !s.yours);
  }
  proposedOpenings() {
    return this.view.openings.filter((o) => !o.sure && !o.yours);
  }
  studName(stud) {
    const name = this.words.stud_name.replace("{n}", stud.number);
    return stud.sure || stud.yours ? name : `${name}, ${this.words.doubtful}`;
  }
  studPlace(stud) {
    return `${lengthText(stud.centre_in, this.view.scale)} ${stud.sigma_text}`.trim();
  }
  boardsShown() {
    return this.boardsOn && this.view.boards.length > 0;
  }
  bayWidth() {
    // CSS px between neighbours at mid-height, the usual bay: all studs are labelled, or none
    const at = this.view.studs.map((s) => this.frame.toScreen(mid(s.bottom_px, s.top_px))[0]).sort((x, y) => x - y);
    const bays = at.slice(1).map((x, i) => x - at[i]).sort((x, y) => x - y);
    return bays.length ? bays[Math.floor(bays.length / 2)] : 60;
  }
  hitHalfWidth(stud) {
    const at = (s) => this.frame.toScreen(mid(s.bottom_px, s.top_px))[0];
    const here = at(stud);
    const gaps = this.view.studs.filter((s) => s !== stud).map((s) => Math.abs(at(s) - here));
    return Math.min(22, Math.max(10, Math.min(88, ...gaps) / 4));
  }
  holdsHandles({ corners_px }) {
    // an electrical box seen from afar has no room for four of them: come closer first
    const [a, , c] = corners_px.map((p) => this.frame.toScreen(p));
    return distance(a, c) > 60;
  }
  handles() {
    const list = [];
    const stud = this.chosenStud();
    if (this.tool === "studs" && stud && this.plane) {
      list.push({ key: "stud-bottom", at: stud.bottom_px, name: this.words.stud_bottom });
      list.push({ key: "stud-top", at: stud.top_px, name: this.words.stud_top });
    }
    const opening = this.chosenOpening();
    if (this.tool === "opening" && opening && this.holdsHandles(opening)) {
      opening.corners_px.forEach((at, i) => list.push({ key: `opening-${i}`, at, name: this.words.corner_names[i] }));
    }
    if (this.tool === "corners") {
      this.cornersShown().forEach((at, i) => list.push({ key: `corner-${i}`, at, name: this.words.corner_names[i] }));
    }
    const tape = this.tapeShown();
    if (this.tool === "tape" && tape) {
      list.push({ key: "tape-from", at: tape.from_px, name: this.words.tape_from });
      list.push({ key: "tape-to", at: tape.to_px, name: this.words.tape_to });
    } else if (this.tool === "tape" && this.tape?.from_px) {
      list.push({ key: "tape-from", at: this.tape.from_px, name: this.words.tape_from });
    }
    return list;
  }

  // --- what is chosen, and how near ---

  setTool(tool) {
    this.tool = tool;
    this.chosen = this.ghost = this.box = null;
    if (tool !== "corners") this.corners = null;
    if (tool !== "tape") {
      this.tape = null;
      this.slot = "reference";
    }
    if (this.view) this.draw();
  }
  choose(type, key) {
    this.chosen = { type, key };
    this.ghost = null;
    this.draw();
  }
  unchoose() {
    this.chosen = this.ghost = null;
    this.draw();
  }
  zoomTo(point, zoom) {
    const f = this.frame;
    f.zoom = zoom;
    const [x, y] = f.toScreen(point);
    f.pan(f.paneWidth / 2 - x, f.paneHeight / 2 - y);
    this.draw();
  }
  zoomBy(times) {
    const f = this.frame;
    const stud = this.chosenStud();
    const at = stud ? f.toScreen(mid(stud.bottom_px, stud.top_px)) : [f.paneWidth / 2, f.paneHeight / 2];
    f.zoomAbout(at, f.zoom * times);
    this.draw();
  }
  showNextDoubt() {
    const list = this.doubtful();
    const now = list.findIndex((s) => this.isChosen("stud", s.key));
    const next = list[(now + 1) % list.length];
    if (!next) return;
    this.chosen = { type: "stud", key: next.key };
    this.ghost = null;
    const bays = this.frame.paneWidth / Math.max(20, this.bayWidth() / this.frame.zoom);
    this.zoomTo(mid(next.bottom_px, next.top_px), Math.min(4, Math.max(1.5, bays / 3)));
  }
  showNextOpening() {
    const list = this.proposedOpenings();
    const next = list[(list.findIndex((o) => this.isChosen("opening", o.key)) + 1) % list.length];
    if (!next) return;
    if (this.tool !== "opening") this.setTool("opening");
    this.chosen = { type: "opening", key: next.key };
    // near enough to tell an electrical box from a knot
    const [a, , c] = next.corners_px;
    const wide = Math.max(1, distance(this.frame.toScreen(a), this.frame.toScreen(c)) / this.frame.zoom);
    this.zoomTo(mid(a, c), Math.min(8, Math.max(1.5, 70 / wide)));
  }
}
Object.assign(WallEditor.prototype, framingActs, pointActs);

const editors = new WeakMap();

export default function ({ parentElement, data, setStateValue, setTriggerValue }) {
  let editor = editors.get(parentElement);
  if (!editor) {
    editor = new WallEditor(parentElement);
    editors.set(parentElement, editor);
  }
  editor.setStateValue = setStateValue;
  editor.setTriggerValue = setTriggerValue;
  const token = (editor.token = {});
  editor.receive(data);
  return () => {
    // a later call for the same node took over: its cleanup will do this
    if (editor.token !== token) return;
    editor.destroy();
    editors.delete(parentElement);
  };
}
