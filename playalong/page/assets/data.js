// What the page was filled with, and the elements that it was given.
const DATA = JSON.parse(document.getElementById("data").textContent);
const byId = (id) => document.getElementById(id);
const isPlaying = () => document.documentElement.classList.contains("playing");
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const THUMB = -1; // among the fingers
const fingerName = (finger) => (finger === null ? "" : finger === THUMB ? "T" : String(finger));
const sharpened = (text) => text.replace(/^([A-G])#+/, (m) => m[0] + "♯".repeat(m.length - 1))
  .replace(/^([A-G])b+/, (m) => m[0] + "♭".repeat(m.length - 1));
// Whether the last thing touched was the screen or a mouse, not a key.
let pointed = false;
addEventListener("pointerdown", () => { pointed = true; }, true);
addEventListener("keydown", () => { pointed = false; }, true);
