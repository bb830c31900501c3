// Where balls are and how they have turned: closed-form pieces, evaluated as the engine states them.
// A piece is [t0, x, y, vx, vy, ax, ay, wx, wy, wz, bx, by, phase]; metres, seconds, radians; spin loses
// `decay` of its wz a second.  A row lasts until the next one of the same ball.

const T0 = 0, X = 1, Y = 2, VX = 3, VY = 4, AX = 5, AY = 6, WX = 7, WY = 8, WZ = 9, BX = 10, BY = 11, PHASE = 12;
const RESTING = 0, SLIDING = 1, ROLLING = 2, DROPPED = 4;
const TURN_STEP = 1 / 400; // of a step of turning [s]

/** The row that a ball is in at time t; at an event, the one after it. */
function pieceAt(rows, t) {
  let low = 0, high = rows.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (rows[middle][T0] <= t) low = middle; else high = middle - 1;
  }
  return low;
}

/** Place and sidespin of a ball at time t, and whether it has dropped. */
function stateAt(rows, t, decay) {
  const p = rows[pieceAt(rows, t)], dt = Math.max(t - p[T0], 0);
  return {
    x: p[X] + (p[VX] + 0.5 * p[AX] * dt) * dt,
    y: p[Y] + (p[VY] + 0.5 * p[AY] * dt) * dt,
    vx: p[VX] + p[AX] * dt, vy: p[VY] + p[AY] * dt,
    wz: Math.sign(p[WZ]) * Math.max(Math.abs(p[WZ]) - decay * dt, 0),
    phase: p[PHASE], dropped: p[PHASE] === DROPPED,
  };
}

/** Points of a ball's way between two times: parabolas by chords that stay within a tenth of a millimetre. */
function wayBetween(rows, from, to) {
  const points = [];
  for (let k = 0; k < rows.length; k++) {
    const p = rows[k], start = Math.max(p[T0], from), end = Math.min(k + 1 < rows.length ? rows[k + 1][T0] : to, to);
    if (end < start || (p[PHASE] !== SLIDING && p[PHASE] !== ROLLING)) continue;
    const bend = p[PHASE] === SLIDING ? 12 : 1;
    for (let i = 0; i <= bend; i++) {
      const dt = start + (end - start) * i / bend - p[T0];
      points.push([p[X] + (p[VX] + 0.5 * p[AX] * dt) * dt, p[Y] + (p[VY] + 0.5 * p[AY] * dt) * dt]);
    }
  }
  return points;
}

/** Unit quaternion [w, x, y, z] of a turn by the vector (x, y, z) [rad]. */
function turnBy(x, y, z) {
  const angle = Math.hypot(x, y, z), s = angle > 1e-12 ? Math.sin(angle / 2) / angle : 0.5;
  return [Math.cos(angle / 2), s * x, s * y, s * z];
}

/** The quaternion that turns by b first, then by a. */
function turnedOn(a, b) {
  return [
    a[0] * b[0] - a[1] * b[1] - a[2] * b[2] - a[3] * b[3],
    a[0] * b[1] + a[1] * b[0] + a[2] * b[3] - a[3] * b[2],
    a[0] * b[2] + a[2] * b[0] + a[3] * b[1] - a[1] * b[3],
    a[0] * b[3] + a[3] * b[0] + a[1] * b[2] - a[2] * b[1],
  ];
}

/** Rotation matrix, rows, of a quaternion of any length. */
function matrixOf([w, x, y, z]) {
  const n = 2 / (w * w + x * x + y * y + z * z);
  return [
    [1 - n * (y * y + z * z), n * (x * y - w * z), n * (x * z + w * y)],
    [n * (x * y + w * z), 1 - n * (x * x + z * z), n * (y * z - w * x)],
    [n * (x * z - w * y), n * (y * z + w * x), 1 - n * (x * x + y * y)],
  ];
}

/** The mean spin of a piece over a span that begins dt after its start, times the span. */
function turnIn(p, dt, span, decay) {
  const middle = dt + span / 2, side = Math.max(Math.abs(p[WZ]) - decay * middle, 0);
  return turnBy(
    span * (p[WX] + p[BX] * middle), span * (p[WY] + p[BY] * middle), span * Math.sign(p[WZ]) * side);
}

/** How a ball turns from the strike on: quaternions at the start of each step, to be continued within it. */
class Turning {
  constructor(rows, ends, decay) {
    this.rows = rows;
    this.decay = decay;
    this.steps = []; // [time, piece, quaternion]
    let turn = [1, 0, 0, 0];
    rows.forEach((p, k) => {
      const until = k + 1 < rows.length ? rows[k + 1][T0] : ends, span = until - p[T0];
      if (span <= 0 || p[PHASE] === RESTING || p[PHASE] === DROPPED) return;
      const count = Math.ceil(span / TURN_STEP);
      for (let i = 0; i < count; i++) {
        this.steps.push([p[T0] + span * i / count, k, turn]);
        turn = turnedOn(turnIn(p, span * i / count, span / count, decay), turn);
      }
      this.last = [until, turn];
    });
  }

  /** The matrix at time t; null before the ball has begun to turn. */
  at(t) {
    if (!this.steps.length || t <= this.steps[0][0]) return null;
    if (t >= this.last[0]) return matrixOf(this.last[1]);
    let low = 0, high = this.steps.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.steps[middle][0] <= t) low = middle; else high = middle - 1;
    }
    const [time, k, turn] = this.steps[low], next = low + 1 < this.steps.length ? this.steps[low + 1][0] : this.last[0];
    const p = this.rows[k], span = Math.min(t, next) - time;
    return matrixOf(turnedOn(turnIn(p, time - p[T0], span, this.decay), turn));
  }
}

/** Played time at which the page is `seconds` after it was at t: at a speed, another one near the contacts. */
function timeAfter(t, seconds, speed, slow, contacts, near) {
  const spans = contacts.map((at) => [Math.max(at - near[0], 0), at + near[1]]).sort((a, b) => a[0] - b[0]);
  for (const [start, end] of slow === null ? [] : spans) {
    for (const [until, rate] of [[start, speed], [end, slow]]) {
      if (t >= until) continue;
      if (t + rate * seconds <= until) return t + rate * seconds;
      seconds -= (until - t) / rate;
      t = until;
    }
  }
  return t + speed * seconds;
}
