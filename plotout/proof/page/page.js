// Puts the page together.
async function begin() {
  if (typeof DecompressionStream === "undefined") {
    byId("message").textContent = say("This browser is too old to unpack the drawings: use one of 2023 or later.");
    return;
  }
  await readSheets();
  const { name, style, size, date } = data.set;
  byId("title").textContent = name;
  byId("about").textContent = together([style, size && say("size {size}", { size }), date, data.machine]);
  data.sheets.forEach((sheet, index) => {
    const of = data.sheets.filter((one) => !isNest(one)).length;
    const name = isNest(sheet) ? sheet.name : say("Sheet {number} of {of}", { number: sheet.number, of });
    const words = together([titled(name, `${lengthOf(sheet.width)} x ${lengthOf(sheet.height)}`), sheet.file]);
    byId("which").append(new Option(words, String(index)));
  });
  byId("which").addEventListener("change", (event) => choose(+event.target.value));
  for (const option of byId("pace").options) if (!option.text) option.text = say("{count} times", { count: option.value });
  const works = ["draw", "score", "punch", "cut"].filter((work) => data.works.includes(work));
  const tiled = sheets.some((sheet) => sheet.pages.length) ? ["pages"] : [];
  choices("works", "work", ["card", ...works, "travel", "stitching line", ...tiled, "order"], ["stitching line", "order"]);
  choices("marks", "mark", data.marks, []);
  await later();
  listCards("");
  await later();
  listSeams();
  listWords("cautions", data.cautions.map((text) => [text, document.documentElement.lang]));
  listWords("warnings", data.warnings);
  if (!data.warnings.length) byId("warn-part").hidden = true;
  byId("find").addEventListener("input", (event) => {
    const found = listCards(event.target.value.trim());
    if (event.target.value.trim() && found.length === 1) showCard(found[0]);
  });
  byId("find").addEventListener("keydown", (event) => {
    if (event.key === "Enter") byId("cards").querySelector("button")?.click();
  });
  byId("size").addEventListener("change", (event) => showSize(+event.target.value));
  byId("size-back").addEventListener("click", () => stepSize(-1));
  byId("size-on").addEventListener("click", () => stepSize(1));
  byId("nearer").addEventListener("click", () => zoom(1 / 1.4));
  byId("farther").addEventListener("click", () => zoom(1.4));
  byId("whole").addEventListener("click", wholeSheet);
  byId("every").addEventListener("click", () => showEvery(byId("contact").hidden));
  byId("upright").addEventListener("click", toggleUpright);
  byId("let-go").addEventListener("click", () => {
    letGo();
    byId("find").value = "";
    listCards("");
    wholeSheet();
    view.focus();
  });
  byId("every").hidden = sheets.length < 2;
  byId("shown").open = innerWidth > 960;
  byId("measure").addEventListener("click", toggleMeasure);
  byId("of").addEventListener("change", () => { if (measuring) { toggleMeasure(); toggleMeasure(); } });
  byId("play").addEventListener("click", togglePlay);
  byId("back").addEventListener("click", () => stepBy(-1));
  byId("on").addEventListener("click", () => stepBy(1));
  byId("clock").addEventListener("input", (event) => { halt(); goTo(+event.target.value); });
  byId("stroke").addEventListener("change", (event) => findStroke(event.target.value));
  view.addEventListener("keydown", keys);
  view.addEventListener("focus", redrawMeasure);
  view.addEventListener("blur", redrawMeasure);
  pointers();
  addEventListener("resize", look);
  addEventListener("beforeprint", forPaper);
  addEventListener("afterprint", afterPaper);
  if (sheets.length) await choose(0);
  document.body.dataset.ready = "";
  drawOthers();
}

begin();
