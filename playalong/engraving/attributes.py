"""What a bar begins with in MusicXML: key, time, clef and transposition, where they are new."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from playalong.engraving.clefs import Clef
from playalong.engraving.notations import add
from playalong.engraving.written_score import WrittenScore
from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.music.transposition import AS_WRITTEN, Transposition


def opening_attributes(measure: Element, written: WrittenScore, divisions: int) -> None:
    """All of them, in the first bar."""
    first, transposition = written.bars[0], written.instrument.transposition
    attributes = add(measure, "attributes")
    add(attributes, "divisions", divisions)
    _key(attributes, first.key)
    _time(attributes, first.meter)
    clef = _clef(attributes, written.clefs[0])
    if written.octave_clef:
        add(clef, "clef-octave-change", transposition.octaves)
    elif transposition != AS_WRITTEN:
        _transpose(attributes, transposition)


def changed_attributes(measure: Element, written: WrittenScore, index: int) -> None:
    """Those in which a bar differs from the one before."""
    bar, before = written.bars[index], written.bars[index - 1]
    attributes = Element("attributes")
    if bar.key != before.key:
        _key(attributes, bar.key)
    if bar.meter != before.meter:
        _time(attributes, bar.meter)
    if written.clefs[index] != written.clefs[index - 1]:
        _clef(attributes, written.clefs[index])
    if len(attributes):
        measure.append(attributes)


def _key(attributes: Element, key: Key) -> None:
    signature = add(attributes, "key")
    add(signature, "fifths", key.signature)
    add(signature, "mode", key.mode.rpartition(" ")[2])  # a harmonic minor is a minor


def _time(attributes: Element, meter: Meter) -> None:
    time = add(attributes, "time")
    add(time, "beats", meter.count)
    add(time, "beat-type", meter.unit)


def _clef(attributes: Element, clef: Clef) -> Element:
    element = add(attributes, "clef")
    add(element, "sign", clef.sign)
    add(element, "line", clef.line)
    return element


def _transpose(attributes: Element, by: Transposition) -> None:
    """What sounds against what is written: letters and half steps within an octave, and octaves."""
    octaves = int(by.letters / 7)
    element = add(attributes, "transpose")
    add(element, "diatonic", by.letters - 7 * octaves)
    add(element, "chromatic", by.semitones - 12 * octaves)
    if octaves:
        add(element, "octave-change", octaves)
