"""XML as a stream of elements, with a bound on everything that a file could make us hold.

The standard library's parser fetches nothing from outside; entities, which can grow without end,
are refused where they are declared.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast
from xml.etree import ElementTree
from xml.parsers import expat

from playalong.errors import short
from playalong.passage.model import PassageError

MOST_BYTES = 64 * 1024 * 1024
MOST_DEPTH = 64  # MusicXML 4.0 nests about 12 deep
MOST_BARS = 50_000
MOST_IN_A_BAR = 50_000  # elements
MOST_BETWEEN_TAGS = 1024 * 1024  # bytes
BLOCK_BYTES = 64 * 1024
BAR = "measure"


class _FoundRootError(Exception):
    """The root's name, on its way out of the parser."""


def root_name(data: bytes) -> str:
    """The name of the outermost element. PassageError for what is no XML, or declares entities."""
    parser = expat.ParserCreate()

    def entity(*_: object) -> None:
        raise PassageError("the score declares XML entities, which no notation program writes")

    def start(name: str, _: object) -> None:
        raise _FoundRootError(name.rpartition(":")[2])

    parser.EntityDeclHandler = entity
    parser.StartElementHandler = start
    try:
        parser.Parse(data, True)
    except _FoundRootError as found:
        return str(found)
    except expat.ExpatError as error:
        if begun := data.lstrip():
            damage = f"it breaks off or is damaged at line {error.lineno}"
            what = damage if begun.startswith(b"<") else "what is in it is not XML"
            raise PassageError(f"this is no score that can be read: {what}") from None
    except (LookupError, ValueError) as error:
        raise PassageError(f"this is no score that can be read: {short(str(error))}") from None
    raise PassageError("this is no score: it is empty")


def elements(data: bytes) -> Iterator[tuple[str, ElementTree.Element]]:
    """Every element as it starts and as it ends; a bar is emptied once its end has been seen.

    PassageError for what is damaged, with its line, or made to fill the memory.
    """
    root_name(data)
    parser: ElementTree.XMLPullParser[ElementTree.Element]
    parser = ElementTree.XMLPullParser(("start", "end"))
    depth = bars = held = silent_bytes = 0
    try:
        for offset in range(0, len(data), BLOCK_BYTES):
            parser.feed(data[offset : offset + BLOCK_BYTES])
            silent_bytes += BLOCK_BYTES
            for event, element in _events(parser):
                silent_bytes = 0
                if event == "start":
                    element.tag = element.tag.rpartition("}")[2]  # without its namespace
                yield event, element
                if event == "start":
                    depth, held = depth + 1, held + 1
                    if depth > MOST_DEPTH:
                        raise PassageError("the score nests deeper than any music does")
                    continue
                depth -= 1
                if element.tag == BAR:
                    element.clear()
                    bars, held = bars + 1, 0
            if held > MOST_IN_A_BAR or bars > MOST_BARS:
                raise PassageError("the score holds more than any piece of music does")
            if silent_bytes > MOST_BETWEEN_TAGS:
                raise PassageError("the score has a word or tag of more than a megabyte")
        parser.close()
        yield from _events(parser)
    except ElementTree.ParseError as error:
        line = error.position[0]
        raise PassageError(f"the score breaks off or is damaged at line {line}") from None
    except (LookupError, ValueError) as error:
        raise PassageError(f"this is no score that can be read: {short(str(error))}") from None


def _events(
    parser: ElementTree.XMLPullParser[ElementTree.Element],
) -> Iterator[tuple[str, ElementTree.Element]]:
    """Those of starts and ends, which are all that is asked for."""
    return cast(Iterator[tuple[str, ElementTree.Element]], parser.read_events())
