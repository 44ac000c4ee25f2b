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
  ["w", "W", "say the track and the bar (for a screen reader)", (app) => app.tellWhere()],
];

function listenToKeys(app) {
  byId("key-list").replaceChildren(...KEYS.flatMap(([, shown, words]) => {
    const key = document.createElement("dt"), what = document.createElement("dd");
    key.append(Object.assign(document.createElement("kbd"), { textContent: shown }));
    what.textContent = words;
    return [key, what];
  }));
  // Space plays wherever the focus is, and presses nothing on the way.
  addEventListener("keyup", (event) => { if (event.key === " " && !isTyping(event.target)) event.preventDefault(); });
  addEventListener("keydown", (event) => {
    document.documentElement.classList.add("has-keys");
    if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented || isTyping(event.target)) return;
    if (event.key !== " " && event.target.closest("select, input:not(#way), summary")) return;
    if (event.key.length === 1 && event.key !== " " && !lettersWork()) return;
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const row = KEYS.find(([name]) => name === key || (name === "1-9" && /^[1-9]$/.test(key)));
    if (!row) return;
    event.preventDefault();
    if (!event.repeat || key !== " ") row[3](app, key);
  });
  // What was set with a finger or a mouse gives the keys back.
  addEventListener("change", ({ target }) => { if (pointed) target.blur(); });
}

const isTyping = (element) => Boolean(element.closest("textarea, input:not([type='range'], [type='file'])"));
const lettersWork = () => byId("letters").getAttribute("aria-pressed") === "true";
