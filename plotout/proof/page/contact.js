// All sheets at once: small, to one scale, each with what lies on it and how long it takes.
function timeOf(seconds) {
  const whole = Math.round(seconds);
  return say("{minutes} min {seconds} s", { minutes: Math.floor(whole / 60), seconds: String(whole % 60).padStart(2, "0") });
}

// How long a sheet takes: nothing of a nest, which is in no file.
function timeWords(sheet) { return data.timed && !isNest(sheet) ? `, ${timeOf(sheet.seconds)}` : ""; }

function showTimes() {
  const made = sheets.filter((sheet) => !isNest(sheet));
  const whole = made.reduce((sum, sheet) => sum + sheet.seconds, 0);
  const values = { time: timeOf(now.seconds), count: made.length, whole: timeOf(whole) };
  const words = made.length > 1 ? say("This sheet takes {time}, all {count} sheets {whole}.", values)
    : say("This sheet takes {time}.", values);
  byId("times").textContent = isNest(now) ? say("Only to look at: this nest is in none of the files.")
    : data.timed ? words : "";
}

// Every sheet's stock and cuts as one small drawing; all lines of a nest, which has no cuts.
function* drawSmall(svgs) {
  for (const [index, svg] of svgs.entries()) {
    const sheet = sheets[index];
    if (!sheet.kinds) yield* findLines(sheet);
    const { stock = [], cut = [], punch = [], draw = [] } = sheet.kinds;
    const seen = isNest(sheet) ? draw : [...cut, ...punch];
    for (const [kind, lines] of [["stock", stock], ["cut", seen]]) {
      for (let i = 0; i < lines.length; i += BUNDLE) {
        make("path", svg, { class: kind, d: lines.slice(i, i + BUNDLE).map(pathOf).join("") });
        yield;
      }
    }
    numbersOn(sheet, svg);
    yield;
  }
}

// The numbers of a sheet's cards, each in the middle of its card.
function numbersOn(sheet, around) {
  const index = sheets.indexOf(sheet), high = Math.max(sheet.width, sheet.height) / 28;
  for (const card of data.cards) {
    if (card.sheet !== index) continue;
    const [x, y] = card.middle;  // a place within the card
    const text = make("text", around, { x, y: sheet.height - y + high / 3,
      "font-size": high, "text-anchor": "middle", class: "number" });
    text.textContent = card.number;
  }
}

function showEvery(on) {
  byId("every").setAttribute("aria-pressed", String(on));
  byId("contact").hidden = !on;
  view.hidden = on;
  if (!on || byId("contact").childElementCount) return;
  const widest = Math.max(...sheets.map((sheet) => sheet.width));
  sheets.forEach((sheet, index) => {
    const button = element("button"), cards = data.cards.filter((card) => card.sheet === index).length;
    button.type = "button";
    const svg = make("svg", button, { viewBox: `0 0 ${sheet.width} ${sheet.height}`, "aria-hidden": "true" });
    svg.style.width = `${100 * sheet.width / widest}%`;
    const held = say("Cards: {count}", { count: cards }) + timeWords(sheet);
    button.append(element("span", isNest(sheet) ? apart(sheet.name) : titled(sheet.name, held)));
    button.addEventListener("click", () => choose(index));
    byId("contact").append(button);
  });
  inMoments(drawSmall([...byId("contact").querySelectorAll("svg")]));
}

// A print shows every sheet, whole, with its name, its cards' numbers and a scale.
function forPaper() {
  halt();
  showEvery(false);
  for (const sheet of sheets) {
    atOnce(sheet.work);
    for (const bundle of sheet.bundles) if (!bundle.paths.length) drawBundle(sheet, bundle);
    showLines(sheet);
    sheet.svg.setAttribute("viewBox", `0 ${-0.06 * sheet.height} ${sheet.width} ${1.14 * sheet.height}`);
    sheet.svg.style.transform = "";
    sheet.svg.querySelector(".printed")?.remove();
    const own = make("g", sheet.svg, { class: "printed" }), high = Math.max(sheet.width, sheet.height) / 45;
    const title = make("text", own, { x: 0, y: -0.5 * high, "font-size": high });
    title.textContent = together([sheet.name, sheet.file]) + timeWords(sheet);
    numbersOn(sheet, own);
    const [size, words] = barWithin(sheet.width / 2);
    const y = sheet.height + 0.8 * high;
    make("path", own, { class: "words", d: `M0 ${y - high / 3}V${y}H${size}V${y - high / 3}` });
    const said = make("text", own, { x: size + high / 2, y, "font-size": high });
    said.textContent = words;
  }
}

function afterPaper() {
  for (const sheet of sheets) sheet.svg.querySelector(".printed")?.remove();
  look();
}
