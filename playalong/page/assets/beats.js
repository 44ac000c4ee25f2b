// The beats of the bar and, in words, what is happening now.
class Beats {
  constructor(list, line) {
    Object.assign(this, { list, line });
    this.places = Array.from({ length: DATA.beats }, (_, n) => {
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
  if (!piece) return next ? `Rest ${DATA.at_rest}. Next in ${clockText(next.from - t)}` : "The end";
  const beat = piece.beatAt(t);
  if (beat && beat.countIn) return countInWords(beat.countIn, piece.countIn);
  const bar = piece.barAt(t);
  if (!bar) return t < piece.start ? "Count-in" : "The end";
  if (bar.number === null) return "A bar of click between";
  const pass = piece.passes > 1 ? `, pass ${bar.pass} of ${piece.passes}` : "";
  return `${bar.upbeat ? "Upbeat to bar" : "Bar"} ${bar.number}${pass}: ${turnWords(bar, piece)}`;
}

// What was played in the pass before as well is there to play along with.
function turnWords({ number, pass, turn }, piece) {
  const again = turn === "s" && piece.bars.some((each) => each.number === number && each.pass === pass - 1 && each.turn === "s");
  return again ? "join in" : TURNS[turn];
}

function countInWords(bar, of) {
  if (of === 1) return "Count-in: click, then your first note";
  return `Count-in, bar ${bar} of ${of}: ${bar === of ? "your first note" : "the click alone"}`;
}

const TURNS = { s: "played for you", l: "your turn, some notes sound late", "-": "your turn" };

function clockText(seconds) {
  const whole = Math.max(0, Math.ceil(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}
