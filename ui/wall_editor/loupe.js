// The magnifier under the finger.

const LOUPE_TIMES = 3;
const LOUPE_SIZE = 124;

class Loupe {
  constructor(node) {
    this.node = node;
    this.img = node.querySelector("img");
    this.stroke = node.querySelector(".loupe-line");
    this.text = node.querySelector(".loupe-text");
  }

  // The photo about a point of the screen, shown above the finger; the stroke runs along `line` (two photo points),
  // else upright.
  show(frame, [x, y], line, text, finger = [x, y]) {
    const size = LOUPE_SIZE;
    const left = Math.min(Math.max(finger[0] - size / 2, 0), frame.paneWidth - size);
    const above = finger[1] - size - 40;
    const top = above > 0 ? above : Math.min(finger[1] + 48, frame.paneHeight - size);
    Object.assign(this.node.style, { left: `${left}px`, top: `${top}px` });
    const zoom = frame.zoom * LOUPE_TIMES;
    this.img.style.width = `${frame.paneWidth}px`;
    const [px, py] = frame.toPhoto([x, y]);
    const k = (frame.paneWidth / frame.photoWidth) * zoom;
    const middle = size / 2 - 3;
    this.img.style.transform = `translate(${middle - (px + 0.5) * k}px, ${middle - (py + 0.5) * k}px) scale(${zoom})`;
    const [dx, dy] = line ? direction(frame.toScreen(line[0]), frame.toScreen(line[1])) : [0, -1];
    this.stroke.style.transform = `rotate(${90 + (Math.atan2(dy, dx) * 180) / Math.PI}deg)`;
    this.text.textContent = text || "";
    this.node.hidden = false;
  }
  hide() {
    this.node.hidden = true;
  }
}
