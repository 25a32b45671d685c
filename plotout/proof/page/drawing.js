// What is kept of a sheet: JSON, deflated, in base64.
async function unpacked(text) {
  const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
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

// Lines from their text: of each its places in sheet mm, y down, [x, y, x, y ...], and its bounds;
// of a hole its middle and `radius`.
function linesIn(text) {
  let x = 0, y = 0;
  return (text ? text.split("|") : []).map((line) => {
    const hole = line[0] === "o", steps = (hole ? line.slice(1) : line).split(" "), flat = [];
    const radius = hole ? +steps.pop() / 100 : 0;
    for (let i = 0; i < steps.length; i += 2) {
      x += +steps[i]; y += +steps[i + 1];
      flat.push(x / 100, y / 100);
    }
    return boxed(flat, radius);
  });
}

function boxed(flat, radius) {
  let left = Infinity, top = Infinity, right = -Infinity, bottom = -Infinity;
  for (let i = 0; i < flat.length; i += 2) {
    left = Math.min(left, flat[i]); right = Math.max(right, flat[i]);
    top = Math.min(top, flat[i + 1]); bottom = Math.max(bottom, flat[i + 1]);
  }
  return { flat, radius, left, top, right, bottom };
}

// The lines of a sheet's runs, in their order.
function linesOf(sheet) {
  if (!sheet.lines) {
    const next = {}, kinds = {};
    for (const work of data.works) { kinds[work] = linesIn(sheet.drawing[work]); next[work] = 0; }
    sheet.lines = sheet.runs.map((run) => kinds[run[WORK]][next[run[WORK]]++]);
  }
  return sheet.lines;
}

function pathOf({ flat, radius }) {
  if (!radius) return "M" + flat.join(" ");
  const half = `a${radius} ${radius} 0 1 0`;
  return `M${flat[0] - radius} ${flat[1]}${half} ${2 * radius} 0${half} ${-2 * radius} 0`;
}

// The way to a run from the end of the one before; "" where the tool stays down or in its place.
function travelTo(sheet, nth) {
  const lines = linesOf(sheet), to = lines[nth].flat;
  if (nth && sheet.runs[nth][STROKE] === sheet.runs[nth - 1][STROKE]) return "";
  const [x, y] = nth ? lines[nth - 1].flat.slice(-2) : [0, sheet.height];
  return Math.hypot(to[0] - x, to[1] - y) > 0.05 ? `M${x} ${y} ${to[0]} ${to[1]}` : "";
}

// Draws a sheet, once: a group per kind, a path per run and per travel.
function draw(sheet) {
  if (sheet.paths) return;
  const lines = linesOf(sheet), groups = {};
  sheet.paths = lines.map(() => []);
  for (const [kind, text] of Object.entries(sheet.drawing)) {
    groups[kind] = make("g", null, { class: kind.replaceAll(" ", "-"), "data-kind": kind });
    if (kind === "travel" || data.works.includes(kind)) continue;
    for (const line of linesIn(text)) make("path", groups[kind], { d: pathOf(line) });
  }
  lines.forEach((line, nth) => {
    const travel = groups.travel && travelTo(sheet, nth);
    if (travel) sheet.paths[nth].push(make("path", groups.travel, { d: travel, "data-n": nth }));
    sheet.paths[nth].push(make("path", groups[sheet.runs[nth][WORK]], { d: pathOf(line), "data-n": nth }));
  });
  sheet.svg.prepend(...Object.values(groups));
}
