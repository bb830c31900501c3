// What is chosen, and how it is drawn and played.

const data = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);
const SPEEDS = [[1, "full"], [0.5, "1/2"], [0.25, "1/4"], [0.1, "1/10"], [0.02, "1/50"]];
const CONTACT_SPEEDS = [[null, "the same"], [0.25, "1/4"], [0.1, "1/10"], [0.05, "1/20"], [0.02, "1/50"]];
const WAYS = [["aimed", "as aimed"], ["corrected", "corrected"]];
const DOTS = [0.5, 5.5], MARGIN_M = 0.02, SLOWEST_M_S = 0.02;

const view = {
  scene: 0, chosen: 0, shown: new Set(), other: null, // other: the place of a stroke in the grid, or null
  way: "aimed", corrected: true, closer: false, spin: false, t: null, playing: false, speed: 1, slow: null,
};
const surface = new Surface($("table")), small = new Surface($("small"));
const turnings = new Map(); // by the rows of a track

const scene = () => data.scenes[view.scene];
const take = () => scene().takes[view.chosen];
const played = (one) => one[view.way] || null;
const shownTakes = () => [...new Set([...view.shown, view.chosen])].map((k) => scene().takes[k]);
const running = () => shownTakes().map(played).filter((found) => found);
const ends = () => Math.max(0, ...running().map((found) => found.ends));

/** An element with text. */
function make(tag, text = "", more = {}) {
  const found = Object.assign(document.createElement(tag), more);
  found.textContent = text;
  return found;
}

// --- drawing

/** The table, and on it the takes at rest, takes being played, or the other stroke that is chosen. */
function draw() {
  const here = scene(), table = here.table, by = table.rail + MARGIN_M;
  const part = view.closer && here.part ? here.part : [-by, -by, table.length + by, table.width + by];
  const wide = $("stage").clientWidth, most = Math.max(220, window.innerHeight * (wide < 600 ? 0.56 : 0.62));
  const long = Math.max(part[2] - part[0], part[3] - part[1]), short = Math.min(part[2] - part[0], part[3] - part[1]);
  const lies = wide >= 600 || window.innerWidth > window.innerHeight;
  const high = Math.round(Math.min(most, wide * (lies ? (part[3] - part[1]) / (part[2] - part[0]) : long / short)));
  surface.fit(wide, high);
  surface.frame = new Frame(part, wide, high);
  drawGround(surface, here);
  if (view.other !== null) drawOther(surface, here);
  else if (view.t === null) drawTakes(here); else drawPlayed(here);
  if (here.others && $("small").clientWidth) drawSmall(here, here.part || part);
}

function drawGround(surface, here) {
  drawTable(surface, here.table);
  drawMarks(surface, here.marks);
  if (!here.gate) return;
  const { x, y, left, half } = here.gate, end = (sign) => [x + sign * half * left[0], y + sign * half * left[1]];
  surface.path([end(-1), end(1)], { pen: surface.colour("ink-soft"), dashes: [2, 3] });
  surface.disc(x, y, 2.4, { fill: surface.colour("ink"), points: true });
}

const colourOf = (one) => surface.colour("take-" + one.colour);

/** Takes at rest: the chosen one last, each as aimed and, where wanted, as corrected. */
function drawTakes(here) {
  const order = shownTakes().sort((a, b) => (a === take()) - (b === take()));
  if (view.corrected) drawAim(surface, here, take().aim, colourOf(take()));
  if (take().aimed && take().aimed.touch) {
    const { touch } = take().aimed, ink = surface.colour("ink-soft"), cue = here.balls[0];
    surface.path([[cue.x, cue.y], touch], { pen: ink, width: 1.2 });
    surface.disc(...touch, cue.r, { pen: ink });
  }
  for (const one of order) {
    const share = one === take() ? 1 : 0.72, colour = colourOf(one);
    if (view.corrected && one.corrected) drawWays(here, one.corrected, { pen: colour, dashes: DOTS, share }, false);
    if (one.aimed) drawWays(here, one.aimed, { pen: colour, dashes: one.dashes, share }, one === take());
  }
  if (view.spin && take().aimed) drawSpin(here, take().aimed, colourOf(take()));
  drawLying(surface, here);
  if (take().aimed) drawCue(surface, here.balls[0], take().aimed.heading, take().tip, take().gap, colourOf(take()));
}

/** Both balls' ways: the first legs, and to the ends fainter where that is wanted; the ghost ball. */
function drawWays(here, found, pen, whole) {
  const chief = [0, here.target].filter((ball) => ball !== null && found.tracks[ball]);
  for (const ball of Object.keys(found.tracks).map(Number)) {
    const rows = found.tracks[ball], width = ball === 0 ? 1.5 : 2.6;
    if (chief.includes(ball)) surface.path(wayBetween(rows, 0, found.legs[ball]), { ...pen, width });
    if (!whole) continue;
    const from = chief.includes(ball) ? found.legs[ball] : 0;
    surface.path(wayBetween(rows, from, found.ends), { ...pen, width: 1.2, share: 0.45 * pen.share });
    const end = stateAt(rows, found.ends, here.decay);
    if (!end.dropped) surface.disc(end.x, end.y, here.balls[ball].r, { ...pen, width: 1.2, dashes: [] });
  }
  if (found.met) surface.disc(...found.met, here.balls[0].r, { ...pen, width: 1.4, dashes: pen.dashes.slice(0, 2) });
}

/** The cue ball's way broad where it slides; at each foot a dot as large as its spin-to-speed ratio. */
function drawSpin(here, found, colour) {
  const rows = found.tracks[0];
  if (!rows) return;
  rows.forEach((p, k) => {
    const end = k + 1 < rows.length ? rows[k + 1][T0] : found.ends;
    if (p[PHASE] === SLIDING) surface.path(wayBetween([p], p[T0], end), { pen: colour, width: 8, share: 0.4 });
  });
  let way = 0, before = rows[0], next = data.every;
  for (let t = 0; t < found.ends; t += 1 / 500) {
    const at = stateAt(rows, t, here.decay), x = at.x, y = at.y, speed = Math.hypot(at.vx, at.vy);
    way += Math.hypot(x - (before.x ?? x), y - (before.y ?? y));
    before = at;
    if (way < next || speed < SLOWEST_M_S) continue;
    const ratio = Math.abs(here.balls[0].r * at.wz / speed);
    surface.disc(x, y, 2 + 3.5 * Math.min(ratio, 2), { fill: colour, pen: surface.colour("halo"), points: true });
    next += data.every;
  }
}

function drawLying(surface, here) {
  here.balls.forEach((ball, k) => {
    drawBall(surface, ball, ball.x, ball.y, null, looks);
    if (k === here.target) surface.disc(ball.x, ball.y, 1.28 * ball.r, { pen: surface.colour("ink"), width: 1.2 });
  });
}

/** The moment that is played: ways so far, the chosen take's balls turned as they have, rings for the others. */
function drawPlayed(here) {
  const t = Math.max(view.t, 0);
  for (const one of shownTakes()) {
    const found = played(one);
    if (!found) continue;
    for (const [ball, rows] of Object.entries(found.tracks)) {
      const pen = { pen: colourOf(one), width: ball === "0" ? 1.5 : 2.4, dashes: one.dashes };
      if (ball === "0" || Number(ball) === here.target || one === take()) surface.path(wayBetween(rows, 0, t), pen);
      const at = stateAt(rows, t, here.decay);
      if (one !== take() && !at.dropped && (ball === "0" || Number(ball) === here.target)) {
        surface.disc(at.x, at.y, here.balls[ball].r, { ...pen, width: 1.8 });
      }
    }
  }
  const found = played(take());
  here.balls.forEach((ball, k) => drawMoving(here, ball, found && found.tracks[k], t, found));
  if (found && view.t <= 0) {
    const gap = Math.min(take().gap, -view.t * take().pace);
    drawCue(surface, here.balls[0], found.heading, take().tip, gap, colourOf(take()));
  }
}

function drawMoving(here, ball, rows, t, found) {
  if (!rows) { drawBall(surface, ball, ball.x, ball.y, null, looks); return; }
  const at = stateAt(rows, t, here.decay);
  if (at.dropped) return;
  if (!turnings.has(rows)) turnings.set(rows, new Turning(rows, found.ends, here.decay));
  drawBall(surface, ball, at.x, at.y, turnings.get(rows).at(t), looks);
}

/** The first legs of a stroke of the grid, as aimed and as corrected, and where to aim. */
function drawOther(surface, here) {
  const cell = here.others.cells[placeOf(here.others)], colour = surface.colour("accent");
  if (view.corrected) drawAim(surface, here, cell.aim, colour);
  for (const [legs, dashes] of [[view.corrected ? cell.corrected : [], DOTS], [cell.aimed, []]]) {
    legs.forEach((leg, k) => surface.path(pairs(leg, TENTHS), { pen: colour, dashes, width: k ? 2.6 : 1.5 }));
  }
  drawLying(surface, here);
}

/** The same beside the choices, where the table is out of sight. */
function drawSmall(here, part) {
  const wide = $("small").clientWidth, high = Math.round(Math.min(260, wide * (part[3] - part[1]) / (part[2] - part[0])));
  small.fit(wide, high);
  small.frame = new Frame(part, wide, high);
  drawGround(small, here);
  drawOther(small, here);
}

// --- playing

let last = 0;

function frame(now) {
  if (!view.playing) return;
  const contacts = running().map((found) => found.contact).filter((at) => at !== null);
  const seconds = Math.min((now - last) / 1000, 0.1);
  last = now;
  view.t = timeAfter(view.t, seconds, view.speed, view.slow, contacts, data.near);
  if (view.t >= ends()) { view.t = ends(); view.playing = false; }
  showTime();
  draw();
  requestAnimationFrame(frame);
}

function play() {
  view.other = null;
  if (!running().length) return;
  view.playing = !view.playing;
  if (view.playing) {
    if (view.t === null || view.t >= ends()) view.t = -data.before * view.speed;
    last = performance.now();
    requestAnimationFrame(frame);
  }
  showAbout();
  showTime();
  draw();
}

function rest() { view.playing = false; view.t = null; }

/** The clock, the line of time, and the latest event in words. */
function showTime() {
  const found = played(take()), t = view.t;
  $("play").textContent = view.playing ? "Pause" : "Play";
  $("play").disabled = !running().length;
  $("time").disabled = !running().length;
  $("time").value = t === null ? 0 : 1000 * Math.max(t, 0) / (ends() || 1);
  $("clock").textContent = `${Math.max(t || 0, 0).toFixed(2)} s`;
  const past = t === null || !found ? [] : found.events.filter(([time]) => time <= t);
  $("now").textContent = view.other !== null ? `On the table: another stroke, ${otherName()}` :
    past.length ? past[past.length - 1][1] : "";
}
