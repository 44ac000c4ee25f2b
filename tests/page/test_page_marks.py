"""What the page marks is what the timeline says, at every time, in every stage and rung."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from browser import random_times, sounding, timeline_of
from playing import BANK

from playalong.drill.load import load_drill
from playalong.folder.manifest import Manifest, SessionEntry, TrackEntry
from playalong.making.make import plan_build
from playalong.making.plan import Options
from playalong.page.data import page_data
from playalong.page.html import ASSETS
from playalong.performance import timing
from playalong.performance.perform import perform
from playalong.score.writing import build_score
from playalong.shipped import demo_folder

COUNT = 20
DEMOS = ["01-same-finger", "03-exchange", "04-old-finger-leads", "05-new-finger-leads", "09-singer"]


def number_of(note, told):
    """The written note's number: the beats of the bars, in order; the count-in gives the first."""
    written = {(n["bar"], n["beat"]) for n in told["notes"] if n["role"] == "note" and n["bar"]}
    return sorted(written).index((note["bar"], note["beat"])) if note["bar"] else 0


def check(page, told, times, start=0.0):
    for t, mark in zip(times, page.marks_at([start + t for t in times]), strict=True):
        assert mark["at"] == pytest.approx(start + t, abs=1e-5)
        note = sounding(told, mark["at"] - start)
        expected = [number_of(note, told)] if note else []
        assert mark["notes"] == expected, t
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
        told = timeline_of(out, track)
        check(page, told, random_times(track["seconds"], COUNT, track["audio"]))


def test_a_session_marks_the_notes_of_its_parts_and_tells_its_rests(opened, listed, drill):
    page = opened()
    session = listed["sessions"][0]
    page.choose(stage="session 0")
    for number, stage in enumerate(drill.stages, 1):
        starts = [part["from"] for part in session["parts"] if part["track"] == number]
        assert len(starts) == 1
        told = timing.timeline_of(
            perform(build_score(drill, drill.keys[0], "D"), drill.tempo.start, stage)
        ).data()
        check(page, told, random_times(told["seconds"], 8, number), starts[0])
    rest = session["parts"][1]["from"] - 3.5
    assert page.marks_at([rest])[0]["state"].startswith("Rest, instrument down. Next in 0:04")


def manifest_of(drill):
    """The tracks that a build would list, without making them."""
    entries = [
        TrackEntry(
            t.number, r.key.name, r.string, r.bpm, t.stage.name, t.seconds, "", "", "", {}, {}
        )
        for r in plan_build(drill, Options(bank=BANK)).rungs
        for t in r.tracks
    ]
    return Manifest(drill.title, "", "", tuple(entries))


def test_a_track_given_in_parts_has_its_places_shared_out_as_the_session_does(browser, drill):
    """Two parts of one place each: notes and bars count on, and each has a count-in of its own."""
    parts = ((0.0, 1), (60.0, 1))
    session = SessionEntry("F major", "D", 100.0, "session.mp3", parts, {})
    data = page_data(replace(manifest_of(drill), sessions=(session,)), drill)
    one, two = data["sessions"][0]["parts"]
    tracks = [{**data["tracks"][0], **part} for part in (one, two)]
    page = browser.new_page()
    first, second = pieces(page, {**data, "tracks": tracks})
    page.close()
    notes = len(data["sets"][0]["notes"]) // 2
    assert [note["number"] for note in first["notes"]] == [*range(notes)] * 2
    assert [note["number"] for note in second["notes"]] == [*range(notes, 2 * notes)] * 2
    assert second["notes"][0]["from"] - first["notes"][0]["from"] == pytest.approx(60.0)
    assert [bar["number"] for bar in second["bars"]] == [3, 4, 3, 4]


def pieces(page, data):
    """Every track of the page's data as its own script unpacks it."""
    script = "".join((ASSETS / f"{name}.js").read_text() for name in ("clock", "music"))
    return page.evaluate(
        f"""(text) => {{
          const DATA = JSON.parse(text);
          {script}
          return DATA.tracks.map((track) => {{
            const {{ us, music, from = 0, seconds }} = track;
            const piece = new Piece(DATA.sets[track.set], us, music, from, seconds);
            return {{
              notes: piece.notes,
              slides: piece.slides.map((slide) => ({{
                ...slide,
                curve: [0, 0.25, 0.5, 0.75, 1].map((share) => slideCents(slide, share)),
              }})),
              beats: piece.beats,
              bars: piece.bars,
            }};
          }});
        }}""",
        json.dumps(data),
    )


@pytest.mark.parametrize("name", DEMOS)
def test_notes_slides_and_beats_of_the_page_are_the_performances(browser, name):
    """To a microsecond and a twentieth of a cent; slides, which may fall between ticks, to one
    block of 64 frames."""
    drill = load_drill(demo_folder() / f"{name}.toml")
    manifest = manifest_of(drill)
    page = browser.new_page()
    unpacked = pieces(page, page_data(manifest, drill))
    page.close()
    stages = {stage.name: stage for stage in drill.stages}
    keys = {key.name: key for key in drill.keys}
    for entry, piece in zip(manifest.tracks, unpacked, strict=True):
        stage = stages[entry.stage]
        passes = stage.passes(drill.passes)
        score = build_score(drill, keys[entry.key], entry.string, passes=passes)
        performance = perform(score, entry.bpm, stage)
        told = timeline_of(performance).data()
        notes = [n for n in told["notes"] if n["role"] == "note" and n["bar"]]
        assert len(piece["notes"]) == len(notes)
        for mine, theirs in zip(piece["notes"], notes, strict=True):
            assert mine["from"] == pytest.approx(theirs["from"], abs=1e-6)
            assert mine["to"] == pytest.approx(theirs["to"], abs=1e-6)
            assert mine["cents"] == pytest.approx(theirs["cents_above_tonic"], abs=0.05)
            assert mine["finger"] == theirs["finger"]
            assert mine["pass"] == theirs["pass"]
            assert (mine["sounds"] != "-") == theirs["sounds"]
            assert (mine["sounds"] == "l") == ("heard_from" in theirs)
            assert mine["heard"] == pytest.approx(
                theirs.get("heard_from", theirs["from"]), abs=1e-6
            )
        assert len(piece["slides"]) == len(told["slides"])
        for mine, theirs, slide in zip(
            piece["slides"], told["slides"], performance.slides, strict=True
        ):
            assert mine["from"] == pytest.approx(theirs["from"], abs=0.00146)
            assert mine["to"] == pytest.approx(theirs["to"], abs=0.00146)
            assert mine["kind"] == theirs["kind"]
            assert bool(mine["sounds"]) == theirs["sounds"]
            for share, cents in zip((0, 0.25, 0.5, 0.75, 1), mine["curve"], strict=True):
                hz = performance.tonic_hz * 2 ** (cents / 1200)
                assert hz == pytest.approx(slide.glide.hz_at(share), rel=3e-5)  # 0.05 cent
        clicks = [click["at"] for click in told["clicks"] if not click["sweep"]]
        beats = [beat["from"] for beat in piece["beats"]]
        assert all(min(abs(at - beat) for beat in beats) < 1e-6 for at in clicks)
