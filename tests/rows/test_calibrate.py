"""Settings of a harvester found again from a few ends of its rows."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity

from mapper.farm.errors import SettingError
from mapper.farm.farm import Harvester
from mapper.rows.calibrate import calibrate_harvester
from tests.rows import otherdriver
from tests.rows.otherdriver import DAYS, DELTA
from tests.rows.scenes import CRS, SMALL, known_straw, paddock_of
from tests.rows.simulator import Scene, drive


@pytest.fixture(scope="module")
def drove():
    scene = known_straw(Scene(SMALL, seed=5, harvester=Harvester("A", 12.0, threshing_delay_s=9.0, chute_behind_m=5.0)))
    log, truth = drive(scene)
    rng = np.random.default_rng(2)
    rows = [r for r in truth.rows if r.length > 60]
    picked = [rows[k] for k in rng.choice(len(rows), 5, replace=False)]
    ends = np.array([r.coords[k] for r in picked for k in (0, -1)]) + rng.normal(0, 0.3, (10, 2))
    return scene, log, ends


@pytest.mark.parametrize("wrong", [{"threshing_delay_s": 12.0}, {"threshing_delay_s": 6.0, "antenna_right_m": 0.6}])
def test_settings_come_back(drove, wrong):
    scene, log, ends = drove
    given = replace(scene.harvester, **wrong)
    found = calibrate_harvester(log, given, paddock_of(scene.paddock), CRS, ends)
    true = scene.harvester
    # At one speed delay and chute offset move ends alike: their sum is what the ends can tell.
    moved = 2.0 * found.harvester.threshing_delay_s - found.harvester.chute_behind_m
    assert moved == pytest.approx(2.0 * true.threshing_delay_s - true.chute_behind_m, abs=1.0), found.text
    assert found.harvester.antenna_right_m == pytest.approx(0.0, abs=0.2), found.text
    assert found.used >= 8 and found.after_m < 1.0 < found.before_m


def test_ends_of_no_row_are_refused(drove):
    scene, log, ends = drove
    with pytest.raises(SettingError, match="row ends"):
        calibrate_harvester(log, scene.harvester, paddock_of(scene.paddock), CRS, ends + 5000)
    middle = shapely.get_coordinates(scene.paddock.centroid)
    found = calibrate_harvester(log, scene.harvester, paddock_of(scene.paddock), CRS, np.vstack((ends, middle)))
    assert 10 in found.left_out


def test_another_makers_machine_is_learnt_from_twelve_ends():
    # The other simulator mixes straw for 1.5 s where the settings say 0.5: ends are 2 m out before.
    day = replace(DAYS["other, three-point turns, late flag"], paddock=affinity.scale(DELTA, 0.6, 0.6, origin=(0, 0)))
    log, truth = otherdriver.drive(day)
    given = otherdriver.harvesters(day)["Red"]
    rng = np.random.default_rng(1)
    rows = [r for r in truth.rows if r.length > 60]
    picked = [rows[k] for k in rng.choice(len(rows), 6, replace=False)]
    ends = np.array([r.coords[k] for r in picked for k in (0, -1)]) + rng.normal(0, 0.3, (12, 2))
    found = calibrate_harvester(log, given, paddock_of(day.paddock), CRS, ends)
    assert found.harvester.mixing_s == pytest.approx(1.5, abs=0.7) and found.after_m < 0.8 < found.before_m, found.text
