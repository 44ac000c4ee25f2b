// The engraved drill: drawn from its data, marked as it sounds, and touched to start from a note.
const EDGE = 150; // around a system, in the drawing's units
const NARROW = matchMedia("(max-width: 999px)");
const DRAG_PX = 24;

class Score {
  constructor(root, onNote, onBars) {
    Object.assign(this, { root, onNote, onBars, set: null, marked: null, ghost: null, bar: null, followed: null });
    document.body.append(glyphStore());
    root.addEventListener("click", (event) => {
      const place = event.target.closest("[data-touch]");
      if (place && !this.dragged) this.onNote(Number(place.dataset.touch));
    });
    // Arrows go from note to note for whoever came by the tab key; a touched note leaves them alone.
    root.addEventListener("focusin", () => { this.byKeys = !pointed; });
    this.listenToDrags();
    root.addEventListener("keydown", (event) => this.key(event));
    NARROW.addEventListener("change", () => this.set && this.show(this.set));
    this.untouched = -Infinity;
    for (const kind of ["wheel", "touchmove"]) {
      addEventListener(kind, () => { this.untouched = performance.now(); }, { passive: true });
    }
  }

  // From bar to bar, with the mouse or sideways with a finger, sets the loop.
  listenToDrags() {
    let start = null;
    const { root } = this;
    const end = (event) => {
      const { range } = start || {};
      start = null;
      if (event.type === "pointerup" && range) this.onBars(range);
      else if (range) this.showLoop(this.kept);
    };
    root.addEventListener("pointerdown", (event) => {
      this.dragged = false;
      const bar = event.button === 0 && this.barAt(event);
      start = bar ? { bar, x: event.clientX, y: event.clientY } : null;
    });
    root.addEventListener("pointermove", (event) => {
      if (!start || Math.hypot(event.clientX - start.x, event.clientY - start.y) < DRAG_PX) return;
      if (!this.dragged) { this.kept = this.loop; root.setPointerCapture(event.pointerId); }
      this.dragged = true;
      const bar = this.barAt(event) || start.range?.[1] || start.bar;
      start.range = [Math.min(start.bar, bar), Math.max(start.bar, bar)];
      this.showLoop(start.range);
    });
    root.addEventListener("pointerup", end);
    root.addEventListener("pointercancel", end);
  }

  barAt({ clientX, clientY }) {
    const here = ([, place]) => {
      const { left, right, top, bottom } = place.getBoundingClientRect();
      return left <= clientX && clientX <= right && top - 20 <= clientY && clientY <= bottom + 20;
    };
    return [...this.barPlaces].find(here)?.[0];
  }

  show(set) {
    this.set = set;
    const width = NARROW.matches ? "narrow" : "wide";
    const systems = set.lines[width];
    const room = DATA.rooms[width];
    const right = Math.max(...systems.map(({ bars }) => Math.max(...bars.map((bar) => bar[2]))));
    this.heads = new Map();
    this.barPlaces = new Map();
    this.touches = new Map();
    const extent = Math.max(right, room * 0.6);
    this.root.replaceChildren(...systems.map((system) => this.system(system, extent)));
    this.touch(0);
    this.marked = this.ghost = this.bar = this.followed = null;
    this.showLoop(this.loop || null);
  }

  system(system, extent) {
    const [left, top, right, bottom] = system.box;
    const x = Math.min(left, 0) - EDGE, wide = Math.max(extent, right) + EDGE - x;
    const view = [x, top - EDGE, wide, bottom - top + 2 * EDGE];
    const svg = drawn("svg", { viewBox: view.join(" "), class: "system", role: "group" });
    // As high as all that stands in the line, words and fingers too, so that no edge runs through them.
    const air = EDGE * 0.75;
    const tall = { y: top - air, height: bottom - top + 2 * air };
    for (const [number, from, to] of system.bars) {
      const place = drawn("rect", { x: from, width: to - from, ...tall, rx: 60, class: "bar" });
      place.dataset.bar = number;
      this.barPlaces.set(number, place);
      svg.append(place);
    }
    const numbers = system.bars.map(([number]) => number).filter(Boolean);
    svg.setAttribute("aria-label", numbers.length > 1 ? `Bars ${numbers[0]} to ${numbers[numbers.length - 1]}` : `Bar ${numbers[0]}`);
    const ink = drawn("g", { "aria-hidden": "true" });
    for (const [width, soft, path] of system.paths) {
      ink.append(drawn("path", { d: path, class: `${width ? "line" : "ink"}${soft ? " soft" : ""}`, "stroke-width": width }));
    }
    ink.append(drawn("g", { class: "ink" }, ...glyphs(system.signs)));
    ink.append(...words(system.words));
    for (const [name, flat] of Object.entries(system.heads)) {
      const head = drawn("g", { class: "head ink" }, ...glyphs(flat));
      const number = Number(name.slice(1).split("-")[0]);
      if (name[0] === "n") head.dataset.note = number; else head.dataset.ghost = number;
      const key = name[0] + number;
      this.heads.set(key, [...(this.heads.get(key) || []), head]);
      ink.append(head);
    }
    svg.append(ink, ...this.touchPlaces(system, tall));
    return svg;
  }

  // A column for each note, from half way to the note before to half way to the next.
  touchPlaces(system, tall) {
    const columns = Object.entries(system.columns).map(([name, middle]) =>
      ({ number: Number(name.slice(1).split("-")[0]), middle })).sort((a, b) => a.middle - b.middle);
    const end = system.bars[system.bars.length - 1][2];
    return columns.map(({ number, middle }, n) => {
      const from = n ? (columns[n - 1].middle + middle) / 2 : Math.max(0, middle - 600);
      const to = n + 1 < columns.length ? (columns[n + 1].middle + middle) / 2 : end;
      const place = drawn("rect", { x: from, width: to - from, ...tall, class: "touch", role: "button",
        tabindex: -1, "aria-label": this.noteName(number) });
      place.dataset.touch = number;
      this.touches.set(number, place);
      return place;
    });
  }

  noteName(number) {
    const [bar, , pitch, finger, position, more] = this.set.notes[number];
    const told = [`Bar ${bar}`, sharpened(pitch)];
    if (finger !== null) told.push(finger === THUMB ? "thumb" : finger ? `finger ${finger}` : "open string");
    if (finger && position !== null) told.push(position ? `position ${position}` : "half position");
    if (more) told.push(more);
    return told.join(", ");
  }

  // One note at a time can be reached with the tab key; arrows go on from it.
  touch(number) {
    this.touches.forEach((place, n) => place.setAttribute("tabindex", n === number ? 0 : -1));
    this.reached = number;
  }

  key(event) {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const here = event.target.closest("[data-touch]");
    if (!here || !this.byKeys || event.ctrlKey || event.metaKey || event.altKey) return;
    if (step) {
      const number = Math.max(0, Math.min(this.set.notes.length - 1, Number(here.dataset.touch) + step));
      this.touch(number);
      this.touches.get(number).focus();
    } else if (event.key === "Enter") {
      this.onNote(Number(here.dataset.touch));
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }

  // `note` is its number or null; `yours` where the player plays it; `ghost` the number of a landing.
  mark({ note, yours, ghost, bar, follow }) {
    const name = note === null ? null : `${note}${yours ? " yours" : ""}`;
    if (name !== this.marked) {
      this.root.querySelectorAll(".head.now").forEach((head) => {
        head.classList.remove("now", "yours");
        head.removeAttribute("data-now");
      });
      (note === null ? [] : this.heads.get(`n${note}`) || []).forEach((head) => {
        head.classList.add("now");
        head.classList.toggle("yours", yours);
        head.dataset.now = "";
      });
      this.marked = name;
    }
    if (ghost !== this.ghost) {
      (this.heads.get(`g${this.ghost}`) || []).forEach((head) => head.classList.remove("passing"));
      (this.heads.get(`g${ghost}`) || []).forEach((head) => head.classList.add("passing"));
      this.ghost = ghost;
    }
    if (bar !== this.bar) {
      this.barPlaces.get(this.bar)?.classList.remove("now");
      this.barPlaces.get(bar)?.classList.add("now");
      this.bar = bar;
    }
    if (follow) this.follow(bar);
  }

  // Keep the sounding line in sight, unless the player has just scrolled elsewhere.
  follow(bar) {
    const system = this.barPlaces.get(bar)?.closest("svg");
    if (!system || system === this.followed || performance.now() - this.untouched < 4000) return;
    this.followed = system;
    const { top, bottom } = system.getBoundingClientRect();
    const high = byId("stand").getBoundingClientRect(), low = byId("transport").getBoundingClientRect();
    const ceiling = high.height;
    if (top >= ceiling && bottom <= low.top) return;
    scrollBy({ top: top - ceiling - 12, behavior: calm.matches ? "instant" : "smooth" });
  }

  showLoop(range) {
    this.loop = range;
    this.barPlaces.forEach((place, number) =>
      place.classList.toggle("looped", Boolean(range) && number >= range[0] && number <= range[1]));
  }
}
