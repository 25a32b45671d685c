// Measuring between two places, and what is shown or hidden.
let measuring = false;
let measured = [];

const TURN = Math.cos(Math.PI * 8 / 180);  // a line that turns by more has a corner there

function toggleMeasure() {
  measuring = !measuring;
  measured = [];
  byId("measure").setAttribute("aria-pressed", String(measuring));
  view.classList.toggle("measuring", measuring);
  const what = byId("of").value === "card" ? say("the card") : say("the tool's path");
  byId("message").textContent = measuring ? say("Take two places on {what}; corners, ends and lines of it close by are taken exactly.", { what }) : "";
  redrawMeasure();
}

// The lines that are measured: the cards' own, or the way of a tool, which leads or runs past them.
function measurable() {
  if (byId("of").value === "path") return now.lines.filter((_line, index) => isShown(now.runs[index]) && isOfSize(now, index));
  if (hidden.work.has("card")) return [];
  return now.drawn ? now.kinds.card : [];
}

function isCorner(flat, i) {
  if (flat.length === 2) return true;
  const last = flat.length - 2, closed = flat[0] === flat[last] && flat[1] === flat[last + 1];
  if ((i === 0 || i === last) && !closed) return true;
  const before = i === 0 ? last - 2 : i - 2, after = i === last ? 2 : i + 2;
  const ax = flat[i] - flat[before], ay = flat[i + 1] - flat[before + 1];
  const bx = flat[after] - flat[i], by = flat[after + 1] - flat[i + 1];
  return (ax * bx + ay * by) < TURN * Math.hypot(ax, ay) * Math.hypot(bx, by);
}

// A corner within a few pixels, else a place on a line, else the place itself; and what it is.
function snapped([x, y]) {
  let least = 10 * grain(), found = null, near = 10 * grain(), on = null;
  for (const { flat, left, right, top, bottom } of measurable()) {
    if (x < left - least || x > right + least || y < top - least || y > bottom + least) continue;
    for (let i = 0; i < flat.length; i += 2) {
      const far = Math.hypot(x - flat[i], y - flat[i + 1]);
      if (far < least && isCorner(flat, i)) { least = far; found = [flat[i], flat[i + 1], flat.length === 2 ? say("a hole's middle") : say("a corner or end")]; }
      if (i + 3 >= flat.length) continue;
      const dx = flat[i + 2] - flat[i], dy = flat[i + 3] - flat[i + 1], size = dx * dx + dy * dy;
      const share = size ? Math.max(0, Math.min(1, ((x - flat[i]) * dx + (y - flat[i + 1]) * dy) / size)) : 0;
      const there = [flat[i] + share * dx, flat[i + 1] + share * dy];
      const away = Math.hypot(x - there[0], y - there[1]);
      if (away < near) { near = away; on = there; }
    }
  }
  if (found) return found;
  return on ? [...on, say("a line")] : [x, y, say("a place beside all lines")];
}

function takePlace(place) {
  if (measured.length === 2) measured = [];
  measured.push(snapped(place));
  if (measured.length === 2) {
    const [[ax, ay, from], [bx, by, to]] = measured, far = Math.hypot(bx - ax, by - ay);
    const of = byId("of").value === "card" ? say("on the card") : say("on the tool's path, which is not the card's edge");
    const ends = from === to ? say("both ends at {place}", { place: from }) : say("from {start} to {end}", { start: from, end: to });
    const mm = (value) => say("{length} mm", { length: figure(value, 2) });
    const inches = say("{length} in", { length: figure(far / 25.4, 2) });
    byId("message").textContent = `${mm(far)}, ${inches}; ${say("across {x}, up {y}", { x: mm(Math.abs(bx - ax)), y: mm(Math.abs(by - ay)) })}; ${ends}, ${of}.`;
  } else {
    byId("message").textContent = say("Taken: {place}. Now the second place.", { place: measured[0][2] });
  }
  redrawMeasure();
}

function redrawMeasure() {
  now.over.querySelector(".rule")?.remove();
  if (!measuring) return;
  const mm = grain(), group = make("g", now.over, { class: "rule" });
  const cx = now.box.x + now.box.w / 2, cy = now.box.y + now.box.h / 2;
  if (document.activeElement === view) {
    make("line", group, { x1: cx - 14 * mm, y1: cy, x2: cx + 14 * mm, y2: cy });
    make("line", group, { x1: cx, y1: cy - 14 * mm, x2: cx, y2: cy + 14 * mm });
  }
  for (const [x, y] of measured) make("circle", group, { cx: x, cy: y, r: 5 * mm });
  if (measured.length === 2) {
    const [[x1, y1], [x2, y2]] = measured;
    make("line", group, { x1, y1, x2, y2 });
  }
}

const hidden = { work: new Set(), mark: new Set() };
function isShown(run) { return !hidden.work.has(run[WORK]) && !hidden.mark.has(run[MARK]); }

// Hides a bundle's lines, or shows them, as the marks and the size ask for.
function dress({ mark, of, paths }) {
  for (const path of paths) {
    path.classList.toggle("off", hidden.mark.has(mark));
    path.toggleAttribute("data-off", size >= 0 && of >= 0 && of !== size);
  }
}

function showLines(sheet) {
  for (const group of sheet.svg.querySelectorAll("g[data-kind]")) {
    group.classList.toggle("off", hidden.work.has(group.dataset.kind));
  }
  sheet.bundles.forEach(dress);
  numberStrokes();
  drawEdges(sheet);
  drawPages(sheet);
}

// The order, as the number of a stroke where it begins; of letters and hatching the first and last.
// As many numbers are shown as there is room for: nearer, there are more.
function numberStrokes() {
  now.over.querySelector(".numbers")?.remove();
  if (hidden.work.has("order") || !now.drawn) return;
  const group = make("g", now.over, { class: "numbers" }), mm = grain(), taken = new Set();
  const wide = view.clientWidth * mm, tall = view.clientHeight * mm;
  const left = now.box.x + (now.box.w - wide) / 2, top = now.box.y + (now.box.h - tall) / 2;
  for (const [label, index] of now.labels) {
    const [x, y] = now.lines[index].flat, column = Math.floor((x - left) / (12 * mm)), row = Math.floor((y - top) / (8 * mm));
    if (!(x > left && x < left + wide && y > top && y < top + tall)) continue;
    if (!isShown(now.runs[index]) || !isOfSize(now, index)) continue;
    const cells = [];
    for (let i = 0; i <= label.length; i++) cells.push(`${column + i} ${row}`, `${column + i} ${row + 1}`);
    if (cells.some((cell) => taken.has(cell))) continue;
    for (const cell of cells) taken.add(cell);
    make("text", group, { x: x + 4 * mm, y: y - 4 * mm, "font-size": 13 * mm }).textContent = label;
  }
}

function drawEdges(sheet) {
  const group = sheet.svg.querySelector(".edges");
  group.replaceChildren();
  if (hidden.work.has("stitching line")) return;
  const ds = sheet.edges.map((edge) => "M" + edge.points.map((value, i) => (i % 2 ? (sheet.height - value).toFixed(1) : value)).join(" "));
  for (let i = 0; i < ds.length; i += BUNDLE) {
    make("path", group, { class: "stitching-line", d: ds.slice(i, i + BUNDLE).join("") });
  }
}

// The page map of a sheet that is printed in tiles; pages that hold nothing are not printed.
function drawPages(sheet) {
  sheet.svg.querySelector(".pages")?.remove();
  if (hidden.work.has("pages") || !sheet.pages.length) return;
  const group = make("g", null, { class: "pages" });
  const size = Math.max(sheet.width, sheet.height) / 40;
  for (const page of sheet.pages) {
    const [left, bottom, right, top] = page.cell, up = sheet.height - top;
    make("path", group, { class: "stock", d: `M${left} ${up}H${right}V${sheet.height - bottom}H${left}Z` });
    const words = page.empty ? say("{page}, nothing", { page: page.name }) : page.name;
    make("text", group, { x: left + size / 2, y: up + size * 1.3, "font-size": size }).textContent = words;
  }
  sheet.over.before(group);
}

function choices(where, kind, names, off) {
  for (const name of names) {
    const label = element("label"), box = element("input");
    box.type = "checkbox";
    box.checked = !off.includes(name);
    if (!box.checked) hidden[kind].add(name);
    box.addEventListener("change", () => {
      hidden[kind][box.checked ? "delete" : "add"](name);
      showLines(now);
    });
    label.append(box);
    if (kind === "work" && name !== "order" && name !== "pages") {
      const sample = make("svg", label, { viewBox: "0 0 54 14", "aria-hidden": "true" });
      make("path", sample, { d: "M1 7 53 7", class: name.replaceAll(" ", "-") });
    }
    label.append(say(name));
    byId(where).append(label);
  }
}
