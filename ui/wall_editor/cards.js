// What stands under the photo or beside it: the card that says what to do next, the tools, undo and zoom.

class Cards {
  constructor(editor, root) {
    this.editor = editor;
    this.card = root.querySelector(".card");
    this.tools = root.querySelector(".tools");
    this.extras = root.querySelector(".extras");
  }

  draw() {
    const { editor } = this;
    const w = editor.words;
    const tools = ["studs", "opening", "corners", "tape"].map((name) => ({
      button: name,
      text: w[`tool_${name}`],
      pressed: editor.tool === name,
      act: () => editor.setTool(name),
    }));
    fill(this.tools, tools);
    this.tools.setAttribute("aria-label", w.tools_label);
    fill(this.extras, [
      { button: "undo", text: "↶", label: w.undo, off: !editor.view.can_undo, act: () => editor.command("undo") },
      { button: "redo", text: "↷", label: w.redo, off: !editor.view.can_redo, act: () => editor.command("redo") },
      { button: "zoom-out", text: "−", label: w.zoom_out, off: editor.frame.zoom <= 1, act: () => editor.zoomBy(1 / 1.6) },
      { button: "zoom-in", text: "+", label: w.zoom_in, off: editor.frame.zoom >= 12, act: () => editor.zoomBy(1.6) },
      {
        button: "boards",
        text: w.boards,
        pressed: editor.boardsOn,
        off: !editor.view.boards.length,
        act: () => {
          editor.boardsOn = !editor.boardsOn;
          editor.draw();
        },
      },
    ]);
    this.extras.setAttribute("aria-label", w.extras_label);
    const parts = this.parts();
    if (editor.view.problem) parts.unshift({ text: editor.view.problem, className: "problem", alert: true });
    this.card.classList.toggle("ask", parts.some((p) => p.main));
    fill(this.card, parts);
  }

  parts() {
    return { studs: () => this.studs(), opening: () => this.opening(), corners: () => this.corners(), tape: () => this.tape() }[
      this.editor.tool
    ]();
  }

  studs() {
    const { editor } = this;
    const w = editor.words;
    const stud = editor.chosenStud();
    if (stud) {
      const parts = [{ text: `${editor.studName(stud)}: ${editor.studPlace(stud)}` }];
      if (stud.why) parts.push({ text: stud.why, className: "why" });
      if (!stud.sure && !stud.yours) {
        parts.push({ button: "keep", text: w.keep, main: true, act: () => editor.confirmStud(stud) });
      }
      parts.push(
        { button: "left", text: `◀ ${w.step}`, label: w.nudge_left, act: () => editor.nudgeStud(stud, -1) },
        { button: "right", text: `${w.step} ▶`, label: w.nudge_right, act: () => editor.nudgeStud(stud, 1) },
        { button: "remove", text: w.remove, act: () => editor.removeStud(stud) },
        { button: "done", text: w.done, act: () => editor.unchoose() },
      );
      return parts;
    }
    if (editor.ghost) {
      const place = lengthText(editor.centreOf(editor.ghost), editor.view.scale);
      return [
        { text: w.bare_spot.replace("{place}", place) },
        { button: "add-here", text: w.add_here, main: true, act: () => editor.addStud(editor.ghost) },
        { button: "done", text: w.no, act: () => editor.unchoose() },
      ];
    }
    const add = { button: "add", text: w.add_stud, off: !editor.plane, act: () => editor.addStudInWidestGap() };
    const open = editor.doubtful().length;
    if (open && editor.view.marks_again) {
      return [{ text: w.marks_again }, { button: "to-marks", text: w.to_marks, main: true, act: () => editor.setTool("tape") }, add];
    }
    if (open) {
      const text = open === 1 ? w.one_to_check : w.some_to_check.replace("{n}", open);
      return [{ text }, { button: "next", text: w.show_next, main: true, act: () => editor.showNextDoubt() }, add];
    }
    if (editor.proposedOpenings().length) return [...this.proposed(), add];
    if (!editor.plane) return [{ text: w.not_read }];
    return [{ text: editor.view.studs.length ? w.studs_settled : w.no_studs }, add];
  }

  proposed() {
    // openings and boxes that only the photo speaks of: nothing is cut out for a box before the user says so
    const { editor } = this;
    const w = editor.words;
    const count = editor.proposedOpenings().length;
    if (!count) return [];
    const text = count === 1 ? w.one_opening : w.some_openings.replace("{n}", count);
    return [{ text }, { button: "next-opening", text: w.show_next, main: true, act: () => editor.showNextOpening() }];
  }

  opening() {
    const { editor } = this;
    const w = editor.words;
    const chosen = editor.chosenOpening();
    if (!editor.plane) return [{ text: w.corners_first }];
    if (!chosen) {
      return [
        ...this.proposed(),
        { text: w.draw_box },
        { button: "box", text: w.box_in_middle, act: () => editor.addOpeningInMiddle() },
      ];
    }
    const parts = [{ text: chosen.text }];
    if (!chosen.sure && !chosen.yours) {
      const act = () => {
        editor.openingMoved(chosen, chosen.corners_px, chosen.kind);
        editor.showNextOpening();
      };
      parts.push({ button: "keep", text: w.keep, main: true, act });
    }
    parts.push(
      ...["door", "window", "box"]
        .filter((kind) => kind !== chosen.kind)
        .map((kind) => ({
          button: `kind-${kind}`,
          text: w[`make_${kind}`],
          act: () => editor.openingMoved(chosen, chosen.corners_px, kind),
        })),
      { button: "remove", text: w.remove, act: () => editor.removeOpening(chosen) },
      { button: "done", text: w.done, act: () => editor.unchoose() },
    );
    return parts;
  }

  corners() {
    const { editor } = this;
    const w = editor.words;
    const now = editor.cornersShown();
    if (now.length < 4) {
      return [
        { text: `${w.tap_corner.replace("{corner}", w.corner_names[now.length])} (${now.length + 1}/4)` },
        { button: "spread", text: w.corners_for_me, act: () => this.spreadCorners() },
      ];
    }
    const parts = [{ text: w.move_corners }];
    parts.push({
      button: "read",
      text: w.read_wall,
      main: Boolean(editor.corners),
      off: !editor.corners,
      act: () => editor.sendCorners(editor.corners),
    });
    parts.push({
      button: "afresh",
      text: w.corners_afresh,
      act: () => {
        editor.corners = [];
        editor.draw();
      },
    });
    if (editor.view.corners_yours) {
      parts.push({ button: "forget", text: w.corners_from_photo, act: () => editor.sendCorners(null) });
    }
    return parts;
  }

  spreadCorners() {
    const { editor } = this;
    const [w, h] = [editor.frame.photoWidth, editor.frame.photoHeight];
    editor.corners = [[0.1, 0.1], [0.9, 0.1], [0.9, 0.9], [0.1, 0.9]].map(([x, y]) => [x * w, y * h]);
    editor.draw();
  }

  tape() {
    const { editor } = this;
    const w = editor.words;
    const tape = editor.tapeShown();
    const second = editor.slot === "second";
    const back = second ? [{ button: "first", text: w.second_back, act: () => editor.measure("reference") }] : [];
    if (!tape) {
      // where a spacing was stated already (and refused, perhaps) there is none to choose: only a tape helps
      const spacings = editor.tape?.from_px || editor.view.corrections.reference ? [] : editor.view.spacings;
      const first = spacings.length ? `${w.tap_first} ${w.or_spacing}` : w.tap_first;
      const text = editor.tape?.from_px ? w.tap_second : second ? w.second_tap : first;
      return [
        { text, className: "wide" },
        ...back,
        ...spacings.map((s) => ({ button: `spacing-${s.name}`, text: s.text, act: () => editor.spacingGiven(s.length_in) })),
        { button: "marks", text: w.marks_for_me, act: () => this.spreadTape() },
      ];
    }
    const howLong = second ? w.second_how_long : w.how_long;
    const more = tape.length_in && !second
      ? [{ button: "second", text: w.second_length, act: () => editor.measure("second") }]
      : back;
    const again = editor.view.marks_again ? [{ text: w.marks_how, className: "wide" }] : [];
    return [
      ...again,
      { text: howLong },
      { input: editor.slot, value: tape.length_text || "", label: howLong, hint: w.length_hint, act: (t) => editor.tapeLength(t) },
      { button: "use", text: w.use_length, main: true, act: () => editor.tapeLength(this.card.querySelector("input").value) },
      { button: "remove", text: w.remove_marks, act: () => editor.tapeRemoved() },
      ...more,
    ];
  }

  focusLength() {
    // in the act of the finger itself: only then a phone brings its keyboard
    this.card.querySelector("input")?.focus();
  }

  spreadTape() {
    const { editor } = this;
    const [w, h] = [editor.frame.photoWidth, editor.frame.photoHeight];
    editor.tapeMoved([0.3 * w, 0.5 * h], [0.7 * w, 0.5 * h]);
    this.focusLength();
  }
}

function fill(box, parts) {
  // nodes of the same name stay: a focused button or a half-typed length survives, and with it a phone's keyboard
  const old = [...box.children];
  const nodes = parts.map((p) => {
    const name = p.button ?? p.input ?? "text";
    const at = old.findIndex((node) => node.dataset.name === name);
    if (at >= 0) return old.splice(at, 1)[0];
    const node = document.createElement(p.button ? "button" : p.input ? "input" : "p");
    node.dataset.name = name;
    if (p.button) node.type = "button";
    if (p.input) node.value = p.value;
    return node;
  });
  const focused = box.getRootNode().activeElement;
  if (old.includes(focused)) {
    // what was pressed is gone: the next Tab goes on from here, and a held Enter presses nothing
    box.tabIndex = -1;
    box.focus({ preventScroll: true });
  }
  old.forEach((node) => node.remove());
  const held = nodes.indexOf(focused); // the others move round it: moving it would take its focus away
  if (nodes.some((node, i) => box.children[i] !== node)) {
    nodes.forEach((node, i) => {
      if (i < held) box.insertBefore(node, focused);
      else if (i !== held) box.append(node);
    });
  }
  parts.forEach((p, i) => {
    const node = box.children[i];
    if (p.input) {
      node.setAttribute("aria-label", p.label);
      node.placeholder = p.hint;
      node.onkeydown = (e) => {
        if (e.key === "Enter") p.act(node.value);
      };
      return;
    }
    if (node.textContent !== p.text) node.textContent = p.text;
    if (!p.button) {
      node.className = p.className ?? "";
      if (p.alert) node.setAttribute("role", "alert");
      return;
    }
    node.disabled = Boolean(p.off);
    node.className = p.main ? "main" : "";
    if (p.label) node.setAttribute("aria-label", p.label);
    if (p.pressed !== undefined) node.setAttribute("aria-pressed", String(p.pressed));
    node.onclick = p.act;
  });
}
