"""What sounds, when, in each stage: slides that arrive, ghosts in three strengths."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playing import drill_of, ghosts, play, play_drill, written
from strategies import scores

from playalong.drill.stage import STAGES, Stage
from playalong.performance.perform import perform
from playalong.performance.performance import Performance, Slide, Tone
from playalong.score.model import Score

ONE_PASS = 'note = "quarter"\npasses = 1\n'  # a quarter lasts a second at 60
NEW_LEADS = ONE_PASS + 'slide.lead = "new finger"\n'
LANDING = 8 + 2  # the third quarter after two bars of count-in
GHOST = Fraction(1, 4)
SHARE = Fraction(2, 5)


def only_slide(performance: Performance) -> Slide:
    (slide,) = performance.slides
    return slide


def tones(performance: Performance) -> list[Tone]:
    """The guide without the note given in the count-in."""
    return list(performance.guide[1:])


def sounding(performance: Performance) -> list[list[bool]]:
    """Whether each written note sounds, pass by pass."""
    passes: dict[tuple[int, int], list[bool]] = {}
    for played in written(performance):
        passes.setdefault((played.note.stand, played.pass_number), []).append(played.sounds)
    return list(passes.values())


# --- every kind of shift, up and down

KINDS = [  # bar, settings, kind, slide's end before the beat, from, to, ghost
    ("1 1 p3: 1 1", "", "same finger", 0, "E4", "G4", None),
    ("p3: 1 1 p1: 1 1", "", "same finger", 0, "G4", "E4", None),
    ("1 1 p3: 3 3", "", "old finger leads", GHOST, "E4", "G4", "G4"),
    ("p3: 3 3 p1: 1 1", "", "old finger leads", GHOST, "B4", "G4", "G4"),
    ("1 1 p3: 3 3", 'slide.lead = "new finger"', "new finger leads", 0, "G4", "B4", "G4"),
    ("p3: 3 3 p1: 1 1", 'slide.lead = "new finger"', "new finger leads", 0, "G4", "E4", "G4"),
    ("2 2 p3: 1 1", "", "exchange", 0, "F4", "G4", "A4"),
    ("p3: 1 1 p1: 2 2", "", "exchange", 0, "G4", "F4", "E4"),
    ("D: 1 1 A: p3: 2 2", "", "across strings", GHOST, "E4", "G4", "G4"),
    ("A: p3: 2 2 D: p1: 1 1", "", "across strings", GHOST, "E5", "C5", "C5"),
    ("2 2 ~4 4", "", "slide", 0, "F4", "A4", None),
    ("2 2 ~2# 2#", "", "half-step slide", 0, "F4", "F#4", None),
]


@pytest.mark.parametrize("bow", ["note", "bar"])
@pytest.mark.parametrize(("bar", "more", "kind", "hold", "start", "end", "ghost"), KINDS)
def test_a_slide_ends_on_the_beat_or_where_its_sounded_ghost_begins(
    bar: str, more: str, kind: str, hold: Fraction, start: str, end: str, ghost: str, bow: str
) -> None:
    performance = play(bar, f'{ONE_PASS}bow = "{bow}"\n{more}')
    slide = only_slide(performance)
    assert slide.travel.kind == kind
    assert slide.sounds
    assert (slide.start, slide.end) == (LANDING - hold - SHARE, LANDING - hold)
    told = ghosts(performance)
    named = {each.pitch.name: each.hz for each in [*performance.score.notes, *told]}
    assert slide.glide.to_hz == named[end]
    assert slide.glide.from_hz == named[start]
    assert [played.pitch.name for played in told] == ([ghost] if ghost else [])


@pytest.mark.parametrize(
    "bar", ["1 0 p3: 1 1", "1 r p3: 1 1", "1 1 p3: -1 1", "0 0 ~1 1", "1 r ~3 3"]
)
def test_over_an_open_string_a_rest_or_a_dash_nothing_slides(bar: str) -> None:
    performance = play(bar, ONE_PASS)
    for slide in performance.slides:
        assert (slide.sounds, slide.start, slide.travel.kind) == (False, slide.end, "unheard")
    assert not performance.ghosts
    assert not any(tone.slides for tone in performance.guide)


def test_a_substitution_tells_the_travel_and_sounds_no_slide() -> None:
    performance = play("3 3 p3: 1 1", ONE_PASS)
    slide = only_slide(performance)
    assert (slide.travel.kind, slide.sounds, slide.start) == ("substitution", False, slide.end)
    assert slide.travel.travel_mm is not None
    assert slide.travel.travel_mm > 0


def test_another_accidental_slides_only_where_it_is_written() -> None:
    assert not only_slide(play("2 2 2# 2#", ONE_PASS)).sounds
    assert only_slide(play("2 2 ~2# 2#", ONE_PASS)).sounds


@pytest.mark.parametrize(
    ("bar", "more"),
    [
        ("1 1 1 1 | p3: 1 1 1 1", ""),
        ("1 1 1 p3: 1", "passes = 2"),  # back to first position for the second pass
        ("1 1 1 1", "passes = 1\nclimb = 2"),  # to second position for the second place
    ],
    ids=["bar line", "pass", "place"],
)
def test_a_shift_over_a_bar_line_a_pass_or_a_place_is_heard_like_any_other(
    bar: str, more: str
) -> None:
    performance = play(bar, f'note = "quarter"\n{more}' if more else ONE_PASS)
    slides = [slide for slide in performance.slides if slide.end == 12]
    assert [(slide.sounds, slide.start) for slide in slides] == [(True, 12 - SHARE)]


def test_a_gap_between_passes_leaves_the_shift_unheard() -> None:
    performance = play("1 1 1 p3: 1", 'note = "quarter"\ngap = 1')
    assert [slide.travel.kind for slide in performance.slides] == [
        "same finger",
        "unheard",
        "same finger",
    ]


# --- on which tone a slide is heard


def test_a_slurred_same_finger_shift_is_one_held_tone_without_an_onset() -> None:
    performance = play("( 1 1# p3: 1 ) 1", ONE_PASS)
    assert [(tone.start - 8, tone.end - 8) for tone in tones(performance)] == [
        (0, 1),
        (1, 3),
        (3, 4),
    ]
    assert [played.onset for played in written(performance)] == [True, True, False, True]
    assert tones(performance)[1].slides == performance.slides[1:]


def test_with_separate_bows_a_slide_is_on_the_old_bow_and_the_landing_has_its_onset() -> None:
    performance = play("1 1 p3: 1 1", ONE_PASS)
    assert [tone.start - 8 for tone in tones(performance)] == [0, 1, 2, 3]
    assert [len(tone.slides) for tone in tones(performance)] == [0, 1, 0, 0]
    assert all(played.onset for played in written(performance))


@pytest.mark.parametrize("bow", ["note", "bar"])
def test_a_new_finger_slide_is_on_the_new_tone_which_begins_with_it(bow: str) -> None:
    performance = play("1 2 p3: 3 4", f'{NEW_LEADS}bow = "{bow}"')
    old, new = tones(performance)[1:3]
    assert (old.end, old.slides) == (LANDING - SHARE, ())
    assert (new.start, new.end, len(new.slides)) == (LANDING - SHARE, LANDING + 1, 1)
    assert new.hz == only_slide(performance).glide.from_hz
    assert [played.onset for played in written(performance)] == [True, True, False, True]
    assert new.slurred == old.into_slur == (bow == "bar")


def test_a_new_finger_ghost_is_told_with_the_old_position_and_begins_the_tone() -> None:
    (ghost,) = ghosts(play("1 2 p3: 3 4", NEW_LEADS))
    assert (ghost.finger, ghost.position.number, ghost.pitch.name) == (3, 1, "G4")
    assert (ghost.sounds, ghost.onset, ghost.start) == (True, True, LANDING - SHARE)


def test_an_old_finger_ghost_is_told_with_the_new_position() -> None:
    (ghost,) = ghosts(play("1 1 p3: 3 3", ONE_PASS))
    assert (ghost.finger, ghost.position.number, ghost.string) == (1, 3, "D")


def test_an_exchange_tells_its_ghost_and_does_not_sound_it() -> None:
    performance = play("2 2 p3: 1 1", ONE_PASS)
    (ghost,) = ghosts(performance)
    assert not ghost.sounds
    assert not performance.ghosts


def test_a_slurred_old_finger_shift_joins_two_tones() -> None:
    performance = play("1 1# p3: 3 4", f'{ONE_PASS}bow = "bar"')
    _, old, new, _ = tones(performance)
    assert (old.end, new.start) == (LANDING, LANDING)
    assert old.into_slur
    assert new.slurred
    assert old.slides == performance.slides[1:]


def test_a_repeated_note_under_a_slur_is_heard_again_and_a_tied_one_is_held() -> None:
    """Portato: one bow that stops for each note (common practice). `_` writes a tie."""
    performance = play("( 1 1 ) 1 _", ONE_PASS)
    assert [tone.end - tone.start for tone in tones(performance)] == [1, 1, 2]
    assert not any(tone.slurred or tone.into_slur for tone in tones(performance))
    assert all(played.onset for played in written(performance))


def test_a_note_that_another_finger_takes_over_in_one_bow_is_held() -> None:
    performance = play("( p1: 3 p3: 1 ) 2 2", ONE_PASS)
    assert [tone.end - tone.start for tone in tones(performance)] == [2, 1, 1]
    assert [played.onset for played in written(performance)] == [True, False, True, True]


def test_a_chain_of_slurred_shifts_is_one_tone_over_more_than_an_octave() -> None:
    performance = play("( p1: 1 p4: 1 p8: 1 p11: 1 )", ONE_PASS, stage="listen")
    (tone,) = tones(performance)
    assert len(tone.slides) == 3
    assert (tone.start, tone.end) == (8, 12)
    assert tone.slides[-1].glide.to_hz > 2 * tone.hz
    assert [played.onset for played in written(performance)] == [True, False, False, False]


# --- the lengths of slides and ghosts


def test_a_slide_takes_its_share_of_the_departing_note_and_six_tenths_of_a_second_at_most() -> None:
    short = only_slide(play("1 1 p3: 1 1", ONE_PASS + "slide.share = 0.25"))
    assert short.end - short.start == Fraction(1, 4)
    long = only_slide(play("1*3 p3: 1", ONE_PASS))
    assert long.end - long.start == Fraction(6, 10)
    faster = only_slide(play("1*3 p3: 1", ONE_PASS, bpm=120))
    assert faster.end - faster.start == Fraction(12, 10)  # quarters of half a second


@pytest.mark.parametrize(
    ("bpm", "share", "strength"),
    [
        (125, 0.4, "sounded"),  # a quarter of 0.48 s leaves the ghost 120 ms
        (126, 0.4, "light"),
        (60, 0.7, "sounded"),  # slide 0.6, ghost 0.25: the old note keeps 150 ms
        (75, 0.7, "light"),  # slide 0.56, ghost 0.2: it would keep 40 ms, so the ghost goes light
        (75, 0.05, "sounded"),  # a slide of 40 ms
        (76, 0.05, "none"),
        (225, 0.7, "light"),  # 0.2667 s less a slide of 0.1867: 80 ms stay
        (226, 0.7, "none"),
    ],
)
def test_a_sounded_ghost_becomes_light_and_then_none_sounds_where_room_is_short(
    bpm: int, share: float, strength: str
) -> None:
    performance = play("1 1 p3: 3 3", f"{ONE_PASS}slide.share = {share}", bpm=bpm)
    slide = only_slide(performance)
    (ghost,) = ghosts(performance)
    assert slide.sounds == ghost.sounds == (strength != "none")
    assert len(performance.ghosts) == (strength == "sounded")
    assert slide.end == LANDING - (GHOST if strength == "sounded" else 0)
    assert ghost.onset == (strength == "sounded")
    if strength == "none":
        assert slide.start == slide.end
        assert not any(tone.slides for tone in performance.guide)


@pytest.mark.parametrize(("bpm", "slides"), [(225, True), (226, False)])
def test_a_departing_note_keeps_eighty_milliseconds(bpm: int, slides: bool) -> None:
    performance = play("1 1 1 1 1 1 1 p3: 1", "passes = 1", bpm=bpm)
    assert only_slide(performance).sounds == slides


# --- stages


def test_listen_is_full_then_full_with_sounded_ghosts() -> None:
    performance = play("1 1 p3: 3 3", 'note = "quarter"')
    assert sounding(performance) == [[True] * 4, [True] * 4]
    assert {tone.level for tone in tones(performance)} == {"full"}
    assert [slide.sounds for slide in performance.slides] == [True, True, True]
    assert {slide.dip_db for slide in performance.slides} == {1.5}
    assert [(t.start - 8, t.end - 8) for t in performance.ghosts] == [
        (Fraction(7, 4), 2),
        (Fraction(15, 4), 4),  # back to first position for the second pass
        (Fraction(23, 4), 6),
    ]


def test_answer_is_full_then_silent_with_lighter_slides_and_light_ghosts() -> None:
    performance = play("1 1 p3: 3 3", 'note = "quarter"', stage="answer")
    assert sounding(performance) == [[True] * 4, [False] * 4]
    # from full to silent at the pass boundary nothing slides, nor within the answer
    assert [slide.sounds for slide in performance.slides] == [True, False, False]
    assert performance.slides[0].dip_db == 6
    assert performance.slides[0].end == LANDING
    assert not performance.ghosts
    assert [played.sounds for played in ghosts(performance)] == [True, False, False]
    assert max(tone.end for tone in performance.guide) == 12


def test_check_is_silent_but_landings_enter_at_half_their_length() -> None:
    performance = play("1 1 p3: 3 3", 'note = "quarter"', stage="check")
    assert sounding(performance) == [[False, False, True, False], [True, False, True, False]]
    halves = [(LANDING, 1), (12, 1), (14, 1)]
    assert [(t.start, t.end) for t in tones(performance)] == [
        (at + Fraction(length, 2), at + length) for at, length in halves
    ]
    late = [played.heard_from for played in written(performance) if played.sounds]
    assert late == [at + Fraction(1, 2) for at, _ in halves]
    assert not any(slide.sounds for slide in performance.slides)
    assert not performance.ghosts


@pytest.mark.parametrize(
    ("bar", "enters"),
    [
        ("1 0 p3: 1 1", [2]),  # unheard shifts land too
        ("1 1 p3: -1 1", [2]),
        ("3 3 p3: 1 1", [2]),  # a substitution
        ("2 2 2# 2#", [0]),  # another accidental is no shift, so the bar's first note is checked
        ("p3: 1 1 p1: 4 4", [2]),  # a contrary shift is heard on its landing alone
        ("p1: 3 4x p2: 3 4", [2]),  # the hand follows
        ("2 2 1 1 | r 2 3 4 | 1 2 3 4", [0, 4, 7]),  # without shifts, every bar's first note
        ("2 2 ~4 4", [2]),  # a written slide is listened for like a shift
        ("1 2 3 4", [0]),
    ],
)
def test_check_knows_what_a_landing_is(bar: str, enters: list[int]) -> None:
    performance = play(bar, ONE_PASS, stage="check")
    assert [n for n, played in enumerate(written(performance)) if played.sounds] == enters


def test_alone_has_only_the_given_note() -> None:
    performance = play("1 1 p3: 3 3", 'note = "quarter"', stage="alone")
    assert len(performance.guide) == 1
    assert sounding(performance) == [[False] * 4, [False] * 4]
    assert not any(slide.sounds for slide in performance.slides)
    assert [played.note.hz for played in written(performance)] == [
        played.note.hz for played in written(play("1 1 p3: 3 3", 'note = "quarter"'))
    ]


OWN = """note = "quarter"
passes = 2
[stage.fading]
guide = ["full", "soft", "silent"]
slides = "lighter"
ghosts = "light"
"""


def test_passes_rise_to_the_number_of_levels_of_a_stage_of_ones_own() -> None:
    performance = play("1 1 p3: 3 3", OWN, stage="fading")
    assert sounding(performance) == [[True] * 4, [True] * 4, [False] * 4]
    assert [tone.level for tone in tones(performance)] == ["full"] * 4 + ["soft"] * 4
    assert [slide.sounds for slide in performance.slides] == [True, True, True, False, False]


def test_more_passes_than_levels_take_the_levels_in_turn() -> None:
    performance = play("1 1 1 1", 'note = "quarter"\npasses = 5', stage="answer")
    assert [all(each) for each in sounding(performance)] == [True, False, True, False, True]


def test_one_pass_of_listen_stays_one_and_of_answer_becomes_two() -> None:
    assert len(sounding(play("1 1 1 1", ONE_PASS))) == 1
    assert len(sounding(play("1 1 1 1", ONE_PASS, stage="answer"))) == 2


@pytest.mark.parametrize("ghost", ["sounded", "light", "silent"])
def test_a_stage_of_ones_own_sets_the_ghosts_strength(ghost: str) -> None:
    stage = Stage("own", ("full",), "full", ghost)
    performance = play_drill(drill_of("1 1 p3: 3 3", ONE_PASS), stage=stage)
    (played,) = ghosts(performance)
    assert played.sounds == (ghost != "silent")
    assert len(performance.ghosts) == (ghost == "sounded")
    assert only_slide(performance).sounds
    # the finger grows lighter on the way, and all the more where no ghost is to be heard
    light = play_drill(drill_of("1 1 p3: 3 3", ONE_PASS), stage=Stage("own", ("full",)))
    assert (only_slide(performance).settle_db > only_slide(light).settle_db) == (ghost == "silent")


def test_a_soft_guide_has_soft_ghosts() -> None:
    stage = Stage("own", ("soft",))
    performance = play_drill(drill_of("1 1 p3: 3 3", ONE_PASS), stage=stage)
    assert {tone.level for tone in (*performance.guide, *performance.ghosts)} == {"soft"}


# --- laws for every drill

stages = st.sampled_from(
    (*STAGES.values(), Stage("own", ("soft", "full", "landings"), "lighter", "sounded"))
)


@settings(max_examples=60)
@given(scores(), st.integers(40, 208), stages)
def test_slides_lie_inside_the_departing_note_and_arrive(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    notes = written(performance)
    landings = {played.start: number for number, played in enumerate(notes)}
    held = {ghost.start: ghost.end for ghost in ghosts(performance)}
    second = performance.clock.quarters(1)
    for slide in performance.slides:
        number = landings[held.get(slide.end, slide.end)]
        old, new = notes[number - 1], notes[number]
        if slide.sounds:
            assert old.start + Fraction(8, 100) * second <= slide.start
            assert old.end == new.start
            assert Fraction(4, 100) * second <= slide.end - slide.start
            assert slide.end - slide.start <= Fraction(6, 10) * second
            for played in (old, new):
                assert played.sounds
                assert played.heard_from is None
        elif slide.start < slide.end:
            assert old.start < slide.start


@settings(max_examples=60)
@given(scores(), st.integers(40, 208), stages)
def test_no_two_tones_of_a_voice_overlap_and_all_have_a_length(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    for voice in (performance.guide, performance.ghosts):
        for tone in voice:
            assert tone.start < tone.end
            ends = [tone.start, *(slide.end for slide in tone.slides)]
            starts = [*(slide.start for slide in tone.slides), tone.end]
            assert all(end <= start for end, start in zip(ends, starts, strict=True))
        assert all(one.end <= two.start for one, two in pairwise(voice))


@settings(max_examples=40)
@given(scores(), stages)
def test_sounding_notes_without_an_onset_lie_inside_a_tone_and_others_begin_one(
    score: Score, stage: Stage
) -> None:
    performance = perform(score, 60, stage)
    begun = {tone.start for tone in tones(performance)}
    for played in written(performance):
        if played.sounds and played.onset:
            assert (played.heard_from or played.start) in begun
        elif not played.onset:
            assert played.start not in begun
            assert any(t.start < played.start < t.end for t in tones(performance))


def in_beats(performance: Performance) -> list[tuple[Fraction, Fraction | None, float]]:
    """Start, end and pitch of each note; a grace note's time, and what it takes, is in seconds."""
    notes = list(written(performance))
    after = [*notes[1:], None]
    return [
        (each.start, None if then and then.note.is_grace else each.end, each.note.hz)
        for each, then in zip(notes, after, strict=True)
        if not each.note.is_grace
    ]


@settings(max_examples=30)
@given(scores(), st.integers(40, 208), stages)
def test_the_music_keeps_its_beats_at_every_tempo_and_its_time_to_half_a_microsecond_a_quarter(
    score: Score, bpm: int, stage: Stage
) -> None:
    slow, fast = (perform(score, tempo, stage) for tempo in (bpm, bpm + 40))
    assert [(c.at, c.accent) for c in slow.clicks][:-2] == [(c.at, c.accent) for c in fast.clicks][
        :-2
    ]
    assert in_beats(slow) == in_beats(fast)
    for each in (slow, fast):
        quarters_a_minute = each.bpm * score.drill.meter.beat
        exact = each.music_end * 60_000_000 / quarters_a_minute
        assert abs(each.music_end * each.clock.microseconds - exact) <= each.music_end / 2
