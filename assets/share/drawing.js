// The table on its canvas: metres to pixels, colours by the names of the style, shapes in the order of painting.

const TENTHS = 1e4; // of a millimetre, in a metre

/** How metres become pixels: the whole table or a part of it, upright (foot rail on top) where that is larger. */
class Frame {
  constructor(part, wide, high) {
    const [x0, y0, x1, y1] = part, lying = Math.min(wide / (x1 - x0), high / (y1 - y0));
    const standing = Math.min(wide / (y1 - y0), high / (x1 - x0));
    this.upright = standing > lying * 1.001;
    this.scale = this.upright ? standing : lying;
    this.cx = (x0 + x1) / 2; this.cy = (y0 + y1) / 2;
    this.ox = wide / 2; this.oy = high / 2;
  }

  /** A vector of the table on the surface, of the same length. */
  turned(x, y) { return this.upright ? [-y, -x] : [x, -y]; }

  at(x, y) {
    const [u, v] = this.turned(x - this.cx, y - this.cy);
    return [this.ox + this.scale * u, this.oy + this.scale * v];
  }
}

/** A canvas in points, sharp on any screen. */
class Surface {
  constructor(canvas) {
    this.canvas = canvas;
    this.ctx = canvas.getContext("2d");
  }

  /** As large as its place on the page; returns [width, height] in points. */
  fit(wide, high) {
    const ratio = window.devicePixelRatio || 1, c = this.canvas;
    if (c.width !== Math.round(wide * ratio) || c.height !== Math.round(high * ratio)) {
      c.width = Math.round(wide * ratio);
      c.height = Math.round(high * ratio);
      c.style.height = high + "px";
    }
    this.ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    this.ctx.clearRect(0, 0, wide, high);
    const style = getComputedStyle(document.documentElement);
    this.colour = (name) => style.getPropertyValue("--" + name).trim();
  }

  path(points, { pen = null, width = 1, fill = null, closed = false, dashes = [], share = 1 } = {}) {
    if (points.length < 2) return;
    const c = this.ctx;
    c.save();
    c.globalAlpha = share;
    c.beginPath();
    points.forEach(([x, y], k) => { const [u, v] = this.frame.at(x, y); if (k) c.lineTo(u, v); else c.moveTo(u, v); });
    if (closed) c.closePath();
    this.finish(pen, width, fill, dashes);
    c.restore();
  }

  disc(x, y, radius, { pen = null, width = 1, fill = null, dashes = [], share = 1, points = false } = {}) {
    const c = this.ctx, [u, v] = this.frame.at(x, y);
    c.save();
    c.globalAlpha = share;
    c.beginPath();
    c.arc(u, v, points ? radius : radius * this.frame.scale, 0, 2 * Math.PI);
    this.finish(pen, width, fill, dashes);
    c.restore();
  }

  lozenge(x, y, half, { pen = null, width = 1, fill = null } = {}) {
    const c = this.ctx, [u, v] = this.frame.at(x, y);
    c.beginPath();
    c.moveTo(u, v - half); c.lineTo(u + half, v); c.lineTo(u, v + half); c.lineTo(u - half, v);
    c.closePath();
    this.finish(pen, width, fill, []);
  }

  finish(pen, width, fill, dashes) {
    const c = this.ctx;
    if (fill) { c.fillStyle = fill; c.fill(); }
    if (!pen) return;
    c.strokeStyle = pen;
    c.lineWidth = width;
    c.lineCap = dashes.length && dashes[0] < 1 ? "round" : "butt";
    c.lineJoin = "round";
    c.setLineDash(dashes);
    c.stroke();
  }

  words(x, y, text, { size = 12, down = 0 } = {}) {
    const c = this.ctx, [u, v] = this.frame.at(x, y);
    c.font = `${size}px system-ui, sans-serif`;
    c.textAlign = "center";
    c.textBaseline = "middle";
    c.lineWidth = 3;
    c.lineJoin = "round";
    c.setLineDash([]);
    c.strokeStyle = this.colour("halo");
    c.strokeText(text, u, v + down);
    c.fillStyle = this.colour("ink");
    c.fillText(text, u, v + down);
  }
}

const pairs = (flat, scale) => {
  const points = [];
  for (let k = 0; k + 1 < flat.length; k += 2) points.push([flat[k] / scale, flat[k + 1] / scale]);
  return points;
};

const rectangle = (length, width, by) =>
  [[-by, -by], [length + by, -by], [length + by, width + by], [-by, width + by]];

/** Rails, cushions, pockets, cloth and sights. */
function drawTable(s, table) {
  const { length, width } = table, edge = s.colour("rail-edge");
  s.path(rectangle(length, width, table.rail), { fill: s.colour("rail"), pen: edge, width: 1.5, closed: true });
  s.path(rectangle(length, width, table.cushion), { fill: s.colour("cushion"), pen: edge, closed: true });
  for (const [x, y, r] of table.pockets) s.disc(x, y, r + 0.012, { fill: edge });
  for (const [x, y, r] of table.pockets) s.disc(x, y, r, { fill: s.colour("pocket") });
  s.path(pairs(table.bed, TENTHS), { fill: s.colour("cloth"), pen: edge, closed: true });
  for (const [x0, y0, x1, y1] of table.lips) s.path([[x0, y0], [x1, y1]], { pen: s.colour("pocket"), width: 1.5 });
  for (const [x, y] of table.sights) s.lozenge(x, y, 2.6, { fill: s.colour("sight") });
}

/** What a teacher has drawn: zones, arrows, labels. */
function drawMarks(s, marks) {
  for (const mark of marks) {
    const [x, y] = mark.at;
    if (mark.kind === "zone") {
      s.disc(x, y, mark.radius_m, { fill: s.colour("accent"), share: 0.16 });
      s.disc(x, y, mark.radius_m, { pen: s.colour("accent"), width: 1.4, dashes: [6, 4] });
    }
    if (mark.kind === "arrow") drawArrow(s, mark.at, mark.to);
    if (mark.text) s.words(x, y, mark.text, { down: mark.kind === "zone" ? 16 : mark.kind === "arrow" ? -10 : 0 });
  }
}

function drawArrow(s, from, to) {
  const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (size < 1e-6) return;
  const u = [(to[0] - from[0]) / size, (to[1] - from[1]) / size], head = Math.min(0.035, 0.3 * size);
  const wing = (side) =>
    [to[0] - head * (u[0] + side * 0.45 * u[1]), to[1] - head * (u[1] - side * 0.45 * u[0])];
  s.path([from, to], { pen: s.colour("ink"), width: 1.8 });
  s.path([wing(1), to, wing(-1)], { pen: s.colour("ink"), width: 1.8 });
}

/** A ball seen from above; `turn` is how it has rolled, null for one that lies as it was laid. */
function drawBall(s, ball, x, y, turn, looks) {
  const r = ball.r, here = [x, y], matrix = turn || [[1, 0, 0], [0, 1, 0], [0, 0, 1]];
  const apply = (v) => matrix.map((row) => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]);
  s.disc(x + 0.12 * r, y - 0.16 * r, 1.03 * r, { fill: "#00000038" });
  s.disc(x, y, r, { fill: ball.stripe ? looks.ivory : ball.colour });
  if (ball.stripe) drawBand(s, here, r, apply([1, 0, 0]), apply([0, 1, 0]), ball.colour, looks.band);
  const isCue = ball.name === "cue";
  for (const spot of turn ? (isCue ? looks.cueSpots : looks.spots) : []) {
    drawSpot(s, here, r, apply(spot), looks.spot, isCue ? looks.cueSpot : looks.ivory);
  }
  if (!isCue) {
    const up = apply([0, 0, 1]);
    drawSpot(s, here, r, up, 0.52, looks.ivory);
    drawNumber(s, here, r, up, ball.name.slice(0, 3), looks.number);
  }
  s.disc(x, y, r, { pen: s.colour("ball-edge") });
}

/** A round spot of `size` radii where the unit vector `a` points; nothing if that is below. */
function drawSpot(s, [x, y], r, a, size, fill) {
  if (a[2] <= 0.08) return;
  const c = s.ctx, out = Math.sqrt(1 - size * size), [u, v] = s.frame.at(x + r * out * a[0], y + r * out * a[1]);
  const [dx, dy] = s.frame.turned(a[0], a[1]), [bx, by] = s.frame.at(x, y), scale = r * s.frame.scale;
  c.save();
  c.beginPath();
  c.arc(bx, by, scale, 0, 2 * Math.PI);
  c.clip();
  c.beginPath();
  c.ellipse(u, v, size * a[2] * scale, size * scale, Math.atan2(dy, dx), 0, 2 * Math.PI);
  c.fillStyle = fill;
  c.fill();
  c.restore();
}

/** A stripe: the band about the great circle whose normal is `axis`. */
function drawBand(s, [x, y], r, u, axis, fill, half) {
  const w = [axis[1] * u[2] - axis[2] * u[1], axis[2] * u[0] - axis[0] * u[2], axis[0] * u[1] - axis[1] * u[0]];
  const ring = (off, k) => {
    const a = 2 * Math.PI * k / 48, inner = Math.sqrt(1 - off * off);
    return [0, 1, 2].map((i) => inner * (Math.cos(a) * u[i] + Math.sin(a) * w[i]) + off * axis[i]);
  };
  const flat = (p) => [x + r * p[0], y + r * p[1]];
  for (const [low, high] of [[-half, 0], [0, half]]) {
    for (let k = 0; k < 48; k++) {
      const corners = [ring(low, k), ring(low, k + 1), ring(high, k + 1), ring(high, k)];
      if (corners.some((p) => p[2] < -0.06)) continue;
      s.path(corners.map(flat), { fill, pen: fill, width: 0.5, closed: true });
    }
  }
}

function drawNumber(s, [x, y], r, up, text, colour) {
  if (up[2] < 0.55) return;
  const c = s.ctx, [u, v] = s.frame.at(x + 0.9 * r * up[0], y + 0.9 * r * up[1]);
  const size = 0.72 * r * s.frame.scale * (text.length < 2 ? 1 : 0.8);
  if (size < 3) return;
  c.font = `bold ${size}px system-ui, sans-serif`;
  c.textAlign = "center";
  c.textBaseline = "middle";
  c.fillStyle = colour;
  c.fillText(text, u, v);
}

/** The front of the cue, its tip `gap` [m] from where it strikes the cue ball. */
function drawCue(s, ball, heading, tip, gap, colour) {
  const u = [Math.cos(heading * Math.PI / 180), Math.sin(heading * Math.PI / 180)], right = [u[1], -u[0]];
  const face = ball.r * Math.sqrt(Math.max(0, 1 - tip[0] * tip[0])) + gap;
  const at = (back) => [0, 1].map((k) => [ball.x, ball.y][k] + tip[0] * ball.r * right[k] - (face + back) * u[k]);
  s.path([at(0), at(0.62)], { pen: s.colour("rail-edge"), width: 6 });
  s.path([at(0), at(0.62)], { pen: colour, width: 3.5 });
  s.path([at(0), at(0.02)], { pen: s.colour("sight"), width: 4.5 });
}

/** Where a corrected aim points: hollow line to the ghost ball, on to a lozenge, the aims that pot as a band. */
function drawAim(s, scene, aim, colour) {
  if (!aim || scene.target === null) return;
  const cue = scene.balls[0], ball = scene.balls[scene.target], hollow = s.colour("cloth");
  const ways = [[[cue.x, cue.y], aim.ghost], [[ball.x, ball.y], aim.place]];
  for (const way of ways) s.path(way, { pen: colour, width: 4 });
  for (const way of ways) s.path(way, { pen: hollow, width: 2 });
  s.disc(...aim.ghost, cue.r, { pen: colour, width: 1.4 });
  if (aim.window) s.path(aim.window, { pen: colour, width: 8, share: 0.45 });
  s.lozenge(...aim.place, 7, { fill: s.colour("cloth"), pen: colour, width: 2.2 });
}
