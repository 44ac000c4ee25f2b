// The texts below the music: stages, how to practise, cautions, and the files beside the page.
function showWords() {
  const item = (name, text) => Object.assign(document.createElement(name), { textContent: text });
  document.querySelectorAll("[data-list]").forEach((list) =>
    list.replaceChildren(...DATA[list.dataset.list].map((text) => item("li", text))));
  for (const [stage, words] of Object.entries(DATA.stages)) byId("stages").append(item("dt", stage), item("dd", words));
  byId("left-out").hidden = !DATA.left_out.length;
  const sheet = Object.entries(DATA.sheet).find(([, file]) => String(file).endsWith(".pdf"));
  if (sheet && !Object.keys(DATA.inside).length) {
    byId("sheet-link").href = sheet[1].split("/").map(encodeURIComponent).join("/");
    byId("sheet-link").hidden = false;
  }
}
