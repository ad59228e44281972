"""What must hold of rows whatever the log: order, place, zone, repetition, mass."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Transformer
from shapely import affinity

from mapper.farm.limits import LocalLimits
from mapper.rows.derive import derive_rows
from tests.rows.scenes import CRS, SMALL, known_straw, paddock_of
from tests.rows.simulator import Scene, dam_and_tree, drive, harvesters

EAST, NORTH = 300_000.0, 6_250_000.0


@pytest.fixture(scope="module")
def two():
    scene = known_straw(Scene(dam_and_tree(SMALL), machines=2, seed=8, stops=4))
    log, truth = drive(scene)
    return scene, log, truth


def rows(log, scene, shape=None, crs=CRS):
    found = derive_rows(
        log, harvesters(scene), paddock_of(scene.paddock if shape is None else shape), crs, limits=LocalLimits()
    )
    return found


def same(one, other, share=0.999):
    """Nearly all of each lies within 0.2 m of the other, with as much straw."""
    a, b = one.windrows, other.windrows
    for p, q in ((a, b), (b, a)):
        near = shapely.union_all(q.geometry.to_numpy()).buffer(0.2)
        assert shapely.length(shapely.intersection(p.geometry.to_numpy(), near)).sum() >= share * p["length_m"].sum()
    assert kg(one) == pytest.approx(kg(other), rel=0.002)


def kg(found):
    return (found.windrows["load_kg_m"] * found.windrows["length_m"]).sum() + found.heaps["kg"].sum()


@settings(max_examples=5, deadline=None)
@given(parts=st.integers(2, 6), seed=st.integers(0, 99))
def test_order_of_files_does_not_matter(two, parts, seed):
    scene, log, _ = two
    rng = np.random.default_rng(seed)
    # Cut into files by machine and time, read in any order.
    cuts = np.sort(rng.choice(np.arange(500, len(log) - 500), parts - 1, replace=False))
    files = [log.iloc[a:b] for a, b in zip([0, *cuts], [*cuts, len(log)], strict=True)]
    mixed = pd.concat([files[k] for k in rng.permutation(parts)], ignore_index=True)
    one, other = rows(log, scene), rows(mixed, scene)
    same(one, other)
    assert list(one.windrows["row_id"]) == list(other.windrows["row_id"])


def test_twice_the_same_log_gives_no_second_set(two):
    scene, log, _ = two
    one, twice = rows(log, scene), rows(pd.concat([log, log], ignore_index=True), scene)
    same(one, twice)
    assert len(one.windrows) == len(twice.windrows)


@pytest.mark.parametrize("zone", ["EPSG:7855", "EPSG:7853"])
def test_zone_change_moves_the_rows_and_nothing_else(two, zone):
    scene, log, _ = two
    # Near the edge of zone 54, where grids differ by some 2 degrees and a few 0.1 m in 100 m.
    turn = Transformer.from_crs("EPSG:7854", zone, always_xy=True)
    east = 720_000.0 if zone == "EPSG:7855" else 280_000.0

    def move(xy):
        x, y = turn.transform(np.asarray(xy[:, 0]) + east, np.asarray(xy[:, 1]) + NORTH)
        return np.column_stack((x, y))

    here = log.assign(x=log["x"] + east, y=log["y"] + NORTH)
    shape = affinity.translate(scene.paddock, east, NORTH)
    there_xy = move(log[["x", "y"]].to_numpy())
    there = log.assign(x=there_xy[:, 0], y=there_xy[:, 1], heading_deg=np.nan)
    one = rows(here.assign(heading_deg=np.nan), scene, shape)
    other = rows(there, scene, shapely.transform(scene.paddock, move), zone)
    back = Transformer.from_crs(zone, "EPSG:7854", always_xy=True)
    lines = shapely.transform(
        other.windrows.geometry.to_numpy(), lambda xy: np.column_stack(back.transform(xy[:, 0], xy[:, 1]))
    )
    near = shapely.union_all(lines).buffer(0.3)
    whole = one.windrows["length_m"].sum()
    assert shapely.length(shapely.intersection(one.windrows.geometry.to_numpy(), near)).sum() >= 0.998 * whole
    assert shapely.length(lines).sum() == pytest.approx(whole, rel=0.002)


@settings(max_examples=6, deadline=None)
@given(delay=st.floats(0, 20), mixing=st.floats(0, 3), behind=st.floats(0, 8))
def test_all_straw_through_the_header_lies_in_rows_and_heaps(two, delay, mixing, behind):
    scene, log, _ = two
    # A paddock with room round it: nothing is cut off at the boundary.
    wide = scene.paddock.buffer(60).difference(
        shapely.union_all([shapely.Polygon(h) for h in scene.paddock.interiors]).buffer(-30)
    )
    machine = replace(scene.harvester, threshing_delay_s=delay, mixing_s=mixing, chute_behind_m=behind)
    known = {n: replace(machine, machine=n) for n in "AB"}
    found = derive_rows(log, known, paddock_of(wide), CRS, limits=LocalLimits())
    cut = next(f.value for f in found.figures if f.name.endswith("straw cut")) * 1000
    assert kg(found) == pytest.approx(cut, rel=0.005)


def test_every_row_says_what_is_asked_of_it(two):
    scene, log, _ = two
    found = rows(log, scene).windrows
    assert set(found["machine"]) == {"A", "B"} and (found["pass_no"] > 0).all()
    assert found["dropped_at"].notna().all() and found["share_interpolated"].between(0, 1).all()
    assert found["confidence"].between(0, 1).all() and (found["evidence"] != "").all()
    for text, length, load in zip(found["load_along"], found["length_m"], found["load_kg_m"], strict=True):
        along = np.array(text.split(), float)
        assert abs(len(along) - length / 10) <= 1 and along.mean() == pytest.approx(load, abs=0.01)
