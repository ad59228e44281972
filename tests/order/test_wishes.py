"""What the person in charge fixes is kept, the rest is mended round it, and what the wind forbids is said."""

from datetime import timedelta

import pandas as pd
import shapely
from shapely.affinity import translate

from mapper.farm.farm import Crew
from mapper.farm.layers import make_layer
from mapper.order.wishes import Earlier, FixedStart, LostCrew, Wishes
from tests.farms import EAST, GRID, NORTH
from tests.order.paddocks import START, layers_of, order_of, straight_rows, turned
from tests.order.test_burn import check_promises, lit, window

PADDOCK = straight_rows(14, 300.0)
TWO = tuple(Crew(f"Crew {k}") for k in (1, 2))


def rows(order, *numbers):
    return order.pieces[order.pieces["row_id"].isin([f"P-{n}" for n in numbers])]


def kept(order):
    check_promises(order, layers_of(PADDOCK)[1], 90.0, window().ends_at + timedelta(minutes=20))


def test_a_row_taken_out_stays_unlit_and_all_others_are_lit():
    order = order_of(PADDOCK, wishes=Wishes(unlit_rows=("P-5",)))
    kept(order)
    left = order.pieces[order.pieces["order_no"] == 0]
    assert set(left["row_id"]) == {"P-5"} and left["left_reason"].str.contains("person in charge").all()


def test_a_fixed_start_is_kept():
    at = START + timedelta(hours=3)
    order = order_of(PADDOCK, wishes=Wishes(starts=(FixedStart(("P-3", "P-2"), at),)))
    kept(order)
    assert rows(order, 2, 3)["lit_at"].min() >= pd.Timestamp(at)
    # Rows downwind of them do not wait.
    assert rows(order, 8, 9)["lit_at"].max() < pd.Timestamp(at)


def test_a_crew_lost_lights_nothing_after():
    at = START + timedelta(minutes=20)
    plain = order_of(PADDOCK, crews=TWO)
    order = order_of(PADDOCK, crews=TWO, wishes=Wishes(lost_crews=(LostCrew("Crew 2", at),)))
    kept(order)
    points = order.lighting_points
    assert points.loc[points["crew"] == "Crew 2", "lit_at"].max() <= pd.Timestamp(at)
    assert lit(order)["out_at"].max() >= lit(plain)["out_at"].max()
    none = order_of(PADDOCK, crews=TWO, wishes=Wishes(lost_crews=(LostCrew("Crew 2"),)))
    assert set(none.lighting_points["crew"]) == {"Crew 1"}


def test_a_block_goes_first_only_where_the_wind_allows_it():
    paddock = straight_rows(20, 300.0)
    west, east = tuple(f"P-{k}" for k in range(1, 9)), tuple(f"P-{k}" for k in range(12, 20))
    begin = lit(order_of(paddock)).groupby("row_id")["lit_at"].min()
    assert begin[list(east)].max() < begin[list(west)].min()
    refused = order_of(paddock, wishes=Wishes(earlier=(Earlier(west, east),)))
    assert any("cannot go first" in r.text for r in refused.remarks)
    pd.testing.assert_series_equal(lit(refused).groupby("row_id")["lit_at"].min(), begin)


def test_a_field_beside_another_goes_first_when_it_is_dragged():
    # A track parts the paddock; the wind blows square to the rows, so that neither half lies downwind of the other.
    south, north = straight_rows(8, 200.0), straight_rows(8, 200.0)
    area = shapely.union(south[0], translate(north[0], 0, 210))
    whole = (area.convex_hull, [*south[1], *(translate(r, 0, 210) for r in north[1])], "P")
    y = NORTH + 205.0
    track = make_layer(
        "assets",
        {"asset": ["T"], "kind": ["track"], "name": ["Track"]},
        [shapely.LineString([(EAST - 10, y), (EAST + 110, y)])],
        GRID.crs,
    )
    mine, other = tuple(f"P-{k}" for k in range(1, 9)), tuple(f"P-{k}" for k in range(9, 17))
    for first, then in ((mine, other), (other, mine)):
        order = order_of(whole, assets=track, wishes=Wishes(earlier=(Earlier(first, then),)))
        begin = lit(order).groupby("row_id")["lit_at"].min()
        assert not any("cannot go first" in r.text for r in order.remarks)
        assert begin[list(first)].max() <= begin[list(then)].min()


def test_another_paddock_goes_first_when_it_is_dragged():
    west, east = straight_rows(6, 200.0, name="West"), turned(straight_rows(6, 200.0, name="East"), dx=900)
    assert lit(order_of(west, east)).iloc[0]["paddock"] == "East"
    dragged = order_of(west, east, wishes=Wishes(earlier=(Earlier(("West-1",), ("East-1",)),)))
    assert lit(dragged).iloc[0]["paddock"] == "West"
    assert (dragged.pieces["order_no"] > 0).all()


def test_names_nobody_knows_are_said():
    wishes = Wishes(unlit_rows=("X-1",), lost_crews=(LostCrew("Nobody"),))
    said = " ".join(r.text for r in order_of(PADDOCK, wishes=wishes).remarks)
    assert "X-1" in said and "Nobody" in said


def test_the_same_wishes_give_the_same_order():
    wishes = Wishes(unlit_rows=("P-4",), starts=(FixedStart(("P-2",), START + timedelta(hours=2)),))
    one, two = (order_of(PADDOCK, wishes=wishes, effort=0.25) for _ in range(2))
    assert list(lit(one)["piece_id"]) == list(lit(two)["piece_id"])
    assert list(lit(one)["lit_at"]) == list(lit(two)["lit_at"])
