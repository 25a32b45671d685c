// A nest: one size of it, all of them, or one after another.
let size = -1;

// A nest is only shown: it is in none of the files, and no machine draws it.
function isNest(sheet) { return sheet.sizes.length > 0; }

function isOfSize(sheet, index) {
  const of = sheet.of[index] ?? -1;
  return size < 0 || of < 0 || of === size;
}

function showSize(wanted) {
  size = wanted;
  byId("size").value = String(size);
  now.svg.querySelector("g[data-kind='card']")?.toggleAttribute("data-off", size >= 0);
  now.bundles.forEach(dress);
}

function stepSize(by) {
  const many = now.sizes.length + 1; // and all of them
  showSize((size + 1 + by + many) % many - 1);
  byId("message").textContent = size < 0 ? say("All sizes") : say("size {size}", { size: now.sizes[size] });
}

function offerSizes() {
  const names = now.sizes;
  byId("sizes").hidden = !isNest(now);
  byId("player").hidden = isNest(now);
  byId("size").replaceChildren(new Option(say("All sizes"), "-1"), ...names.map((name, index) => new Option(name, String(index))));
  showSize(size < names.length ? size : -1);
}
