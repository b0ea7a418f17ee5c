// SVG nodes by key: a redraw moves nodes, never rebuilds them, so focus and a running drag survive.

const SVG = "http://www.w3.org/2000/svg";

class Drawing {
  constructor(root) {
    this.layers = {};
    for (const name of ["outline", "openings", "studs", "boards", "labels", "tape", "ghost", "handles"]) {
      const g = document.createElementNS(SVG, "g");
      g.setAttribute("class", `layer-${name}`);
      root.append(g);
      this.layers[name] = g;
    }
    this.nodes = new Map();
    this.used = new Set();
  }
  begin() {
    this.used.clear();
  }
  end() {
    for (const [key, node] of this.nodes) {
      if (!this.used.has(key)) {
        node.remove();
        this.nodes.delete(key);
      }
    }
  }
  rename(from, to) {
    // a stud of the photo became the user's own: same nodes, new key
    for (const [key, node] of [...this.nodes]) {
      if (key.endsWith(`|${from}`)) {
        this.nodes.delete(key);
        this.nodes.set(key.slice(0, -from.length) + to, node);
      }
    }
  }
  group(layer, key, className, parts) {
    // parts: [name, tag, attributes, text?]; created once, then only their attributes change
    const id = `${layer}|${key}`;
    let g = this.nodes.get(id);
    if (!g) {
      g = document.createElementNS(SVG, "g");
      g.parts = {};
      this.layers[layer].append(g);
      this.nodes.set(id, g);
    }
    this.used.add(id);
    setAttribute(g, "class", className);
    g.setAttribute("data-key", key);
    const wanted = new Set();
    for (const [name, tag, attributes, text] of parts) {
      wanted.add(name);
      let node = g.parts[name];
      if (!node) {
        node = document.createElementNS(SVG, tag);
        g.append(node);
        g.parts[name] = node;
      }
      for (const [a, v] of Object.entries(attributes)) setAttribute(node, a, v);
      if (text !== undefined && node.textContent !== text) node.textContent = text;
    }
    for (const name of Object.keys(g.parts)) {
      if (!wanted.has(name)) {
        g.parts[name].remove();
        delete g.parts[name];
      }
    }
    return g;
  }
}

function putInOrder(layer, keys, nodes) {
  // the tab key follows the nodes' order; the focused one stays where it is, the others move round it
  const focused = layer.getRootNode().activeElement?.parentNode;
  const wanted = keys.map((key) => nodes.get(key)).filter(Boolean);
  if (wanted.every((node, i) => layer.children[i] === node)) return;
  const at = wanted.indexOf(focused);
  wanted.forEach((node, i) => {
    if (node === focused) return;
    if (at >= 0 && i < at) layer.insertBefore(node, focused);
    else layer.append(node);
  });
}

function setAttribute(node, name, value) {
  const text = typeof value === "number" ? String(Math.round(value * 100) / 100) : String(value);
  if (node.getAttribute(name) !== text) node.setAttribute(name, text);
}

function lineParts([x1, y1], [x2, y2]) {
  const at = { x1, y1, x2, y2 };
  return [
    ["under", "line", { class: "under", ...at }],
    ["over", "line", { class: "over", ...at }],
  ];
}

function quadParts(corners) {
  const points = pointList(corners);
  return [
    ["under", "polygon", { class: "under", points }],
    ["over", "polygon", { class: "over", points }],
  ];
}

function pointList(points) {
  return points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
}

function bandAround([x1, y1], [x2, y2], half) {
  const l = Math.hypot(x2 - x1, y2 - y1) || 1;
  const [nx, ny] = [(-(y2 - y1) / l) * half, ((x2 - x1) / l) * half];
  return [[x1 + nx, y1 + ny], [x2 + nx, y2 + ny], [x2 - nx, y2 - ny], [x1 - nx, y1 - ny]];
}

function badgePath(x, y, shape) {
  // doubt has a shape of its own: sure = round, yours = square, doubtful = standing on its corner
  const r = shape === "doubt" ? 14 : 11;
  if (shape === "own") return `M${x - r},${y - r}h${2 * r}v${2 * r}h${-2 * r}z`;
  if (shape === "doubt") return `M${x},${y - r}L${x + r},${y}L${x},${y + r}L${x - r},${y}z`;
  return `M${x - r},${y}a${r},${r} 0 1 0 ${2 * r},0a${r},${r} 0 1 0 ${-2 * r},0z`;
}

function drawScene(editor) {
  const { drawing, view, frame } = editor;
  const to = (p) => frame.toScreen(p);
  drawing.begin();
  drawBoards(editor, to);
  drawOutline(editor, to);
  for (const opening of view.openings) drawOpening(editor, opening, to);
  const badges = [];
  for (const stud of view.studs) drawStud(editor, stud, to, badges);
  drawTape(editor, to);
  if (editor.ghost) {
    const line = editor.ghost.map(to);
    drawing.group("ghost", "ghost", "ghost", lineParts(line[0], line[1]));
  }
  if (editor.box) drawing.group("ghost", "box", "ghost", quadParts(editor.box.map(to)));
  drawHandles(editor, to);
  drawing.end();
  const order = [...view.studs].sort((a, b) => a.centre_in - b.centre_in);
  putInOrder(drawing.layers.studs, order.map((s) => `studs|${s.key}`), drawing.nodes);
}

function drawBoards(editor, to) {
  editor.drawing.layers.boards.setAttribute("class", editor.view.boards_current ? "layer-boards" : "layer-boards old");
  if (!editor.boardsShown()) return;
  editor.view.boards.forEach((board, index) => {
    const points = board.outline_px.map(to);
    const xs = points.map((c) => c[0]);
    const ys = points.map((c) => c[1]);
    const width = Math.max(...xs) - Math.min(...xs);
    const low = Math.max(...ys) - Math.min(...ys) < 44; // a ripped strip has room for one line
    const [x, y] = to(board.label_px);
    // an even-odd path leaves the openings and boxes cut out of the board bare
    const d = [points, ...board.cutouts_px.map((hole) => hole.map(to))].map((ring) => `M${pointList(ring)}z`).join("");
    const shade = board.sheet % 2 ? " even" : "";
    const text = !low && width > 9 * board.text.length ? board.text : "";
    editor.drawing.group("boards", `board-${index}`, "board-piece", [
      ["fill", "path", { class: `board${shade}`, d, "fill-rule": "evenodd" }],
      ["number", "text", { class: "board-number", x, y: text ? y - 15 : y }, width > 26 ? board.number : ""],
      ["text", "text", { class: "board-text", x, y: y + 6 }, text],
    ]);
  });
  editor.view.seams.forEach((seam, index) => {
    const points = pointList(seam.line_px.map(to));
    editor.drawing.group("boards", `seam-${index}`, seam.sure ? "seam" : "seam doubt", [
      ["under", "polyline", { class: "under", points }],
      ["over", "polyline", { class: "over", points }],
    ]);
  });
}

function drawOutline(editor, to) {
  const corners = editor.cornersShown();
  if (corners.length !== 4) return;
  const active = editor.tool === "corners" ? " active" : "";
  editor.drawing.group("outline", "outline", `outline${active}`, quadParts(corners.map(to)));
}

function drawOpening(editor, opening, to) {
  const points = opening.corners_px.map(to);
  const chosen = editor.isChosen("opening", opening.key) ? " chosen" : "";
  const kind = opening.yours ? "own" : opening.sure ? "" : "doubt";
  const parts = [["fill", "polygon", { class: "fill", points: pointList(points) }], ...quadParts(points)];
  if (editor.tool === "opening") {
    parts.push([
      "hit",
      "polygon",
      { class: "hit", points: pointList(points), tabindex: 0, role: "button", "aria-label": opening.text },
    ]);
  }
  const [x, y] = mid(points[0], points[1]);
  const room = Math.abs(points[1][0] - points[0][0]);
  const text = room > 7 * opening.text.length ? opening.text : editor.words[opening.kind];
  parts.push(["text", "text", { class: "place", x, y: y + 16, "text-anchor": "middle" }, room > 40 && !editor.boardsShown() ? text : ""]);
  const g = editor.drawing.group("openings", opening.key, `opening ${kind}${chosen}`, parts);
  if (g.parts.hit) g.parts.hit.subject = { type: "opening", key: opening.key };
}

function drawStud(editor, stud, to, badges) {
  const bottom = to(stud.bottom_px);
  const top = to(stud.top_px);
  const chosen = editor.isChosen("stud", stud.key) ? " chosen" : "";
  const shape = stud.yours ? "own" : stud.sure ? "sure" : "doubt";
  const hushed = editor.tool === "studs" ? "" : " hushed";
  const half = editor.hitHalfWidth(stud);
  const parts = lineParts(bottom, top);
  parts.push([
    "hit",
    "polygon",
    {
      class: "hit",
      points: pointList(bandAround(bottom, top, half)),
      tabindex: editor.tool === "studs" ? 0 : -1,
      role: "slider",
      "aria-label": editor.studName(stud),
      "aria-valuenow": stud.centre_in.toFixed(2),
      "aria-valuemin": 0,
      "aria-valuemax": (editor.view.wall?.length_in ?? 0).toFixed(2),
      "aria-valuetext": editor.studPlace(stud),
    },
  ]);
  const g = editor.drawing.group("studs", stud.key, `stud ${shape}${chosen}${hushed}`, parts);
  g.parts.hit.subject = { type: "stud", key: stud.key };

  // number badge beyond the top end, place along the bare bay beside the stud: neither hides it
  const [ux, uy] = direction(bottom, top);
  const badge = freeSpot(editor, [top[0] + ux * 18, top[1] + uy * 18], badges);
  const label = [["badge", "path", { class: "badge", d: badgePath(badge[0], badge[1], shape) }]];
  label.push(["number", "text", { class: "badge-text", x: badge[0], y: badge[1] }, String(stud.number)]);
  if (chosen || (editor.tool === "studs" && editor.bayWidth() > 34 && !editor.boardsShown())) {
    const foot = [bottom[0] + ux * 14 + 15, bottom[1] + uy * 14];
    const turn = (Math.atan2(uy, ux) * 180) / Math.PI;
    label.push([
      "place",
      "text",
      { class: "place", transform: `translate(${foot[0].toFixed(1)},${foot[1].toFixed(1)}) rotate(${turn.toFixed(1)})` },
      editor.studPlace(stud),
    ]);
  }
  editor.drawing.group("labels", stud.key, `${shape} hushed`, label);
}

function direction([x1, y1], [x2, y2]) {
  const l = Math.hypot(x2 - x1, y2 - y1) || 1;
  return [(x2 - x1) / l, (y2 - y1) / l];
}

function freeSpot(editor, [x, y], taken) {
  // inside the pane, and not on another badge: studs side by side get theirs one above the other
  const margin = 15;
  const { paneWidth, paneHeight } = editor.frame;
  const spot = [Math.min(Math.max(x, margin), paneWidth - margin), Math.min(Math.max(y, margin), paneHeight - margin)];
  if (x < -margin || x > paneWidth + margin) spot[0] = x; // out of sight when zoomed in: leave it there
  while (taken.some((other) => distance(other, spot) < 24) && spot[1] < paneHeight - margin) spot[1] += 13;
  taken.push(spot);
  return spot;
}

function drawTape(editor, to) {
  const tape = editor.tapeShown() ?? editor.tapeBegun();
  for (const each of [tape && { ...tape, slot: editor.slot }, editor.tapeOther()]) {
    if (!each) continue;
    const [a, b] = [to(each.from_px), to(each.to_px)];
    const parts = lineParts(a, b);
    const [x, y] = mid(a, b);
    const text = editor.tapeText(each, each.slot);
    parts.push(["text", "text", { class: "place", x, y: y - 8, "text-anchor": "middle" }, text]);
    editor.drawing.group("tape", each.slot, "tape", parts);
  }
}

function drawHandles(editor, to) {
  for (const handle of editor.handles()) {
    const [x, y] = to(handle.at);
    const g = editor.drawing.group("handles", handle.key, "handle-group", [
      ["under", "circle", { class: "handle-under", cx: x, cy: y, r: 15 }],
      [
        "grip",
        "circle",
        { class: "handle", cx: x, cy: y, r: 15, tabindex: 0, role: "button", "aria-label": handle.name },
      ],
      ["dot", "circle", { class: "handle-dot", cx: x, cy: y, r: 2.5 }],
    ]);
    g.parts.grip.subject = { type: "handle", key: handle.key };
  }
}
