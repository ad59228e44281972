"""What the hand did to rows outlives a new derivation."""

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point

from mapper.farm.along import read_along, write_along
from mapper.farm.errors import SettingError
from mapper.farm.layers import make_layer
from mapper.farm.limits import Limit, LocalLimits
from mapper.farm.rowedit import RowEdit
from mapper.rows.edits import apply_edits

CRS = "EPSG:7854"
LIMITS = LocalLimits().with_limit(Limit("row_load_min", 20, "test", "2026-01-01"))
LIMITS = LIMITS.with_limit(Limit("row_load_max", 45, "test", "2026-01-01"))


def derived(shift=0.0, length=300.0):
    """Six rows, 12 m apart, running north; a new derivation finds them a little off."""
    lines = [LineString([(12 * k + shift, 5 * shift), (12 * k + shift, length + 3 * shift)]) for k in range(6)]
    load = np.array([1.0, 2.0, 1.5, 1.5, 3.0, 1.5])
    along = [write_along(np.linspace(0.5, 1.5, 30) * v) for v in load]
    return make_layer(
        "windrows",
        {
            "row_id": [f"P-{k}" for k in range(6)],
            "paddock": ["P"] * 6,
            "length_m": shapely.length(lines),
            "load_kg_m": load,
            "load_t_ha": load / 0.6 * 10,
            "load_along": along,
            "evidence": ["log"] * 6,
        },
        lines,
        CRS,
    )


def edited(rows, *edits):
    return apply_edits(rows, edits, limits=LIMITS)


@pytest.mark.parametrize("shift", [0.0, 0.4, -0.7])
def test_edits_find_their_rows_after_a_new_derivation(shift):
    old = derived()
    line = [g for g in old.geometry]
    moved = affinity.translate(line[3], 3.0, 0.0)
    edits = (
        RowEdit("delete", "P", was=line[0]),
        RowEdit("move", "P", was=line[3], now=moved),
        RowEdit("split", "P", was=line[4], at=Point(48.5, 100.0)),
        RowEdit("draw", "P", now=LineString([(90, 0), (90, 200)]), load_kg_m=1.2),
    )
    rows, said = edited(derived(shift), *edits)
    assert said == () and rows["row_id"].is_unique and len(rows) == 7
    x = shapely.get_x(shapely.get_point(rows.geometry.to_numpy(), 0))
    assert x == pytest.approx([12 + shift, 24 + shift, 39, 48 + shift, 48 + shift, 60 + shift, 90])
    hand = rows[rows["evidence"].str.contains("by hand")]
    assert len(hand) == 4 and hand["load_kg_m"].notna().all()
    # A moved row keeps its straw; the parts of a split one share it as it lay along the row.
    assert rows["load_kg_m"].iloc[2] == pytest.approx(1.5)
    parts = rows.iloc[[3, 4]]
    assert (parts["load_kg_m"] * parts["length_m"]).sum() == pytest.approx(900, rel=0.01)
    assert parts["length_m"].sum() == pytest.approx(300 - 2 * shift) and parts["load_kg_m"].diff().abs().iloc[1] > 1
    assert len(read_along(parts["load_along"].iloc[0])) == 10


def test_a_crossing_row_is_not_the_one_meant():
    rows, said = edited(derived(), RowEdit("delete", "P", was=LineString([(-5, 150), (70, 150)])))
    assert len(rows) == 6 and "no longer there" in said[0].text and said[0].level == "look"


def test_what_a_longer_row_has_beyond_the_deleted_stays():
    rows, _ = edited(derived(length=300.0), RowEdit("delete", "P", was=LineString([(12, 0), (12, 160)])))
    assert len(rows) == 6
    assert rows["length_m"].min() == pytest.approx(138.0, abs=0.5)


def test_edits_may_empty_and_fill_a_paddock():
    old = derived()
    gone, _ = edited(old, *(RowEdit("delete", "P", was=g) for g in old.geometry))
    assert gone.empty
    back, _ = edited(gone, RowEdit("draw", "P", now=old.geometry.iloc[0]))
    assert list(back["row_id"]) == ["P-001"] and back["load_kg_m"].isna().all() and back["load_class"].iloc[0] == ""


def test_drawn_row_takes_the_usual_load_and_its_class():
    rows, _ = edited(derived(), RowEdit("draw", "P", now=LineString([(90, 0), (90, 200)])))
    drawn = rows.iloc[-1]
    assert drawn["load_kg_m"] == pytest.approx(1.75) and drawn["load_class"] == "right"


def test_edit_goes_to_a_file_and_back():
    edit = RowEdit("split", "P", was=LineString([(0, 0), (0, 9.5)]), at=Point(0, 4))
    assert RowEdit.from_plain(edit.as_plain()) == edit


@pytest.mark.parametrize("wrong", [{"action": "draw"}, {"action": "delete", "was": LineString([(0, 0), (0, 1)])}])
def test_impossible_edits_raise(wrong):
    with pytest.raises(SettingError):
        RowEdit(paddock="P", **wrong)
