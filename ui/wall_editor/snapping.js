// Snapping: the face of a stud near a line, found in the picture the browser has.
// A front face is two edges as far apart as a stud is wide, both running along the line; one edge alone
// (the side of a stud, a shadow, a cable) does not draw the mark to it.

const SNAP_STEP_IN = 1 / 16;
const SNAP_ROWS = 28; // heights looked at
const EDGE_REACH_IN = 3 / 16; // an edge is the change of brightness over twice this
const EDGE_CAP = 60; // of 255: one bright cable must not outvote the length of an edge
const CLEAR_EDGE = 1.8; // times the usual change along the stretch looked at
const LEAST_EDGE = 5; // of 255

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
