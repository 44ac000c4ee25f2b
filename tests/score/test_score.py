"""Drill -> Score: notes that fill every bar, the climb, and the shifts between them."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import scores

from playalong.drill.load import parse
from playalong.drill.variation import Variation
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.position import Position
from playalong.instrument.shift import Kind, Travel
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning
from playalong.score.model import Note, Score
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write


def written(
    bar: str,
    *settings: str,
    key: str = "C major",
    instrument: str = "violin",
    positions: tuple[int, int] | None = None,
) -> Score:
    """A score of a bar of eighths; `string` D unless the bar or the instrument says otherwise."""
    head = (f'title = "Try"\ninstrument = "{instrument}"', f'bar = "{bar}"')
    drill = parse("\n".join((*head, *settings)))
    return write(Variation(positions=positions).of(drill), key)


def letters(score: Score) -> list[int]:
    """How far each starting position lies above the written bars."""
    return [stand.letters for stand in score.climb]


def names(score: Score) -> list[str]:
    return [note.pitch.name for note in score.notes]


def shifts(score: Score) -> list[tuple[Kind, bool] | None]:
    """Kind of the travel into each note and whether it may be heard."""
    return [(n.arrival.kind, n.heard) if n.arrival else None for n in score.notes]


def arrival(note: Note) -> Travel:
    assert note.arrival is not None
    return note.arrival


class TestFromTokenToNote:
    def test_fingers_follow_position_string_and_signature(self) -> None:
        score = written("D: p1: 1 2 p3: 1 2 A: 1 2# 0 4n", key="D major")
        assert names(score) == ["E4", "F#4", "G4", "A4", "D5", "E#5", "A4", "G5"]
        told = [(note.string, note.position_number, note.finger) for note in score.notes]
        assert told[4:] == [("A", 3, 1), ("A", 3, 2), ("A", None, 0), ("A", 3, 4)]

    def test_a_written_pitch_follows_the_signature_and_an_accidental_is_exact(self) -> None:
        score = written("F4 F#4 Fn4 Fb4 C5 C#5 Cn5 Bb4", key="D major")
        assert names(score) == ["F#4", "F#4", "F4", "Fb4", "C#5", "C#5", "C5", "Bb4"]
        assert all(note.string is None and note.stop is None for note in score.notes)

    def test_a_bass_sounds_an_octave_below_what_is_written(self) -> None:
        score = written("D: D3 E3 F#3 G3 r*4", key="D major", instrument="bass")
        assert names(score) == ["D2", "E2", "F#2", "G2"]
        assert score.notes[0].hz == pytest.approx(73.416, abs=0.0005)  # CRC, D2
        assert [note.position_number for note in score.notes] == [None] * 4

    def test_an_open_string_keeps_its_tuning_in_every_key_and_place(self) -> None:
        score = written("0 1 2 3 0 1 2 3", "climb = 3", key="Db major")
        assert {note.pitch.name for note in score.notes if note.finger == 0} == {"D4"}

    def test_an_open_string_written_as_a_pitch_does_not_climb_either(self) -> None:
        assert names(written("D4=0*4 E4=1*4", "climb = 2")) == ["D4", "E4", "D4", "F4"]

    def test_the_open_a_stands_a_comma_above_the_sixth_of_just_c_major(self) -> None:
        score = written("A: 0*4 D: 4*4", 'tuning.temperament = "just"')
        open_a, sixth = score.notes
        assert open_a.pitch == sixth.pitch
        assert open_a.hz / sixth.hz == pytest.approx(81 / 80, rel=1e-14)

    def test_half_position_puts_finger_1_on_the_raised_open_string(self) -> None:
        assert names(written("G: p0: 1 2 3 4 r*4")) == ["G#3", "A3", "B3", "C4"]

    def test_reaches_and_accidentals_climb_with_the_hand(self) -> None:
        score = written("1x*2 3x*2 2#*2 4x*2", "climb = [2, 3]", key="C major")
        assert names(score) == ["E4", "B4", "G#4", "C5", "F4", "C5", "A#4", "D5"]


class TestTheClimb:
    def test_the_same_fingers_climb_position_by_position(self) -> None:
        score = written("p1: 1 2 3 1 p3: 1 2 p1: 2 1", "climb = 3")
        firsts = [n for n in score.notes if n.beat == 0]
        assert [(n.position_number, n.pitch.name, n.bar, n.stand) for n in firsts] == [
            (1, "E4", 1, 1),
            (2, "F4", 2, 2),
            (3, "G4", 3, 3),
        ]
        assert letters(score) == [0, 1, 2]

    def test_a_list_names_starting_positions_in_any_order(self) -> None:
        score = written("p2: 1*4 p4: 1*4", "climb = [1, 3, 2]")
        assert [note.position_number for note in score.notes] == [1, 3, 3, 5, 2, 4]

    def test_a_fixed_home_stays_and_the_list_counts_the_first_finger_that_moves(self) -> None:
        score = written("p1!: 1*4 p2: 1*4", "climb = [2, 3, 5]")
        assert [note.position_number for note in score.notes] == [1, 2, 1, 3, 1, 5]

    def test_written_pitches_climb_by_letter_and_keep_their_deviation(self) -> None:
        score = written("C5*2 D#5*2 Eb5*2 F5*2", "climb = 2", key="F major")
        assert names(score) == ["C5", "D#5", "Eb5", "F5", "D5", "E#5", "Fb5", "G5"]

    def test_places_beyond_a_pupils_reach_are_left_out_and_told(self) -> None:
        score = written("p1: 1*4 p3: 1*4", "climb = 4", positions=(1, 4))
        assert letters(score) == [0, 1]
        assert score.left_out == (
            "the starting position that reaches position 5 is left out",
            "the starting position that reaches position 6 is left out",
        )

    def test_places_beyond_the_fingerboard_are_no_error_to_who_leaves_them_out(self) -> None:
        with pytest.raises(UnplayableError, match=r"line 3: .*beyond the end of the fingerboard"):
            written("p1: 4*8", "climb = 21")
        for bar in ("p1: 4*8", "E4=1*8"):
            assert letters(written(bar, "climb = 21", positions=(1, 4))) == [0, 1, 2, 3]

    def test_a_reach_that_leaves_nothing_is_an_error(self) -> None:
        with pytest.raises(
            UnplayableError, match="no starting position of the climb lies within positions 6-7"
        ):
            written("p1: 1*8", "climb = 3", positions=(6, 7))

    def test_a_starting_position_is_the_same_notes_from_wherever_the_hand_comes(self) -> None:
        score = written("p1: 1*4 p3: 1*4", "climb = 3")
        for stand in score.climb:
            ways = (stand.notes, stand.again, stand.fresh)
            assert len({tuple((n.start, n.pitch, n.stop) for n in way) for way in ways}) == 1
            assert [way[1] for way in ways] == [stand.notes[1]] * 3
        assert [stand.fresh[0].arrival for stand in score.climb] == [None] * 3


class TestShifts:
    def test_every_kind_that_fingers_make(self) -> None:
        score = written("p1: 1 p3: 1 3 p1: 1 2 p3: 1 p1: 3 1")
        assert shifts(score) == [
            None,
            (Kind.SAME_FINGER, True),
            None,
            (Kind.OLD_FINGER, True),
            None,
            (Kind.EXCHANGE, True),
            (Kind.SUBSTITUTION, False),
            None,
        ]

    @pytest.mark.parametrize(
        ("lead", "up", "down"),
        [
            ('"old finger"', Kind.OLD_FINGER, Kind.OLD_FINGER),
            ('"new finger"', Kind.NEW_FINGER, Kind.NEW_FINGER),
            ('{ up = "old finger", down = "new finger" }', Kind.OLD_FINGER, Kind.NEW_FINGER),
            ('{ up = "new finger" }', Kind.NEW_FINGER, Kind.OLD_FINGER),
        ],
    )
    def test_the_lead_may_differ_by_direction(self, lead: str, up: Kind, down: Kind) -> None:
        score = written("p1: 1*4 p3: 3*2 p1: 1*2", f"slide.lead = {lead}")
        assert shifts(score) == [None, (up, True), (down, True)]

    def test_a_written_lead_also_leads_an_exchange(self) -> None:
        score = written("p1: 2*4 p3: 1*4", 'slide.lead = "old finger"')
        assert shifts(score)[1] == (Kind.OLD_FINGER, True)
        assert arrival(score.notes[1]).ghost == Pitch.of("A4")

    def test_a_shift_across_strings_leads_on_the_string_that_is_left(self) -> None:
        score = written("D: p1: 1*4 A: p3: 2*4")
        assert shifts(score)[1] == (Kind.ACROSS_STRINGS, True)
        across = arrival(score.notes[1])
        assert (across.string, across.ghost) == ("D", Pitch.of("G4"))

    @pytest.mark.parametrize("between", ["0", "r", "0 r", "r 0"])
    def test_over_an_open_string_or_a_rest_a_shift_is_unheard_but_told(self, between: str) -> None:
        rest = 8 - 2 - len(between.split())
        score = written(f"p1: 2 {between} p3: 2 1*{rest}")
        landing = next(note for note in score.notes if note.position_number == 3)
        assert (arrival(landing).kind, landing.heard) == (Kind.UNHEARD, False)
        assert (arrival(landing).start.name, arrival(landing).end.name) == ("E4", "G4")
        assert landing.is_landing

    def test_a_minus_sign_silences_one_shift(self) -> None:
        score = written("p1: 1*2 p3: -1*2 p1: 1*2 p3: 1*2")
        kinds = [Kind.UNHEARD, Kind.SAME_FINGER, Kind.SAME_FINGER]
        assert shifts(score) == [None, *((kind, kind is Kind.SAME_FINGER) for kind in kinds)]

    def test_a_renamed_position_is_no_shift(self) -> None:
        assert shifts(written("p1: 1*4 p2: 1x*4")) == [None, None]

    def test_another_accidental_is_a_half_step_slide_heard_only_where_written(self) -> None:
        assert shifts(written("2*4 2#*4")) == [None, (Kind.HALF_STEP, False)]
        assert shifts(written("2*4 ~2#*4")) == [None, (Kind.HALF_STEP, True)]
        silent, heard = (written(bar).notes[1] for bar in ("2*4 2#*4", "2*4 ~2#*4"))
        assert (silent.is_landing, heard.is_landing) == (False, True)

    def test_a_reach_of_the_finger_is_no_half_step_slide(self) -> None:
        assert shifts(written("4*4 4x*4")) == [None, None]
        assert shifts(written("4*4 ~4x*4")) == [None, (Kind.SLIDE, True)]

    def test_a_slide_may_be_written_where_the_hand_stays_or_is_not_modelled(self) -> None:
        assert shifts(written("1*4 ~2*4")) == [None, (Kind.SLIDE, True)]
        assert shifts(written("C5*4 ~E5*4")) == [None, (Kind.SLIDE, True)]
        cello = written("D: D3*4 ~F3*4", instrument="cello").notes[1]
        assert arrival(cello).travel_mm == pytest.approx(109.78, abs=0.00501)  # 3 semitones
        flute = written("C5*4 ~E5*4", instrument="flute").notes[1]
        assert arrival(flute).travel_mm is None

    def test_no_slide_sounds_from_an_open_string_or_out_of_a_rest(self) -> None:
        assert shifts(written("0*4 ~2*4")) == [None, None]
        assert shifts(written("1*2 r*2 ~2*4")) == [None, None]
        assert shifts(written("1*2 0*2 p3: ~2*4"))[2] == (Kind.UNHEARD, False)

    def test_the_shifts_back_to_the_next_pass_and_on_to_the_next_place_are_heard(self) -> None:
        first, second = written("p1: 1*4 p3: 1*4", "climb = 2").climb
        reached = [first.again[0], second.notes[0], second.again[0]]
        assert [arrival(note).end.name for note in reached] == ["E4", "F4", "F4"]
        assert all(note.heard for note in reached)
        assert not first.notes[0].heard

    def test_bars_of_click_between_passes_leave_the_shift_unheard(self) -> None:
        (stand,) = written("p1: 1*4 p3: 1*4", "gap = 1").climb
        back = stand.again[0]
        assert (arrival(back).kind, back.heard) == (Kind.UNHEARD, False)


class TestWarnings:
    def test_a_higher_finger_that_does_not_sound_higher_is_told(self) -> None:
        score = written("1# 2 3 4 1*4")
        assert score.warnings == (
            "bar 1, position 1 on the D string: finger 2 (F4) does not sound above finger 1 (E#4)",
        )

    def test_a_hand_stretched_beyond_its_frame_is_told(self) -> None:
        score = written("1 4x# 1 2 1*4")
        assert score.warnings[0] == (
            "bar 1, position 1 on the D string: E4 to B#4 stretches the hand beyond its frame"
        )

    def test_an_augmented_fourth_in_the_key_is_no_stretch(self) -> None:
        assert written("p2: 1 4 1 4 1*4").warnings == ()  # F4 to B4

    def test_first_and_fourth_finger_of_half_position_are_no_stretch(self) -> None:
        assert written("p0: 1 2 3 4 1*4").warnings == ()


SAME_DRILL = [  # fingers, the same in pitches (bare letters follow the signature)
    ("p1: 1 2 3 1 p3: 1 2 p1: 2 1", "E4=1 F4=2 G4=3 E4=1 G4=1 A4=2 F4=2 E4=1"),
    ("p1: 1 p3: 3 p1: 4 p4: 1 2 p2: 3 1 4", "E4=1 B4=3 A4=4 A4=1 B4=2 A4=3 F4=1 B4=4"),
    ("p1: 2 p3: -1 ~2 r 0 p2: 1 (2 3)", "F4=2 -G4=1 ~A4=2 r Dn4=0 F4=1 (G4=2 A4=3)"),
    ("p2: 1 4 3 1 p5: 1 2 3 4", "F4=1 B4=4 A4=3 F4=1 B4=1 C5=2 D5=3 E5=4"),
    ("D: p4: 1 4 3 1 A: p5: 1 0 3 4", "D: A4=1 D5=4 C5=3 A4=1 A: F5=1 An4=0 A5=3 B5=4"),
]


@pytest.mark.parametrize("key", ["C major", "G major", "F major", "E major", "D harmonic minor"])
@pytest.mark.parametrize(("fingers", "pitches"), SAME_DRILL)
@pytest.mark.parametrize("climb", ["1", "3", "[1, 3, 1]"])
def test_fingers_and_written_pitches_of_the_same_drill_give_the_same_score(
    fingers: str, pitches: str, key: str, climb: str
) -> None:
    one, two = (written(bar, f"climb = {climb}", key=key) for bar in (fingers, pitches))

    assert one.climb == two.climb


class TestBows:
    @pytest.mark.parametrize(
        ("bow", "bows"),
        [("note", 8), ("beat", 4), ("half bar", 2), ("bar", 1)],
    )
    def test_a_bow_takes_what_the_drill_says(self, bow: str, bows: int) -> None:
        score = written("1 2 3 1 2 3 4 1", f'bow = "{bow}"')
        assert len({note.bow for note in score.notes}) == bows

    def test_written_slurs_share_a_bow_and_the_rest_have_their_own(self) -> None:
        score = written("1 (2 3) 1 (2 3) 4 1", "climb = 2")
        bows = [note.bow for note in score.notes]
        assert [bows.count(bow) for bow in dict.fromkeys(bows)] == [1, 2, 1, 2, 1, 1] * 2

    def test_a_slur_crosses_a_bar_line(self) -> None:
        score = written("1*6 (2*2 | 3*2) 4*6")
        assert score.notes[1].bow == score.notes[2].bow


@given(scores())
def test_notes_follow_one_another_and_fill_every_bar_but_for_its_rests(score: Score) -> None:
    bars, rests = score.drill.bars, [t.is_rest for t in score.drill.pattern.events]
    for stand in score.climb:
        for old, new in pairwise(stand.notes):
            assert old.end <= new.start
            if not any(rests):
                assert old.end == new.start
        assert stand.notes[-1].end <= score.pass_length
    for note in score.notes:
        edges = [note.start, *(note.start + tie for tie in note.ties), note.end]
        for start, end in pairwise(edges):  # only a tie leads across a bar line
            [bar] = (bar for bar in bars if bar.start <= start < bar.end)
            assert end <= bar.end
        [bar] = (bar for bar in bars if bar.start <= note.start < bar.end)
        assert note.bar == (note.stand - 1) * bars[-1].number + bar.number
        line = bar.end if bar.is_upbeat else bar.start
        assert note.start == line + note.beat * bar.meter.beat
        assert (note.beat < 0) == bar.is_upbeat
    if not any(rests):
        sounding = sum((note.length for note in score.notes), Fraction(0))
        assert sounding == score.pass_length * len(score.climb)


class TestUpbeat:
    """The first bar may be a part of one; the last gives it up, so that repeats join."""

    def test_an_upbeat_counts_back_from_the_bar_it_leads_to(self) -> None:
        score = written("3 | 1 2 3 | 1 2", 'meter = "3/4"', 'note = "quarter"', 'upbeat = "1"')
        told = [(note.bar, note.beat, note.start) for note in score.notes]
        assert told == [(1, -1, 0), (1, 0, 1), (1, 1, 2), (1, 2, 3), (2, 0, 4), (2, 1, 5)]
        assert score.pass_length == 6

    def test_every_starting_position_begins_with_it(self) -> None:
        score = written("3*1 | 1*4 2*3", 'upbeat = "1"', "climb = 2")
        assert [(note.bar, note.beat) for note in score.notes[3:]] == [
            (2, Fraction(-1, 2)),
            (2, 0),
            (2, 2),
        ]

    def test_a_bow_of_a_bar_begins_anew_after_it(self) -> None:
        score = written("1 2 | 1*4 2*2", 'upbeat = "2"', 'bow = "bar"')
        bows = [note.bow for note in score.notes]
        assert bows[0] == bows[1] != bows[2] == bows[3]


class TestTies:
    """A tie is one note that goes on: one onset, and the length of all its parts."""

    def test_a_tied_note_is_one_note_with_the_length_of_its_parts(self) -> None:
        score = written("1 2*5 3*2 | _*4 _*2 4 1")
        told = [(note.start, note.length, note.ties) for note in score.notes]
        half = Fraction(1, 2)
        assert told == [
            (0, half, ()),
            (half, 5 * half, ()),
            (3, 4, (1, 3)),
            (7, half, ()),
            (7 + half, half, ()),
        ]
        assert [(note.bar, note.beat) for note in score.notes][2:4] == [(1, 3), (2, 3)]

    def test_a_shift_is_from_what_was_tied_to_what_follows_it(self) -> None:
        score = written("p1: 1*8 | _*4 p3: 1*4")
        assert shifts(score) == [None, (Kind.SAME_FINGER, True)]

    @pytest.mark.parametrize("bar", ["( 1*4 2*4 | _*4 3*4 )", "1*4 2*4 | ( _*4 3*4 )"])
    def test_a_slur_that_holds_a_part_of_a_tied_note_holds_it_whole(self, bar: str) -> None:
        notes = written(bar).notes
        assert notes[1].bow == notes[2].bow

    def test_a_note_tied_out_of_its_slur_keeps_its_bow(self) -> None:
        notes = written("( 1*4 2*4 ) | _*4 3*4").notes
        assert notes[0].bow == notes[1].bow != notes[2].bow

    def test_a_tie_takes_its_turn_of_the_rhythm_unless_it_has_a_length(self) -> None:
        score = written("1 _ 2 _*5/2 3", 'rhythm = ["3/2", "1/2", "2"]')
        assert [note.length * 2 for note in score.notes] == [2, Fraction(9, 2), Fraction(3, 2)]


@given(scores())
def test_every_stopped_note_stands_where_its_finger_is(score: Score) -> None:
    """Without a reach, p - 1 + f letters above the open string; always above it, on the board."""
    symbols = score.drill.pattern.symbols
    for number, note in enumerate(score.notes):
        symbol = symbols[number % len(symbols)]
        if note.finger == 0:
            assert (note.pitch, note.position_number) == (
                score.drill.instrument.string(note.string or ""),
                None,
            )
            continue
        stop = note.stop
        assert stop is not None
        open_string = score.drill.instrument.string(stop.string)
        reach = {1: -1, 3: 1, 4: 1}[stop.finger] if symbol.extended else 0
        assert (
            stop.pitch.index == open_string.index + stop.position.number - 1 + stop.finger + reach
        )
        assert stop.pitch.key_number > open_string.key_number
        assert score.board.place_mm(stop.string, stop.pitch) > 0
        assert (
            score.board.place_mm(stop.string, stop.pitch) <= score.drill.instrument.fingerboard_mm
        )


@given(scores(plain=True))
def test_a_finger_takes_over_the_next_ones_letter_a_position_higher(score: Score) -> None:
    for note in score.notes:
        stop = note.stop
        assert stop is not None
        if stop.finger > 1:
            assert stop.pitch in standing(
                score, stop.string, stop.position.number + 1, stop.finger - 1
            )
        strings = score.drill.instrument.string_names
        number = strings.index(stop.string)
        if number and stop.position.number > 4:
            upper = strings[number - 1]
            assert stop.pitch in standing(score, upper, stop.position.number - 4, stop.finger)


def standing(score: Score, string: str, position: int, finger: int) -> set[Pitch | None]:
    """Where a finger stands, in both forms of a melodic minor."""
    boards = (score.board, score.board.rising)
    return {board.standing(string, Position(position), finger) for board in boards}


@given(scores(plain=True))
def test_the_climb_moves_every_pitch_by_letters_of_the_key(score: Score) -> None:
    count = len(score.climb[0].notes)
    for number, note in enumerate(score.notes[count:], count):
        first = score.notes[number % count]
        if 0 in (note.position, first.position):  # half position raises its own first finger
            continue
        climbed = score.climb[note.stand - 1].letters - score.climb[0].letters
        index = first.pitch.index + climbed
        assert note.pitch in (score.key.pitch(index), score.key.rising.pitch(index))


@given(scores(), st.sampled_from(("equal", "pythagorean", "just")))
def test_places_on_the_string_rise_with_pitch(score: Score, temperament: str) -> None:
    board = Fingerboard(score.drill.instrument, score.key, Tuning(440, temperament))
    string = score.string or "D"
    stopped = {note.pitch for note in score.notes if note.finger}
    rising = sorted(stopped, key=board.hz)
    mm = [board.place_mm(string, pitch) for pitch in rising]
    for low, high, one, two in zip(rising, rising[1:], mm, mm[1:], strict=False):
        assert one < two or board.hz(low) == board.hz(high)


@given(scores())
def test_a_travel_has_both_its_ends_on_the_string_and_a_length(score: Score) -> None:
    for note in score.notes:
        if (way := note.arrival) is None:
            assert not note.heard
            continue
        assert way.travel_mm is not None
        assert way.travel_mm >= 0
        if note.heard and way.kind is not Kind.EXCHANGE and way.ghost is None:
            assert way.end == note.pitch


@given(scores())
def test_starting_positions_are_counted_from_one_and_in_order(score: Score) -> None:
    order = [(note.stand, note.start) for note in score.notes]
    assert order == sorted(order)
    assert [stand.number for stand in score.climb] == list(range(1, len(score.climb) + 1))


def test_a_mark_that_never_does_anything_is_warned_of() -> None:
    drill = parse('title = "T"\ninstrument = "violin"\nbar = "1 r ~2 -3 p3: 1 r 1 2"')
    warnings = " ".join(write(drill, drill.keys[0], "D").warnings)
    assert '"~2": nothing slides into it' in warnings
    assert '"-3": no shift arrives at this note' in warnings


def test_a_mark_that_would_only_work_at_a_repeat_is_warned_of_where_there_is_none() -> None:
    text = 'title = "T"\ninstrument = "violin"\nbar = "p1: -1 2 3 4 p3: 1 2 3 4"\npasses = {}'
    assert write(parse(text.format(2))).warnings == ()
    (warning,) = write(parse(text.format(1))).warnings
    assert '"-1": no shift arrives at this note' in warning


def test_a_mark_that_works_at_a_repeat_is_not_warned_of() -> None:
    drill = parse('title = "T"\ninstrument = "violin"\nbar = "p1: -1 2 3 4 p3: 1 2 3 4"')
    assert write(drill, drill.keys[0], "D").warnings == ()


def test_a_finger_without_a_hand_is_told_only_for_the_pitch_that_it_was_written_for() -> None:
    drill = parse(
        'title = "T"\ninstrument = "guitar"\nnote = "half"\nclimb = 2\nbar = "F3=2 ~A3=1"'
    )
    notes = write(drill, drill.keys[0]).notes
    assert [note.finger for note in notes] == [2, 1, None, None]
    travel = notes[1].arrival
    assert travel is not None
    assert travel.finger is None  # one finger leaves, another arrives: neither goes all the way
