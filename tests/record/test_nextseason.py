from mapper.farm.layers import make_layer
from mapper.record.nextseason import next_season
from tests.demo import demo_plan


def test_ground_stays_and_the_harvest_goes():
    plan = demo_plan()
    farm = plan.farm
    rolled = next_season(farm, plan.windrows, "2025/26")
    assert rolled.paddocks.geometry.equals(farm.paddocks.geometry)
    assert rolled.paddocks["yield_t_ha"].isna().all()
    assert (rolled.paddocks["crop"] == "").all()
    assert (rolled.neighbours["told_at"] == "").all()
    assert rolled.limits == farm.limits
    assert rolled.assets.equals(farm.assets)
    assert (rolled.tracks, rolled.forecast, rolled.told) == ({}, None, ())
    assert rolled.rows_before["season"].unique().tolist() == ["2025/26"]
    assert rolled.rows_before.geometry.tolist() == plan.windrows.geometry.tolist()
    # The farm passed in is as it was.
    assert farm.paddocks["yield_t_ha"].notna().all()


def test_a_season_without_rows_rolls_over():
    farm = demo_plan().farm
    rolled = next_season(farm, make_layer("windrows", {}, [], farm.grid.crs), "2025/26")
    assert rolled.rows_before.empty
