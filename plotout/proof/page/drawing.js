// What is kept of a sheet: JSON, deflated, in base64.
async function unpacked(text) {
  const letters = atob(text), bytes = new Uint8Array(letters.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = letters.charCodeAt(i);
  const read = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Response(read).json();
}

// Runs as [work, mark, card, tool, mm, start of its travel, of its work, its end, stroke].
function runsOf({ works, marks, cards, tools, mm, steps, strokes }) {
  let time = 0, stroke = 0;
  return works.map((work, nth) => {
    const start = time, begun = start + steps[2 * nth], end = begun + steps[2 * nth + 1];
    time = end;
    stroke += strokes[nth];
    return [data.works[work], data.marks[marks[nth]], cards[nth], tools[nth], mm[nth] / 10,
      start / 100, begun / 100, end / 100, stroke];
  });
}

// Long work is a generator that yields often: it goes on for a moment, then the page may answer.
const MOMENT = 12;  // ms
const later = () => new Promise((go) => { setTimeout(go, 0); });

async function inMoments(work) {
  for (let until = performance.now() + MOMENT; !work.next().done;) {
    if (performance.now() < until) continue;
    await later();
    until = performance.now() + MOMENT;
  }
}

function atOnce(work) { while (!work.next().done); }

// Lines from their text: of each its places in sheet mm, y down, [x, y, x, y ...], and its bounds;
// of a hole its middle and `radius`.
function* linesIn(text) {
  const lines = [];
  let x = 0, y = 0;
  for (const line of text ? text.split("|") : []) {
    const hole = line[0] === "o", steps = (hole ? line.slice(1) : line).split(" "), flat = [];
    const radius = hole ? +steps.pop() / 100 : 0;
    for (let i = 0; i < steps.length; i += 2) {
      x += +steps[i]; y += +steps[i + 1];
      flat.push(x / 100, y / 100);
    }
    lines.push(boxed(flat, radius));
    if (lines.length % 100 === 0) yield;
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

// The way to a run from the end of the one before; "" where the tool stays down or in its place.
function travelTo(sheet, nth) {
  const { lines, runs } = sheet, to = lines[nth].flat;
  if (nth && runs[nth][STROKE] === runs[nth - 1][STROKE]) return "";
  const [x, y] = nth ? lines[nth - 1].flat.slice(-2) : [0, sheet.height];
  return Math.hypot(to[0] - x, to[1] - y) > 0.05 ? `M${x} ${y} ${to[0]} ${to[1]}` : "";
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

// Draws a sheet: a group per kind, and in it a path per bundle of lines, since a browser is slow
// with tens of thousands of paths. A bundle's runs are of one mark and size; `ds` holds their paths.
const BUNDLE = 100;
function* drawIn(sheet) {
  yield* findLines(sheet);
  const groups = {}, open = new Map();
  const close = (bundle) => {
    const { kind, of, ds } = bundle;
    bundle.paths = [make("path", groups[kind], { d: ds.join(""), "data-of": of })];
    sheet.bundles.push(bundle);
  };
  const add = (kind, nth, d) => {
    const mark = sheet.runs[nth][MARK], of = sheet.of[nth] ?? -1, key = `${kind} ${mark} ${of}`;
    if (!open.has(key)) open.set(key, { kind, mark, of, nths: [], ds: [], done: null });
    const bundle = open.get(key);
    bundle.nths.push(nth);
    bundle.ds.push(d);
    if (bundle.ds.length < BUNDLE) return;
    open.delete(key);
    close(bundle);
  };
  for (const kind of Object.keys(sheet.drawing)) {
    groups[kind] = make("g", null, { class: kind.replaceAll(" ", "-"), "data-kind": kind });
  }
  sheet.svg.prepend(...Object.values(groups));
  for (const [kind, lines] of Object.entries(sheet.kinds)) {
    if (kind === "travel" || data.works.includes(kind)) continue;
    for (let i = 0; i < lines.length; i += BUNDLE) {
      make("path", groups[kind], { d: lines.slice(i, i + BUNDLE).map(pathOf).join("") });
      yield;
    }
  }
  for (let nth = 0; nth < sheet.lines.length; nth++) {
    const travel = groups.travel && !isNest(sheet) && travelTo(sheet, nth);
    if (travel) add("travel", nth, travel);
    add(sheet.runs[nth][WORK], nth, pathOf(sheet.lines[nth]));
    if (nth % 20 === 0) yield;
  }
  for (const bundle of open.values()) close(bundle);
  sheet.drawn = true;
}

// Shows the first `count` runs as done and the others, faintly, as to do.
function showDone(sheet, count) {
  for (const bundle of sheet.bundles) {
    const { nths, ds } = bundle;
    let low = 0, high = nths.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (nths[middle] < count) low = middle + 1; else high = middle;
    }
    if (low === bundle.done) continue;
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
}
