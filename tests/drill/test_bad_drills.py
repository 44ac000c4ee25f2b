"""Every way of writing a drill wrong: the answer names file, line, words and the right thing."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import pytest

from playalong.drill.load import load, parse
from playalong.drill.origin import DrillError
from playalong.making.plan import Options, plan_build
from playalong.music.key import ALL_KEYS
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write


class Bad(NamedTuple):
    """`line` is None where a whole file is at fault; `words` all stand in the message."""

    id: str
    text: str | bytes
    line: int | None
    words: tuple[str, ...]
    unplayable: bool = False  # found when a key and a string are taken, not when loading


def drill(*lines: str, bar: str = "p1: 1 2 3 1 p3: 1 2 p1: 2 1", instrument: str = "violin") -> str:
    """A good drill in three lines, and what the test adds from line 4 on."""
    return "\n".join(('title = "Try"', f'instrument = "{instrument}"', f'bar = "{bar}"', *lines))


def bar(text: str, *words: str, id: str = "", instrument: str = "violin") -> Bad:
    """A bar at fault, on line 3."""
    return Bad(id or f"bar {text}", drill(bar=text, instrument=instrument), 3, words)


def token(text: str, *words: str) -> Bad:
    """One token at fault in a bar that is whole without it."""
    return Bad(f"token {text}", drill(bar=f"{text} 1 2 3 1 2 3 1"), 3, (f'"{text}"', *words))


def setting(line: str, *words: str) -> Bad:
    """One setting at fault, on line 4."""
    return Bad(line, drill(line, "# end"), 4, words)


def below(header: str, line: str, *words: str) -> Bad:
    """One setting at fault under a table's header, on line 6."""
    return Bad(f"{header} {line}", drill("", header, line, "# end"), 6, words)


def unplayable(text: str, *words: str, id: str = "", also: str = "", **kind: str) -> Bad:
    return Bad(id or f"play {text}", drill(also, bar=text, **kind), 3, words, unplayable=True)


FILES = [
    Bad("not UTF-8", b'title = "\xc3\xa9"\ninstrument = "\xe9"\n', 2, ("byte 0xe9", "UTF-8")),
    Bad("UTF-16", 'title = "x"'.encode("utf-16"), 1, ("byte 0xff", "save the file as UTF-8")),
    Bad("ten megabytes", b"#" * 10_000_000, None, ("10,000,000 bytes", "262,144 at most")),
    Bad("empty file", "", None, ("no setting", "title, instrument and bar")),
    Bad("comment only", "# a drill\n", None, ("no setting", "title, instrument and bar")),
    Bad(
        "unquoted text",
        'title = "x"\ninstrument = violin\n',
        2,
        ("instrument = violin", 'in double quotes: name = "words"'),
    ),
    Bad(
        "unclosed string", 'title = "x\ninstrument = "violin"\n', 1, ('title = "x', "double quote")
    ),
    Bad("curly quotes", "title = “x”\n", 1, ("title = “x”", "straight double quotes")),
    Bad("a word alone", 'title = "x"\nviolin\n', 2, ("violin", "not TOML", "=")),
    Bad("a name twice", 'title = "x"\ntitle = "y"\n', 2, ('title = "y"', "stands twice")),
    Bad("a table twice", drill("[tempo]", "[tempo]"), 5, ("[tempo]", "stands twice")),
    Bad("a value left out", 'title = "x"\nbar =\n', 2, ("bar =", "after the =")),
    Bad(
        "a list left open", drill('keys = ["F major"'), 4, ("keys", "the list has no ] at its end")
    ),
    Bad("brackets without end", "title = " + "[" * 5000, None, ("nested too deep",)),
    Bad("a number without end", "title = " + "9" * 5000, None, ("number", "too long")),
    Bad("title missing", drill().replace('title = "Try"\n', ""), None, ("title is missing",)),
    Bad(
        "instrument missing",
        drill().replace('instrument = "violin"\n', ""),
        None,
        ("instrument is missing", "title, instrument, bar"),
    ),
    Bad("bar missing", 'title = "x"\ninstrument = "viola"', None, ("bar is missing",)),
]

SETTINGS = [
    setting('key = "F major"', '"key" is not known', 'did you mean "keys"'),
    setting("tempos = 60", '"tempos" is not known', 'did you mean "tempo"'),
    setting("start = 60", '"start" is not known', "under [tempo]"),
    setting("zzz = 60", '"zzz" is not known', '"keys"', '"tempo"'),
    below("[tempo]", "gaol = 80", '"gaol" is not known here in [tempo]', 'did you mean "goal"'),
    below("[tempo]", 'keys = ["F major"]', '"keys"', "above the first [table]"),
    below("[drones]", 'on = "off"', '"drones" is not known', 'did you mean "drone"')._replace(
        line=5
    ),
    setting("tempo = 60", "tempo is a table", "[tempo]"),
    setting('drone = "off"', "drone is a table", "[drone]"),
    setting("stage = 1", "[stage.NAME]"),
    Bad("title is a number", drill().replace('"Try"', "7"), 1, ("title: 7 is not text in quotes",)),
    Bad("title is blank", drill().replace('"Try"', '"  "'), 1, ("title: is empty",)),
    Bad("title too long", drill().replace("Try", "x" * 301), 1, ("301 characters", "300 at most")),
    Bad("title with a bell", drill().replace("Try", "\\u0007"), 1, ("title", "control character")),
    Bad("title is a list", drill().replace('"Try"', '["a"]'), 1, ("title: a list is not text",)),
    Bad(
        "bar is a list",
        'title="x"\ninstrument="viola"\nbar=["1"]',
        3,
        ("a list is not bar notation",),
    ),
    Bad(
        "a table where a value stands",
        drill("[note]", "x = 1"),
        4,
        ("note: a table is not known here", '"eighth"'),
    ),
    Bad("unknown instrument", drill(instrument="violn"), 2, ('"violn"', 'did you mean "violin"')),
    setting('keys = ["F major", "H major"]', 'keys: "H major" is not a key'),
    setting('keys = "F"', '"F" is not a key', '"F major"'),
    setting('keys = ["G# major"]', '"G# major" would need 8 sharps', '"Ab major"'),
    Bad(
        "a key in a long list",
        drill("keys = [", '"F major",', '"Q",', "]"),
        6,
        ('"Q" is not a key',),
    ),
    setting('strings = ["D", "C"]', 'violin has no "C" string', "E, A, D, G"),
    setting("strings = 4", "strings: 4 is not text in quotes"),
    setting("strings = []", "strings: is an empty list", "default"),
    setting("keys = []", "keys: is an empty list"),
    setting("climb = []", "climb: is an empty list"),
    setting('strings = ["D", "D"]', 'strings: "D" stands twice'),
    setting('keys = ["F major", "f  major"]', 'keys: "F major" stands twice'),
    setting('stages = ["listen", "listen"]', 'stages: "listen" stands twice'),
    setting('stages = ["lisen"]', '"lisen" is not a stage', 'did you mean "listen"'),
    setting('bow = "half"', 'bow: "half" is not known', 'did you mean "half bar"'),
    setting('note = "eigth"', '"eigth" is not known', 'did you mean "eighth"'),
    setting('note = "crotchet"', '"crotchet" is not known', '"quarter"'),
    setting('meter = "4/5"', '"4/5" is not a meter', "like 4/4"),
    setting('meter = "0/4"', '"0/4" is not a meter'),
    setting("meter = 4", "meter: 4 is not a meter in quotes"),
    setting("climb = 0", "climb: 0 is outside 1 to 21"),
    setting("climb = [1, 22]", "climb: 22 is outside 0 to 21"),
    setting("climb = true", "climb: true is not a whole number"),
    setting("passes = 0", "passes: 0 is outside 1 to 16"),
    setting("passes = 1.5", "passes: 1.5 is not a whole number"),
    setting("gap = -1", "gap: -1 is outside 0 to 8 bars"),
    setting('rhythm = ["0"]', 'rhythm: "0" is not a length', '"3/2"'),
    setting('rhythm = ["1/0"]', 'rhythm: "1/0" is not a length'),
    setting('rhythm = ["1e999999999"]', '"1e999999999" is not a length'),
    setting("rhythm = [0.5]", "rhythm: 0.5 is not a length", '"1/2"'),
    setting("rhythm = [-1]", "rhythm: -1 is not a length"),
    below("[tempo]", "start = 19", "tempo.start: 19 is outside 20 to 320 beats a minute"),
    below("[tempo]", "goal = 321", "tempo.goal: 321 is outside 20 to 320 beats a minute"),
    below("[tempo]", 'start = "60"', 'tempo.start: "60" is not a whole number'),
    below("[tempo]", "start = 60.5", "tempo.start: 60.5 is not a whole number"),
    below("[tempo]", "start = 0x" + "f" * 300, "so large a number is outside 20 to 320"),
    Bad(
        "goal below start",
        drill("[tempo]", "start = 80", "goal = 60"),
        6,
        ("tempo.goal: 60 lies below the start, 80",),
    ),
    Bad("goal in a line", drill("tempo = { start = 80, goal = 60 }"), 4, ("60 lies below",)),
    below("[tempo]", 'step = "4"', '"4" is not a tempo step', '"+4"', '"+5%"'),
    below("[tempo]", 'step = "+0"', '"+0" hardly climbs', '"+1"'),
    below("[tempo]", 'step = "+0.01%"', '"+0.01%" hardly climbs', '"+1%"'),
    below("[tuning]", "a4 = 379", "tuning.a4: 379 is outside 380 to 480 Hz"),
    below("[tuning]", "a4 = nan", "tuning.a4: nan is outside 380 to 480 Hz"),
    below("[tuning]", "a4 = 1" + "0" * 400, "so large a number is outside 380 to 480 Hz"),
    below("[tuning]", 'temperament = "pure"', '"pure" is not known', '"just"'),
    below("[drone]", 'on = "tonik"', '"tonik" is not a drone', 'did you mean "tonic"'),
    below("[drone]", 'on = "open X"', '"open X" is not a drone', 'did you mean "open D"'),
    below("[drone]", 'on = "open C"', 'violin has no "C" string', "E, A, D, G"),
    below("[drone]", 'on = "C0"', "drone.on: the drone would sound C0, too low to hear"),
    below("[drone]", 'on = "A99"', '"A99" is not a drone', "a pitch like A3"),
    below("[drone]", "octave = -9", "drone.octave: -9 is outside -3 to 3"),
    below("[click]", 'every = "beats"', '"beats" is not known', 'did you mean "beat"'),
    below("[click]", "count_in = 0", "click.count_in: 0 is outside 1 to 4 bars"),
    below("[slide]", 'lead = "old"', '"old" is not known', 'did you mean "old finger"'),
    below("[slide]", 'lead = { up = "new" }', '"new" is not known', 'did you mean "new finger"'),
    below("[slide]", 'lead = { over = "old finger" }', '"over" is not known', '"up"'),
    below("[slide]", "share = 0.9", "slide.share: 0.9 is outside 0.05 to 0.7"),
    below("[session]", "taps = 1", "session.taps: 1 is not true or false"),
    below("[stage.soft]", 'guides = ["soft"]', '"guides"', "[stage.soft]", 'did you mean "guide"'),
    below("[stage.soft]", 'guide = ["loud"]', '"loud" is not known', '"full"'),
    below("[stage.soft]", 'drone = "on"', 'drone: "on" is not true or false'),
    below("[stage.listen]", 'guide = "full"', '"listen" is a built-in stage')._replace(line=5),
    below('[stage."../up"]', 'guide = "full"', '"../up" cannot name a stage')._replace(line=5),
    Bad(
        "string too short",
        'title = "x"\nbar = "1"\n[instrument]\nname = "violin"\nstring_length_mm = 100',
        5,
        ("string_length_mm = 100 is outside 164 to 377 mm for violin",),
    ),
    Bad(
        "instrument table without a name",
        'title = "x"\nbar = "1"\n[instrument]\nstring_length_mm = 300',
        3,
        ("[instrument] needs a name", 'name = "violin"'),
    ),
    Bad(
        "instrument table with another setting",
        'title = "x"\nbar = "1"\n[instrument]\nname = "viola"\nlength = 300',
        5,
        ('"length" is not known here', '"string_length_mm"'),
    ),
    Bad(
        "a flute's string length",
        'title = "x"\nbar = "1"\ninstrument = { name = "flute", string_length_mm = 300 }',
        3,
        ("no strings are known for flute", "leave string_length_mm out"),
    ),
]

AGREEMENT = [
    Bad(
        "half-bar bows in 3/4",
        drill('meter = "3/4"', 'bow = "half bar"', bar="1 2 3 1 2 3"),
        5,
        ('bow: "half bar" does not fall on a beat in 3/4', '"bar" or "beat"'),
    ),
    Bad(
        "half-bar clicks in 5/4",
        drill('meter = "5/4"', "[click]", 'every = "half bar"', bar="1*10"),
        6,
        ("click.every", "does not fall on a beat in 5/4"),
    ),
    setting('bow = "bar"', "slurs ( ) already")._replace(
        id="bow and slurs", text=drill('bow = "bar"', bar="(1 2 3 1) (2 3 4 1)")
    ),
    setting('bow = "bar"', "slurs ( ) already")._replace(
        id="bow and one slur", text=drill('bow = "bar"', bar="(1 2) 3 1 2 3 4 1")
    ),
    Bad(
        "strings twice named",
        drill('strings = ["D"]', bar="D: 1 2 3 1 A: 1 2 3 1"),
        4,
        ("strings: the bar names its strings itself", "leave this out"),
    ),
    Bad(
        "the third of three bars too long",
        'title = "x"\ninstrument = "violin"\nbar = """\n1*8 |\n1*8 |\n1*9\n"""',
        6,
        ("bar 3 has 9 eighths where 4/4 takes 8 eighths", "1 eighth too long"),
    ),
    Bad(
        "the second of three bars empty",
        'title = "x"\ninstrument = "violin"\nbar = """1*8 |\n  |\n1*8"""',
        3,
        ("bar 2 is empty",),
    ),
    Bad(
        "a bad token far down",
        'title = "x"\ninstrument = "violin"\nbar = """\\\n1*8 |\n7*8"""',
        5,
        ('"7*8"',),
    ),
    Bad(
        "a pitch nobody hears",
        drill("[drone]", 'on = "A8"', "octave = 1"),
        6,
        ("drone.octave: the drone would sound A9, too high to hear",),
    ),
    Bad(
        "an octave nobody hears",
        drill("[drone]", "octave = -3", instrument="bass", bar="E2*8"),
        5,
        ("drone.octave: the drone would sound C-1, too low to hear",),
    ),
    bar("1 2 3 1 2 3 1", "bar 1 has 7 eighths where 4/4 takes 8 eighths", "1 eighth too short"),
    bar("1 2 3 1 2 3 1 1*3/2", "8 1/2 eighths where", "1/2 eighth too long"),
    bar("1*1/961 2 3 1 2 3 1", '"1*1/961" would last 1/1922 of a quarter', "960 parts"),
    Bad(
        "D of the cello",
        drill(bar="D: E3*4 E: E3*4", instrument="cello"),
        3,
        ('"E:"', "A, D, G, C"),
    ),
    bar("X: 1*8", '"X:"', "A to G", id="string X"),
    bar("B: 1*8", '"B:" is not a string of the violin', "E, A, D, G"),
    bar("1*4 D: 1*4", '"1*4": on which string?', 'like "E:"', id="finger before any string"),
    bar(
        "1*8",
        "fingers are for violin, viola, cello and bass; for flute",
        id="fingers on a flute",
        instrument="flute",
    ),
    bar("D: C5*8", "no strings are known for flute", id="strings on a flute", instrument="flute"),
    bar("", "the bar is empty", "a token is", id="empty bar"),
    bar("r*8", "rests only"),
    bar("1*8 |", "bar 2 is empty", "take out a |"),
    bar("p1: D:", "the bar is empty", id="no note at all"),
]

TOKENS = [
    token("5", "fingers are 0 (open string) to 4, not 5"),
    token("12", "fingers are 0 (open string) to 4, not 12"),
    token("123", "apart by spaces"),
    bar("9" * 5000, "is too long; tokens are apart by spaces", id="token of 5,000 digits"),
    token("E4=5", "fingers are 0 (open string) to 4, not 5"),
    token("0#", "an open string cannot be altered"),
    token("0x", "an open string cannot be altered"),
    token("~0", "no finger slides into an open string"),
    token("2x", "finger 2 does not reach", "1x, 3x and 4x"),
    token("1##", "one of #, b or n may follow"),
    token("3xx", "one of #, b or n may follow"),
    token("#2", 'did you mean "2#"'),
    token("2♯", 'did you mean "2#"'),
    token("p3", 'did you mean "p3:"'),
    token("P3:", 'did you mean "p3:"'),
    token("p!3:", 'did you mean "p3!:"'),
    token("p3:1", 'a space after the colon: "p3: 1"'),
    token("p22:", "positions go from 0 (half position) to 21"),
    token("d:", 'did you mean "D:"'),
    token("D", "a pitch needs its octave", '"D4"', '"D:"'),
    token("c5", 'pitch letters are capitals; did you mean "C5"'),
    token("H4", "pitch letters are A to G"),
    token("C10", "octaves go from 0 to 9"),
    token("?", "a token is a finger 0 to 4, a pitch like C5"),
    token("R", 'did you mean "r"'),
    token("-r", "a rest takes no -"),
    Bad(
        "a long upbeat",
        drill('upbeat = "1"', bar="1 2 | 1*7"),
        3,
        ("the upbeat has 2 eighths where upbeat says 1 eighth: 1 eighth too long",),
    ),
    Bad(
        "a last bar that does not join",
        drill('upbeat = "1"', bar="1 | 1*8"),
        3,
        (
            "bar 1 has 8 eighths where the upbeat leaves it 7 eighths: 1 eighth too long",
            "the last bar and the upbeat fill one bar together, so that repeats join",
        ),
    ),
    Bad(
        "an upbeat without a setting",
        drill(bar="1 2 | 1*8"),
        3,
        ("bar 1 has 2 eighths where 4/4 takes 8 eighths", 'for an upbeat write upbeat = "2"'),
    ),
    setting('upbeat = "1"', "upbeat: an upbeat leads into a bar; write | after it, and the bar"),
    Bad(
        "an upbeat of a bar",
        drill('upbeat = "8"', bar="1*8 | 1*8"),
        4,
        ('upbeat: "8" is no part of a bar, which has 8 plain notes',),
    ),
    setting('upbeat = "one"', 'upbeat: "one" is not a length in plain notes'),
    bar("1*8 g:2", '"g:2": a grace note leads to a note in its own bar'),
    bar("1*4 g:2 r*4", '"g:2": a grace note leads to a note in its own bar'),
    bar("1*4 g:2 | _*4", "bar 1 has 4 eighths"),
    bar("1*8 g:2 | 1*8", '"g:2": a grace note leads to a note in its own bar'),
    bar("_ 1*7", '"_": no note before it could go on; write r for a rest'),
    bar("1*7 r | _ 2*7", '"_": no note before it could go on; write r for a rest'),
    bar("( 1*7 2 ) | ( _ 3*7 )", '"_": its note goes on in the bow that it began with'),
    bar("1*7 | _*8", "bar 1 has 7 eighths where 4/4 takes 8 eighths"),
    token("~r", "a rest takes no ~"),
    token("-", "right before its token", '"-3"'),
    token("*2", "right after its token", '"1*2"'),
    token("1*0", "a length is written like *2"),
    token("1*1/0", "a length is written like *2"),
    token("1*-2", "a length is written like *2"),
    token("1*", "a length stands after the *", '"1*2"'),
    token("1,", "not commas"),
    token("1-2", 'apart by spaces: "1 2"'),
    token("II", "named by their letters", '"D:"'),
    bar("(1 2 3 1 2 3 4 1", '"(": this bow is never closed', '")"', id="slur never closed"),
    bar("1 2) 3 1 2 3 4 1", '")": no bow is open', '"("', id="slur never opened"),
    bar("(1 (2 3) 1 2 3 4 1)", '"(": a bow is open already', id="slur in a slur"),
    bar("() 1 2 3 1 2 3 4 1", "a bow with no note", id="slur with nothing in it"),
]

UNPLAYABLE = [
    unplayable(
        "E: p1: 1*8",
        '"1*8": finger 1 in position 1 on the E string would sound Fb5',
        "at or below the open string E5",
        also='keys = "Cb major"',
    ),
    unplayable("D: p1: 1x*8", "would sound D4, at or below", "the open D string (0)"),
    unplayable("p0: 1 2 1*6", "fingers 1 and 2 would share a place", "p1:", also='keys="Bb minor"'),
    unplayable(
        "p3: 1*4 p1: 1*4",
        "the climb leads to position -1",
        "from 0 (half position) to 21",
        also="climb = [2, 1]",
    ),
    unplayable("p8: 4*8", "beyond the end of the fingerboard", "is the highest", also="climb = 21"),
    unplayable("E: C5*8", "would sound C5, at or below the open string E5", "on the A string"),
    unplayable("A: E7*8", "would sound E7", "beyond the end of the fingerboard at 270 mm"),
    unplayable("F3*8", "F3 lies below G3, the lowest note here"),
    unplayable("C8*8", "would sound C8", "beyond the end of the fingerboard"),
    unplayable("D1*8", "D1 lies below E2, the lowest note here", instrument="bass"),
    unplayable(
        "C8*8", "C8 lies above F7, the highest note here", instrument="flute", id="too high"
    ),
    unplayable("G: C7*8", "beyond the end", "position 10 is the highest", instrument="cello"),
    unplayable("D: E4=0 1*7", "E4 is not the open D string", '"D4=0"'),
    unplayable("D: D4=0 1*7", "Db4 is not the open D string", '"Dn4=0"', also='keys = "Db major"'),
    unplayable(
        "D: D4=1*8", "would sound D4, at or below the open string D4", id="finger on the nut"
    ),
    unplayable("D: E4=4*8", "no position puts finger 4 on E4 on the D string", '"E4=1"'),
]

TABLE = [*FILES, *SETTINGS, *AGREEMENT, *TOKENS, *UNPLAYABLE]


def complaint(bad: Bad, folder: Path) -> DrillError:
    file = folder / "try.toml"
    file.write_bytes(bad.text if isinstance(bad.text, bytes) else bad.text.encode())
    kind = UnplayableError if bad.unplayable else DrillError
    with pytest.raises(kind, match=r"try\.toml") as caught:  # noqa: PT012 - further words below
        drill = load(file)
        write(drill, drill.keys[0], next(iter(drill.strings), None))
    return caught.value


@pytest.mark.parametrize("bad", TABLE, ids=[bad.id[:40] for bad in TABLE])
def test_a_bad_drill_is_told_with_file_line_words_and_the_right_thing(
    bad: Bad, tmp_path: Path
) -> None:
    error = complaint(bad, tmp_path)
    where = f"{tmp_path / 'try.toml'}" + (f", line {bad.line}: " if bad.line else ": ")
    assert str(error).startswith(where)
    for words in bad.words:
        assert words in str(error)
    assert (error.file, error.line) == (str(tmp_path / "try.toml"), bad.line)


def test_a_missing_file_is_told_with_the_drills_beside_it(tmp_path: Path) -> None:
    (tmp_path / "other.toml").write_text(drill())
    with pytest.raises(DrillError, match=r"tyr\.toml: there is no such file; .* stand other\.toml"):
        load(tmp_path / "tyr.toml")


def test_a_folder_is_told_with_a_drill_in_it(tmp_path: Path) -> None:
    (tmp_path / "other.toml").write_text(drill())
    with pytest.raises(DrillError, match=r"this is a folder; name a drill file, .*other\.toml"):
        load(tmp_path)


@pytest.mark.parametrize("bad", TABLE, ids=[bad.id[:40] for bad in TABLE])
def test_a_message_is_one_short_line(bad: Bad, tmp_path: Path) -> None:
    message = complaint(bad, tmp_path).message
    assert "\n" not in message
    assert len(message) < 400


LONG = "x" * 1600


@pytest.mark.parametrize(
    ("lines", "line", "kept"),
    [
        (f'{LONG} = 1', 4, "is not known here; known are"),
        (f'tempo.{LONG} = 1', 4, 'is not known here in [tempo]'),
        (f'[stage."{LONG}"]', 4, "cannot name a stage"),
        (f'[stage.x]\n{LONG} = 1', 5, "is not known here in [stage.x]"),
        (f'stages = ["{LONG[:300]}"]', 4, "is not a stage; known are"),
        (f'keys = ["{LONG}"]', 4, 'is not a key; write it like "F major"'),
        (f'keys = ["F majo{LONG}"]', 4, "is not a key"),
        (f'strings = ["{LONG[:300]}"]', 4, "its strings are E, A, D, G"),
        (f'strings = ["{LONG[:300]}", "{LONG[:300]}"]', 4, "stands twice"),
        (f'meter = "{LONG}"', 4, "is not a meter like 4/4"),
        (f'note = "{LONG}"', 4, "is not known here; known are"),
        (f'tempo.step = "{LONG}"', 4, 'is not a tempo step: "marks"'),
        (f'drone.on = "{LONG}"', 4, "is not a drone"),
        (f'slide.lead = {{up = "{LONG}"}}', 4, "is not known here; known are"),
        (f'slide.lead = {{{LONG} = 1}}', 4, "is not known here; known are"),
        (f'rhythm = ["{LONG}"]', 4, "is not a length in plain notes"),
    ],
)  # fmt: skip
def test_a_long_text_of_the_file_is_cut_where_it_is_quoted(
    lines: str, line: int, kept: str
) -> None:
    """File, line and the nearest right thing are told all the same."""
    text = f'title = "T"\ninstrument = "violin"\nbar = "1*8"\n{lines}\n'
    with pytest.raises(DrillError, match=re.escape(kept)) as caught:
        parse(text)
    assert str(caught.value).startswith(f"drill.toml, line {line}: ")
    assert "xxx…" in str(caught.value).lower()
    assert len(str(caught.value)) < 600


def test_of_many_keys_that_cannot_be_played_the_first_are_listed() -> None:
    keys = ", ".join(f'"{key.name}"' for key in ALL_KEYS[:30])
    text = f'title = "T"\ninstrument = "violin"\nkeys = [{keys}]\nbar = "p15: 4*8"\nclimb = [16]'
    with pytest.raises(DrillError, match="keys and strings cannot be played") as caught:
        plan_build(parse(text), Options())
    first, *listed, last = str(caught.value).split("\n  ")
    assert first.endswith("30 of 30 keys and strings cannot be played:")
    assert len(listed) == 12
    assert last == "and 18 more"
