// The ear's path: pitch over time, passing under one string on which a finger moves.
const AHEAD_SECONDS = { wide: 7, narrow: 4 };
const STRING_AT = 0.26; // of the width: what lies left of it has sounded
const AIR_CENTS = 170; // over the highest and under the lowest pitch in sight
const LEAST_CENTS = 900;
const HEAD = 28; // pixels at the top, where bars are named
const NAMES = 38; // pixels at the left, where pitches are named
const FINGER = 12; // pixels from the middle of the finger on the string to its edge
const RIM = 4; // pixels around the count-in's plate

class Picture {
  constructor(canvas) {
    this.canvas = canvas;
    this.pen = canvas.getContext("2d");
    this.colours();
    for (const query of ["(prefers-color-scheme: dark)", "(forced-colors: active)"]) {
      matchMedia(query).addEventListener("change", () => { this.colours(); this.again(); });
    }
    new ResizeObserver(() => { this.fit(); this.again(); }).observe(canvas);
  }

  colours() {
    const style = getComputedStyle(document.documentElement);
    this.colour = Object.fromEntries(["board", "fret", "string", "sound", "slide", "yours", "home", "chalk"]
      .map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
    this.font = style.getPropertyValue("--text").trim() || "serif";
  }

  fit() {
    const ratio = devicePixelRatio || 1;
    const { clientWidth, clientHeight } = this.canvas;
    Object.assign(this, { wide: clientWidth, high: clientHeight, ratio });
    this.canvas.width = Math.round(clientWidth * ratio);
    this.canvas.height = Math.round(clientHeight * ratio);
  }

  show(piece) {
    this.piece = piece;
    this.low = null;
    const named = new Map(piece.set.notes.map(([, cents, pitch]) => [Math.round(cents), sharpened(pitch)]));
    this.named = [...named].sort((a, b) => a[0] - b[0]);
  }

  again() { if (this.piece) this.draw(this.piece, this.t || 0, false); }

  draw(piece, t, moving) {
    if (piece !== this.piece) this.show(piece);
    this.t = t;
    if (!this.wide) this.fit();
    const pen = this.pen;
    pen.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    pen.clearRect(0, 0, this.wide, this.high);
    this.second = this.wide / (this.wide < 700 ? AHEAD_SECONDS.narrow : AHEAD_SECONDS.wide);
    this.string = this.wide * STRING_AT;
    // Where motion is not wanted the picture stands still and only the string steps through it.
    this.left = calm.matches ? this.page(t) : t - this.string / this.second;
    this.now = (t - this.left) * this.second;
    this.until = this.left + this.wide / this.second;
    this.range(t, moving && !calm.matches);
    this.drawHome();
    this.drawBars();
    [piece.given, ...piece.notes].forEach((note) => note && this.inSight(note) && this.drawNote(note, t));
    piece.slides.forEach((slide) => this.inSight(slide) && this.drawSlide(slide));
    this.drawPitches();
    this.drawString(t);
    this.drawCountIn(t);
  }

  inSight({ from, to }) { return to > this.left && from < this.until; }

  page(t) {
    const span = this.wide / this.second;
    return Math.floor((t - this.piece.from) / (span * 0.8)) * span * 0.8 + this.piece.from - 0.1 * span;
  }

  range(t, smooth) {
    const near = this.piece.notes.filter(({ from, to }) => to > this.left && from < this.until + 1);
    const cents = (near.length ? near : this.piece.notes.slice(0, 8)).map((note) => note.cents);
    let low = Math.min(...cents) - AIR_CENTS, high = Math.max(...cents) + AIR_CENTS;
    const lack = Math.max(0, LEAST_CENTS - (high - low)) / 2;
    low -= lack; high += lack;
    const share = smooth && this.low !== null ? 0.06 : 1;
    this.low = (this.low ?? 0) + (low - (this.low ?? 0)) * share;
    this.highest = (this.highest ?? 0) + (high - (this.highest ?? 0)) * share;
  }

  x(t) { return (t - this.left) * this.second; }
  y(cents) { return this.high - 8 - ((cents - this.low) / (this.highest - this.low)) * (this.high - 8 - HEAD); }

  line(colour, width, dash, ...points) {
    const pen = this.pen;
    pen.strokeStyle = colour; pen.lineWidth = width; pen.setLineDash(dash);
    pen.beginPath();
    points.forEach(([x, y], n) => (n ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.stroke();
    pen.setLineDash([]);
  }

  get pitches() {
    return this.named.map(([cents, pitch]) => [this.y(cents), pitch]).filter(([y]) => y > 8 && y < this.high - 4);
  }

  // From where to where home is which pitch: it moves where the drone goes along with the key.
  homes() {
    const { homes } = this.piece.set;
    if (!homes.length) return [[0, this.wide, 0]];
    const moved = ({ number }) => homes.filter(([bar]) => bar <= number).pop()?.[1] || 0;
    const bars = this.piece.bars.filter((bar) => this.inSight(bar));
    return [[0, this.x(this.piece.start), 0], ...bars.map((bar) => [this.x(bar.from), this.x(bar.to), moved(bar)])];
  }

  // A fine line for each pitch of this drill, a warm band for home in every octave.
  drawHome() {
    this.pen.globalAlpha = 0.6;
    for (const [from, to, home] of this.homes()) {
      for (let cents = home + Math.ceil((this.low - home) / 1200) * 1200; cents < this.highest; cents += 1200) {
        this.line(this.colour.home, 12, [], [from, this.y(cents)], [to, this.y(cents)]);
      }
    }
    this.pen.globalAlpha = 1;
    this.pitches.forEach(([y]) => this.line(this.colour.fret, 1, [], [0, y], [this.wide, y]));
  }

  // Their names, on a strip of the board at the left.
  drawPitches() {
    const pen = this.pen;
    const shade = pen.createLinearGradient(0, 0, 56, 0);
    pen.fillStyle = this.colour.board; // as six digits, also where it is a system colour's name
    shade.addColorStop(0.65, pen.fillStyle);
    shade.addColorStop(1, `${pen.fillStyle}00`);
    pen.fillStyle = shade;
    pen.fillRect(0, 0, 56, this.high);
    pen.font = `13px ${this.font}`;
    pen.textBaseline = "middle"; pen.textAlign = "left";
    pen.fillStyle = this.colour.chalk;
    let below = Infinity;
    this.pitches.forEach(([y, pitch]) => {
      if (below - y < 14) return;
      below = y;
      pen.fillText(pitch, 8, y + 1);
    });
  }

  drawBars() {
    const pen = this.pen;
    pen.font = `italic 13px ${this.font}`;
    pen.textBaseline = "top";
    pen.textAlign = "left";
    for (const bar of this.piece.bars) {
      if (!this.inSight(bar)) continue;
      const x = this.x(bar.from);
      this.line(this.colour.fret, 2, [], [x, 0], [x, this.high]);
      if (!bar.number || bar.upbeat || x < 34) continue;
      pen.fillStyle = this.colour.chalk;
      pen.fillText(`bar ${bar.number}`, x + 6, 5);
    }
  }

  drawNote(note, t) {
    const y = this.y(note.cents), end = this.x(note.to) - 2;
    const round = (x, colour, filled) => {
      const pen = this.pen;
      pen.beginPath();
      if (pen.roundRect) pen.roundRect(x, y - 6, Math.max(3, end - x), 12, 6);
      else pen.rect(x, y - 6, Math.max(3, end - x), 12); // older browsers
      if (filled) { pen.fillStyle = colour; pen.fill(); } else { pen.strokeStyle = colour; pen.lineWidth = 1.6; pen.stroke(); }
    };
    const here = note.from <= t && t < note.to;
    if (note.sounds !== "s") round(this.x(note.from) + 1, this.colour.yours, false);
    if (note.sounds === "s") round(this.x(note.from) + 1, this.colour.sound, true);
    if (note.sounds === "l") round(this.x(note.heard), this.colour.sound, true);
    if (note.finger === null || here) return;
    const pen = this.pen;
    pen.font = `13px ${this.font}`;
    pen.textBaseline = "alphabetic";
    pen.textAlign = "left";
    pen.fillStyle = this.colour.chalk;
    pen.fillText(fingerName(note.finger), this.x(note.from) + 3, y - 10);
  }

  drawSlide(slide) {
    const step = (slide.to - slide.from) / (slide.curve.length - 1);
    const points = slide.curve.map((cents, n) => [this.x(slide.from + n * step), this.y(cents)]);
    this.line(slide.sounds ? this.colour.slide : this.colour.yours, slide.sounds ? 4 : 1.5, slide.sounds ? [] : [4, 4], ...points);
    if (!slide.ghost) return;
    const pen = this.pen, y = this.y(slide.curve[slide.curve.length - 1]);
    if (slide.ghost === 2) this.line(this.colour.slide, 4, [1, 5], [this.x(slide.to), y], [this.x(slide.landing), y]);
    pen.beginPath();
    pen.arc(this.x(slide.to), y, 5, 0, 2 * Math.PI);
    pen.fillStyle = this.colour.board; pen.fill();
    pen.strokeStyle = this.colour.slide; pen.lineWidth = 2; pen.stroke();
  }

  drawString(t) {
    const x = this.now, cents = this.piece.centsAt(t);
    this.line(this.colour.string, 3, [], [x, 0], [x, this.high]);
    this.line(this.colour.board, 3, [1, 3], [x, 0], [x, this.high]); // its winding
    if (cents === null) return;
    const pen = this.pen, y = this.y(cents), note = this.piece.noteAt(t) || this.piece.givenAt(t);
    // What sounds is the string between finger and bridge, and the bridge is up here.
    if (note && (note.sounds === "s" || (note.sounds === "l" && t >= note.heard))) {
      this.line(this.colour.sound, 4, [], [x, 0], [x, y]);
    }
    const finger = (this.piece.slideAt(t) || note).finger;
    pen.beginPath();
    pen.arc(x, y, FINGER, 0, 2 * Math.PI);
    pen.fillStyle = this.colour.string; pen.fill();
    pen.lineWidth = 2; pen.strokeStyle = this.colour.board; pen.stroke();
    pen.fillStyle = this.colour.board;
    pen.font = `bold 15px ${this.font}`;
    pen.textAlign = "center"; pen.textBaseline = "middle";
    pen.fillText(fingerName(finger), x, y + 1);
  }

  // On a plate in the corner that notes have left behind, like the beat below: no finger stands there.
  drawCountIn(t) {
    const beat = this.piece.beatAt(t);
    if (!beat || !beat.countIn) return;
    const pen = this.pen, text = String(beat.beat + 1), room = this.string - FINGER - NAMES - 2 * RIM;
    const font = (size) => `bold ${size}px ${this.font}`;
    pen.font = font(100);
    const wide = pen.measureText("0".repeat(text.length)).width / 100; // of the letters' size
    const size = Math.round(Math.min(this.high * 0.4, (room - RIM) / wide));
    const plate = { x: NAMES + RIM, y: RIM, wide: size * wide + RIM, high: size * 1.05 };
    pen.fillStyle = this.colour.board;
    pen.fillRect(plate.x - RIM, 0, plate.wide + 2 * RIM, plate.high + 2 * RIM);
    pen.fillStyle = this.colour.sound;
    pen.fillRect(plate.x, plate.y, plate.wide, plate.high);
    pen.fillStyle = this.colour.board;
    pen.font = font(size);
    pen.textAlign = "center"; pen.textBaseline = "middle";
    pen.fillText(text, plate.x + plate.wide / 2, plate.y + plate.high * 0.54);
  }
}
