// The beats of the bar and, in words, what is happening now.
class Beats {
  constructor(list, line) {
    Object.assign(this, { list, line });
    this.places = Array.from({ length: DATA.meter.beats }, (_, n) => {
      const place = list.appendChild(document.createElement("li"));
      place.textContent = n + 1;
      return place;
    });
  }

  show(piece, t) {
    const beat = piece && piece.beatAt(t);
    this.list.hidden = !piece;
    this.places.forEach((place, n) => {
      place.classList.toggle("now", Boolean(beat) && beat.beat === n);
      place.classList.toggle("lead", Boolean(beat) && beat.countIn > 0);
    });
  }

  say(text) { if (this.line.textContent !== text) this.line.textContent = text; }
}

function stateWords(piece, t, next) {
  if (!piece) return next ? `Rest, instrument down. Next in ${clockText(next.from - t)}` : "The end";
  const beat = piece.beatAt(t);
  if (beat && beat.countIn) return countInWords(beat.countIn);
  const bar = piece.barAt(t);
  if (!bar) return t < piece.start ? "Count-in" : "The end";
  if (bar.number === null) return "A bar of click between";
  const pass = piece.passes > 1 ? `, pass ${bar.pass} of ${piece.passes}` : "";
  return `Bar ${bar.number}${pass}: ${turnWords(bar.letters)}`;
}

function countInWords(count) {
  const last = count === DATA.count_in;
  const what = DATA.count_in === 1 ? "click, then your first note" : last ? "your first note" : "the click alone";
  return DATA.count_in === 1 ? `Count-in: ${what}` : `Count-in, bar ${count} of ${DATA.count_in}: ${what}`;
}

function turnWords(letters) {
  if (letters.includes("s")) return "it sounds";
  return letters.includes("l") ? "your turn, landings sound late" : "your turn";
}
