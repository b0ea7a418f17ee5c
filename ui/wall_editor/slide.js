// A point that a finger slides along. Quick slides carry it with the finger, slow ones a third as far, so that it
// is set finer under the magnifier than a fingertip can; wherever the finger took hold, the point does not jump to
// it. A mouse carries it as it goes.

const SLOW_PACE = 0.05; // screen px a millisecond: the finger is settling
const QUICK_PACE = 0.2;
const SETTLING_SHARE = 1 / 3;
const PACE_MS = 120; // the way of so long says how fast the finger is: it jerks when it is lifted
const LOOKED_MS = 500; // held so long, the magnifier was looked at
const STILL_PX = 3; // a finger that lies still trembles so far

class Slide {
  constructor(from, at, when, press) {
    this.trail = [{ finger: from, when, far: 0 }];
    this.begun = when;
    this.at = at;
    this.direct = press === "mouse";
  }

  // The newest place of the finger; `far` is its way so far.
  get last() {
    return this.trail[this.trail.length - 1];
  }

  // Where on the screen the point is once the finger has come to `finger`.
  to(finger, when) {
    const { last } = this;
    this.trail.push({ finger, when, far: last.far + distance(finger, last.finger) });
    while (this.trail.length > 2 && when - this.trail[1].when >= PACE_MS) this.trail.shift();
    const share = this.direct ? 1 : SETTLING_SHARE + (1 - SETTLING_SHARE) * this.quickness;
    this.at = [0, 1].map((k) => this.at[k] + (finger[k] - last.finger[k]) * share);
    return this.at;
  }

  // 0 while the finger is slow, 1 from a quick slide on. What it did after a rest is told by its last way alone.
  get quickness() {
    const [first] = this.trail;
    const { far, when } = this.last;
    const pace = (far - first.far) / Math.min(Math.max(when - first.when, 1), PACE_MS);
    return Math.min(1, Math.max(0, (pace - SLOW_PACE) / (QUICK_PACE - SLOW_PACE)));
  }

  get moved() {
    return this.last.far > STILL_PX;
  }

  get slow() {
    return !this.direct && this.quickness < 0.25;
  }

  // Whether the point was looked at and settled, by a finger, instead of tapped or thrown.
  settled(when) {
    return !this.direct && when - this.begun >= LOOKED_MS && (this.slow || when - this.last.when >= PACE_MS);
  }
}
