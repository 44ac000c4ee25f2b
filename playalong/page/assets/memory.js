// Where the player stopped, kept by the browser on this device only. A browser may refuse.
const Memory = {
  name: `playalong ${DATA.drill} ${DATA.title.slice(0, 80)}`,
  read() {
    try { return JSON.parse(localStorage.getItem(this.name)) || {}; } catch { return {}; }
  },
  write(what) {
    try { localStorage.setItem(this.name, JSON.stringify(what)); } catch { /* it plays without */ }
  },
};

// The way that lies behind: which stage of which tempo has been played to its end.
const Way = {
  name: `${Memory.name} way`,
  mark(set, bpm, stage) {
    this.played.add([set.name, bpm, stage].join("\n"));
    try { localStorage.setItem(this.name, JSON.stringify([...this.played])); } catch { /* it is forgotten */ }
  },
  has(set, bpm, stage) { return this.played.has([set.name, bpm, stage].join("\n")); },
};
try { Way.played = new Set(JSON.parse(localStorage.getItem(Way.name)) || []); } catch { Way.played = new Set(); }

function keep(app) {
  const { track, session, set, trackNumber } = app.choice;
  app.saved = app.sound.time;
  Memory.write({
    set: set.name, bpm: DATA.tracks[trackNumber].bpm, stage: session ? null : track.stage,
    at: app.saved, loop: app.loop.range, balance: app.sound.balance, letters: lettersWork(),
  });
}

function restore(app) {
  const kept = Memory.read();
  const set = Math.max(0, DATA.sets.findIndex((each) => each.name === kept.set));
  const session = kept.stage === null && DATA.sessions.find((each) => each.set === set);
  byId("letters").setAttribute("aria-pressed", String(kept.letters ?? true));
  for (const name of STEMS) {
    app.sound.balance[name] = kept.balance?.[name] ?? 1;
    byId(`${name}-level`).value = app.sound.balance[name];
    tellLevel(byId(`${name}-level`));
  }
  if (session) app.choice.go({ session }, false);
  else if (kept.set) app.choice.go({ track: app.choice.nearest(set, kept.bpm, kept.stage) }, false);
  app.chosen({ at: kept.at || 0, tell: false });
  const [from, to] = kept.loop || [];
  if (from >= app.firstBar && to >= from && to <= app.lastBar) app.setLoop([from, to], false);
}
