// One playing of a drill: notes, slides, bars and beats in seconds of the sound file.
const byTime = (list, t) => {
  let low = 0, high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle].from <= t) low = middle + 1; else high = middle;
  }
  const found = list[low - 1];
  return found && t < found.to ? found : null;
};

class Piece {
  constructor(set, us, music, from, seconds) {
    Object.assign(this, { set, us, from, music: DATA.musics[music], to: from + seconds });
    this.passes = this.music.passes;
    const { bar, beat, beats } = DATA.meter;
    const perPlace = set.notes.length / set.places;
    const lead = DATA.count_in * bar;
    Object.assign(this, { notes: [], slides: [], bars: [], beats: [] });
    for (let n = 0; n < DATA.count_in * beats; n++) this.addBeat(n * beat, n % beats, Math.floor(n / beats) + 1);
    this.given = { number: this.music.first * perPlace, from: this.at(DATA.given[0]), to: this.at(DATA.given[1]),
      sounds: "s", cents: set.notes[this.music.first * perPlace][2], finger: set.notes[this.music.first * perPlace][4] };
    this.music.at.forEach((index, count) => {
      const place = this.music.first + Math.floor(count / this.passes);
      const pass = (count % this.passes) + 1;
      const start = lead + count * bar * (DATA.bars + DATA.gap);
      const [letters, slides] = DATA.passes[index];
      const first = place * perPlace;
      const last = count === this.music.at.length - 1;
      this.addBars(place, pass, start, letters, last);
      for (let n = 0; n < perPlace; n++) this.addNote(first + n, pass, start, letters[n]);
      for (const [landing, row] of slides) this.addSlide(first + landing, start, DATA.slides[row]);
    });
    this.start = this.at(lead);
    this.end = this.bars[this.bars.length - 1].to;
  }

  at(ticks) { return this.from + secondsAt(ticks, this.us); }

  addBeat(ticks, beat, countIn = 0) {
    this.beats.push({ from: this.at(ticks), to: this.at(ticks + DATA.meter.beat), beat, countIn });
  }

  addBars(place, pass, start, letters, last) {
    const { bar, beat, beats } = DATA.meter;
    const count = DATA.bars + (last ? 0 : DATA.gap);
    for (let n = 0; n < count; n++) {
      const number = n < DATA.bars ? place * DATA.bars + n + 1 : null;
      const at = start + n * bar;
      this.bars.push({ number, place, pass, letters, from: this.at(at), to: this.at(at + bar) });
      for (let b = 0; b < beats; b++) this.addBeat(at + b * beat, b);
    }
  }

  addNote(number, pass, start, sounds) {
    const [at, length, cents] = this.set.notes[number];
    const from = this.at(start + at), to = this.at(start + at + length);
    const heard = sounds === "l" ? this.at(start + at + length / 2) : from;
    this.notes.push({ number, pass, sounds, from, to, heard, cents, finger: this.set.notes[number][4] });
  }

  addSlide(number, start, row) {
    const [hold, length, kind, finger, fromCents, toCents, onString, ghost, sounds, mm] = row;
    const landing = start + this.set.notes[number][0];
    const ticks = length < 0 ? (DATA.longest * 1e6 * DATA.clock.grid) / this.us : length;
    const from = this.at(landing - hold - ticks), to = this.at(landing - hold);
    this.slides.push({ number, kind, finger, fromCents, toCents, onString, ghost, sounds, mm, from, to,
      landing: this.at(landing) });
  }

  // The first note is given softly in the count-in.
  givenAt(t) { return this.given.from <= t && t < this.given.to ? this.given : null; }
  noteAt(t) { return byTime(this.notes, t); }
  barAt(t) { return byTime(this.bars, t); }
  beatAt(t) { return byTime(this.beats, t); }

  // The slide, or the ghost note held after it, that stands at t.
  slideAt(t) {
    return this.slides.find((each) => each.from <= t && t < Math.max(each.to, each.ghost === 2 ? each.landing : 0)) || null;
  }

  // Where the left hand is, in cents above the tonic; null before and after the music.
  centsAt(t) {
    const slide = this.slideAt(t);
    if (slide && slide.to > slide.from) return slideCents(slide, Math.min(1, (t - slide.from) / (slide.to - slide.from)));
    const note = this.noteAt(t);
    if (note) return note.cents;
    return this.givenAt(t)?.cents ?? null;
  }
}

// The hand's place on the string moves by minimum jerk, and the pitch follows from the place:
// the part of the string that sounds, in proportion to 1 / hz, goes evenly with the place.
function slideCents({ fromCents, toCents, onString }, share) {
  const way = share ** 3 * (10 - 15 * share + 6 * share * share);
  if (!onString) return fromCents + (toCents - fromCents) * way;
  const start = 2 ** (-fromCents / 1200), end = 2 ** (-toCents / 1200);
  return -1200 * Math.log2(start + (end - start) * way);
}
