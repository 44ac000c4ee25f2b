const item = (name, text) => Object.assign(document.createElement(name), { textContent: text });

// The texts below the music: stages, how to practise, cautions, and the files beside the page.
function showWords() {
  document.querySelectorAll("[data-list]").forEach((list) =>
    list.replaceChildren(...DATA[list.dataset.list].map((text) => item("li", text))));
  for (const [stage, words] of Object.entries(DATA.stages)) byId("stages").append(item("dt", stage), item("dd", words));
  byId("left-out").hidden = !DATA.left_out.length;
  byId("signs").hidden = !DATA.reading.length;
  const sheet = DATA.sheet.pdf;
  byId("print").hidden = !sheet;
  if (sheet) sheetAddress(sheet).then((href) => Object.assign(byId("print"), { href, target: "_blank" }));
}

// What the subtitle says of a tempo that nobody can choose, because there is no other.
function onlyTempo(rungs) {
  if (rungs.length > 1) return [];
  const words = `${rungs[0]} beats a minute`;
  if (!DATA.quarter_beats) return [`, ${words}`]; // no sign in every font
  const sign = item("span", `♩ = ${rungs[0]}`), spoken = item("span", words);
  sign.setAttribute("aria-hidden", "true");
  spoken.className = "unseen";
  return [", ", sign, spoken];
}

// Beside the page, or inside it.
async function sheetAddress(name) {
  if (!DATA.inside[name]) return address(name);
  return URL.createObjectURL(new Blob([await bytesOf(name)], { type: DATA.inside[name][1] }));
}
