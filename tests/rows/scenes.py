"""The scenes that tests and the bench share, and the run of one."""

from dataclasses import replace
from typing import Any

import pandas as pd
from shapely import affinity
from shapely.geometry import Polygon

from mapper.farm.limits import LocalLimits
from mapper.rows.derive import derive_rows
from mapper.rows.load import residue_to_row
from mapper.rows.result import RowsResult
from tests.rows import otherdriver
from tests.rows.otherdriver import Day
from tests.rows.simulator import KITE, Scene, Truth, dam_and_tree, drive, harvesters

CRS = "EPSG:7854"
SMALL = affinity.scale(KITE, 0.62, 0.62, origin=(0, 0))

SCENES: dict[str, Scene] = {
    "RTK 1 s": Scene(KITE),
    "dam and tree": Scene(dam_and_tree(KITE)),
    "two machines": Scene(KITE, machines=2),
    "two, one name, shuffled": Scene(KITE, machines=2, one_name=True, shuffled=True),
    "RTK 5 s": Scene(KITE, every_s=5.0),
    "faults": Scene(KITE, faults=True),
    "dam, two, faults": Scene(dam_and_tree(KITE), machines=2, faults=True, stops=6),
    "no flag": Scene(KITE, flag=False),
    "no flag, 5 s": Scene(KITE, flag=False, every_s=5.0),
    "no flag, no flow": Scene(KITE, flag=False, flow=False),
    "no flag, road": Scene(KITE, flag=False, road=True),
    "waterway": Scene(KITE, waterway=True),
    "waterway, no flag": Scene(KITE, waterway=True, flag=False),
    "only header-down fixes": Scene(KITE, only_down=True),
    "no clock": Scene(KITE, clock=False),
    "rounded to 0.11 m": Scene(KITE, round_m=0.11),
    "rounded to 1.1 m": Scene(KITE, round_m=1.1),
    "drift 0.5 m": Scene(KITE, drift_m=0.5),
    "drift 0.5 m, straight only": Scene(KITE, drift_m=0.5, laps=0),
    "drift 0.5 m, contour": Scene(KITE, drift_m=0.5, laps=17),
    "everything bad, 3 s": Scene(
        dam_and_tree(KITE), every_s=3.0, faults=True, noise_m=0.1, drift_m=0.2, late_flag_s=2.0, machines=2
    ),
}


def paddock_of(shape: Polygon, **columns: Any) -> "pd.Series[Any]":
    """Return a row of the paddocks layer."""
    given = {"paddock": "Test", "crop": "wheat", "yield_t_ha": 2.5, "cut_height_m": 0.15}
    return pd.Series({**given, "geometry": shape, **columns})


def known_straw(scene: Scene) -> Scene:
    """Return the scene with the straw that the program takes for this yield: the test is of where it goes."""
    return replace(scene, straw_t_ha=float(residue_to_row(scene.grain_t_ha, "wheat", 0.15).value))


def run(scene: Scene) -> tuple[RowsResult, Truth, pd.DataFrame]:
    """Drive a scene and derive its rows."""
    scene = known_straw(scene)
    log, truth = drive(scene)
    found = derive_rows(log, harvesters(scene), paddock_of(scene.paddock), CRS, limits=LocalLimits())
    return found, truth, log


def run_day(day: Day) -> tuple[RowsResult, Truth, pd.DataFrame]:
    """Drive a day of the other driver and derive its rows."""
    log, truth = otherdriver.drive(day)
    found = derive_rows(log, otherdriver.harvesters(day), paddock_of(day.paddock), CRS, limits=LocalLimits())
    return found, truth, log
