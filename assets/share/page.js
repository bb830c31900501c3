// The words beside the table, the choices, and what joins it all.  All text goes in as text, never as markup.

// --- scenes, takes and figures

function showScene() {
  const here = scene(), many = data.scenes.length > 1;
  rest();
  Object.assign(view, {
    chosen: here.shown[0], shown: new Set(here.shown), other: null, closer: here.closer, corrected: here.corrected, spin: here.spin,
    way: "aimed", speed: here.speed || 1, slow: here.contact_speed,
  });
  $("scene-bar").hidden = $("contents").hidden = !many;
  $("scene-place").textContent = `${view.scene + 1} of ${data.scenes.length}`;
  $("scene-back").disabled = view.scene === 0;
  $("scene-on").disabled = view.scene === data.scenes.length - 1;
  $("caption").textContent = here.caption === data.title ? "" : here.caption;
  $("notes-box").hidden = !here.notes;
  $("notes").textContent = here.notes;
  $("corrected").checked = view.corrected;
  $("spin").checked = view.spin;
  $("closer").checked = view.closer;
  $("closer").disabled = !here.part;
  $("left-out").textContent = here.left_out ? `${here.left_out} more in the file.` : "";
  options($("speed"), SPEEDS, view.speed, (value) => { view.speed = value; });
  options($("contact-speed"), CONTACT_SPEEDS, view.slow, (value) => { view.slow = value; });
  options($("way"), WAYS, view.way, (value) => { view.way = value; rest(); show(); });
  showOthers();
  show();
}

function show() {
  showTakes();
  showAbout();
  showTime();
  $("scenes").querySelectorAll("button").forEach((button, k) => {
    button.setAttribute("aria-current", k === view.scene ? "true" : "false");
  });
  draw();
}

/** A list of values to choose from; one that is not in it is added. */
function options(select, list, value, chosen) {
  const all = list.some(([one]) => one === value) ? list : [...list, [value, `${+value.toFixed(3)}×`]];
  select.replaceChildren(...all.map(([one, words], k) => make("option", words, { value: k, selected: one === value })));
  select.onchange = () => chosen(all[select.value][0]);
}

function showTakes() {
  $("takes").replaceChildren(...scene().takes.map((one, k) => {
    const item = make("li"), tick = make("input", "", { type: "checkbox", checked: k === view.chosen || view.shown.has(k) });
    tick.setAttribute("aria-label", `Show ${one.name}`);
    tick.disabled = k === view.chosen;
    tick.onchange = () => { if (tick.checked) view.shown.add(k); else view.shown.delete(k); leaveGrid(); };
    const button = make("button", "", { type: "button", className: "take" });
    button.setAttribute("aria-pressed", k === view.chosen && view.other === null ? "true" : "false");
    button.append(swatch(one), make("strong", one.name), make("span", one.figures[0]));
    button.onclick = () => { view.chosen = k; view.shown.add(k); leaveGrid(); };
    item.append(tick, button);
    return item;
  }));
}

/** The line of a take, as it is drawn. */
function swatch(one) {
  const found = make("canvas", "", { className: "swatch", width: 68, height: 16 }), c = found.getContext("2d");
  c.scale(2, 2);
  c.strokeStyle = getComputedStyle(document.documentElement).getPropertyValue("--take-" + one.colour);
  c.lineWidth = 3;
  c.setLineDash(one.dashes.map((length) => 0.7 * length));
  c.beginPath(); c.moveTo(0, 4); c.lineTo(34, 4); c.stroke();
  found.setAttribute("aria-hidden", "true");
  return found;
}

function leaveGrid() { view.other = null; rest(); showOthers(); show(); }

/** What is said of the chosen take and of the other stroke, and what the lines on the table mean. */
function showAbout() {
  const one = take(), grid = scene().others, cell = grid && grid.cells[placeOf(grid)];
  $("about-head").textContent = one.name;
  $("stroke").textContent = one.stroke.join(" · ");
  $("said").textContent = one.said;
  $("watch").textContent = one.watch;
  showFigures($("figures"), one.figures);
  $("signs").hidden = !one.aim;
  if (cell) {
    $("other-name").textContent = otherName();
    showFigures($("other-figures"), cell.figures);
    describe($("small"), otherName(), cell.figures);
  }
  $("to-takes").hidden = view.other === null;
  const lines = [view.other === null ? "Solid or dashed: as aimed" : "Solid: as aimed"];
  if (view.corrected && (view.other === null ? one.aim : cell.aim)) lines.push("dotted: corrected", "hollow line and lozenge: where to aim");
  if (view.spin && view.other === null) lines.push("broad: the cue ball slides", "dots, a foot apart: its sidespin");
  $("key").textContent = lines.join("; ") + ".";
  if (view.other === null) describe($("table"), one.name, one.figures); else describe($("table"), otherName(), cell.figures);
}

/** A canvas in words. */
function describe(canvas, name, texts) {
  const told = texts.map((text, k) => text && `${data.figures[k]}: ${text}`).filter((text) => text).slice(0, 4);
  canvas.setAttribute("aria-label", `${scene().caption}. ${name}: ${told.join("; ")}`);
}

function showFigures(list, texts) {
  list.replaceChildren(...texts.flatMap((text, k) =>
    text ? [make("dt", data.figures[k]), make("dd", text)] : []));
}

// --- another stroke

const stroke = { cue: 0, side: 0, pace: 0 };
const speedWords = (pace) => `${+pace.toFixed(2)} m/s`;

const otherName = () => {
  const grid = scene().others;
  return `${speedWords(grid.paces[stroke.pace])}, ${grid.sides[stroke.side]}, cue ${grid.cues[stroke.cue]}`;
};

/** Where the stroke that is chosen stands among those worked out. */
const placeOf = (grid) => (stroke.cue * grid.sides.length + stroke.side) * grid.paces.length + stroke.pace;

/** The place of the worked-out pace nearest to one [m/s]. */
function nearestPace(pace, paces) {
  return paces.reduce((best, one, k) => (Math.abs(one - pace) < Math.abs(paces[best] - pace) ? k : best), 0);
}

/** The grid of other strokes as it is offered: all of it stated, at the scene's own stroke. */
function showOthers() {
  const grid = scene().others;
  $("others").hidden = !grid;
  if (!grid) return;
  [stroke.cue, stroke.side, stroke.pace] = grid.own;
  const { paces } = grid, low = paces[0], high = paces[paces.length - 1];
  const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;
  $("grid").textContent =
    `Take “${grid.take}” with another pace, side or cue; the rest as there: its aim, ${grid.height}. Worked out: ` +
    `${paces.map((pace) => +pace.toFixed(2)).join(", ")} m/s, ${count(grid.sides.length, "side", "sides")}, ${count(grid.cues.length, "cue", "cues")}, ` +
    `${grid.cells.length} strokes in all. Nothing in between is made up: the nearest one is shown.` +
    (grid.left_out ? ` ${count(grid.left_out, "cue is", "cues are")} left out.` : "");
  Object.assign($("pace"), { min: Math.floor(low * 20) / 20, max: Math.ceil(high * 20) / 20, value: paces[stroke.pace] });
  $("paces").replaceChildren(...paces.map((pace) => make("option", "", { value: pace })));
  choices($("sides"), "side", grid.sides);
  choices($("cues"), "cue", grid.cues);
  paceWords(paces[stroke.pace]);
}

function choices(place, name, list) {
  place.replaceChildren(...list.map((words, k) => {
    const label = make("label"), tick = make("input", "", { type: "radio", name, value: k, checked: stroke[name] === k });
    tick.onchange = () => { stroke[name] = k; showOther(); };
    label.append(tick, make("span", words));
    return label;
  }));
}

function paceWords(pace) {
  const nearest = scene().others.paces[stroke.pace];
  $("pace-words").textContent = speedWords(pace);
  $("nearest").textContent = Math.abs(nearest - pace) < 1e-9 ? `Worked out at ${speedWords(nearest)}.` :
    `Shown: the nearest that is worked out, ${speedWords(nearest)}.`;
}

function showOther() {
  rest();
  view.other = placeOf(scene().others);
  show();
}

// --- the file inside

function save() {
  const bytes = Uint8Array.from(atob(data.file.base64), (letter) => letter.charCodeAt(0));
  const address = URL.createObjectURL(new Blob([bytes], { type: "application/json" }));
  const link = make("a", "", { href: address, download: data.file.name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
}

// --- joining it all

const looks = data.looks;
document.title = $("title").textContent = data.title;
$("signs").textContent = data.signs;
$("caution").textContent = data.caution;
$("save").textContent = `Save ${data.file.name}`;
$("scenes").replaceChildren(...data.scenes.map((one, k) => {
  const item = make("li"), button = make("button", one.caption || `Scene ${k + 1}`, { type: "button" });
  button.onclick = () => { view.scene = k; showScene(); $("title").scrollIntoView(); };
  item.append(button);
  return item;
}));
$("scene-back").onclick = () => { view.scene -= 1; showScene(); };
$("scene-on").onclick = () => { view.scene += 1; showScene(); };
$("play").onclick = play;
$("time").oninput = () => {
  Object.assign(view, { playing: false, other: null, t: Number($("time").value) / 1000 * ends() });
  showAbout(); showTime(); draw();
};
$("closer").onchange = () => { view.closer = $("closer").checked; draw(); };
$("spin").onchange = () => { view.spin = $("spin").checked; show(); };
$("corrected").onchange = () => { view.corrected = $("corrected").checked; show(); };
$("pace").oninput = () => {
  const pace = Number($("pace").value);
  stroke.pace = nearestPace(pace, scene().others.paces);
  paceWords(pace);
  showOther();
};
$("to-takes").onclick = leaveGrid;
$("save").onclick = save;
new ResizeObserver(() => requestAnimationFrame(draw)).observe($("stage"));
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { showTakes(); draw(); });
showScene();
