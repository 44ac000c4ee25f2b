// The page itself: what is chosen, heard, seen and remembered, held together.
const SAVE_SECONDS = 5;
const MOST_OF_IT = 0.8; // of a track, played before its end, so that it counts as played
const LOOK_MS = 100; // between two looks at the clock's hand, which no eye needs at every frame

class App {
  constructor() {
    this.sound = new Sound(byId("sound"), {
      ended: () => this.ended(),
      moved: () => this.draw(),
      failed: (name) => this.failed(name),
      interrupted: () => this.pause(),
      loaded: () => this.loaded(),
    });
    this.score = new Score(byId("score"), (number) => this.startFrom(number), (range) => this.setLoop(range));
    this.picture = new Picture(byId("picture"));
    this.beats = new Beats(byId("beats"), byId("state"));
    this.loop = new Loop();
    this.choice = new Choice(() => this.chosen());
    this.awake = new Awake(this);
    this.take = new Take(this);
    this.saved = 0;
    this.played = 0; // seconds of this track
    this.bind();
    showWords();
    listenToKeys(this);
    restore(this);
    this.ready = true;
    document.documentElement.dataset.ready = Math.round(performance.now());
  }

  bind() {
    const press = (name, act) => byId(name).addEventListener("click", act);
    press("play", () => this.toggle());
    press("back", () => this.stepBar(-1));
    press("on", () => this.stepBar(1));
    press("loop", () => this.toggleLoop());
    press("next", () => this.choice.goStep(1));
    press("before", () => this.choice.goStep(-1));
    press("again", () => this.again());
    press("go-on", () => this.goOn());
    for (const name of ["from-bar", "to-bar"]) byId(name).addEventListener("change", () => this.loopChosen(name));
    for (const name of STEMS) {
      byId(`${name}-level`).addEventListener("input", (event) => {
        this.sound.setBalance(name, Number(event.target.value));
        tellLevel(event.target);
        this.save();
      });
    }
    press("letters", () => { byId("letters").setAttribute("aria-pressed", String(!lettersWork())); this.save(); });
    byId("choose").addEventListener("submit", (event) => event.preventDefault());
    addEventListener("pagehide", () => this.save());
    document.addEventListener("visibilitychange", () => document.hidden && this.save());
    byId("way").addEventListener("input", (event) => this.leaveLoopFor(Number(event.target.value)));
  }

  // Pieces of the chosen track: one, or the parts of a session.
  makePieces() {
    const { track, set } = this.choice;
    this.pieces = track.parts
      ? track.parts.map((part) => new Piece(set, part.music, part.from, part.seconds))
      : [new Piece(set, track.music, 0, track.seconds)];
    // The legend names only what this picture shows.
    const slides = this.pieces.flatMap((piece) => piece.slides);
    for (const [name, shown] of [["slide", slides.length], ["ghost", slides.some((each) => each.ghost)]]) {
      const row = document.querySelector(`.legend .${name}`);
      if (row) row.hidden = !shown;
    }
  }

  pieceAt(t) { return this.pieces.find((each) => t < each.to && t >= each.from) || null; }
  nextPiece(t) { return this.pieces.find((each) => each.from > t) || null; }

  chosen({ at = 0, tell = true } = {}) {
    const playing = this.sound.track && this.sound.playing;
    const { set, track } = this.choice;
    this.played = 0;
    this.take?.stopped();
    this.sound.load(track, at);
    this.makePieces();
    this.take?.chosen();
    if (this.shownSet !== set) {
      this.shownSet = set;
      this.score.show(set);
      this.fillLoopBoxes();
    }
    byId("place").replaceChildren(set.name, ...onlyTempo(this.choice.rungs));
    byId("what").textContent = track.parts ? "session" : `${track.stage}, ${track.bpm}`;
    byId("stage-words").textContent = track.parts
      ? `The tracks of a tempo in a row, without a touch; rest between them ${DATA.at_rest}.`
      : `${track.stage}: ${DATA.stages[track.stage]}.`;
    byId("way").max = track.seconds;
    this.loop.set(this.loop.range, this.pieces);
    this.sound.setLoop(this.loop.stretches);
    this.score.showLoop(this.loop.range);
    this.moveTo(at);
    if (tell) say(this.choice.name);
    this.save();
    if (playing) this.play();
  }

  loaded() {
    byId("balance").hidden = !this.sound.adjustable;
    document.documentElement.dataset.sound = this.choice.track.audio;
    this.draw();
  }

  toggle() { if (this.sound.playing) this.pause(); else this.play(); }

  async play() {
    byId("state").classList.remove("failed");
    if (this.sound.time >= this.choice.track.seconds - 0.1) this.moveTo(0);
    if (this.loop.range && !this.loop.holds(this.sound.time)) this.moveTo(this.loop.stretches[0].from);
    if (await this.sound.play()) this.run();
    this.showPlaying();
  }

  pause() {
    this.sound.pause();
    this.showPlaying();
    this.draw();
    this.save();
    say(`Stopped. ${this.where()}`);
  }

  ended() {
    this.showPlaying();
    const { track, session, set } = this.choice;
    const next = this.choice.step(1);
    if (!session && this.played > MOST_OF_IT * track.seconds) {
      Way.mark(set, track.bpm, track.stage);
      this.choice.fill();
    }
    this.draw();
    this.save();
    const to = next === null ? "" : `${DATA.tracks[next].stage}, tempo ${DATA.tracks[next].bpm}`;
    byId("end").hidden = false;
    byId("go-on").hidden = next === null;
    byId("go-on").textContent = `Next: ${to}`;
    say(to ? `The end. Next: ${to}.` : "The end.");
  }

  again() { this.moveTo(0); this.play(); }
  goOn() { this.choice.goStep(1); this.play(); }

  failed(name) {
    this.showPlaying();
    const other = this.choice.session ? " Or choose another stage: its track may be there." : "";
    const text = `The sound ${name} is not beside this page. Unpack the whole folder, then open index.html in it.${other}`;
    byId("state").classList.add("failed");
    byId("state").textContent = text;
    say(text);
  }

  showPlaying() {
    const { playing } = this.sound;
    const now = performance.now();
    if (this.since) this.played += (now - this.since) / 1000;
    this.since = playing ? now : null;
    this.awake.show(playing);
    if (!playing) this.take.stopped();
    document.documentElement.classList.toggle("playing", playing);
    byId("play-word").textContent = playing ? "Pause" : "Play";
  }

  run() {
    if (this.running) return;
    this.running = true;
    const frame = () => {
      if (!this.sound.playing) { this.running = false; this.draw(); return; }
      this.sound.tick();
      this.draw();
      if (Math.abs(this.sound.time - this.saved) > SAVE_SECONDS) this.save();
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  moveTo(t) {
    byId("end").hidden = true;
    this.sound.seek(t);
    this.draw(t);
  }

  // To where a loop may not be.
  leaveLoopFor(t) {
    if (this.loop.range && !this.loop.holds(t)) this.setLoop(null);
    this.moveTo(t);
  }

  startFrom(number) {
    const t = this.sound.time;
    const now = this.pieceAt(t) || this.pieces[0];
    const pass = now.barAt(t)?.pass ?? 1;
    const found = [now, ...this.pieces].flatMap((piece) => piece.notes.filter((note) => note.number === number));
    const note = found.find((each) => each.pass === pass) || found[0];
    if (!note) return;
    this.score.touch(number);
    this.leaveLoopFor(note.from);
    if (!this.sound.playing) this.play();
  }

  stepBar(by) {
    const t = this.sound.time;
    const starts = this.pieces.flatMap((piece) => [piece.from, ...piece.bars.map((bar) => bar.from)]);
    const to = by > 0 ? starts.find((each) => each > t + 0.01) : starts.filter((each) => each < t - 0.4).pop() ?? 0;
    if (to !== undefined) this.leaveLoopFor(to);
  }

  get barNow() {
    const t = this.sound.time;
    return (this.pieceAt(t) || this.pieces[0]).barAt(t)?.number ?? this.firstBar;
  }

  get firstBar() { return this.pieces[0].bars[0].number; }
  get lastBar() { return Math.max(...this.pieces.flatMap((piece) => piece.bars.map((bar) => bar.number))); }

  toggleLoop() { this.setLoop(this.loop.range ? null : [this.barNow, this.barNow]); }

  stretchLoop(by) {
    if (!this.loop.range) { if (by > 0) this.toggleLoop(); return; }
    const [from, to] = this.loop.range;
    this.setLoop([from, Math.max(from, Math.min(this.lastBar, to + by))]);
  }

  loopChosen(name) {
    const chosen = byId(name).value, [from, to] = this.loop.range ?? [this.firstBar, this.firstBar];
    if (chosen === "") this.setLoop(null);
    else if (name === "from-bar") this.setLoop([Number(chosen), Math.max(chosen, to)]);
    else this.setLoop([Math.min(from, chosen), Number(chosen)]);
  }

  setLoop(range, tell = true) {
    this.loop.set(range, this.pieces);
    this.sound.setLoop(this.loop.stretches);
    this.score.showLoop(range);
    byId("loop").setAttribute("aria-pressed", String(Boolean(range)));
    this.showLoopBoxes();
    if (range && tell && !this.loop.holds(this.sound.time)) this.moveTo(this.loop.stretches[0].from);
    if (tell) say(range ? `Loop: ${range[0] === range[1] ? `bar ${range[0]}` : `bars ${range.join(" to ")}`}` : "Loop off");
    this.draw();
    this.save();
  }

  fillLoopBoxes() {
    const first = this.firstBar;
    const numbers = Array.from({ length: this.lastBar - first + 1 }, (_, n) => [first + n, first + n]);
    if (this.loop.range && this.loop.range[1] > this.lastBar) this.setLoop(null, false);
    options(byId("from-bar"), [["", "no loop"], ...numbers], "");
    options(byId("to-bar"), [["", "–"], ...numbers], "");
    this.showLoopBoxes();
  }

  showLoopBoxes() {
    [byId("from-bar").value, byId("to-bar").value] = this.loop.range ?? ["", ""];
  }

  draw(at) {
    const t = at ?? this.sound.time;
    const piece = this.pieceAt(t);
    const shown = piece || this.nextPiece(t) || this.pieces[this.pieces.length - 1];
    const note = piece && (piece.noteAt(t) || piece.givenAt(t));
    const slide = piece && piece.slideAt(t);
    const atRest = t === 0 && !this.sound.playing; // then the picture shows how the music begins
    this.picture.draw(shown, atRest ? shown.start : t, this.sound.playing);
    this.beats.show(piece, atRest ? -1 : t);
    if (!byId("state").classList.contains("failed")) this.beats.say(this.where(t));
    this.score.mark({
      note: note ? note.number : null,
      yours: Boolean(note) && (note.sounds === "-" || (note.sounds === "l" && t < note.heard)),
      ghost: slide && slide.ghost ? slide.number : null,
      bar: (piece && piece.barAt(t)?.number) ?? null,
      follow: this.sound.playing,
    });
    const now = performance.now();
    if (at === undefined && this.sound.playing && now - this.looked < LOOK_MS) return;
    this.looked = now;
    byId("way").value = t;
    const clock = `${clockText(t)} of\u00a0${clockText(this.choice.track.seconds)}`;
    if (clock === this.clock) return;
    byId("clock").textContent = this.clock = clock;
    byId("way").setAttribute("aria-valuetext", clock);
  }

  where(t = this.sound.time) {
    if (t === 0) return "Start at a low volume, then play";
    return stateWords(this.pieceAt(t), t, this.nextPiece(t));
  }

  tellWhere() { say(`${this.choice.name}. ${this.where()}`); }

  save() { if (this.ready) keep(this); }
}

new App();
