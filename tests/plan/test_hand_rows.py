"""Rows touched by hand, seen rows and last season's go from the farm into its rows."""

from datetime import date

import shapely
from shapely import affinity
from shapely.geometry import LineString

from mapper.farm.layers import make_layer
from mapper.farm.rowedit import RowEdit
from mapper.plan.job import work
from mapper.plan.request import NightRequest
from tests.farms import MADE_AT, small_farm

REQUEST = NightRequest(date(2026, 4, 18), MADE_AT)


def test_a_stroke_of_the_pen_derives_nothing_again_and_stays():
    farm = small_farm()
    first = work(farm, REQUEST, stages=("rows",))
    rows = first.done["rows"].output[0]
    longest = rows.geometry.iloc[rows["length_m"].argmax()]
    paddock = rows["paddock"].iloc[rows["length_m"].argmax()]
    cut = farm.with_(row_edits=(RowEdit("delete", paddock, was=longest),))
    second = work(cut, REQUEST, first, stages=("rows",))
    after = second.done["rows"].output[0]
    assert len(after) == len(rows) - 1 and not after.geometry.geom_equals_exact(longest, 0.01).any()
    assert second.done[f"rows:{paddock}"] is first.done[f"rows:{paddock}"]
    # The paddock is changed, its rows worked out anew: the hand's edit is still done.
    changed = cut.with_(paddocks=cut.paddocks.assign(cut_height_m=0.2))
    third = work(changed, REQUEST, second, stages=("rows",))
    assert third.done[f"rows:{paddock}"] is not first.done[f"rows:{paddock}"]
    assert len(third.done["rows"].output[0]) == len(after)


def test_seen_rows_place_the_pattern_and_old_rows_are_compared():
    farm = small_farm(tracks={})
    plain = work(farm, REQUEST, stages=("rows",)).done["rows"].output[0]
    name = plain["paddock"].iloc[0]
    straight = [
        g
        for g in plain.geometry[plain["paddock"] == name]
        if g.length < 1.01 * LineString([g.coords[0], g.coords[-1]]).length
    ]
    seen = [affinity.translate(g, 3.0, 0.0) for g in straight[3:6]]
    with_seen = farm.with_(
        rows_seen=make_layer("rows_seen", {"paddock": [name] * 3}, seen, farm.grid.crs),
        rows_before=make_layer("rows_before", {"paddock": [name] * len(seen)}, seen, farm.grid.crs),
    )
    rows, _, remarks, _ = work(with_seen, REQUEST, stages=("rows",)).done["rows"].output
    moved = rows[rows["paddock"] == name].geometry.to_numpy()
    middle = shapely.line_interpolate_point(seen[1], 0.5, normalized=True)
    assert shapely.distance(moved, middle).min() < 0.3
    assert any("3 observed rows" in r.text for r in remarks)
    assert any("last season" in r.text for r in remarks)
