"""The instruments that are known here, by the names that players use.

String lengths vary by maker; the figures are common practice, and those of small sizes are from
memory: makers differ by 2 to 3 per cent. The bass that most players have is called 3/4.
Transpositions are common practice. Ranges are sounding and generous: a drill is not refused for a
note that a good player has.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from playalong.errors import nearest, short
from playalong.instrument.hand import Hand
from playalong.instrument.hands import BASS_HAND, BASS_HAND_OF_FOUR, CELLO_HAND, VIOLIN_HAND
from playalong.instrument.instruments import Instrument, InstrumentError
from playalong.music.pitch import LETTERS, Pitch
from playalong.music.transposition import Transposition


def _bowed(
    name: str,
    strings: str,
    clef: str,
    length_mm: float,
    fingerboard_mm: float,
    program: int,
    highest: str,
    sizes: str,
    *,
    hand: Hand | None = None,
    hands: Mapping[str, Hand] = MappingProxyType({}),
    c5: str = "C5",
) -> Instrument:
    """A row: `sizes` are names and string lengths in mm, `c5` is what a written C5 sounds."""
    pitches = tuple(Pitch.of(string) for string in strings.split())
    pairs = (each.split("=") for each in sizes.split(", "))
    return Instrument(
        name,
        clef,
        program,
        pitches[-1],
        Pitch.of(highest),
        pitches,
        tuple(LETTERS[pitch.letter] for pitch in pitches),
        length_mm,
        fingerboard_mm,
        hand,
        hands,
        Transposition.of(c5),
        sizes=MappingProxyType({size: float(mm) for size, mm in pairs}),
    )


def _other(
    name: str, clef: str, program: int, lowest: str, highest: str, c5: str = "C5"
) -> Instrument:
    """A row of an instrument that is always made in one pitch; `c5` is what a written C5 sounds."""
    low, high = Pitch.of(lowest), Pitch.of(highest)
    return Instrument(name, clef, program, low, high, transposition=Transposition.of(c5))


def _voice(
    name: str, clef: str, program: int, lowest: str, highest: str, c5: str = "C5"
) -> Instrument:
    return replace(_other(name, clef, program, lowest, highest, c5), is_voice=True)


def _made_in(name: str, clef: str, program: int, lowest: str, highest: str, c5: str) -> Instrument:
    """A row of a transposing wind: what a written C5 sounds on each kind, the usual one first.

    `lowest` and `highest` are those of the usual one, sounding.
    """
    pitches = {each.rstrip("0123456789"): Transposition.of(each) for each in c5.split()}
    usual = _other(name, clef, program, lowest, highest, c5.split()[0])
    return replace(usual, pitches=MappingProxyType(pitches), details=f" in {next(iter(pitches))}")


INSTRUMENTS = {
    instrument.name: instrument
    for instrument in (
        _bowed(
            "violin", "E5 A4 D4 G3", "treble", 328, 270, 40, "A7",
            "4/4=328, 7/8=317, 3/4=308, 1/2=285, 1/4=255, 1/8=230, 1/10=215, 1/16=200",
            hand=VIOLIN_HAND,
        ),
        _bowed(
            "viola", "A4 D4 G3 C3", "alto", 375, 305, 41, "C7",
            "4/4=375, 7/8=360, 3/4=340, 1/2=308, 1/4=285, 1/8=255, 1/10=245, 1/16=230, "
            "16.5 inch=385, 16 inch=375, 15.5 inch=367, 15 inch=360, 14 inch=340, 13 inch=308, "
            "12 inch=285",
            hand=VIOLIN_HAND,
        ),
        _bowed(
            "cello", "A3 D3 G2 C2", "bass", 690, 580, 42, "E6",
            "4/4=690, 7/8=660, 3/4=635, 1/2=585, 1/4=520, 1/8=465, 1/10=430, 1/16=395",
            hand=CELLO_HAND,
        ),
        _bowed(
            "bass", "G2 D2 A1 E1", "bass", 1060, 870, 43, "B4",
            "4/4=1100, 7/8=1080, 3/4=1060, 1/2=970, 1/4=900, 1/8=820, 1/10=760, 1/16=700",
            c5="C4", hand=BASS_HAND,
            hands=MappingProxyType({"1-2-4": BASS_HAND, "1-2-3-4": BASS_HAND_OF_FOUR}),
        ),
        _voice("soprano", "treble", 40, "A3", "F6"),
        _voice("mezzo-soprano", "treble", 41, "G3", "C6"),
        _voice("alto", "treble", 41, "E3", "C6"),
        _voice("tenor", "treble", 41, "A2", "D5", "C4"),
        _voice("baritone", "bass", 42, "E2", "B4"),
        _voice("bass voice", "bass", 42, "C2", "G4"),
        _voice("voice", "treble", 41, "E2", "F6"),
        _other("piccolo", "treble", 40, "C5", "C8", "C6"),
        _other("flute", "treble", 40, "B3", "F7"),
        _other("recorder", "treble", 40, "C4", "D7"),
        _other("descant recorder", "treble", 40, "C5", "D7", "C6"),
        _other("treble recorder", "treble", 40, "F4", "G6"),
        _other("tenor recorder", "treble", 40, "C4", "D6"),
        _other("oboe", "treble", 40, "A3", "A6"),
        _made_in("english horn", "treble", 41, "E3", "C6", "F4"),
        _made_in("clarinet", "treble", 41, "D3", "C7", "Bb4 A4 C5 D5 Eb5"),
        _made_in("bass clarinet", "treble", 42, "Bb1", "F5", "Bb3"),
        _made_in("soprano saxophone", "treble", 40, "Ab3", "F#6", "Bb4"),
        _made_in("alto saxophone", "treble", 41, "Db3", "Bb5", "Eb4"),
        _made_in("tenor saxophone", "treble", 41, "Ab2", "F5", "Bb3"),
        _made_in("baritone saxophone", "treble", 42, "C2", "C5", "Eb3"),
        _other("bassoon", "bass", 42, "A1", "G5"),
        _made_in("horn", "treble", 41, "B1", "F5", "F4 Bb4 A4 G4 E4 Eb4 D4 C4"),
        _made_in("trumpet", "treble", 40, "E3", "E6", "Bb4 C5 A4 D5 Eb5 E5 F5"),
        _made_in("cornet", "treble", 40, "E3", "E6", "Bb4 A4 C5 Eb5"),
        _made_in("flugelhorn", "treble", 41, "E3", "C6", "Bb4"),
        _other("trombone", "bass", 42, "E1", "F5"),
        _other("euphonium", "bass", 42, "B1", "F5"),
        _other("tuba", "bass", 43, "C1", "F4"),
        _other("guitar", "treble", 41, "E2", "E6", "C4"),
    )
}  # fmt: skip
ALIASES = {
    "fiddle": "violin",
    "violoncello": "cello",
    "double bass": "bass",
    "contrabass": "bass",
    "string bass": "bass",
    "upright bass": "bass",
    "mezzo": "mezzo-soprano",
    "contralto": "alto",
    "bass singer": "bass voice",
    "singer": "voice",
    "soprano recorder": "descant recorder",
    "alto recorder": "treble recorder",
    "cor anglais": "english horn",
    "french horn": "horn",
    "saxophone": "alto saxophone",
    "sax": "alto saxophone",
    "soprano sax": "soprano saxophone",
    "alto sax": "alto saxophone",
    "tenor sax": "tenor saxophone",
    "baritone sax": "baritone saxophone",
    "bari sax": "baritone saxophone",
}
HIGHEST_POSITION = max(each.hand.highest_position for each in INSTRUMENTS.values() if each.hand)


def known_names() -> tuple[str, ...]:
    """Every name that `find_instrument` takes: `fiddle`, `clarinet in A`."""
    names = (*INSTRUMENTS, *ALIASES)
    made_in = (
        f"{name} in {pitch}"
        for name in names
        for pitch in INSTRUMENTS[ALIASES.get(name, name)].pitches
    )
    return (*names, *made_in)


def with_hands() -> tuple[str, ...]:
    """The names of the instruments whose hand is modelled."""
    return tuple(each.name for each in INSTRUMENTS.values() if each.hand)


def find_instrument(name: str) -> Instrument:
    """The instrument of that name, `clarinet in A`; InstrumentError offers the nearest."""
    plain = " ".join(name.lower().split())
    kind, made, pitch = plain.partition(" in ")
    try:
        found = INSTRUMENTS[ALIASES.get(kind, kind)]
    except KeyError:
        hint = nearest(plain, known_names())
        if not hint.startswith("; did"):
            hint = nearest(plain, INSTRUMENTS)
        raise InstrumentError(f'"{short(name)}" is not an instrument known here{hint}') from None
    return found.made_in(pitch_name(pitch)) if made else found


def pitch_name(text: str) -> str:
    """A pitch that instruments are made in, `b♭` or `B flat`, as it is spelled here: `Bb`."""
    plain = text.strip().lower().replace("♭", "b").replace("♯", "#").replace(" flat", "b")
    return plain[:1].upper() + plain[1:]
