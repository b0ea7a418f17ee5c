// Snapping: the face of a stud near a line, found in the picture the browser has.
// A front face is two edges as far apart as a stud is wide, both running along the line; one edge alone
// (the side of a stud, a shadow, a cable) does not draw the mark to it.

const SNAP_STEP_IN = 1 / 16;
const SNAP_ROWS = 28; // heights looked at
const EDGE_REACH_IN = 3 / 16; // an edge is the change of brightness over twice this
const EDGE_CAP = 60; // of 255: one bright cable must not outvote the length of an edge
const CLEAR_EDGE = 1.8; // times the usual change along the stretch looked at
const LEAST_EDGE = 5; // of 255

const MARK_ROWS = 5; // picture px to either side of the way that are looked at together
const THIN_MARK = 1.2; // a thin mark crossing the way counts this much more than an edge
const CLEAR_MARK = 2;
const LEAST_MARK = 30; // of 3 x 255

class Snapping {
  constructor(image, photoWidth) {
    this.image = image;
    this.photoWidth = photoWidth;
    this.grey = null;
  }

  load() {
    // read once, at the first use: a few tens of milliseconds on a phone
    if (this.grey || !this.image.naturalWidth) return;
    this.width = this.image.naturalWidth;
    this.height = this.image.naturalHeight;
    this.share = this.width / this.photoWidth;
    const canvas = document.createElement("canvas");
    canvas.width = this.width;
    canvas.height = this.height;
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    pen.drawImage(this.image, 0, 0);
    const { data } = pen.getImageData(0, 0, this.width, this.height);
    this.grey = new Uint8Array(this.width * this.height);
    for (let i = 0; i < this.grey.length; i++) this.grey[i] = (data[4 * i] * 3 + data[4 * i + 1] * 6 + data[4 * i + 2]) / 10;
  }

  at([x, y]) {
    const px = Math.round((x + 0.5) * this.share - 0.5);
    const py = Math.round((y + 0.5) * this.share - 0.5);
    if (px < 0 || py < 0 || px >= this.width || py >= this.height) return -1;
    return this.grey[py * this.width + px];
  }

  // The line moved along the wall onto the face it lies near, or null when there is none within `reach` inches.
  lineOnFace(plane, line, faceIn, reach) {
    this.load();
    if (!this.grey) return null;
    const edges = this.edgeStrengths(plane, line, reach + faceIn);
    const middle = (edges.length - 1) / 2;
    const usual = [...edges].sort((a, b) => a - b)[Math.floor(edges.length / 2)];
    const least = Math.max(LEAST_EDGE, CLEAR_EDGE * usual);
    const half = Math.round(faceIn / 2 / SNAP_STEP_IN);
    const far = Math.round(reach / SNAP_STEP_IN);
    let best = null;
    for (let c = -far; c <= far; c++) {
      const left = peak(edges, middle + c - half);
      const right = peak(edges, middle + c + half);
      if (Math.min(left, right) < least) continue;
      const score = (Math.min(left, right) + 0.3 * (left + right)) * (1 - (0.35 * Math.abs(c)) / (far + 1));
      if (!best || score > best.score) best = { score, c };
    }
    if (!best) return null;
    // the middle between the two edges as they are, not as wide apart as the name says
    const left = peakAt(edges, middle + best.c - half);
    const right = peakAt(edges, middle + best.c + half);
    return shiftAlongWall(plane, line, ((left + right) / 2 - middle) * SNAP_STEP_IN);
  }

  // A point moved along `way` (a unit vector of the photo) onto the clear edge or thin mark that crosses it there:
  // the end of a tape, the side of a stud, a pencil stroke. Null when nothing clear lies within `reach` photo px.
  pointOnEdge(point, way, reach) {
    if (!this.image.naturalWidth) return null;
    const share = this.image.naturalWidth / this.photoWidth;
    const far = Math.max(2, Math.round(reach * share));
    const half = far + MARK_ROWS + 4;
    const [cx, cy] = point.map((v) => (v + 0.5) * share - 0.5);
    const [left, top] = [Math.round(cx) - half, Math.round(cy) - half];
    const side = 2 * half + 1;
    this.patch ??= document.createElement("canvas");
    Object.assign(this.patch, { width: side, height: side });
    const pen = this.patch.getContext("2d", { willReadFrequently: true });
    pen.drawImage(this.image, left, top, side, side, 0, 0, side, side);
    const { data } = pen.getImageData(0, 0, side, side);
    const strip = [];
    for (let i = -far - 4; i <= far + 4; i++) {
      const sum = [0, 0, 0];
      for (let row = -MARK_ROWS; row <= MARK_ROWS; row++) {
        const x = Math.round(cx - left + way[0] * i - way[1] * row);
        const y = Math.round(cy - top + way[1] * i + way[0] * row);
        if (x < 0 || y < 0 || x >= side || y >= side) continue;
        for (let c = 0; c < 3; c++) sum[c] += data[4 * (y * side + x) + c];
      }
      strip.push(sum.map((v) => v / (2 * MARK_ROWS + 1)));
    }
    const apart = (a, b) => Math.abs(a[0] - b[0]) + Math.abs(a[1] - b[1]) + Math.abs(a[2] - b[2]);
    const mean = (a, b) => a.map((v, c) => (v + b[c]) / 2);
    const strengths = [];
    for (let i = 4; i < strip.length - 4; i++) {
      const edge = apart(mean(strip[i - 1], strip[i - 2]), mean(strip[i + 1], strip[i + 2]));
      const flank = Math.min(apart(strip[i], strip[i - 3]), apart(strip[i], strip[i + 3]));
      strengths.push(Math.max(edge, THIN_MARK * flank));
    }
    const usual = [...strengths].sort((a, b) => a - b)[Math.floor(strengths.length / 2)];
    let best = null;
    strengths.forEach((strength, i) => {
      const off = Math.abs(i - far);
      if (strength < Math.max(LEAST_MARK, CLEAR_MARK * usual)) return;
      if (strength < (strengths[i - 1] ?? 0) || strength < (strengths[i + 1] ?? 0)) return;
      const score = strength * Math.exp(-4 * (off / (far + 1)) ** 2);
      if (!best || score > best.score) best = { score, i };
    });
    if (!best) return null;
    const moved = (best.i - far) / share;
    return [point[0] + way[0] * moved, point[1] + way[1] * moved];
  }

  edgeStrengths(plane, line, span) {
    const [a, b] = line.map((p) => plane.toWall(p));
    const count = 2 * Math.round(span / SNAP_STEP_IN) + 1;
    const sums = new Float64Array(count);
    const rows = new Float64Array(count);
    const reach = Math.round(EDGE_REACH_IN / SNAP_STEP_IN);
    for (let row = 0; row < SNAP_ROWS; row++) {
      const t = 0.08 + (0.84 * row) / (SNAP_ROWS - 1);
      const [x, y] = [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t];
      const seen = [];
      for (let i = -reach; i < count + reach; i++) seen.push(this.at(plane.toPhoto([x - span + i * SNAP_STEP_IN, y])));
      for (let i = 0; i < count; i++) {
        const [before, after] = [seen[i], seen[i + 2 * reach]];
        if (before < 0 || after < 0) continue;
        sums[i] += Math.min(EDGE_CAP, Math.abs(after - before));
        rows[i] += 1;
      }
    }
    return Array.from(sums, (sum, i) => (rows[i] ? sum / rows[i] : 0));
  }
}

function peak(values, index) {
  return values[peakAt(values, index)] ?? 0;
}

function peakAt(values, index) {
  // a face is not exactly as wide as its name: a step or two to either side counts as well
  let best = index;
  for (let i = index - 2; i <= index + 2; i++) if (values[i] > (values[best] ?? 0)) best = i;
  return best;
}
