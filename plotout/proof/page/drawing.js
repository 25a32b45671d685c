// What is kept of a sheet: JSON, deflated, in base64.
async function unpacked(text) {
  const letters = atob(text), bytes = new Uint8Array(letters.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = letters.charCodeAt(i);
  const read = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Response(read).json();
}

// Runs as [work, mark, card, tool, mm, start of its travel, of its work, its end, stroke].
function* runsOf({ works, marks, cards, tools, mm, steps, strokes }) {
  const runs = [];
  let time = 0, stroke = 0;
  for (let index = 0; index < works.length; index++) {
    const start = time, begun = start + steps[2 * index], end = begun + steps[2 * index + 1];
    time = end;
    stroke += strokes[index];
    runs.push([data.works[works[index]], data.marks[marks[index]], cards[index], tools[index], mm[index] / 10,
      start / 100, begun / 100, end / 100, stroke]);
    if (index % 1000 === 0) yield;
  }
  return runs;
}

// Long work is a generator that yields often: it goes on for a moment, then the page may answer.
const MOMENT = 12;  // ms
const turns = new MessageChannel(), waiting = [];  // a timer would wait 4 ms each time
turns.port1.onmessage = () => waiting.shift()();
const later = () => new Promise((go) => { waiting.push(go); turns.port2.postMessage(0); });

// Returns what the work does, or nothing once it is no longer wanted.
async function inMoments(work, wanted = () => true) {
  for (let until = performance.now() + MOMENT; ;) {
    const { done, value } = work.next();
    if (done) return value;
    if (performance.now() < until) continue;
    await later();
    if (!wanted()) return undefined;
    until = performance.now() + MOMENT;
  }
}

function atOnce(work) { while (!work.next().done); }

// Lines from their text: of each its places in sheet mm, y down, [x, y, x, y ...], and its bounds;
// of a hole its middle and `radius`.
const [SPACE, MINUS, ZERO, HOLE, BAR] = [..." -0o|"].map((letter) => letter.charCodeAt());
function* linesIn(text) {  // letter by letter: many small strings would cost more than all the rest
  const lines = [], place = [0, 0];
  let flat = [], axis = 0, hole = false, whole = 0, sign = 1;
  for (let i = 0; i <= text.length && text; i++) {
    const code = i < text.length ? text.charCodeAt(i) : BAR;
    if (code === MINUS) sign = -1;
    else if (code === HOLE) hole = true;
    else if (code !== SPACE && code !== BAR) whole = 10 * whole + code - ZERO;
    else {
      const last = code === BAR, radius = hole && last ? whole / 100 : 0;
      if (!hole || !last) {
        place[axis] += sign * whole;
        flat.push(place[axis] / 100);
        axis = 1 - axis;
      }
      whole = 0; sign = 1;
      if (!last) continue;
      lines.push(boxed(flat, radius));
      flat = []; hole = false;
      if (lines.length % 100 === 0) yield;
    }
  }
  return lines;
}

function boxed(flat, radius) {
  let left = Infinity, top = Infinity, right = -Infinity, bottom = -Infinity;
  for (let i = 0; i < flat.length; i += 2) {
    left = Math.min(left, flat[i]); right = Math.max(right, flat[i]);
    top = Math.min(top, flat[i + 1]); bottom = Math.max(bottom, flat[i + 1]);
  }
  return { flat, radius, left, top, right, bottom };
}

function pathOf({ flat, radius }) {
  if (!radius) return "M" + flat.join(" ");
  const half = `a${radius} ${radius} 0 1 0`;
  return `M${flat[0] - radius} ${flat[1]}${half} ${2 * radius} 0${half} ${-2 * radius} 0`;
}

// The way to a run from the end of the one before; null where the tool stays down or in its place.
function travelTo(sheet, index) {
  const { lines, runs } = sheet, to = lines[index].flat;
  if (index && runs[index][STROKE] === runs[index - 1][STROKE]) return null;
  const [x, y] = index ? lines[index - 1].flat.slice(-2) : [0, sheet.height];
  return Math.hypot(to[0] - x, to[1] - y) > 0.05 ? boxed([x, y, to[0], to[1]], 0) : null;
}

// Finds a sheet's lines: `kinds`, by kind, and `lines`, of its runs, in their order.
function* findLines(sheet) {
  const kinds = {}, next = {};
  for (const [kind, text] of Object.entries(sheet.drawing)) {
    kinds[kind] = yield* linesIn(text);
    next[kind] = 0;
  }
  sheet.lines = sheet.runs.map((run) => kinds[run[WORK]][next[run[WORK]]++]);
  sheet.kinds = kinds;
}

// Gathers a sheet's lines in bundles, since a browser is slow with tens of thousands of paths. A
// bundle's lines are of one kind, mark and size and about as long as each other; `indices` are their runs.
const BUNDLE = 100;
function* gather(sheet) {
  if (!sheet.kinds) yield* findLines(sheet);
  const open = new Map(), bundles = [], kinds = Object.keys(sheet.drawing);
  const add = (kind, line, index) => {
    const mark = sheet.runs[index]?.[MARK], of = sheet.of[index] ?? -1;
    const size = Math.max(line.right - line.left, line.bottom - line.top, 2 * line.radius, 0.3);
    const about = Math.max(0, Math.ceil(Math.log2(size) / 2));  // each four times the one before
    const key = ((kinds.indexOf(kind) * 64 + data.marks.indexOf(mark) + 1) * 64 + of + 1) * 64 + about;
    let bundle = open.get(key);
    if (!bundle || bundle.lines.length === BUNDLE) {
      bundle = { kind, mark, of, indices: [], lines: [], ds: null, paths: [], done: null, size: 0,
        left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity };
      open.set(key, bundle);
      bundles.push(bundle);
    }
    bundle.indices.push(index);
    bundle.lines.push(line);
    bundle.size = Math.max(bundle.size, size);
    bundle.left = Math.min(bundle.left, line.left - line.radius);
    bundle.top = Math.min(bundle.top, line.top - line.radius);
    bundle.right = Math.max(bundle.right, line.right + line.radius);
    bundle.bottom = Math.max(bundle.bottom, line.bottom + line.radius);
  };
  for (const kind of kinds) {
    sheet.groups[kind] = make("g", null, { class: kind.replaceAll(" ", "-"), "data-kind": kind });
  }
  sheet.svg.prepend(...Object.values(sheet.groups));
  for (const [kind, lines] of Object.entries(sheet.kinds)) {
    if (kind !== "travel" && !data.works.includes(kind)) for (const line of lines) add(kind, line, -1);
  }
  for (let index = 0; index < sheet.lines.length; index++) {
    const travel = sheet.groups.travel && !isNest(sheet) && travelTo(sheet, index);
    if (travel) add("travel", travel, index);
    add(sheet.runs[index][WORK], sheet.lines[index], index);
    if (index % 100 === 0) yield;
  }
  sheet.bundles = bundles.sort((one, other) => other.size - one.size);
  sheet.drawn = true;
}

// What of the sheet can be seen: the view, and a length that is less than a pixel of it.
function outlook() {
  const least = grain(), { x, y, w, h } = now.box;
  let wide = view.clientWidth * least, tall = view.clientHeight * least;
  if (turn) wide = tall = Math.hypot(wide, tall);
  const left = x + (w - wide) / 2, top = y + (h - tall) / 2;
  return { left, top, right: left + wide, bottom: top + tall, least };
}

function isInSight(bundle, { left, top, right, bottom, least }) {
  return bundle.size >= least && bundle.left <= right && bundle.right >= left
    && bundle.top <= bottom && bundle.bottom >= top;
}

// Draws what is in sight and not drawn yet, the largest first, and takes the rest out of sight.
function* drawInSight(sheet) {
  const seen = outlook();
  for (const bundle of sheet.bundles) {
    const is = isInSight(bundle, seen);
    if (is && !bundle.paths.length) { drawBundle(sheet, bundle); yield; }
    for (const path of bundle.paths) path.toggleAttribute("data-far", !is);
  }
}

function drawBundle(sheet, bundle) {
  const { kind, of, lines } = bundle;
  bundle.ds = lines.map(pathOf);
  bundle.paths = [make("path", sheet.groups[kind], { d: bundle.ds.join(""), "data-of": of })];
  dress(bundle);
  showDoneOf(bundle, sheet.done);
}

let looks = 0;
async function renew() {
  const mine = ++looks;
  await inMoments(drawInSight(now), () => mine === looks);
}

// Shows the first `count` runs as done and the others, faintly, as to do.
function showDone(sheet, count) {
  sheet.done = count;
  for (const bundle of sheet.bundles) if (bundle.paths.length) showDoneOf(bundle, count);
}

function showDoneOf(bundle, count) {
  const { indices, ds } = bundle;
  let low = 0, high = indices.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (indices[middle] < count) low = middle + 1; else high = middle;
  }
  if (low === bundle.done) return;
  const [path, rest] = bundle.paths, parted = low > 0 && low < ds.length;
  if (parted || rest) path.setAttribute("d", (parted ? ds.slice(0, low) : ds).join(""));
  path.classList.toggle("todo", low === 0);
  if (parted) {
    if (!rest) {
      const other = path.cloneNode();
      other.classList.add("todo");
      path.after(other);
      bundle.paths.push(other);
    }
    bundle.paths[1].setAttribute("d", ds.slice(low).join(""));
  } else if (rest) bundle.paths.pop().remove();
  bundle.done = low;
}
