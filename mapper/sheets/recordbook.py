"""The sheets of a night's record: the record, a page for each escape, where to look in the next crop."""

from datetime import datetime

from mapper.draw.words import tr
from mapper.record.escape import escapes
from mapper.record.look import look_here
from mapper.record.night import NightRecord
from mapper.sheets.afterburn import record_sides
from mapper.sheets.escapepage import escape_side
from mapper.sheets.lookpage import look_sides
from mapper.sheets.pdf import Sheet

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
