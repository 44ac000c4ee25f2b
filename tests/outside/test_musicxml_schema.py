"""Every MusicXML file that we write is valid MusicXML 4.0.

Source: musicxml.xsd, version 4.0, W3C Music Notation Community Group, 2021, as it lies in the
`musicxml` package. Its two imports are answered here, so that nothing is fetched: the `xml:` and
`xlink:` attributes that it refers to (W3C XML 1.0; XLink 1.1).
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import pytest
from hypothesis import given, settings
from lxml import etree
from playing import drill_of
from strategies import scores

from playalong.drill.load import load
from playalong.engraving.musicxml import musicxml
from playalong.engraving.written_score import write_down
from playalong.music.key import ALL_KEYS
from playalong.score.writing import write
from playalong.shipped import demo_folder

XS = "http://www.w3.org/2001/XMLSchema"
XML = f"""<xs:schema xmlns:xs="{XS}" targetNamespace="http://www.w3.org/XML/1998/namespace">
<xs:attribute name="lang" type="xs:language"/><xs:attribute name="space" type="xs:NCName"/>
</xs:schema>"""
XLINK = f"""<xs:schema xmlns:xs="{XS}" targetNamespace="http://www.w3.org/1999/xlink">
<xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:NCName"/>
<xs:attribute name="role" type="xs:anyURI"/><xs:attribute name="title" type="xs:string"/>
<xs:attribute name="show" type="xs:NCName"/><xs:attribute name="actuate" type="xs:NCName"/>
</xs:schema>"""
DEMOS = sorted(demo_folder().glob("*.toml"))


class Offline(etree.Resolver):
    """Answers the schema's own addresses; anything else is an error."""

    def resolve(self, url, public_id, context):
        known = {"xml.xsd": XML, "xlink.xsd": XLINK}
        return self.resolve_string(known[url.rsplit("/", 1)[-1]], context)


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    package = Path(find_spec("musicxml").origin).parent  # not imported: its import is slow
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Offline())
    source = (package / "generate_classes" / "musicxml_4_0.xsd").read_bytes()
    return etree.XMLSchema(etree.fromstring(source, parser))


def parsed(xml: bytes) -> etree._Element:
    return etree.fromstring(xml, etree.XMLParser(no_network=True, load_dtd=False))


def demo_files(path: Path) -> list[bytes]:
    drill = load(path)
    pairs = [(key, string) for key in drill.keys for string in drill.strings or (None,)]
    return [musicxml(write_down(write(drill, *pair))) for pair in pairs]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_drill_is_valid(path, schema):
    for xml in demo_files(path):
        schema.assertValid(parsed(xml))


def test_a_drill_with_an_author_and_a_way_back_is_valid(schema):
    drill = drill_of("p1: 1*4 p3: 1*4", 'author = "A. Teacher"\npasses = 3')
    xml = musicxml(write_down(write(drill, drill.keys[0], drill.strings[0])))
    assert b"back: same finger" in xml
    schema.assertValid(parsed(xml))


@settings(max_examples=100)
@given(scores())
def test_every_drill_is_valid(schema, score):
    schema.assertValid(parsed(musicxml(write_down(score))))


MODES = ("major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "aeolian", "ionian",
         "locrian")  # fmt: skip


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
def test_every_key_is_valid_and_within_seven_sharps_or_flats(key, schema):
    """The schema lets any number pass: the circle of fifths ends at seven (check by hand)."""
    drill = drill_of("p1: 1 2 3 4 4 3 2 1", f'keys = ["{key}"]')
    root = parsed(musicxml(write_down(write(drill, drill.keys[0], drill.strings[0]))))
    schema.assertValid(root)
    assert -7 <= int(root.findtext(".//fifths")) <= 7
    assert root.findtext(".//mode") in MODES  # named in the standard's text of <mode>


@pytest.fixture
def good() -> etree._Element:
    return parsed(demo_files(DEMOS[0])[0])


def test_a_string_numbered_nought_is_refused(good, schema):
    good.find(".//string").text = "0"
    assert not schema.validate(good)
    assert "string-number" in str(schema.error_log)


def test_a_fingering_outside_technical_is_refused(good, schema):
    fingering = good.find(".//fingering")
    fingering.getparent().getparent().append(fingering)
    assert not schema.validate(good)
    assert "fingering" in str(schema.error_log)


def test_a_mode_before_its_fifths_is_refused(good, schema):
    key = good.find(".//key")
    key.insert(0, key.find("mode"))
    assert not schema.validate(good)
    assert "fifths" in str(schema.error_log)


def test_the_tempo_that_sounds_is_in_quarters_where_the_beat_is_dotted():
    """check: a dotted quarter at 60 pairs with 90 (MusicXML 4.0, the sound element's tempo)."""
    drill = drill_of("1 2 3 1 2 3", 'meter = "6/8"\ntempo = { start = 60 }')
    root = parsed(musicxml(write_down(write(drill, drill.keys[0], drill.strings[0]))))
    assert root.find(".//sound").get("tempo") == "90"
    assert root.findtext(".//beat-unit") == "quarter"
    assert root.find(".//beat-unit-dot") is not None
    assert root.findtext(".//per-minute") == "60"
