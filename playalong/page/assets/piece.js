// One playing of a drill, unpacked: notes, slides, bars and beats in seconds of the sound file.
const LETTERS = new Map([...DATA.letters].map((letter, n) => [letter, n]));

const column = (number) => {
  const [values, text] = DATA.columns[number];
  return text === undefined ? values : [...text].map((letter) => values[LETTERS.get(letter)]);
};
const columns = (numbers) => numbers.map(column);
const summed = (steps) => { let sum = 0; return steps.map((step) => (sum += step)); };

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
  constructor(set, music, from, seconds) {
    Object.assign(this, { set, from, to: from + seconds });
    const [grid, guide, travels] = DATA.musics[music];
    const [beats, counts, bars, passes, numbers, starts, lengths, upbeats, given] = columns(DATA.grids[grid]);
    const [turns, sounds, late, leads, durations, ghosts, heard] = columns(DATA.guides[guide]);
    this.addBars(summed(beats), counts, bars, passes, turns, upbeats);
    this.addNotes(summed(numbers), summed(starts), lengths, sounds, late, given);
    this.addSlides(columns(DATA.travels[travels]), summed(starts), leads, durations, ghosts, heard);
  }

  at(block) { return this.from + (block * DATA.block.frames) / DATA.block.rate; }

  addBars(beats, counts, numbers, passes, turns, upbeats) {
    Object.assign(this, { bars: [], beats: [], countIn: 0 });
    let first = 0;
    counts.forEach((count, n) => {
      const number = numbers[n], pass = passes[n], upbeat = upbeats[n] < 0;
      const skipped = upbeat ? DATA.upbeat_in + Math.floor(upbeats[n]) : 0;
      if (pass) this.bars.push({ number, pass, upbeat, turn: turns[n], from: this.at(beats[first]), to: this.at(beats[first + count]) });
      else this.countIn += 1;
      for (let beat = 0; beat < count; beat++, first++) {
        this.beats.push({ from: this.at(beats[first]), to: this.at(beats[first + 1]), beat: skipped + beat, countIn: pass ? 0 : this.countIn });
      }
    });
    this.passes = Math.max(...passes);
    this.start = this.bars[0].from;
  }

  addNotes(numbers, starts, lengths, sounds, late, [start, length]) {
    const note = (number, start, length, sounds, late) => {
      const [, cents, , finger] = this.set.notes[number];
      const from = this.at(start), to = this.at(start + length), heard = this.at(start + late);
      return { number, cents, finger, sounds, from, to, heard, pass: (this.barAt(from) || this.barAt(to))?.pass };
    };
    this.notes = numbers.map((number, n) => note(number, starts[n], lengths[n], sounds[n], late[n]));
    // The first note may be given softly in the count-in.
    this.given = start === undefined ? null : note(numbers[0], start, length, "s", 0);
  }

  addSlides([landings, fingers, from, shapes], starts, leads, durations, ghosts, heard) {
    this.slides = summed(landings).map((place, n) => {
      const start = starts[place] - leads[n];
      return {
        number: this.notes[place].number, landing: this.notes[place].from,
        from: this.at(start), to: this.at(start + durations[n]),
        finger: fingers[n], ghost: ghosts[n], sounds: heard[n],
        curve: summed(column(shapes[n])).map((tenths) => from[n] / 100 + tenths / 10),
      };
    });
  }

  givenAt(t) { return this.given && this.given.from <= t && t < this.given.to ? this.given : null; }
  noteAt(t) { return byTime(this.notes, t); }
  barAt(t) { return byTime(this.bars, t); }
  beatAt(t) { return byTime(this.beats, t); }

  // The slide, or the ghost note held after it, that stands at t.
  slideAt(t) {
    return this.slides.find((each) => each.from <= t && t < (each.ghost === 2 ? each.landing : each.to)) || null;
  }

  // Where the left hand is, in cents above the tonic; null before and after the music.
  centsAt(t) {
    const slide = this.slideAt(t);
    if (slide) return curveAt(slide.curve, Math.min(1, (t - slide.from) / (slide.to - slide.from)));
    return (this.noteAt(t) || this.givenAt(t))?.cents ?? null;
  }
}

// The pitch at a share of a slide's time, on the straight line between two of its values.
function curveAt(curve, share) {
  const at = share * (curve.length - 1), n = Math.min(Math.floor(at), curve.length - 2);
  return curve[n] + (curve[n + 1] - curve[n]) * (at - n);
}
