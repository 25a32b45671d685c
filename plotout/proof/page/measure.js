// Measuring between two places, and what is shown or hidden.
let measuring = false;
let measured = [];

function toggleMeasure() {
  measuring = !measuring;
  measured = [];
  byId("measure").setAttribute("aria-pressed", String(measuring));
  view.classList.toggle("measuring", measuring);
  byId("told").textContent = measuring ? "Take two places; a corner close by is taken exactly." : "";
  redrawMeasure();
}

// A corner of a line within a few pixels, or the place itself.
function snapped([x, y]) {
  let found = [x, y], least = 10 * grain();
  linesOf(now).forEach((line, nth) => {
    if (x < line.left - least || x > line.right + least || y < line.top - least || y > line.bottom + least) return;
    if (!isShown(now.runs[nth])) return;
    for (let i = 0; i < line.flat.length; i += 2) {
      const far = Math.hypot(x - line.flat[i], y - line.flat[i + 1]);
      if (far < least) { least = far; found = [line.flat[i], line.flat[i + 1]]; }
    }
  });
  return found;
}

function takePlace(place) {
  if (measured.length === 2) measured = [];
  measured.push(snapped(place));
  if (measured.length === 2) {
    const [[ax, ay], [bx, by]] = measured, far = Math.hypot(bx - ax, by - ay);
    byId("told").textContent = `${far.toFixed(2)} mm, ${inches(far)}; across ${Math.abs(bx - ax).toFixed(2)} mm, up ${Math.abs(by - ay).toFixed(2)} mm.`;
  } else {
    byId("told").textContent = "Now the second place.";
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

function redrawShown() {
  for (const sheet of sheets) {
    for (const group of sheet.svg.querySelectorAll("g[data-kind]")) {
      group.classList.toggle("off", hidden.work.has(group.dataset.kind));
    }
    sheet.runs.forEach((run, nth) => {
      for (const path of sheet.paths[nth]) path.classList.toggle("off", hidden.mark.has(run[MARK]));
    });
    numberStrokes(sheet);
    drawEdges(sheet);
    drawPages(sheet);
  }
}

const UNCOUNTED = ["lettering", "underlap", "area"];

// The order, as a number where each stroke begins; letters and hatching are left out.
function numberStrokes(sheet) {
  sheet.over.querySelector(".numbers")?.remove();
  if (hidden.work.has("order")) return;
  const group = make("g", sheet.over, { class: "numbers" });
  const size = Math.max(sheet.width, sheet.height) / 90;
  sheet.runs.forEach((run, nth) => {
    const flat = linesOf(sheet)[nth].flat;
    const goesOn = nth > 0 && sheet.runs[nth - 1][STROKE] === run[STROKE];
    if (goesOn || UNCOUNTED.includes(run[MARK]) || !isShown(run) || !flat.length) return;
    make("text", group, { x: flat[0] + size / 3, y: flat[1] - size / 3, "font-size": size }).textContent = String(run[STROKE]);
  });
}

function drawEdges(sheet) {
  const group = sheet.svg.querySelector(".edges");
  group.replaceChildren();
  if (hidden.work.has("stitching line")) return;
  for (const edge of sheet.edges) {
    const down = edge.points.map((value, i) => (i % 2 ? (sheet.height - value).toFixed(1) : value));
    make("path", group, { class: "stitching-line", d: "M" + down.join(" ") });
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
    const words = page.empty ? `${page.name}, nothing` : page.name;
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
      redrawShown();
    });
    label.append(box);
    if (kind === "work" && name !== "order" && name !== "pages") {
      const sample = make("svg", label, { viewBox: "0 0 54 14", "aria-hidden": "true" });
      make("path", sample, { d: "M1 7 53 7", class: name.replaceAll(" ", "-") });
    }
    label.append(name);
    byId(where).append(label);
  }
}
