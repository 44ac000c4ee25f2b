"use strict";
(() => {
const byId = (id) => document.getElementById(id);
const DATA = JSON.parse(byId("data").textContent);
const NOTES = Object.entries(DATA.notes).map(([index, [from, to, trackFrom, trackTo, hz]]) =>
  ({ index, from, to, trackFrom, trackTo, hz }));
const BEFORE = 0.15, TONE_SECONDS = 1.2;
const recording = byId("recording"), track = byId("track"), curve = byId("curve"), line = byId("now");
const START = Number(curve.dataset.start), SECOND = Number(curve.dataset.second);
let until = null, then = null, marked = null, tone = null;

for (const name of ["recording", "track"]) {
  const bytes = Uint8Array.from(atob(byId(`${name}-sound`).textContent), (letter) => letter.charCodeAt(0));
  byId(name).src = URL.createObjectURL(new Blob([bytes], { type: DATA.types[name] }));
}

const xAt = (t) => (t - START) * SECOND;
const say = (text) => { byId("live").textContent = text; };
const minutes = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

function stop() {
  recording.pause();
  track.pause();
  tone?.close();
  tone = until = then = null;
}

function play(sound, from, to, after) {
  stop();
  sound.currentTime = Math.max(0, from);
  until = { sound, to };
  then = after;
  sound.play().catch((error) => { if (error.name !== "AbortError") say("This browser does not play the sound."); });
}

// A quiet tone where the track itself leaves the note to the player.
function sing(hz) {
  const audio = tone = new AudioContext();
  const voice = audio.createOscillator(), level = audio.createGain();
  voice.type = "triangle";
  voice.frequency.value = hz;
  level.gain.setValueAtTime(0, audio.currentTime);
  level.gain.linearRampToValueAtTime(0.15, audio.currentTime + 0.05);
  level.gain.setTargetAtTime(0, audio.currentTime + TONE_SECONDS - 0.1, 0.05);
  voice.connect(level).connect(audio.destination);
  voice.start();
  voice.stop(audio.currentTime + TONE_SECONDS);
  voice.addEventListener("ended", () => { if (tone === audio) stop(); });
}

function hear(index) {
  const note = NOTES.find((each) => each.index === String(index));
  if (!note) return;
  show(note.index);
  play(recording, note.from - BEFORE, note.to, () => {
    if (note.trackFrom === null) sing(note.hz);
    else play(track, note.trackFrom, note.trackTo, null);
  });
}

function show(index) {
  if (index === marked) return;
  document.querySelectorAll(".now").forEach((each) => each.classList.remove("now"));
  marked = index;
  if (index === null) return;
  curve.querySelector(`[data-note="${index}"]`)?.classList.add("now");
  document.querySelector(`.notes [data-note="${index}"]`)?.parentElement.classList.add("now");
}

const noteAt = (t) => [...NOTES].reverse().find((each) => each.from <= t + 0.001) || NOTES[0];

function toggle() {
  if (!recording.paused || !track.paused || tone) return stop();
  if (recording.currentTime >= recording.duration - 0.05) recording.currentTime = 0;
  play(recording, recording.currentTime, Infinity, null);
}

function step(way) {
  const t = recording.currentTime;
  const now = recording.paused && marked || (t < NOTES[0].from ? null : noteAt(t).index);
  const here = NOTES.findIndex((each) => each.index === now);
  const note = NOTES[Math.max(0, Math.min(NOTES.length - 1, here + way))];
  recording.currentTime = note.from;
  show(note.index);
  follow(note.from);
  const told = document.querySelector(`.notes [data-note="${note.index}"]`);
  if (told) say(told.parentElement.textContent);
}

// The picture goes along where the line would leave it.
function follow(t) {
  const box = byId("scroll"), x = xAt(t);
  if (x < box.scrollLeft || x > box.scrollLeft + box.clientWidth * 0.85) box.scrollLeft = x - box.clientWidth * 0.2;
}

function frame() {
  const t = recording.currentTime, x = xAt(t);
  line.setAttribute("x1", x);
  line.setAttribute("x2", x);
  if (until && until.sound.currentTime >= until.to) {
    const next = then;
    stop();
    next?.();
  }
  if (!recording.paused) {
    if (until?.to === Infinity) show(noteAt(t).index); // a touched note is shown from its touch on
    follow(t);
  }
  byId("play").textContent = recording.paused && track.paused && !tone ? "Play" : "Pause";
  byId("clock").textContent = minutes(t);
  if (document.activeElement !== byId("way") || !recording.paused) byId("way").value = t;
  requestAnimationFrame(frame);
}

recording.addEventListener("loadedmetadata", () => { byId("way").max = recording.duration; });
function seek(t) {
  recording.currentTime = t;
  if (t < NOTES[0].from) show(null);
  else show(noteAt(t).index);
  follow(t);
}
byId("way").addEventListener("input", (event) => seek(Number(event.target.value)));
byId("play").addEventListener("click", toggle);
document.addEventListener("click", (event) => {
  const place = event.target.closest("[data-note]");
  if (place) hear(place.dataset.note);
});
addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input")) return;
  const act = { " ": toggle, ArrowLeft: () => step(-1), ArrowRight: () => step(1), Home: () => seek(0) }[event.key];
  if (!act || (event.key === " " && event.target.closest("button")) || (event.key.startsWith("Arrow") && event.target.closest(".scroll"))) return;
  event.preventDefault();
  act();
});
requestAnimationFrame(frame);
recording.addEventListener("canplay", () => { document.documentElement.dataset.sound = "ready"; }, { once: true });
document.documentElement.dataset.ready = Math.round(performance.now());
})();
