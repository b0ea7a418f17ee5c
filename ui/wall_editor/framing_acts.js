// What is done to studs and openings: moved, added, kept, removed. Methods of the wall
// editor (`this`); each draws its end at once and hands a whole corrections document to `push`.

const LARGEST_BOX_IN = 10; // four gangs side by side are about 8 in wide
const FACE_IN = 1.5; // the front face of 2-by lumber

const framingActs = {
  centreOf(line) {
    if (!this.plane) return 0;
    const [a, b] = line.map((p) => this.plane.toWall(p));
    const half = (this.view.wall?.height_in ?? a[1] + b[1]) / 2;
    return Math.abs(b[1] - a[1]) < 1e-6 ? a[0] : a[0] + ((b[0] - a[0]) * (half - a[1])) / (b[1] - a[1]);
  },

  studSeen(stud, line) {
    // draw a stud at a new line before Python has answered
    stud.bottom_px = line[0];
    stud.top_px = line[1];
    stud.centre_in = this.centreOf(line);
  },

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
  },

  nudgeStud(stud, steps, later = true) {
    if (!this.plane) return;
    const line = shiftAlongWall(this.plane, [stud.bottom_px, stud.top_px], steps * this.view.scale.step_in);
    this.studMoved(stud, line, later);
  },

  studLineAt(point) {
    // a new stud stands upright on the wall, as tall as its neighbours
    if (!this.plane || !this.view.wall) return null;
    const [x] = this.plane.toWall(point);
    const { length_in, height_in } = this.view.wall;
    if (!(x > -2 && x < length_in + 2)) return null;
    return [this.plane.toPhoto([x, 1.5]), this.plane.toPhoto([x, height_in - 3])];
  },

  snapped(line, fingerPx) {
    // as far as a finger (or a mouse) errs, but never as far as the next stud
    if (!this.plane) return line;
    const [x0] = this.plane.toWall(mid(line[0], line[1]));
    const beside = this.frame.toPhoto(offset(this.frame.toScreen(mid(line[0], line[1])), fingerPx));
    const reach = Math.min(5, Math.max(0.75, Math.abs(this.plane.toWall(beside)[0] - x0)));
    return this.snapping.lineOnFace(this.plane, line, FACE_IN, reach) ?? line;
  },

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
  },

  addStudInWidestGap() {
    if (!this.plane || !this.view.wall) return;
    const { length_in, height_in } = this.view.wall;
    const xs = [0, ...this.view.studs.map((s) => s.centre_in), length_in].sort((a, b) => a - b);
    let best = 0;
    for (let i = 1; i < xs.length - 1; i++) if (xs[i + 1] - xs[i] > xs[best + 1] - xs[best]) best = i;
    const line = this.studLineAt(this.plane.toPhoto([(xs[best] + xs[best + 1]) / 2, height_in / 2]));
    if (line) this.addStud(line);
  },

  removeStud(stud) {
    this.view.studs = this.view.studs.filter((s) => s !== stud);
    this.chosen = null;
    this.push(withoutStud(this.view.corrections, stud), this.words.stud_removed);
    this.draw();
  },

  confirmStud(stud) {
    stud.sure = true;
    this.push(withStudConfirmed(this.view.corrections, stud), this.words.stud_kept);
    if (this.doubtful().length) this.showNextDoubt();
    else this.unchoose();
  },

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
  },

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
  },

  addOpeningInMiddle() {
    if (!this.plane || !this.view.wall) return;
    const { length_in, height_in } = this.view.wall;
    const at = (x, y) => this.plane.toPhoto([x, y]);
    this.addOpening(wallBox(this.plane, at(length_in / 2 - 15, height_in * 0.8), at(length_in / 2 + 15, height_in * 0.4)));
  },

  removeOpening(opening) {
    this.view.openings = this.view.openings.filter((o) => o !== opening);
    this.chosen = null;
    this.push(withoutOpening(this.view.corrections, opening), this.words.opening_removed);
    this.draw();
  },

  moveHandle(key, point, later = false, press = "mouse", onEdge = true) {
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
      const sigma = this.markSigmaPx(press, onEdge);
      if (!tape) this.tape = { from_px: p, from_sigma_px: sigma };
      else if (key === "tape-from") this.tapeMoved(p, tape.to_px, later, { from_sigma_px: sigma });
      else this.tapeMoved(tape.from_px, p, later, { to_sigma_px: sigma });
      this.draw();
    }
  },

  openingWith(opening, index, point) {
    // one corner moves, the box stays upright on the wall
    return wallBox(this.plane, point, opening.corners_px[(index + 2) % 4]);
  },
};
