"""What the page marks is what the timeline says, at every time, in every stage and rung."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from browser import random_times, read_timeline, sounding
from pages import manifest_of, page_of, rungs_of, sets_of, timelines_of
from playing import BANK

from playalong.drill.load import load, parse
from playalong.drill.variation import Variation
from playalong.making.make import make
from playalong.making.plan import Options
from playalong.making.session import stretches
from playalong.page.content import PracticeSet, page_data
from playalong.page.html import ASSETS, write_page
from playalong.performance.perform import perform
from playalong.performance.timing import timeline_of
from playalong.score.writing import write
from playalong.shipped import demo_folder
from playalong.sound.audio import write_audio
from playalong.sound.tags import Tags

COUNT = 20
DEMOS = ["01-same-finger", "03-exchange", "04-old-finger-leads", "05-new-finger-leads", "09-singer"]


def written(told):
    """Bars and beats of the written notes, in order."""
    return sorted(
        {(n["bar"], n["beat"]) for n in told["notes"] if n["role"] == "note" and n["bar"]}
    )


def check(page, told, times, start=0.0, whole=None):
    """Marks of a track, or of a part that begins at `start` and counts on in the `whole`."""
    numbers = {beat: number for number, beat in enumerate(written(whole or told))}
    for t, mark in zip(times, page.marks_at([start + t for t in times]), strict=True):
        assert mark["at"] == pytest.approx(start + t, abs=1e-5)
        note = sounding(told, mark["at"] - start)
        beat = (note["bar"], note["beat"]) if note and note["bar"] else written(told)[0]
        assert mark["notes"] == ([numbers[beat]] if note else []), t
        if note is None or note["bar"] == 0:
            continue
        assert mark["bar"] == note["bar"]
        assert mark["yours"] == (not note["sounds"] or note.get("heard_from", 0.0) > t)
        assert f"Bar {note['bar']}, pass {note['pass']} of 2" in mark["state"]


def test_the_marked_note_is_the_timelines_at_random_times_in_every_stage_and_rung(
    opened, out, listed
):
    page = opened()
    for track in listed["tracks"]:
        page.choose(key=track["key"], tempo=track["bpm"], stage=track["stage"])
        told = read_timeline(out, track)
        check(page, told, random_times(track["seconds"], COUNT, track["audio"]))


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        ("listen", ["played for you", "join in"]),
        ("answer", ["played for you", "your turn"]),
        ("check", ["your turn, some notes sound late"] * 2),
        ("alone", ["your turn"] * 2),
    ],
)
def test_each_pass_says_whose_turn_it_is(opened, out, listed, stage, words):
    page = opened()
    page.choose(stage=stage)
    told = read_timeline(out, next(t for t in listed["tracks"] if t["stage"] == stage))
    starts = [min(n["from"] for n in told["notes"] if n["pass"] == number) for number in (1, 2)]
    states = [mark["state"] for mark in page.marks_at([start + 0.1 for start in starts])]
    assert [state.partition(": ")[2] for state in states] == words


def test_a_session_marks_the_notes_of_its_parts_and_tells_its_rests(opened, listed, drill):
    page = opened()
    session = listed["sessions"][0]
    page.choose(stage="session 0")
    for number, stage in enumerate(drill.stages, 1):
        starts = [part["from"] for part in session["parts"] if part["track"] == number]
        assert len(starts) == 1
        score = write(drill, drill.keys[0], "D")
        told = timeline_of(perform(score, drill.tempo.start, stage)).data()
        check(page, told, random_times(told["seconds"], 8, number), starts[0])
    rest = session["parts"][1]["from"] - 3.5
    assert page.marks_at([rest])[0]["state"].startswith(
        "Rest with the instrument down. Next in 0:04"
    )


def test_a_track_given_in_parts_marks_the_notes_that_each_part_plays(opened, tmp_path):
    """Three places, one after the other, since all three would last longer than half a minute."""
    drill = parse(
        'title = "T"\ninstrument = "viola"\nstrings = ["D"]\nkeys = ["F major"]\n'
        'bar = "p1: 1 2 p3: 1 2"\nnote = "quarter"\nclimb = 3\nstages = ["listen"]\n'
        "tempo = { start = 63, goal = 63 }\nsession = { play = 0.5, rest = 0.05, taps = false }"
    )
    options = Options(bank=BANK)
    manifest = make(drill, tmp_path, options).manifest
    parts = list(stretches(drill, rungs_of(drill), options))
    assert [part.stands for part in parts] == [slice(0, 2), slice(2, 4)]
    page = opened(tmp_path / "index.html")
    page.choose(stage="session 0")
    starts = [start for start, _ in manifest.sessions[0].parts]
    whole = read_timeline(tmp_path, manifest.tracks[0].data())
    for part, start in zip(parts, starts, strict=True):
        told = timeline_of(part.performance()).data()
        check(page, told, random_times(told["seconds"], COUNT, start), start, whole)


def test_a_track_without_a_given_note_marks_none_before_its_music(opened, drill, tmp_path):
    score, manifest = rungs_of(drill)[0].score, manifest_of(drill, audio="sound.wav")
    entry, timeline = manifest.tracks[0], next(timelines_of(rungs_of(drill)))
    silence = [np.zeros(44_100 * 12, dtype=np.float32)]
    write_audio(tmp_path / "sound.wav", silence, format="wav", channels=1, tags=Tags("none"))
    bare = replace(timeline, notes=tuple(n for n in timeline.notes if not n.is_given))
    marks = []
    for each in (timeline, bare):
        alone = replace(manifest, tracks=(entry,))
        write_page(tmp_path, alone, drill, [PracticeSet(score, [(entry, each)])], one_file=True)
        page = opened(tmp_path / "index.html")
        given_at = (timeline.notes[0].from_seconds + timeline.notes[0].to_seconds) / 2
        marks.append(page.marks_at([given_at, timeline.notes[1].from_seconds + 0.01]))
    assert [[mark["notes"] for mark in each] for each in marks] == [[[0], [0]], [[], [0]]]
    assert marks[1][0]["state"] == marks[0][0]["state"] == "Count-in, bar 2 of 2: your first note"


def pieces(page, data):
    """Every track of the page's data as its own script unpacks it."""
    script = (ASSETS / "piece.js").read_text()
    return page.evaluate(
        f"""(text) => {{
          const DATA = JSON.parse(text);
          {script}
          return DATA.tracks.map((track) => {{
            const piece = new Piece(DATA.sets[track.set], track.music, 0, track.seconds);
            const {{ notes, slides, beats, bars, given }} = piece;
            const shares = Array.from({{ length: 101 }}, (_, n) => n / 100);
            const fingers = slides.map(({{ from, to, curve }}) => shares.map((share) => [
              curveAt(curve, share), piece.centsAt(from + (to - from) * share),
            ]));
            return {{ notes, slides, beats, bars, given, fingers }};
          }});
        }}""",
        json.dumps(data),
    )


@pytest.mark.parametrize("name", DEMOS)
def test_notes_beats_and_slides_of_the_page_are_the_timelines(browser, name):
    """Times to a microsecond, pitches to a twentieth of a cent, slides within a cent at every
    point of their curve; and the finger on the string goes along the slide. At the start tempo:
    others are the same columns by other numbers."""
    drill = load(demo_folder() / f"{name}.toml")
    drill = load(demo_folder() / f"{name}.toml", Variation(goal=drill.tempo.start))
    manifest = manifest_of(drill)
    page = browser.new_page()
    unpacked = pieces(page, page_data(manifest, drill, sets_of(drill, manifest)))
    page.close()
    for timeline, piece in zip(timelines_of(rungs_of(drill)), unpacked, strict=True):
        first, *notes = timeline.notes
        given = piece["given"]
        assert_near([given["from"], given["to"]], [first.from_seconds, first.to_seconds], 1e-6)
        heard = [note.heard_from_seconds or note.from_seconds for note in notes]
        times = [(note.from_seconds, note.to_seconds) for note in notes]
        assert_near([(mine["from"], mine["to"]) for mine in piece["notes"]], times, 1e-6)
        assert_near([mine["heard"] for mine in piece["notes"]], heard, 1e-6)
        above = [note.cents_above_tonic for note in notes]
        assert_near([mine["cents"] for mine in piece["notes"]], above, 0.05)
        assert [(mine["finger"], mine["pass"], mine["sounds"]) for mine in piece["notes"]] == [
            (note.finger, note.pass_number, sounds(note)) for note in notes
        ]
        check_slides(piece, [note for note in notes if note.slide and note.slide.curve], timeline)
        check_beats(piece, timeline)


def sounds(note):
    """As the page names it."""
    return "l" if note.heard_from_seconds else "s" if note.sounds else "-"


def assert_near(found, expected, most):
    found, expected = np.array(found, float), np.array(expected, float)
    assert found.shape == expected.shape
    assert np.abs(found - expected).max(initial=0) <= most


def check_slides(piece, landings, timeline):
    slides = [note.slide for note in landings]
    times = [(n.slide.from_seconds, n.slide.to_seconds, n.from_seconds) for n in landings]
    assert_near([(m["from"], m["to"], m["landing"]) for m in piece["slides"]], times, 1e-6)
    assert [(mine["finger"], bool(mine["sounds"])) for mine in piece["slides"]] == [
        (slide.finger, slide.sounds) for slide in slides
    ]
    for fingers, slide in zip(piece["fingers"], slides, strict=True):
        on_the_line, on_the_string = np.array(fingers).T
        at, hz = np.array(slide.curve).T
        shares = (at - slide.from_seconds) / (slide.to_seconds - slide.from_seconds)
        drawn = np.interp(shares, np.linspace(0, 1, 101), on_the_line)
        assert_near(drawn, 1200 * np.log2(hz / timeline.tonic_hz), 1.0)
        assert_near(on_the_string[:-1], on_the_line[:-1], 1e-6)  # the last may be the next note's


def check_beats(piece, timeline):
    beats = [at for bar in timeline.bars for at in bar.beats_seconds]
    assert_near([beat["from"] for beat in piece["beats"]], beats, 1e-6)
    music = [bar for bar in timeline.bars if bar.pass_number]
    assert [(bar["number"], bar["pass"]) for bar in piece["bars"]] == [
        (bar.bar, bar.pass_number) for bar in music
    ]
    for mine, bar in zip(piece["bars"], music, strict=True):
        assert (mine["from"], mine["to"]) == pytest.approx(
            (bar.from_seconds, bar.to_seconds), abs=1e-6
        )
    clicks = [click.at_seconds for click in timeline.clicks if not click.sweep]
    assert all(min(abs(at - beat) for beat in beats) < 1e-6 for at in clicks)


def test_the_thumb_is_called_the_thumb_and_never_by_its_number_in_data(browser, tmp_path):
    page = browser.new_page()
    page.goto(page_of(load(demo_folder() / "14-cello-thumb.toml"), tmp_path).as_uri())
    names = "all => all.map((place) => place.getAttribute('aria-label'))"
    told = page.eval_on_selector_all("[data-touch]", names)
    page.close()
    assert told[:2] == [
        "Bar 1, D4, thumb, position 7, D string",
        "Bar 1, E4, finger 1, position 7",
    ]
    assert [name for name in told if "thumb" in name] == [told[n] for n in (0, 4, 7)]
    script = (ASSETS / "picture.js").read_text("utf-8")
    drawn = re.findall(r"fillText\(([^,]*finger[^,]*),", script)
    assert drawn
    assert all(text.startswith("fingerName(") for text in drawn)
