// The lists beside the drawing: cards, seams, what to know. All text is set as text.
const plain = (text) => text.toLocaleLowerCase().normalize("NFKD").replace(/\p{M}/gu, "");

function cardItem(card) {
  const item = element("li"), name = element("button", `${card.number}. ${apart(card.title)}`);
  name.type = "button";
  name.addEventListener("click", () => showCard(card));
  item.append(name, element("p", card.orders.join("; ") || say("nothing to cut")));
  const hole = card.hole ? say("hole {across} from the left, {down} from the top",
    { across: lengthOf(card.hole[0]), down: lengthOf(card.hole[1]) }) : say("no hole");
  const sheet = card.sheet >= 0 ? data.sheets[card.sheet].name : say("on no sheet");
  item.append(element("p", `${lengthOf(card.size[0])} x ${lengthOf(card.size[1])}; ${hole}; ${sheet}`));
  for (const [text, language] of card.warnings) {
    const warning = element("p", text, "warn");
    warning.lang = language;
    item.append(warning);
  }
  return item;
}

function showCard(card) {
  if (card.sheet < 0) return;
  if (now !== sheets[card.sheet]) choose(card.sheet);
  letGo();
  showEvery(false);
  held = card;
  byId("held").hidden = false;
  const [left, bottom, right, top] = card.box, height = now.height;
  make("path", now.over, { class: "cardbox",
    d: `M${left} ${height - top}H${right}V${height - bottom}H${left}Z` });
  turn = 0;
  showBox(card.box);
  byId("message").textContent = titled(card.title, card.orders.join("; ") || say("nothing to cut")) + ".";
}

let held = null;  // the card that was found

function letGo() {
  held = null;
  byId("held").hidden = true;
  byId("upright").setAttribute("aria-pressed", "false");
  for (const sheet of sheets) sheet.over.querySelector(".cardbox")?.remove();
}

// Turns the drawing so that the card stands as it hangs, its grain up, or back again.
function toggleUpright() {
  if (!held) return;
  const up = byId("upright").getAttribute("aria-pressed") !== "true";
  byId("upright").setAttribute("aria-pressed", String(up));
  turn = up ? held.angle * Math.PI / 180 : 0;
  if (!up) { showBox(held.box); return; }
  const [left, bottom, right, top] = held.box, [wide, tall] = held.size;
  const x = (left + right) / 2, y = (bottom + top) / 2;
  showBox([x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2]);
}

const FIRST = 30;  // cards are listed at once, the others as the browser finds time
let listed = [];

function* listOthers(found) {
  for (let index = FIRST; index < found.length && listed === found; index++) {
    byId("cards").append(cardItem(found[index]));
    yield;
  }
}

function listCards(wanted) {
  const found = listed = data.cards.filter((card) => plain(card.title + " " + card.id).includes(plain(wanted)));
  byId("cards").replaceChildren(...found.slice(0, FIRST).map(cardItem));
  inMoments(listOthers(found));
  byId("found").textContent = wanted ? say("Cards: {found} of {count}", { found: found.length, count: data.cards.length })
    : say("Cards: {count}", { count: data.cards.length });
  return found;
}

function row(kind, cells) {
  const made = element("tr");
  for (const cell of cells) {
    const field = element(kind, cell);
    if (kind === "th") field.scope = "col";
    made.append(field);
  }
  return made;
}

function listSeams() {
  if (!data.seams.length) { byId("seams-part").hidden = true; return; }
  byId("seams").append(row("th", [say("Seam"), say("Between"), say("Difference"), say("Found")]));
  for (const seam of data.seams) {
    const findings = seam.faults.length ? seam.faults : seam.notes;
    const found = findings.map(([text]) => text).join("; ") || say("good");
    const between = say("{first} and {last}", { first: seam.between[0], last: seam.between[1] });
    const made = row("td", [seam.name, between, lengthOf(seam.first - seam.second, 1), found]);
    if (findings.some(([, language]) => language === "en")) made.lastChild.lang = "en";
    byId("seams").append(made);
  }
}

// Words as [text, language].
function listWords(where, words) {
  byId(where).replaceChildren(...words.map(([text, language]) => {
    const item = element("li", text);
    item.lang = language;
    return item;
  }));
}
