// Points set on the photo by hand: the wall's four corners and the two ends of a tape. Methods of the
// wall editor (`this`). A point is placed by a press: the finger slides until the magnifier shows it
// sits right.

// How far off a mark is, one standard deviation, screen px: a mouse, a finger that settled it slowly under the
// magnifier, a pen, a finger that tapped, and found an edge or found none (judgement, no source). DEVELOPERS.md says
// what marks off by more and by less made of the sure studs of the tuning walls.
const MARK_OFF = { mouse: 0.5, settled: 0.75, pen: 0.75 };
const TAP_ON_EDGE_OFF = 2;
const TAP_OFF = 3;

const pointActs = {
  cornersShown() {
    return this.corners ?? this.view.corners_px ?? [];
  },

  tapeShown() {
    if (this.tape?.to_px) return this.tape;
    return this.tapeSaved(this.slot);
  },

  tapeSaved(slot) {
    const saved = this.view.corrections[slot];
    return saved?.kind === "tape" && saved.from_px && saved.to_px ? saved : null;
  },

  tapeBegun() {
    // its first mark stands, the finger is on the second
    const begun = this.tool === "tape" && this.tape?.from_px && this.mark;
    return begun ? { from_px: this.tape.from_px, to_px: this.mark } : null;
  },

  tapeText(tape, slot = this.slot) {
    // as Python prints it, until another length is being typed
    const saved = this.view.corrections[slot];
    return (tape.length_text === saved?.length_text && this.view.tape_texts[slot]) || tape.length_text || "?";
  },

  tapeOther() {
    // a length to check by, while the first one is at hand, or the first while that one is
    const slot = this.slot === "second" ? "reference" : "second";
    const tape = this.tapeSaved(slot);
    return tape && { ...tape, slot };
  },

  measure(slot) {
    this.slot = slot;
    this.tape = null;
    this.draw();
  },

  sendCorners(corners) {
    this.corners = null;
    this.push({ ...this.view.corrections, corners_px: corners }, this.words.reading);
    this.setTool("studs");
  },

  wantsPoint() {
    if (this.tool === "corners") return this.cornersShown().length < 4;
    return this.tool === "tape" && !this.tapeShown();
  },

  tapeWay(p, other) {
    // along the tape; before its second end is known, along the wall
    const far = other && distance(this.frame.toScreen(p), this.frame.toScreen(other)) > 30;
    if (far) return direction(other, p);
    if (!this.plane) return [1, 0];
    const [x, y] = this.plane.toWall(p);
    return direction(this.plane.toPhoto([x - 1, y]), this.plane.toPhoto([x + 1, y]));
  },

  tapeEndAt(p, other, fingerPx, perPixel = this.frame.perPixel) {
    // on the edge or pencil stroke under the finger, as far as a finger (or a mouse) errs
    return this.snapping.pointOnEdge(p, this.tapeWay(p, other), fingerPx / perPixel) ?? p;
  },

  markSigmaPx(press, onEdge, perPixel = this.frame.perPixel) {
    // on a small picture a screen pixel is several of the photo's
    return (MARK_OFF[press] ?? (onEdge ? TAP_ON_EDGE_OFF : TAP_OFF)) / perPixel;
  },

  markAt(p, reach) {
    return this.tool === "tape" ? this.tapeEndAt(p, this.tape?.from_px, reach) : p;
  },

  markStroke(p, other = this.tape?.from_px) {
    // what the magnifier draws through a mark: across the tape
    if (this.tool !== "tape") return null;
    const [dx, dy] = this.tapeWay(p, other);
    return [p, [p[0] - dy, p[1] + dx]];
  },

  markSet(p, reach, press) {
    const at = this.markAt(p, reach);
    this.mark = null;
    if (this.tool === "corners") {
      this.corners = [...this.cornersShown(), at];
    } else if (this.tape?.from_px) {
      // now that its way is known, the first end is looked for along it
      const { from_px, from_sigma_px, pressed } = this.tape;
      const from = pressed ? this.tapeEndAt(pressed.px, at, pressed.reach, pressed.perPixel) : from_px;
      this.tapeMoved(from, at, false, {
        from_sigma_px: pressed ? this.markSigmaPx(pressed.by, from !== pressed.px, pressed.perPixel) : from_sigma_px,
        to_sigma_px: this.markSigmaPx(press, at !== p),
      });
      this.cards.focusLength();
      return;
    } else this.tape = { from_px: at, pressed: { px: p, reach, by: press, perPixel: this.frame.perPixel } };
    this.draw();
  },

  spacingGiven(inches) {
    this.tape = null;
    this.lengthSent = true;
    const reference = { kind: "on_centre", length_in: inches, length_text: "", from_px: null, to_px: null };
    this.push({ ...this.view.corrections, reference }, this.words.reading);
  },

  tapeMoved(from, to, later = false, sigmas = {}) {
    this.tape = null;
    this.push(withTape(this.view.corrections, from, to, undefined, this.slot, sigmas), "", later);
    this.draw();
  },

  tapeLength(text) {
    const tape = this.tapeShown();
    if (!text.trim()) return this.cards.focusLength(); // the card asks for it already
    this.lengthSent = Boolean(tape);
    if (!tape) return;
    this.push(withTape(this.view.corrections, tape.from_px, tape.to_px, text, this.slot), this.words.reading);
  },

  tapeRemoved() {
    this.tape = null;
    const { reference, second } = this.view.corrections;
    // without the first one, the second is the only known length
    const left = this.slot === "second" ? { reference, second: null } : { reference: second ?? null, second: null };
    this.push({ ...this.view.corrections, ...left }, "");
    this.measure("reference");
  },
};
