// A point that a finger slides along. Quick slides carry it with the finger, slow ones a third as far, so that it
// is set finer under the magnifier than a fingertip can; wherever the finger took hold, the point does not jump to
// it. A mouse carries it as it goes.

const SLOW_PACE = 0.05; // screen px a millisecond: the finger is settling
const QUICK_PACE = 0.2;
const SETTLING_SHARE = 1 / 3;

class Slide {
  constructor(from, at, when, press) {
    this.finger = from;
    this.at = at;
    this.when = when;
    this.direct = press === "mouse";
    this.share = 1;
  }

  // Where on the screen the point is once the finger has come to `finger`.
  to(finger, when) {
    const [dx, dy] = [finger[0] - this.finger[0], finger[1] - this.finger[1]];
    const passed = Math.max(when - this.when, 1);
    if (!this.direct && (dx || dy)) {
      const pace = Math.hypot(dx, dy) / passed;
      const quick = Math.min(1, Math.max(0, (pace - SLOW_PACE) / (QUICK_PACE - SLOW_PACE)));
      this.share = SETTLING_SHARE + (1 - SETTLING_SHARE) * quick;
    }
    this.at = [this.at[0] + dx * this.share, this.at[1] + dy * this.share];
    this.finger = finger;
    this.when = when;
    return this.at;
  }

  // Whether the finger's last way was slow: the point was looked at and settled, not thrown.
  get settled() {
    return !this.direct && this.share < 0.5;
  }
}
