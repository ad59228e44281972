"""The sheets of a night's record and of a season: the record, its escapes, where to look, the season's report."""

from datetime import datetime
from pathlib import Path

import geopandas as gpd

from mapper.draw.words import tr
from mapper.farm.crs import Grid
from mapper.farm.farm import Farm
from mapper.files.atomic import written_whole
from mapper.record.escape import escapes
from mapper.record.look import look_here
from mapper.record.night import NightRecord
from mapper.record.season import Season
from mapper.sheets.afterburn import record_sides
from mapper.sheets.escapepage import escape_side
from mapper.sheets.lookpage import look_sides
from mapper.sheets.pdf import Made, Sheet, pdf_of, start_qt, write_sheets
from mapper.sheets.seasonpage import season_sides

_PAPER = "A4 portrait"


def record_sheets(record: NightRecord, made_at: datetime) -> list[Sheet]:
    """Return the sheets of a record, A4 upright. made_at: UTC, when they are printed."""
    night = f"{record.night:%Y-%m-%d}"
    found = [Sheet("after-burn record", tr("After-burn record, {farm}, {night}").format(
        farm=record.farm, night=night), _PAPER, tuple(record_sides(record, made_at)))]  # fmt: skip
    for escape in escapes(record):
        name = str(escape.body["name"])
        found.append(Sheet(f"escape {name}", tr("Escape {name}, {farm}, {night}").format(
            name=name, farm=record.farm, night=night), _PAPER, (escape_side(record, escape, made_at),)))  # fmt: skip
    if len(look_here(record)):
        found.append(Sheet("look here", tr("Look here in the next crop, {farm}, {night}").format(
            farm=record.farm, night=night), _PAPER, tuple(look_sides(record, made_at))))  # fmt: skip
    return found


def print_record(record: NightRecord, folder: Path, made_at: datetime) -> list[Path]:
    """Write the sheets of a record as PDFs into a folder and return their paths. made_at: UTC."""
    start_qt()
    author = record.author or ", ".join(dict.fromkeys(e.by for e in record.entries)) or record.farm
    mark = f"{record.plan_number:06d}{len(record.entries):04d}{record.night:%Y%m%d}"
    made = Made(author, made_at, mark, Grid(record.pieces.crs))
    return write_sheets(record_sheets(record, made_at), made, folder, f"{record.night:%Y-%m-%d}")


def print_season(season: Season, farm: Farm, burnt: gpd.GeoDataFrame, made_at: datetime, path: Path) -> None:
    """Write a season's report as one PDF. burnt: layer "row_parts" of all rows fire went along."""
    start_qt()
    title = tr("Season {name}, {farm}").format(name=season.season, farm=farm.name)
    sheet = Sheet("season", title, "A4 landscape", tuple(season_sides(season, farm, burnt, made_at)))
    mark = f"{len(season.nights):06d}{season.season[:4]:0>10}"
    with written_whole(path) as half:
        half.write_bytes(pdf_of(sheet, Made(farm.in_charge or farm.name, made_at, mark, farm.grid))[0])
