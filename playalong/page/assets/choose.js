// What to play: key, string, tempo and stage. The order of practice is the order of the tracks.
class Choice {
  constructor(onChange) {
    this.onChange = onChange;
    this.boxes = Object.fromEntries(["key", "string"].map((name) => [name, byId(name)]));
    for (const box of Object.values(this.boxes)) box.addEventListener("change", () => this.setChosen());
    byId("stage").addEventListener("click", ({ target }) => this.stageChosen(target.closest("button")?.value));
    byId("tempo").addEventListener("click", ({ target }) => this.bpmChosen(Number(target.closest("button")?.value)));
    this.go({ track: 0 }, false);
  }

  get set() { return DATA.sets[this.setNumber]; }
  get track() { return this.session ?? DATA.tracks[this.trackNumber]; }
  get tracks() { return DATA.tracks.filter((each) => each.set === this.setNumber); }
  get rungs() { return [...new Set(this.tracks.map((each) => each.bpm))]; }
  get name() {
    if (this.session) return `Session, hands-free, ${this.set.name}`;
    const { bpm, stage } = this.track;
    return `${stage}, tempo ${bpm}, ${this.set.name}`;
  }

  // Take a track by its number in the page, or the session of a set.
  go({ track, session }, told = true) {
    this.session = session ?? null;
    if (session) this.trackNumber = session.parts[0].track; else this.trackNumber = track;
    this.setNumber = DATA.tracks[this.trackNumber].set;
    this.fill();
    if (told) this.onChange();
  }

  fill() {
    const { set, tracks } = this, now = DATA.tracks[this.trackNumber];
    const sets = DATA.sets;
    options(this.boxes.key, unique(sets.map((each) => [each.key, each.key_name])), set.key);
    options(this.boxes.string, unique(sets.filter((each) => each.key === set.key)
      .map((each) => [each.string ?? "", each.string_name || "all"])), set.string ?? "");
    this.showStages(unique(tracks.map((each) => [each.stage, each.stage])), now);
    this.showLadder(now);
    byId("next").disabled = this.step(1) === null;
    byId("before").disabled = this.step(-1) === null;
  }

  showStages(stages, now) {
    const sessions = DATA.sessions.map((each, n) => [each, n]).filter(([each]) => each.set === this.setNumber)
      .map(([each, n]) => [`session ${n}`, `session, ${Math.round(each.seconds / 60) || 1} min`]);
    const chosen = this.session ? `session ${DATA.sessions.indexOf(this.session)}` : now.stage;
    steps(byId("stage"), [...stages, ...sessions].map(([value, text]) =>
      ({ value, text, chosen: value === chosen, done: Way.has(this.set, now.bpm, value) })));
  }

  // The tempi as steps; one is done when each of its stages has been played to the end.
  showLadder(now) {
    const stages = [...new Set(this.tracks.map((each) => each.stage))];
    steps(byId("tempo"), this.rungs.map((bpm) => {
      const count = stages.filter((stage) => Way.has(this.set, bpm, stage)).length;
      return { value: bpm, text: `${bpm}`, chosen: !this.session && bpm === now.bpm, done: count === stages.length,
        told: count && count < stages.length ? `, ${count} of ${stages.length} stages played` : "", disabled: Boolean(this.session) };
    }));
  }

  setChosen() {
    const { key, string } = this.boxes;
    const own = DATA.sets.filter((each) => each.key === key.value);
    const set = DATA.sets.indexOf(own.find((each) => (each.string ?? "") === string.value) || own[0]);
    const session = this.session && DATA.sessions.find((each) => each.set === set);
    const { bpm, stage } = DATA.tracks[this.trackNumber];
    this.go(session ? { session } : { track: this.nearest(set, bpm, stage) });
  }

  stageChosen(stage) {
    if (!stage) return;
    if (stage.startsWith("session ")) this.go({ session: DATA.sessions[Number(stage.slice(8))] });
    else this.go({ track: this.nearest(this.setNumber, DATA.tracks[this.trackNumber].bpm, stage) });
  }

  bpmChosen(bpm) { if (bpm) this.go({ track: this.nearest(this.setNumber, bpm, this.track.stage) }); }

  // The track of a set at a tempo and stage, or what comes closest.
  nearest(set, bpm, stage) {
    const own = DATA.tracks.filter((each) => each.set === set);
    const from = own.filter((each) => each.stage === stage);
    const best = (from.length ? from : own).reduce((a, b) => (Math.abs(b.bpm - bpm) < Math.abs(a.bpm - bpm) ? b : a));
    return DATA.tracks.indexOf(best);
  }

  step(by) {
    const at = this.trackNumber + by;
    return !this.session && DATA.tracks[at]?.set === this.setNumber ? at : null;
  }

  goStep(by) { const at = this.step(by); if (at !== null) this.go({ track: at }); }

  goRung(by) {
    if (!this.session) this.bpmChosen(this.rungs[this.rungs.indexOf(this.track.bpm) + by]);
  }

  goStage(number) { this.stageChosen(byId("stage").children[number]?.value); }
}

const unique = (pairs) => [...new Map(pairs)];

function options(box, pairs, chosen) {
  box.replaceChildren(...pairs.map(([value, text]) => new Option(text, value, false, String(value) === String(chosen))));
  box.closest(".field").classList.toggle("alone", pairs.length < 2);
}

// Buttons in a row, kept where they stand so that the one in use keeps its focus.
function steps(row, list) {
  while (row.children.length > list.length) row.lastChild.remove();
  while (row.children.length < list.length) row.append(Object.assign(document.createElement("button"), { type: "button" }));
  list.forEach(({ value, text, chosen, done, told = "", disabled = false }, n) => {
    const button = row.children[n];
    Object.assign(button, { value, disabled });
    button.setAttribute("aria-pressed", String(chosen));
    button.classList.toggle("done", done);
    const heard = Object.assign(document.createElement("span"), { className: "unseen", textContent: done ? ", played" : told });
    button.replaceChildren(text, heard);
    if (chosen) row.scrollLeft = button.offsetLeft - (row.clientWidth - button.offsetWidth) / 2;
  });
  row.closest(".field").classList.toggle("alone", list.length < 2);
}
