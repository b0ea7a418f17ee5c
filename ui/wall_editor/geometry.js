// Frames: photo pixels (origin at the CENTRE of the top-left pixel), wall inches, and screen (CSS
// pixels of the pane, origin at its corner). Photo <-> screen is `Frame` alone: the half pixel lives there.

function makePlane(plane) {
  if (!plane) return null;
  const [cx, cy] = plane.principal_px;
  const f = plane.focal_px;
  const through = (h, x, y) => {
    const w = h[6] * x + h[7] * y + h[8];
    return [(h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w];
  };
  return {
    toWall([x, y]) {
      const dx = (x - cx) / f;
      const dy = (y - cy) / f;
      let ux = dx;
      let uy = dy;
      for (let i = 0; i < 10; i++) {
        const r2 = ux * ux + uy * uy;
        const s = 1 + r2 * (plane.k1 + plane.k2 * r2);
        ux = dx / s;
        uy = dy / s;
      }
      return through(plane.wall_from_view, ux, uy);
    },
    toPhoto([x, y]) {
      const [ux, uy] = through(plane.view_from_wall, x, y);
      const r2 = ux * ux + uy * uy;
      const s = 1 + r2 * (plane.k1 + plane.k2 * r2);
      return [ux * s * f + cx, uy * s * f + cy];
    },
  };
}

class Frame {
  // paneWidth: CSS px of the pane; zoom 1 shows the whole width of the photo.
  constructor(photoWidth, photoHeight) {
    this.photoWidth = photoWidth;
    this.photoHeight = photoHeight;
    this.paneWidth = 1;
    this.zoom = 1;
    this.left = 0;
    this.top = 0;
  }
  get perPixel() {
    return (this.paneWidth / this.photoWidth) * this.zoom;
  }
  get paneHeight() {
    return (this.paneWidth * this.photoHeight) / this.photoWidth;
  }
  toScreen([x, y]) {
    return [(x + 0.5) * this.perPixel + this.left, (y + 0.5) * this.perPixel + this.top];
  }
  toPhoto([x, y]) {
    return [(x - this.left) / this.perPixel - 0.5, (y - this.top) / this.perPixel - 0.5];
  }
  clampToPhoto([x, y]) {
    return [Math.min(Math.max(x, -0.5), this.photoWidth - 0.5), Math.min(Math.max(y, -0.5), this.photoHeight - 0.5)];
  }
  zoomAbout([x, y], zoom) {
    const held = this.toPhoto([x, y]);
    this.zoom = Math.min(Math.max(zoom, 1), 12);
    this.left = x - (held[0] + 0.5) * this.perPixel;
    this.top = y - (held[1] + 0.5) * this.perPixel;
    this.settle();
  }
  pan(dx, dy) {
    this.left += dx;
    this.top += dy;
    this.settle();
  }
  settle() {
    // no empty border: the photo always fills the pane
    this.left = Math.min(0, Math.max(this.left, this.paneWidth * (1 - this.zoom)));
    this.top = Math.min(0, Math.max(this.top, this.paneHeight * (1 - this.zoom)));
  }
}

// Card and tools take this much of the window: under the photo in height, beside it in width (CSS px).
const TOOLS_BELOW = 232;
const TOOLS_BESIDE = 248;
const HAND_WIDTH = 480; // narrower than this the photo has all the width: a finger needs it
const BESIDE_WIDTH = 700; // narrower than this nothing stands beside it: both are seen once the page is scrolled
const LEAST_HIGH = 300; // lower than this a photo is of no use: better scroll
const BESIDE_UNTIL = 1.2; // the tools stand beside it until the photo could be this much wider above them

function paneFor(aspect, width, height, windowHeight) {
  // How wide the photo is shown, and whether the tools stand beside it, so that both are seen at once in
  // `height` CSS px; `aspect` is the photo's width over its height, `width` what there is.
  if (width < HAND_WIDTH) return { width, beside: false };
  const from = width < BESIDE_WIDTH ? windowHeight : height;
  const above = Math.min(width, Math.max(LEAST_HIGH, from - TOOLS_BELOW) * aspect);
  if (width < BESIDE_WIDTH) return { width: above, beside: false };
  const beside = Math.min(width - TOOLS_BESIDE, Math.max(LEAST_HIGH, height) * aspect);
  return above > BESIDE_UNTIL * beside ? { width: above, beside: false } : { width: beside, beside: true };
}

function distanceToSegment([px, py], [ax, ay], [bx, by]) {
  const dx = bx - ax;
  const dy = by - ay;
  const l2 = dx * dx + dy * dy || 1;
  const t = Math.min(1, Math.max(0, ((px - ax) * dx + (py - ay) * dy) / l2));
  return Math.hypot(px - ax - t * dx, py - ay - t * dy);
}

function distance([ax, ay], [bx, by]) {
  return Math.hypot(ax - bx, ay - by);
}

function offset([x, y], dx) {
  return [x + dx, y];
}

function mid([ax, ay], [bx, by]) {
  return [(ax + bx) / 2, (ay + by) / 2];
}

function shiftAlongWall(plane, points, dxIn, dyIn = 0) {
  return points.map((p) => {
    const [x, y] = plane.toWall(p);
    return plane.toPhoto([x + dxIn, y + dyIn]);
  });
}

function wallBox(plane, a, b) {
  // the upright wall rectangle between two photo points, as photo corners: top left, clockwise
  const [ax, ay] = plane.toWall(a);
  const [bx, by] = plane.toWall(b);
  const [l, r] = [Math.min(ax, bx), Math.max(ax, bx)];
  const [lo, hi] = [Math.min(ay, by), Math.max(ay, by)];
  return [[l, hi], [r, hi], [r, lo], [l, lo]].map((p) => plane.toPhoto(p));
}

function lengthText(inches, scale) {
  // `scale` comes from Python (one place prints lengths): steps, their texts, and what stands around them
  const steps = Math.round(inches / scale.step_in);
  const sign = steps < 0 ? "-" : "";
  const whole = Math.floor(Math.abs(steps) / scale.steps_per_whole);
  const part = scale.parts[Math.abs(steps) % scale.steps_per_whole];
  return sign + (part && whole ? `${whole} ${part}` : part || `${whole}`) + scale.suffix;
}
