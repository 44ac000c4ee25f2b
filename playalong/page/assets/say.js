// Of a loudness, as it is told to those who listen to the page.
const tellLevel = (level) => level.setAttribute("aria-valuetext", `${Math.round(100 * level.value)} %`);

// Words for those who listen to the page: what was chosen, where it stopped, and nothing in between.
function say(text) {
  const line = byId("live");
  line.textContent = "";
  requestAnimationFrame(() => { line.textContent = text; });
}
