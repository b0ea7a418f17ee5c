// Fingers, mouse and keys. Own hit test: a browser may hand a touch to a focusable neighbour.

// A mark goes to an edge so near a tap, screen px; the farther it may go, the oftener it is a wrong one.
const FARTHEST_EDGE = 4;
// The same for a mark that slid under the magnifier, and for one that a slow finger settled.
const SLID_EDGE = 3;
const SETTLED_EDGE = 1.5;
const LIFTED_PX = 1; // a finger shifts so far when it is lifted

class Gestures {
  constructor(editor) {
    this.editor = editor;
    this.pointers = new Map();
    this.press = null;
    this.drag = null;
    this.pinch = null;
    this.stop = new AbortController();
    const on = (node, name, act, more = {}) => node.addEventListener(name, act, { signal: this.stop.signal, ...more });
    const pane = editor.pane;
    on(pane, "pointerdown", (e) => this.down(e));
    on(pane, "pointermove", (e) => this.move(e));
    on(pane, "pointerup", (e) => this.up(e));
    on(pane, "pointercancel", (e) => this.cancel(e));
    // the press itself must not focus: a browser gives a touch's focus to a neighbour of what was hit
    on(pane, "mousedown", (e) => e.preventDefault());
    on(pane, "wheel", (e) => this.wheel(e), { passive: false });
    on(pane, "dblclick", (e) => this.doubleClick(e));
    on(editor.root, "keydown", (e) => this.key(e));
    on(editor.root, "focusin", (e) => this.focused(e));
  }
  destroy() {
    this.stop.abort();
  }
  busy() {
    return Boolean(this.drag);
  }

  at(e) {
    const box = this.editor.pane.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  }

  down(e) {
    if (e.button > 0 || !this.editor.view) return;
    const pos = this.at(e);
    this.pointers.set(e.pointerId, pos);
    this.editor.pane.setPointerCapture(e.pointerId);
    if (this.pointers.size === 2) {
      this.giveUp();
      const [a, b] = [...this.pointers.values()];
      this.pinch = { apart: distance(a, b), centre: mid(a, b), zoom: this.editor.frame.zoom };
      return;
    }
    if (this.pointers.size > 2) return;
    const hit = this.hit(pos, e.pointerType === "mouse" ? 13 : 24);
    this.press = { pos, hit, type: e.pointerType, id: e.pointerId };
    if (hit?.type === "handle" && hit.key.startsWith("tape-")) this.drag = this.dragHandle(hit.key, pos, e.timeStamp);
    else if (hit?.type !== "handle" && this.editor.wantsPoint()) this.drag = this.dragMark(pos, e.timeStamp);
    this.drag?.move(pos, e.timeStamp);
  }

  move(e) {
    if (!this.pointers.has(e.pointerId)) return;
    const pos = this.at(e);
    this.pointers.set(e.pointerId, pos);
    const { frame } = this.editor;
    if (this.pinch && this.pointers.size === 2) {
      const [a, b] = [...this.pointers.values()];
      const centre = mid(a, b);
      frame.pan(centre[0] - this.pinch.centre[0], centre[1] - this.pinch.centre[1]);
      frame.zoomAbout(centre, (this.pinch.zoom * distance(a, b)) / Math.max(1, this.pinch.apart));
      this.pinch.centre = centre;
      this.editor.draw();
      return;
    }
    if (!this.press || this.press.id !== e.pointerId) return;
    if (!this.drag && distance(pos, this.press.pos) > (TAP_SLOP[this.press.type] ?? 6)) this.startDrag(pos, e.timeStamp);
    if (this.drag) this.drag.move(pos, e.timeStamp);
  }

  up(e) {
    this.pointers.delete(e.pointerId);
    if (this.pinch) {
      if (!this.pointers.size) this.pinch = null;
      return;
    }
    if (!this.press || this.press.id !== e.pointerId) return;
    const { press, drag } = this;
    this.press = this.drag = null;
    this.editor.loupe.hide();
    if (drag) drag.end(this.at(e), e.timeStamp);
    else this.tap(press.hit, press.pos);
    this.editor.takeHeld();
  }

  cancel(e) {
    this.pointers.delete(e.pointerId);
    if (!this.pointers.size) this.pinch = null;
    this.giveUp();
    this.editor.takeHeld();
  }

  giveUp() {
    const { drag } = this;
    this.press = this.drag = null;
    this.editor.loupe.hide();
    if (drag) {
      drag.undo();
      this.editor.draw();
    }
  }

  // --- what lies under the finger ---

  hit(pos, reach) {
    const { editor } = this;
    const screen = (p) => editor.frame.toScreen(p);
    let best = null;
    for (const handle of editor.handles()) {
      const far = distance(pos, screen(handle.at));
      if (far <= Math.max(reach, 22) && (!best || far < best.far)) best = { type: "handle", key: handle.key, far };
    }
    if (best) return best;
    if (editor.tool === "studs") {
      for (const stud of editor.view.studs) {
        const far = distanceToSegment(pos, screen(stud.bottom_px), screen(stud.top_px));
        const allowed = Math.min(reach, editor.hitHalfWidth(stud));
        if (far <= allowed && (!best || far < best.far)) best = { type: "stud", key: stud.key, far };
      }
    }
    if (editor.tool === "opening" && editor.plane) {
      const [x, y] = editor.plane.toWall(editor.frame.toPhoto(pos));
      for (const opening of editor.view.openings) {
        const c = opening.corners_px.map((p) => editor.plane.toWall(p));
        const inside = x > c[3][0] && x < c[1][0] && y > c[3][1] && y < c[1][1];
        if (inside) best = { type: "opening", key: opening.key, far: 0 };
      }
    }
    return best;
  }

  tap(hit, pos) {
    const { editor } = this;
    const point = editor.frame.clampToPhoto(editor.frame.toPhoto(pos));
    if (hit && hit.type !== "handle") {
      editor.choose(hit.type, hit.key);
      this.focusMark(hit);
      return;
    }
    if (hit) return;
    if (editor.tool === "studs") {
      const line = editor.studLineAt(point);
      editor.chosen = null;
      editor.ghost = line && editor.snapped(line, 9);
      editor.draw();
    } else editor.unchoose();
  }

  focusMark({ type, key }) {
    const node = this.editor.drawing.nodes.get(`${type === "stud" ? "studs" : "openings"}|${key}`)?.parts.hit;
    node?.focus({ preventScroll: true });
  }

  // --- drags: each is {move(pos, when), end(pos, when), undo()} ---

  startDrag(now, when) {
    const { hit, pos } = this.press;
    const { editor } = this;
    if (hit?.type === "stud" && editor.plane) this.drag = this.dragStud(editor.subject(hit), pos);
    else if (hit?.type === "opening") this.drag = this.dragOpening(editor.subject(hit), pos);
    else if (hit?.type === "handle") {
      // a finger has slid a fingertip's width before this is a drag
      this.drag = this.dragHandle(hit.key, this.press.type === "mouse" ? pos : now, when);
    } else if (editor.tool === "opening" && editor.plane) this.drag = this.dragBox(pos);
    else this.drag = this.dragPhoto(pos);
  }

  dragPhoto(from) {
    const { editor } = this;
    let last = from;
    return {
      move(pos) {
        editor.frame.pan(pos[0] - last[0], pos[1] - last[1]);
        last = pos;
        editor.draw();
      },
      end() {},
      undo() {},
    };
  }

  dragStud(stud, from) {
    const { editor } = this;
    const before = [stud.bottom_px, stud.top_px];
    const [x0] = editor.plane.toWall(editor.frame.toPhoto(from));
    editor.chosen = { type: "stud", key: stud.key };
    editor.ghost = null;
    let line = before;
    return {
      move(pos) {
        const [x] = editor.plane.toWall(editor.frame.toPhoto(pos));
        line = editor.snapped(shiftAlongWall(editor.plane, before, x - x0), 3);
        editor.studSeen(stud, line);
        editor.loupe.show(editor.frame, nearestOn(editor.frame, line, pos), line, lengthText(stud.centre_in, editor.view.scale));
        editor.draw();
      },
      end() {
        editor.studSeen(stud, before);
        editor.studMoved(stud, line);
      },
      undo() {
        editor.studSeen(stud, before);
      },
    };
  }

  // Where a slide has come to, kept on the photo.
  onPhoto(slide, pos, when) {
    const { frame } = this.editor;
    const p = frame.clampToPhoto(frame.toPhoto(slide.to(pos, when)));
    slide.at = frame.toScreen(p); // beyond the border it would have to be brought back first
    return p;
  }

  dragMark(from, when) {
    const { editor } = this;
    const press = this.press.type;
    const slide = new Slide(from, from, when, press);
    let [p, reach] = [null, Math.min(TAP_SLOP[press] ?? 6, FARTHEST_EDGE)];
    const move = (pos, now) => {
      p = this.onPhoto(slide, pos, now);
      // a quick tap is off by about a fingertip; one that slid was looked at in the magnifier
      if (slide.moved) reach = slide.slow ? SETTLED_EDGE : SLID_EDGE;
      editor.mark = editor.markAt(p, reach);
      const at = editor.frame.toScreen(editor.mark);
      editor.loupe.show(editor.frame, at, editor.markStroke(editor.mark), "", pos);
      editor.draw();
    };
    return {
      move,
      end(pos, now) {
        if (distance(pos, slide.last.finger) > LIFTED_PX) move(pos, now); // else it stays where it was shown
        editor.markSet(p, reach, slide.settled(now) ? "settled" : press);
      },
      undo() {
        editor.mark = null;
      },
    };
  }

  dragHandle(key, from, when) {
    const { editor } = this;
    const before = structuredClone({ studs: editor.view.studs, openings: editor.view.openings });
    const marks = { corners: editor.corners, tape: editor.tape };
    const { type } = this.press;
    const held = editor.handles().find((h) => h.key === key);
    if (!held) return this.dragPhoto(from); // another view came between the press and its slide
    const slide = new Slide(from, editor.frame.toScreen(held.at), when, type);
    let [p, onEdge] = [held.at, true];
    const restore = () => {
      editor.view.studs = before.studs;
      editor.view.openings = before.openings;
      editor.corners = marks.corners;
      editor.tape = marks.tape;
    };
    const move = (pos, now) => {
      const at = this.onPhoto(slide, pos, now);
      const stud = editor.chosenStud();
      const opening = editor.chosenOpening();
      const tape = editor.tapeShown();
      let line = null;
      if (key.startsWith("tape-")) {
        const other = key === "tape-from" ? tape?.to_px : tape?.from_px;
        // looked at and not moved, it stays where it is
        if (slide.moved) {
          p = editor.tapeEndAt(at, other, slide.slow ? SETTLED_EDGE : SLID_EDGE);
          onEdge = p !== at;
        }
        editor.tape = tape ? { ...tape, [key === "tape-from" ? "from_px" : "to_px"]: p } : { ...editor.tape, from_px: p };
        line = editor.markStroke(p, other);
      } else {
        p = at;
        if (key === "stud-bottom") editor.studSeen(stud, (line = [p, stud.top_px]));
        else if (key === "stud-top") editor.studSeen(stud, (line = [stud.bottom_px, p]));
        else if (key.startsWith("opening-")) opening.corners_px = editor.openingWith(opening, Number(key.slice(8)), p);
        else editor.moveHandle(key, p);
      }
      editor.loupe.show(editor.frame, editor.frame.toScreen(p), line, "", pos);
      editor.draw();
    };
    return {
      move,
      end(pos, now) {
        if (distance(pos, slide.last.finger) > LIFTED_PX) move(pos, now);
        const moved = editor.corners;
        restore();
        if (key.startsWith("corner-")) editor.corners = moved;
        const settled = slide.settled(now);
        // a tap on a mark changes nothing
        if (slide.moved || settled) editor.moveHandle(key, p, false, settled ? "settled" : type, onEdge);
        editor.draw();
      },
      undo: restore,
    };
  }

  dragOpening(opening, from) {
    const { editor } = this;
    const before = opening.corners_px;
    const start = editor.plane.toWall(editor.frame.toPhoto(from));
    editor.chosen = { type: "opening", key: opening.key };
    return {
      move(pos) {
        const now = editor.plane.toWall(editor.frame.toPhoto(pos));
        opening.corners_px = shiftAlongWall(editor.plane, before, now[0] - start[0], now[1] - start[1]);
        editor.draw();
      },
      end() {
        editor.openingMoved(opening, opening.corners_px, opening.kind);
      },
      undo() {
        opening.corners_px = before;
      },
    };
  }

  dragBox(from) {
    const { editor } = this;
    const start = editor.frame.clampToPhoto(editor.frame.toPhoto(from));
    editor.chosen = null;
    return {
      move(pos) {
        editor.box = wallBox(editor.plane, start, editor.frame.clampToPhoto(editor.frame.toPhoto(pos)));
        editor.loupe.show(editor.frame, pos, null, "");
        editor.draw();
      },
      end() {
        const corners = editor.box;
        editor.box = null;
        const [a, , c] = corners.map((p) => editor.plane.toWall(p));
        // a slip of the finger is no door: less than 4 in either way is dropped
        if (Math.abs(c[0] - a[0]) > 4 && Math.abs(a[1] - c[1]) > 4) editor.addOpening(corners);
        else editor.draw();
      },
      undo() {
        editor.box = null;
      },
    };
  }

  // --- wheel, double click, keys ---

  wheel(e) {
    if (!e.ctrlKey && !e.metaKey) return; // a plain wheel scrolls the page
    e.preventDefault();
    this.editor.frame.zoomAbout(this.at(e), this.editor.frame.zoom * Math.exp(-e.deltaY / 300));
    this.editor.draw();
  }

  doubleClick(e) {
    const { frame } = this.editor;
    if (this.editor.tool !== "studs" || this.hit(this.at(e), 13)) return;
    frame.zoomAbout(this.at(e), frame.zoom > 1.2 ? 1 : 2.5);
    this.editor.ghost = null;
    this.editor.draw();
  }

  focused(e) {
    const subject = e.target.subject;
    if (!subject || subject.type === "handle" || this.press) return;
    if (!this.editor.isChosen(subject.type, subject.key)) this.editor.choose(subject.type, subject.key);
  }

  key(e) {
    if (e.key === "Tab") return;
    e.stopPropagation(); // the host page has hotkeys of its own on plain letters
    const { editor } = this;
    if ((e.ctrlKey || e.metaKey) && (e.key.toLowerCase() === "z" || e.key.toLowerCase() === "y")) {
      if (e.target.tagName === "INPUT") return;
      e.preventDefault();
      editor.command(e.key.toLowerCase() === "y" || e.shiftKey ? "redo" : "undo");
      return;
    }
    if (e.target.tagName === "INPUT" || e.target.tagName === "BUTTON") return;
    const subject = e.target.subject;
    if (e.key === "Escape") editor.unchoose();
    if (!subject) return;
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    const many = e.shiftKey ? 16 : 1;
    const mark = subject.type === "handle" ? null : editor.subject(subject);
    if (subject.type === "stud" && mark) {
      if (arrow && arrow[0]) editor.nudgeStud(mark, arrow[0] * many);
      else if (e.key === "Delete" || e.key === "Backspace") editor.removeStud(mark);
      else if (e.key === "Insert") editor.addStudInWidestGap();
      else if (e.key === "Enter" && !mark.sure) editor.confirmStud(mark);
      else return;
    } else if (subject.type === "opening" && mark) {
      const step = editor.view.scale.step_in * many;
      if (arrow) {
        const moved = shiftAlongWall(editor.plane, mark.corners_px, arrow[0] * step, -arrow[1] * step);
        editor.openingMoved(mark, moved, mark.kind, true);
      } else if (e.key === "Delete" || e.key === "Backspace") editor.removeOpening(mark);
      else return;
    } else if (subject.type === "handle" && arrow) {
      const handle = editor.handles().find((h) => h.key === subject.key);
      const step = e.shiftKey ? 10 : 1;
      if (handle) editor.moveHandle(handle.key, [handle.at[0] + arrow[0] * step, handle.at[1] + arrow[1] * step], true);
    } else return;
    e.preventDefault();
  }
}

function nearestOn(frame, line, pos) {
  // the point of the line at the finger's height, on the screen
  const [a, b] = line.map((p) => frame.toScreen(p));
  const t = Math.abs(b[1] - a[1]) < 1e-6 ? 0.5 : Math.min(1, Math.max(0, (pos[1] - a[1]) / (b[1] - a[1])));
  return [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t];
}
