import json

import pytest

from mapper.farm.errors import SettingError
from mapper.files.wording import (
    read_wording,
    starting_wording,
    wording_from,
    wording_tables,
    write_wording,
)


def test_the_programs_texts_say_who_set_them():
    assert {"if_it_goes_wrong", "notice_advice", "clothing", "patrol"} <= set(starting_wording())
    assert all(w.source and w.date and w.lines for w in starting_wording().values())


def test_a_farms_texts_come_back_from_toml_and_json(tmp_path):
    own = wording_from({"clothing": {"words": "Wool only.", "source": "the manager", "date": "2026-03-01"}})
    write_wording(own, tmp_path / "wording.toml")
    assert read_wording(tmp_path / "wording.toml") == own
    assert wording_from(json.loads(json.dumps(wording_tables(own)))) == own


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"boots": {"words": "x", "source": "a", "date": "b"}}, "no text is called 'boots'"),
        ({"clothing": {"words": "x {crew}", "source": "a", "date": "b"}}, "nothing is called 'crew'"),
        ({"clothing": {"words": "x {", "source": "a", "date": "b"}}, "a brace is left open"),
        ({"clothing": {"words": [], "source": "a", "date": "b"}}, "not a text or a list"),
        ({"clothing": {"words": "x", "source": "a"}}, "who set it and when"),
        ({"clothing": "x"}, "not a table"),
    ],
)
def test_what_is_wrong_with_a_text_is_said(table, said):
    with pytest.raises(SettingError, match=said):
        wording_from(table)
