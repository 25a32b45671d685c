// The tool's motion along the program, in its own time.
let at = 0;  // seconds
let reached = 0;  // how many runs are done or begun
let playing = 0;  // a timer's or frame's number
let last = 0;

function runIn(seconds) {
  let low = 0, high = now.runs.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (now.runs[middle][START] <= seconds) low = middle + 1; else high = middle;
  }
  return low;
}

function restart() {
  halt();
  byId("clock").max = String(Math.ceil(now.seconds * 10) / 10);
  at = now.seconds;
  goTo(at);
}

function goTo(seconds) {
  at = Math.max(0, Math.min(seconds, now.seconds));
  const count = at >= now.seconds ? now.runs.length : runIn(at);
  showDone(now, count);
  reached = count;
  byId("clock").value = String(at);
  byId("clock").setAttribute("aria-valuetext", timeOf(at));
  byId("left").textContent = say("{time} left", { time: timeOf(now.seconds - at) });
  redrawTool();
}

function toolPlace() {
  const index = reached - 1;
  if (index < 0 || at >= now.seconds || !now.drawn) return null;
  const run = now.runs[index], flat = now.lines[index].flat;
  if (!flat.length) return null;
  if (at < run[BEGUN]) {
    const before = index ? now.lines[index - 1].flat : [0, now.height];
    const from = before.slice(-2), share = (at - run[START]) / (run[BEGUN] - run[START] || 1);
    return [from[0] + (flat[0] - from[0]) * share, from[1] + (flat[1] - from[1]) * share, false];
  }
  let rest = (at - run[BEGUN]) / (run[END] - run[BEGUN] || 1);
  let whole = 0;
  for (let i = 0; i + 3 < flat.length; i += 2) whole += Math.hypot(flat[i + 2] - flat[i], flat[i + 3] - flat[i + 1]);
  rest *= whole;
  for (let i = 0; i + 3 < flat.length; i += 2) {
    const size = Math.hypot(flat[i + 2] - flat[i], flat[i + 3] - flat[i + 1]);
    if (rest <= size && size) {
      return [flat[i] + (flat[i + 2] - flat[i]) * rest / size, flat[i + 1] + (flat[i + 3] - flat[i + 1]) * rest / size, true];
    }
    rest -= size;
  }
  return [...flat.slice(-2), true];
}

function redrawTool() {
  now.over.querySelector(".tool")?.remove();
  const place = toolPlace();
  if (!place) return;
  const mm = grain(), [x, y, down] = place;
  const group = make("g", now.over, { class: "tool" });
  make("circle", group, { cx: x, cy: y, r: (down ? 7 : 11) * mm });
  if (down) make("circle", group, { cx: x, cy: y, r: 2 * mm });
}

function stepBy(by) {
  halt();
  const runs = now.runs;
  if (!runs.length || !now.drawn) return;
  const here = reached ? runs[reached - 1][STROKE] : 0, end = runs[runs.length - 1][STROKE];
  const wanted = by < 0 && at >= now.seconds ? end : Math.max(1, Math.min(here + by, end));
  const index = runs.findIndex((run) => run[STROKE] === wanted);  // where the tool goes down for it
  goTo((runs[index][BEGUN] + runs[index][END]) / 2);
  showRun(index);
}

// How the files count: a roll that is advanced by hand has one for each of its frames.
function lastIn(frame) {
  const runs = now.runs, end = runs.length ? runs[runs.length - 1][STROKE] : 0;
  return now.frames[frame + 1] ?? end;
}

function strokeWords(number) {
  if (!now.frames.length) return say("stroke {number} of {of}", { number, of: lastIn(0) });
  let index = 0;
  while (index + 1 < now.frames.length && now.frames[index + 1] < number) index++;
  return say("frame {frame}, stroke {number} of {of}", { frame: index + 1,
    number: number - now.frames[index], of: lastIn(index) - now.frames[index] });
}

// A stroke by its number, as "plotout send" and "plotout resume" say it; "2:17" in a second frame.
function findStroke(said) {
  const [, frame, number] = /^\s*(?:(\d+)\s*:)?\s*(\d+)\s*$/.exec(said) || [];
  const index = frame ? +frame - 1 : 0, before = now.frames[index] ?? (index ? Infinity : 0);
  const wanted = before + +number, end = lastIn(now.frames.length ? index : 0);
  if (!(number >= 1) || !(wanted <= end)) {
    const values = { count: end - (isFinite(before) ? before : end), frame: index + 1, stroke: said.trim() };
    byId("message").textContent = !number ? say("Write the number of a stroke.")
      : now.frames.length ? say("Strokes in frame {frame}: {count}; there is no stroke {stroke}.", values)
      : say("Strokes of this sheet: {count}; there is no stroke {stroke}.", values);
    return;
  }
  const run = now.runs.findIndex((candidate) => candidate[STROKE] === wanted);
  if (!now.drawn) return;
  halt();
  goTo((now.runs[run][BEGUN] + now.runs[run][END]) / 2);
  showRun(run);
  const { left, right, top, bottom } = now.lines[run];
  if (isFinite(left)) showBox([left - 15, now.height - bottom - 15, right + 15, now.height - top + 15]);
}

function frame(time) {
  const pace = +byId("pace").value;
  goTo(at + (last ? Math.min(time - last, 250) / 1000 * pace : 0));
  last = time;
  if (at >= now.seconds) { halt(); return; }
  playing = requestAnimationFrame(frame);
}

function jump() {  // for those who want no motion: from stroke to stroke, twice a second
  const next = now.runs[Math.min(reached, now.runs.length - 1)];
  goTo(reached >= now.runs.length ? now.seconds : Math.max(next[BEGUN], at + 0.5 * +byId("pace").value));
  if (at >= now.seconds) { halt(); return; }
  playing = setTimeout(jump, 500);
}

function halt() {
  cancelAnimationFrame(playing);
  clearTimeout(playing);
  playing = 0;
  last = 0;
  byId("play").textContent = say("Play");
  byId("play").setAttribute("aria-pressed", "false");
}

function togglePlay() {
  if (playing) { halt(); return; }
  if (!now.drawn) return;
  if (at >= now.seconds) goTo(0);
  byId("play").textContent = say("Hold");
  byId("play").setAttribute("aria-pressed", "true");
  playing = calm ? setTimeout(jump, 0) : requestAnimationFrame(frame);
}

function showRun(index, place) {
  now.over.querySelector(".under")?.remove();
  if (index < 0) return;
  make("path", now.over, { class: "under", d: pathOf(now.lines[index]) });
  const run = now.runs[index], card = data.cards[run[CARD]];
  const words = [titled(card ? card.title : say("The sheet's own marks"), say(run[MARK]))];
  words.push([say(run[WORK]), data.tools[run[TOOL]]].filter(Boolean).join(", "), lengthOf(run[SIZE], 1),
    strokeWords(run[STROKE]));
  const edge = card && place ? edgeAt(run[CARD], ...place) : null;
  if (edge) {
    const [start, end = start] = [...new Set(edge.allowance)].map((mm) => lengthOf(mm, mm % 1 ? 1 : 0));
    const width = start === end ? start : say("{start} to {end}", { start, end });
    words.push(say("edge {edge}, {length} on the stitching line", { edge: edge.name, length: lengthOf(edge.length, 1) }),
      say("allowance {width}", { width }));
  }
  byId("message").textContent = words.join("; ") + ".";
}

let asked = null;
function showAt(place) {
  const waiting = asked !== null;
  asked = place;
  if (waiting) return;
  requestAnimationFrame(() => {
    const [x, y] = asked;
    asked = null;
    const index = runAt(x, y, 9 * grain());
    if (index >= 0 || !playing) showRun(index, [x, y]);
  });
}
