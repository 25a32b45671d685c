// The sheets: which one is shown, how near, and what lies where on it.
const data = JSON.parse(document.getElementById("data").textContent);

// Fixed words, in the language of the set; {places} are filled with values.
function say(text, values = {}) {
  return (data.words[text] || text).replace(/\{(\w+)\}/g, (_place, name) => apart(values[name]));
}

// Text from right to left, marked so that it doesn't turn what stands beside it (UAX #9, isolates).
function apart(text) {
  return /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]/.test(text) ? `\u2068${text}\u2069` : text;
}

// A name, and what is known of it.
const titled = (what, details) => say("{what}: {details}", { what, details });

const together = (parts) => parts.filter(Boolean).map(apart).join(", ");

function figure(number, digits) {
  const [whole, part] = number.toFixed(digits).split(".");
  return part ? say("{whole}.{part}", { whole, part }) : whole;
}

// A length in the set's unit; `digits` are those of millimetres.
function lengthOf(mm, digits = 0) {
  return data.inches ? say("{length} in", { length: figure(mm / 25.4, digits + 1) })
    : say("{length} mm", { length: figure(mm, digits) });
}

const byId = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
const view = byId("view");
const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
const WORK = 0, MARK = 1, CARD = 2, TOOL = 3, SIZE = 4, START = 5, BEGUN = 6, END = 7, STROKE = 8;

const sheets = [];
let now;
let turn = 0;  // radians that the drawing is turned clockwise on the screen

async function readSheets() {
  for (const [index, kept] of [...document.querySelectorAll("script.packed")].entries()) {
    const { runs, ...drawn } = await unpacked(kept.textContent);
    const sheet = { ...data.sheets[index], ...drawn, runs: await inMoments(runsOf(runs)),
      svg: byId("sheet-" + index), groups: {}, bundles: [], lines: [], drawn: false };
    sheet.done = sheet.runs.length;
    sheet.work = gather(sheet);
    sheet.over = sheet.svg.querySelector(".over");
    sheet.box = { x: 0, y: 0, w: sheet.width, h: sheet.height };
    sheet.seconds = sheet.runs.length ? sheet.runs[sheet.runs.length - 1][END] : 0;
    sheets.push(sheet);
  }
  now = sheets[0];
}

function make(name, around, attributes = {}) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (around) around.append(made);
  return made;
}

function element(name, text, className) {
  const made = document.createElement(name);
  if (text !== undefined) made.textContent = text;
  if (className) made.className = className;
  return made;
}

function away(flat, x, y) {
  let best = flat.length === 2 ? Math.hypot(x - flat[0], y - flat[1]) : Infinity;
  for (let i = 0; i + 3 < flat.length; i += 2) {
    const dx = flat[i + 2] - flat[i], dy = flat[i + 3] - flat[i + 1];
    const size = dx * dx + dy * dy;
    const share = size ? Math.max(0, Math.min(1, ((x - flat[i]) * dx + (y - flat[i + 1]) * dy) / size)) : 0;
    best = Math.min(best, Math.hypot(x - flat[i] - share * dx, y - flat[i + 1] - share * dy));
  }
  return best;
}

// The run nearest to a place that is shown, no further than `reach` mm; or -1.
function runAt(x, y, reach) {
  let found = -1, least = reach;
  now.lines.forEach((line, index) => {
    if (x < line.left - least || x > line.right + least || y < line.top - least || y > line.bottom + least) return;
    if (!isShown(now.runs[index]) || !isOfSize(now, index)) return;
    const far = away(line.flat, x, y);
    if (far < least) { least = far; found = index; }
  });
  return found;
}

function edgeAt(card, x, y) {
  let found = null, least = Infinity;
  for (const edge of now.edges) {
    if (edge.card !== card) continue;
    edge.down = edge.down || edge.points.map((value, i) => (i % 2 ? now.height - value : value));
    const far = away(edge.down, x, y);
    if (far < least) { least = far; found = edge; }
  }
  return found && least < Math.max(...found.allowance) * 1.6 + 6 ? found : null;
}

// How many mm one pixel of the screen is.
function grain() {
  const frame = view.getBoundingClientRect();
  return Math.max(now.box.w / (frame.width || 1), now.box.h / (frame.height || 1));
}

// A step on the screen, as a step on the sheet.
function unturned(dx, dy) {
  const cos = Math.cos(turn), sin = Math.sin(turn);
  return [dx * cos + dy * sin, dy * cos - dx * sin];
}

function placeOf(event) {
  const frame = view.getBoundingClientRect(), mm = grain();
  const [dx, dy] = unturned(event.clientX - frame.left - frame.width / 2, event.clientY - frame.top - frame.height / 2);
  return [now.box.x + now.box.w / 2 + dx * mm, now.box.y + now.box.h / 2 + dy * mm];
}

function look() {
  const { x, y, w, h } = now.box;
  now.svg.setAttribute("viewBox", `${x} ${y} ${w} ${h}`);
  now.svg.style.transform = turn ? `rotate(${turn}rad)` : "";
  showScale();
  later().then(renew);
  numberStrokes();
  redrawMeasure();
  redrawTool();
}

function zoom(factor, at) {
  const box = now.box, [x, y] = at || [box.x + box.w / 2, box.y + box.h / 2];
  const widest = Math.max(now.width, now.height) * 4;
  const kept = Math.min(Math.max(box.w * factor, 4), widest) / box.w;
  now.box = { x: x - (x - box.x) * kept, y: y - (y - box.y) * kept, w: box.w * kept, h: box.h * kept };
  look();
}

function shift(right, down) {
  const [dx, dy] = unturned(right, down);
  now.box.x += dx; now.box.y += dy;
  look();
}

function wholeSheet() {
  turn = 0;
  byId("upright").setAttribute("aria-pressed", "false");
  const rim = Math.max(now.width, now.height) * 0.02;
  now.box = { x: -rim, y: -rim, w: now.width + 2 * rim, h: now.height + 2 * rim };
  look();
}

function showBox([left, bottom, right, top]) {
  const rim = Math.max(right - left, top - bottom) * 0.15 + 5;
  now.box = { x: left - rim, y: now.height - top - rim, w: right - left + 2 * rim, h: top - bottom + 2 * rim };
  look();
}

// The largest round length in the set's unit that a scale bar within these mm can have; its words.
function barWithin(mm) {
  const unit = data.inches ? 25.4 : 1;
  const sizes = data.inches ? [40, 20, 10, 5, 2, 1, 0.5] : [1000, 500, 200, 100, 50, 20, 10, 5, 2, 1];
  const size = sizes.find((mark) => mark * unit <= mm) ?? sizes[sizes.length - 1];
  const length = figure(size, size % 1 ? 1 : 0);
  return [size * unit, data.inches ? say("{length} in", { length }) : say("{length} mm", { length })];
}

function showScale() {
  const mm = grain(), [size, words] = barWithin(160 * mm);
  byId("scale").style.width = size / mm + "px";
  byId("scale").textContent = words;
}

// Shows another sheet; until it is drawn, the others have to wait.
async function choose(index) {
  halt();
  showEvery(false);
  letGo();
  sheets.forEach((sheet, other) => { sheet.svg.toggleAttribute("hidden", other !== index); });
  const sheet = now = sheets[index];
  reached = 0; // the tool has no place on it yet
  byId("which").value = String(index);
  showTimes();
  measured = [];
  wholeSheet();
  await inMoments(sheet.work);
  if (now !== sheet) return;
  showLines(sheet);
  offerSizes();
  restart();
  await renew();
}

async function drawOthers() {
  for (const sheet of sheets) {
    await later();
    await inMoments(sheet.work);
  }
}

const fingers = new Map();
function pointers() {
  let moved = 0;
  view.addEventListener("pointerdown", (event) => {
    view.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, event);
    moved = 0;
  });
  view.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) { showAt(placeOf(event)); return; }
    if (fingers.size === 1) {
      const mm = grain();
      moved += Math.abs(event.clientX - before.clientX) + Math.abs(event.clientY - before.clientY);
      if (moved > 4) shift((before.clientX - event.clientX) * mm, (before.clientY - event.clientY) * mm);
    } else {
      const [other] = [...fingers.entries()].filter(([id]) => id !== event.pointerId).map(([, e]) => e);
      const was = Math.hypot(before.clientX - other.clientX, before.clientY - other.clientY);
      const is = Math.hypot(event.clientX - other.clientX, event.clientY - other.clientY);
      moved = 99;
      if (is > 10) zoom(was / is, placeOf({ clientX: (event.clientX + other.clientX) / 2, clientY: (event.clientY + other.clientY) / 2 }));
    }
    fingers.set(event.pointerId, event);
  });
  view.addEventListener("pointerup", (event) => {
    fingers.delete(event.pointerId);
    if (moved > 4) return;
    if (measuring) takePlace(placeOf(event)); else showAt(placeOf(event));
  });
  view.addEventListener("pointercancel", (event) => fingers.delete(event.pointerId));
  view.addEventListener("wheel", (event) => {
    event.preventDefault();
    // lines and pages as browsers count them; fingers drawn together on a trackpad come with ctrl
    const pixels = event.deltaY * [1, 16, view.clientHeight][event.deltaMode];
    const steep = event.ctrlKey ? 0.01 : 0.0015;
    zoom(Math.exp(Math.max(-0.5, Math.min(0.5, pixels * steep))), placeOf(event));
  }, { passive: false });
}

function keys(event) {
  const step = 0.1 * now.box.w;
  const act = {
    ArrowLeft: () => shift(-step, 0), ArrowRight: () => shift(step, 0),
    ArrowUp: () => shift(0, -step), ArrowDown: () => shift(0, step),
    "+": () => zoom(1 / 1.25), "=": () => zoom(1 / 1.25), "-": () => zoom(1.25), 0: wholeSheet,
    " ": togglePlay, "[": () => stepBy(-1), "]": () => stepBy(1),
    Enter: () => measuring && takePlace([now.box.x + now.box.w / 2, now.box.y + now.box.h / 2]),
    Escape: () => { if (measuring) toggleMeasure(); else { letGo(); wholeSheet(); } },
  }[event.key];
  if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  act();
}
