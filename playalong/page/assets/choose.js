// What to play: key, string, tempo and stage. The order of practice is the order of the tracks.
class Choice {
  constructor(onChange) {
    this.onChange = onChange;
    this.boxes = Object.fromEntries(["key", "string", "tempo", "stage"].map((name) => [name, byId(name)]));
    for (const [name, box] of Object.entries(this.boxes)) box.addEventListener("change", () => this.changed(name));
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
    options(this.boxes.tempo, this.rungs.map((bpm) => [bpm, `${bpm}`]), now.bpm);
    const stages = unique(tracks.map((each) => [each.stage, each.stage]));
    const sessions = DATA.sessions.map((each, n) => [each, n]).filter(([each]) => each.set === this.setNumber)
      .map(([each, n]) => [`session ${n}`, `session, hands-free, ${Math.round(each.seconds / 60) || 1} min`]);
    options(this.boxes.stage, [...stages, ...sessions],
      this.session ? `session ${DATA.sessions.indexOf(this.session)}` : now.stage);
    this.boxes.tempo.disabled = Boolean(this.session);
    const at = this.rungs.indexOf(now.bpm);
    byId("slower").disabled = Boolean(this.session) || at <= 0;
    byId("faster").disabled = Boolean(this.session) || at >= this.rungs.length - 1;
    byId("next").disabled = this.step(1) === null;
    byId("before").disabled = this.step(-1) === null;
  }

  changed() {
    const { key, string, tempo, stage } = this.boxes;
    const own = DATA.sets.filter((each) => each.key === key.value);
    const set = DATA.sets.indexOf(own.find((each) => (each.string ?? "") === string.value) || own[0]);
    const moved = set !== this.setNumber;
    const session = stage.value.startsWith("session ") && DATA.sessions[Number(stage.value.slice(8))];
    const other = moved && session && DATA.sessions.find((each) => each.set === set);
    if (session && (!moved || other)) return this.go({ session: other || session });
    this.go({ track: this.nearest(set, Number(tempo.value), stage.value) });
    return undefined;
  }

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
    if (this.session) return;
    const bpm = this.rungs[this.rungs.indexOf(this.track.bpm) + by];
    if (bpm) this.go({ track: this.nearest(this.setNumber, bpm, this.track.stage) });
  }

  goStage(number) {
    const stage = [...this.boxes.stage.options][number]?.value;
    if (!stage) return;
    this.boxes.stage.value = stage;
    this.changed();
  }
}

const unique = (pairs) => [...new Map(pairs)];

function options(box, pairs, chosen) {
  box.replaceChildren(...pairs.map(([value, text]) => new Option(text, value, false, String(value) === String(chosen))));
  box.closest(".field").classList.toggle("alone", pairs.length < 2);
}
