// A point that a finger slides along. Quick slides carry it with the finger, slow ones a third as far, so that it
// is set finer under the magnifier than a fingertip can; wherever the finger took hold, the point does not jump to
// it. A mouse carries it as it goes.

const SLOW_PACE = 0.05; // screen px a millisecond: the finger is settling
const QUICK_PACE = 0.2;
const SETTLING_SHARE = 1 / 3;
const PACE_MS = 120; // the way of so long says how fast the finger is: it jerks when it is lifted
const LOOKED_MS = 500; // held so long, the magnifier was looked at

class Slide {
  constructor(from, at, when, press) {
    this.trail = [{ finger: from, when }];
    this.begun = when;
    this.at = at;
    this.direct = press === "mouse";
    this.share = this.direct ? 1 : SETTLING_SHARE;
  }

  // Where on the screen the point is once the finger has come to `finger`.
  to(finger, when) {
    const { finger: last } = this.trail[this.trail.length - 1];
    this.trail.push({ finger, when });
    while (this.trail.length > 2 && when - this.trail[1].when >= PACE_MS) this.trail.shift();
    if (!this.direct) {
      const pace = distance(finger, this.trail[0].finger) / Math.max(when - this.trail[0].when, 1);
      const quick = Math.min(1, Math.max(0, (pace - SLOW_PACE) / (QUICK_PACE - SLOW_PACE)));
      this.share = SETTLING_SHARE + (1 - SETTLING_SHARE) * quick;
    }
    this.at = [0, 1].map((k) => this.at[k] + (finger[k] - last[k]) * this.share);
    return this.at;
  }

  // Whether the point was looked at and settled, by a finger, instead of tapped or thrown.
  settled(when) {
    return !this.direct && when - this.begun >= LOOKED_MS && this.share < 0.5;
  }
}
