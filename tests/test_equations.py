"""The table of equations in DEVELOPERS.md names every equation of weather/ and fire/, and only what is there."""

import ast
import importlib
import re
from pathlib import Path

import pytest

HERE = Path(__file__).parent
TABLE = [
    [cell.strip() for cell in line.strip().strip("|").split("|")]
    for line in (HERE.parent / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    if re.match(r"\| `(weather|fire)\.", line)
]
# Modules that hold no equation, and functions beside equations that only turn units, join or check tables.
NO_EQUATION = ("forecast", "readings", "issues", "windchange", "march", "smokeat", "__init__")
BESIDE = {
    "weather.danger.table_air", "weather.moisture.moisture_from_code", "weather.moisture.code_from_moisture",
    "weather.moisture.surface_moisture_range", "weather.moisture.days_since_soak", "weather.moisture.days_known",
    "weather.smoke.smoke_footprint", "weather.stability.still_hours", "weather.wind.short_mean_factor",
    "weather.direction.chance_within",
}  # fmt: skip


def named() -> set[str]:
    found = set()
    for row in TABLE:
        first, *others = re.findall(r"`([^`]+)`", row[0])
        module = first.rpartition(".")[0]
        found |= {first, *(f"{module}.{name}" for name in others)}
    return found


def public() -> set[str]:
    found = set()
    for room in ("weather", "fire"):
        for path in (HERE.parent / "mapper" / room).glob("*.py"):
            if path.stem in NO_EQUATION:
                continue
            body = ast.parse(path.read_text(encoding="utf-8")).body
            found |= {
                f"{room}.{path.stem}.{n.name}" for n in body if isinstance(n, ast.FunctionDef) and n.name[0] != "_"
            }
    return found


def test_every_equation_stands_in_the_table():
    assert public() - BESIDE - named() == set()


def test_the_table_names_only_what_is_there():
    for name in named():
        module, _, function = name.rpartition(".")
        assert callable(getattr(importlib.import_module(f"mapper.{module}"), function))


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row[0])
def test_every_row_is_whole_and_its_checks_exist(row):
    assert len(row) == 5
    assert all(row)
    for check in re.findall(r"\w+/test_\w+", row[3]):
        assert (HERE / f"{check}.py").exists()
    assert re.search(r"\w+/test_\w+", row[3])
