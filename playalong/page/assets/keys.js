// The keyboard. One table is the list on the page and what the keys do.
const KEYS = [
  [" ", "Space", "play, pause", (app) => app.toggle()],
  ["ArrowLeft", "←", "a bar back", (app) => app.stepBar(-1)],
  ["ArrowRight", "→", "a bar on", (app) => app.stepBar(1)],
  ["ArrowUp", "↑", "the next tempo", (app) => app.choice.goRung(1)],
  ["ArrowDown", "↓", "the tempo before", (app) => app.choice.goRung(-1)],
  ["Home", "Home", "to the count-in", (app) => app.moveTo(0)],
  ["n", "N", "the next track", (app) => app.choice.goStep(1)],
  ["b", "B", "the track before", (app) => app.choice.goStep(-1)],
  ["1-9", "1 – 9", "a stage", (app, key) => app.choice.goStage(Number(key) - 1)],
  ["l", "L", "loop this bar, or stop looping", (app) => app.toggleLoop()],
  ["+", "+", "one bar more in the loop", (app) => app.stretchLoop(1)],
  ["-", "−", "one bar fewer", (app) => app.stretchLoop(-1)],
  ["w", "W", "tell where it is", (app) => app.tellWhere()],
];

function listenToKeys(app) {
  byId("key-list").replaceChildren(...KEYS.flatMap(([, shown, words]) => {
    const key = document.createElement("dt"), what = document.createElement("dd");
    key.append(Object.assign(document.createElement("kbd"), { textContent: shown }));
    what.textContent = words;
    return [key, what];
  }));
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
    const own = event.target.closest("select, input:not(#way), textarea, summary, a[href]");
    if (own || (event.key === " " && event.target.closest("button"))) return;
    if (event.key.length === 1 && event.key !== " " && !byId("letters").checked) return;
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const row = KEYS.find(([name]) => name === key || (name === "1-9" && /^[1-9]$/.test(key)));
    if (!row) return;
    event.preventDefault();
    row[3](app, key);
  });
}
