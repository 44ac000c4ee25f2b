import pytest

from playalong.sound.tags import TagError, Tags


def test_details_tell_what_is_known_in_one_order():
    assert Tags(title="x").details == ""
    assert Tags(title="x", stage="listen", string="D").details == "string: D; stage: listen"
    full = Tags("x", "y", "F major", "D", 60.0, "listen")
    assert full.details == "key: F major; string: D; tempo: 60; stage: listen"


@pytest.mark.parametrize(("number", "expected"), [(None, ""), (3, "3")])
def test_a_track_number_is_told_where_known(number, expected):
    assert Tags(title="x", track_number=number).track == expected


@pytest.mark.parametrize("text", ["two\nlines", "nul\0", "tab\t", "\x85"])
@pytest.mark.parametrize("field", ["title", "album", "key", "string", "stage"])
def test_control_characters_are_refused(field, text):
    with pytest.raises(TagError, match="has a control character in it; write it on one line"):
        Tags(**{"title": "x", field: text})


def test_spaces_of_typography_are_welcome():
    assert Tags(title="n°\u00a03\u202f: élan").title == "n°\u00a03\u202f: élan"
