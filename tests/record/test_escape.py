import pytest

from mapper.record.entry import Entry
from mapper.record.escape import ESCAPE_FIELDS, area_ha, escape_areas, escapes, still_missing
from tests.record.nights import at, night


def escape(name: str = "E1", minutes: float = 60, **body) -> Entry:
    return Entry(f"x{name}", "escape", "Crew 1", at(minutes), at(minutes), {"name": name, **body})


def test_every_field_that_the_regulation_asks_for_is_missed_until_written():
    """WA Bush Fires Regulations 1954 r.43, read: date, cause, area, loss, noticed, extinguished, persons, equipment."""
    asked = {f.key for f in ESCAPE_FIELDS if "r.43" in f.source}
    assert asked == {"noticed_at", "out_at", "area_ha", "cause", "loss", "people", "equipment"}
    missing = {f.key for f in still_missing(escape())}
    assert missing == {f.key for f in ESCAPE_FIELDS} - {"noticed_at"}
    full = escape(**{f.key: "written" for f in ESCAPE_FIELDS if f.key != "noticed_at"})
    assert still_missing(full) == ()


def test_an_area_walked_round_is_measured():
    walked = escape(shape="LINESTRING (612000 5993000, 612100 5993000, 612100 5993050, 612000 5993050)")
    assert area_ha(walked) == pytest.approx(0.5)
    assert "area_ha" not in {f.key for f in still_missing(walked)}
    assert area_ha(escape(area_ha=2.5, shape="POINT (612000 5993000)")) == 2.5
    layer = escape_areas(night(walked))
    assert layer["area_ha"].tolist() == [pytest.approx(0.5)]
    assert layer.geom_type.tolist() == ["Polygon"]


def test_escapes_come_by_the_time_they_were_noticed():
    record = night(escape("E2", 90), escape("E1", 30))
    assert [e.body["name"] for e in escapes(record)] == ["E1", "E2"]
