// The wall editor: what is chosen, what a finger, a mouse or a key does, and what goes to Python.
// Python holds the truth. A whole corrections document goes out per edit with a rising `seq`; a view
// that has not seen the newest edit yet, or comes during a drag, waits in `held`.

const TAP_SLOP = { mouse: 4, pen: 6, touch: 9 };
const KEY_PAUSE_MS = 250;
const LARGEST_BOX_IN = 10; // four gangs side by side are about 8 in wide
const FACE_IN = 1.5; // the front face of 2-by lumber

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
    this.mark = null; // where the finger that places a mark is now
    this.boardsOn = false;
    this.seq = 0;
    this.held = null;
    this.keyTimer = 0;
    this.resized = new ResizeObserver(() => this.layout());
    this.resized.observe(this.pane);
  }

  destroy() {
    this.flush();
    this.resized.disconnect();
    this.gestures.destroy();
  }

  // --- Python -> screen ---

  receive(data) {
    const fresh = !this.view || this.view.session !== data.session;
    if (fresh) this.seq = data.seq;
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
    const width = this.pane.clientWidth;
    if (!width) return;
    const ratio = width / this.frame.paneWidth;
    this.frame.left *= ratio;
    this.frame.top *= ratio;
    this.frame.paneWidth = width;
    this.pane.style.height = `${this.frame.paneHeight}px`;
    this.frame.settle();
    this.draw();
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
    this.setStateValue("edit", { seq: this.seq, revision: this.view.revision, corrections: this.view.corrections });
  }

  command(name) {
    this.flush();
    this.setTriggerValue("command", { name, nonce: newMarkId() });
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
  cornersShown() {
    return this.corners ?? this.view.corners_px ?? [];
  }
  tapeShown() {
    if (this.tape?.to_px) return this.tape;
    const saved = this.view.corrections.reference;
    return saved?.kind === "tape" && saved.from_px && saved.to_px ? saved : null;
  }
  tapeBegun() {
    // its first mark stands, the finger is on the second
    const begun = this.tool === "tape" && this.tape?.from_px && this.mark;
    return begun ? { from_px: this.tape.from_px, to_px: this.mark } : null;
  }
  tapeText(tape) {
    // as Python prints it, until another length is being typed
    const saved = this.view.corrections.reference;
    return (tape.length_text === saved?.length_text && this.view.tape_text) || tape.length_text || "?";
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
  handles() {
    const list = [];
    const stud = this.chosenStud();
    if (this.tool === "studs" && stud && this.plane) {
      list.push({ key: "stud-bottom", at: stud.bottom_px, name: this.words.stud_bottom });
      list.push({ key: "stud-top", at: stud.top_px, name: this.words.stud_top });
    }
    const opening = this.chosenOpening();
    if (this.tool === "opening" && opening) {
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

  // --- acts ---

  setTool(tool) {
    this.tool = tool;
    this.chosen = this.ghost = this.box = null;
    if (tool !== "corners") this.corners = null;
    if (tool !== "tape") this.tape = null;
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

  centreOf(line) {
    if (!this.plane) return 0;
    const [a, b] = line.map((p) => this.plane.toWall(p));
    const half = (this.view.wall?.height_in ?? a[1] + b[1]) / 2;
    return Math.abs(b[1] - a[1]) < 1e-6 ? a[0] : a[0] + ((b[0] - a[0]) * (half - a[1])) / (b[1] - a[1]);
  }
  studSeen(stud, line) {
    // draw a stud at a new line before Python has answered
    stud.bottom_px = line[0];
    stud.top_px = line[1];
    stud.centre_in = this.centreOf(line);
  }
  studMoved(stud, line, later = false) {
    const [doc, id] = withStudAt(this.view.corrections, stud, line);
    this.studSeen(stud, line);
    if (stud.key !== id) {
      this.drawing.rename(stud.key, id);
      if (this.isChosen("stud", stud.key)) this.chosen.key = id;
      stud.key = id;
    }
    stud.yours = stud.sure = true;
    stud.sigma_text = "";
    this.push(doc, `${this.studName(stud)} ${this.studPlace(stud)}`, later);
    this.draw();
  }
  nudgeStud(stud, steps, later = true) {
    if (!this.plane) return;
    const line = shiftAlongWall(this.plane, [stud.bottom_px, stud.top_px], steps * this.view.scale.step_in);
    this.studMoved(stud, line, later);
  }
  studLineAt(point) {
    // a new stud stands upright on the wall, as tall as its neighbours
    if (!this.plane || !this.view.wall) return null;
    const [x] = this.plane.toWall(point);
    const { length_in, height_in } = this.view.wall;
    if (!(x > -2 && x < length_in + 2)) return null;
    return [this.plane.toPhoto([x, 1.5]), this.plane.toPhoto([x, height_in - 3])];
  }
  snapped(line, fingerPx) {
    // as far as a finger (or a mouse) errs, but never as far as the next stud
    if (!this.plane) return line;
    const [x0] = this.plane.toWall(mid(line[0], line[1]));
    const beside = this.frame.toPhoto(offset(this.frame.toScreen(mid(line[0], line[1])), fingerPx));
    const reach = Math.min(5, Math.max(0.75, Math.abs(this.plane.toWall(beside)[0] - x0)));
    return this.snapping.lineOnFace(this.plane, line, FACE_IN, reach) ?? line;
  }
  addStud(line) {
    const key = newMarkId();
    const stud = { key, number: "+", bottom_px: line[0], top_px: line[1], yours: true, sure: true, sigma_text: "" };
    stud.centre_in = this.centreOf(line);
    this.view.studs.push(stud);
    const doc = { ...this.view.corrections };
    doc.studs = [...doc.studs, { id: key, front_px: line, corrects_px: null }];
    this.chosen = { type: "stud", key };
    this.ghost = null;
    this.push(doc, this.words.stud_added);
    this.draw();
  }
  addStudInWidestGap() {
    if (!this.plane || !this.view.wall) return;
    const { length_in, height_in } = this.view.wall;
    const xs = [0, ...this.view.studs.map((s) => s.centre_in), length_in].sort((a, b) => a - b);
    let best = 0;
    for (let i = 1; i < xs.length - 1; i++) if (xs[i + 1] - xs[i] > xs[best + 1] - xs[best]) best = i;
    const line = this.studLineAt(this.plane.toPhoto([(xs[best] + xs[best + 1]) / 2, height_in / 2]));
    if (line) this.addStud(line);
  }
  removeStud(stud) {
    this.view.studs = this.view.studs.filter((s) => s !== stud);
    this.chosen = null;
    this.push(withoutStud(this.view.corrections, stud), this.words.stud_removed);
    this.draw();
  }
  confirmStud(stud) {
    stud.sure = true;
    this.push(withStudConfirmed(this.view.corrections, stud), this.words.stud_kept);
    if (this.doubtful().length) this.showNextDoubt();
    else this.unchoose();
  }

  openingMoved(opening, corners, kind, later = false) {
    const [doc, id] = withOpeningAt(this.view.corrections, opening, corners, kind);
    if (opening.key !== id) {
      this.drawing.rename(opening.key, id);
      if (this.isChosen("opening", opening.key)) this.chosen.key = id;
      opening.key = id;
    }
    Object.assign(opening, { corners_px: corners, kind, yours: true, sure: true });
    this.push(doc, opening.text, later);
    this.draw();
  }
  addOpening(corners) {
    const [high, right, low] = corners.map((c) => this.plane.toWall(c));
    // until the user says otherwise: what is small is an electrical box, what reaches the floor a door
    const small = right[0] - high[0] < LARGEST_BOX_IN && high[1] - low[1] < LARGEST_BOX_IN;
    const kind = small ? "box" : low[1] < 8 ? "door" : "window";
    const opening = { key: "", kind, corners_px: corners, yours: true, text: this.words[kind], at: right };
    const [doc, id] = withOpeningAt(this.view.corrections, { ...opening, yours: false }, corners, kind);
    opening.key = id;
    this.view.openings.push(opening);
    this.chosen = { type: "opening", key: id };
    this.push(doc, this.words.opening_added);
    this.draw();
  }
  addOpeningInMiddle() {
    if (!this.plane || !this.view.wall) return;
    const { length_in, height_in } = this.view.wall;
    const at = (x, y) => this.plane.toPhoto([x, y]);
    this.addOpening(wallBox(this.plane, at(length_in / 2 - 15, height_in * 0.8), at(length_in / 2 + 15, height_in * 0.4)));
  }
  removeOpening(opening) {
    this.view.openings = this.view.openings.filter((o) => o !== opening);
    this.chosen = null;
    this.push(withoutOpening(this.view.corrections, opening), this.words.opening_removed);
    this.draw();
  }

  sendCorners(corners) {
    this.corners = null;
    this.push({ ...this.view.corrections, corners_px: corners }, this.words.reading);
    this.setTool("studs");
  }
  // --- marks placed by a press: the finger slides until the magnifier shows it sits right ---

  wantsPoint() {
    if (this.tool === "corners") return this.cornersShown().length < 4;
    return this.tool === "tape" && !this.tapeShown();
  }
  tapeWay(p, other) {
    // along the tape; before its second end is known, along the wall
    const far = other && distance(this.frame.toScreen(p), this.frame.toScreen(other)) > 30;
    if (far) return direction(other, p);
    if (!this.plane) return [1, 0];
    const [x, y] = this.plane.toWall(p);
    return direction(this.plane.toPhoto([x - 1, y]), this.plane.toPhoto([x + 1, y]));
  }
  tapeEndAt(p, other, fingerPx) {
    // on the edge or pencil stroke under the finger, as far as a finger (or a mouse) errs
    return this.snapping.pointOnEdge(p, this.tapeWay(p, other), fingerPx / this.frame.perPixel) ?? p;
  }
  markAt(p, reach) {
    return this.tool === "tape" ? this.tapeEndAt(p, this.tape?.from_px, reach) : p;
  }
  markStroke(p, other = this.tape?.from_px) {
    // what the magnifier draws through a mark: across the tape
    if (this.tool !== "tape") return null;
    const [dx, dy] = this.tapeWay(p, other);
    return [p, [p[0] - dy, p[1] + dx]];
  }
  markSet(p, reach) {
    const at = this.markAt(p, reach);
    this.mark = null;
    if (this.tool === "corners") {
      this.corners = [...this.cornersShown(), at];
    } else if (this.tape?.from_px) {
      // now that its way is known, the first end is looked for along it
      const { from_px, pressed_px, pressed_reach } = this.tape;
      this.tapeMoved(pressed_px ? this.tapeEndAt(pressed_px, at, pressed_reach) : from_px, at);
      this.cards.focusLength();
      return;
    } else this.tape = { from_px: at, pressed_px: p, pressed_reach: reach };
    this.draw();
  }
  spacingGiven(inches) {
    this.tape = null;
    this.lengthSent = true;
    const reference = { kind: "on_centre", length_in: inches, length_text: "", from_px: null, to_px: null };
    this.push({ ...this.view.corrections, reference }, this.words.reading);
  }

  tapeMoved(from, to, later = false) {
    this.tape = null;
    this.push(withTape(this.view.corrections, from, to), "", later);
    this.draw();
  }
  tapeLength(text) {
    const tape = this.tapeShown();
    if (!text.trim()) return this.cards.focusLength(); // the card asks for it already
    this.lengthSent = Boolean(tape);
    if (tape) this.push(withTape(this.view.corrections, tape.from_px, tape.to_px, text), this.words.reading);
  }
  tapeRemoved() {
    this.tape = null;
    this.push({ ...this.view.corrections, reference: null }, "");
    this.draw();
  }

  moveHandle(key, point, later = false) {
    // the end of a handle's drag, or one press of an arrow key
    const p = this.frame.clampToPhoto(point);
    const stud = this.chosenStud();
    if (key === "stud-bottom" && stud) this.studMoved(stud, [p, stud.top_px], later);
    else if (key === "stud-top" && stud) this.studMoved(stud, [stud.bottom_px, p], later);
    else if (key.startsWith("opening-")) {
      const opening = this.chosenOpening();
      this.openingMoved(opening, this.openingWith(opening, Number(key.slice(8)), p), opening.kind, later);
    } else if (key.startsWith("corner-")) {
      this.corners = this.cornersShown().map((c, i) => (i === Number(key.slice(7)) ? p : c));
      this.draw();
    } else if (key === "tape-from" || key === "tape-to") {
      const tape = this.tapeShown();
      if (!tape) this.tape = { from_px: p };
      else this.tapeMoved(key === "tape-from" ? p : tape.from_px, key === "tape-to" ? p : tape.to_px, later);
      this.draw();
    }
  }
  openingWith(opening, index, point) {
    // one corner moves, the box stays upright on the wall
    return wallBox(this.plane, point, opening.corners_px[(index + 2) % 4]);
  }
}

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
