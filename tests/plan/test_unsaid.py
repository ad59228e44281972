"""A forecast that leaves the unit of its wind open keeps a plan from being a go, also after a save."""

from datetime import date

from mapper.farm.issues import ForecastIssue
from mapper.files.project import open_project, save_project
from mapper.hours.verdict import BanCheck
from mapper.plan.job import run
from mapper.plan.request import NightRequest
from tests.farms import MADE_AT, small_farm

NIGHT = NightRequest(date(2026, 4, 18), MADE_AT, "Adviser", 7, ban=BanCheck("none", MADE_AT, "Adviser"))
OPEN = "The forecast north.csv names no unit of its wind."


def test_a_wind_without_a_unit_stands_against_lighting(tmp_path):
    farm = small_farm()
    assert OPEN not in run(farm, NIGHT)[0].against
    kept = farm.with_issue(ForecastIssue("north.csv", farm.forecast, unsaid=OPEN))
    save_project(kept, tmp_path / "farm.gpkg")
    for unsure in (kept, open_project(tmp_path / "farm.gpkg")[0]):
        plan = run(unsure, NIGHT)[0]
        assert not plan.go and OPEN in plan.against
