"""Plan against reality, block by block."""

from datetime import datetime, timedelta

import pandas as pd

from mapper.record.entry import standing
from mapper.record.night import NightRecord
from mapper.record.states import FIRE_WENT_ALONG


def blocks_as_burnt(record: NightRecord) -> pd.DataFrame:
    """Return a line a block: paddock, block, planned_from, planned_to, from, to (UTC or NaT), rows, copied.

    from is the first time written for a row of the block, to the last; rows written without a time count as copied.
    """
    numbered = record.pieces[record.pieces["order_no"] > 0]
    entries = [e for e in standing(record.entries) if e.kind == "rows"]
    lines = []
    for (paddock, block), pieces in numbered.groupby(["paddock", "block"], sort=False):
        numbers = set(map(int, pieces["order_no"]))
        mine = [e for e in entries if numbers & set(e.body["numbers"])]
        lit = [e.at for e in mine if e.at and e.body["state"] in ("lit", *FIRE_WENT_ALONG)]
        copied = numbers & {n for e in mine for n in e.body["numbers"]}
        lines.append({
            "paddock": paddock, "block": block, "planned_from": pieces["lit_at"].min(),
            "planned_to": pieces["out_at"].max(), "from": min(lit, default=pd.NaT), "to": max(lit, default=pd.NaT),
            "rows": len(numbers), "copied": len(copied),
        })  # fmt: skip
    table = pd.DataFrame(lines)
    for column in ("planned_from", "planned_to", "from", "to"):
        table[column] = pd.to_datetime(table[column], utc=True).astype("datetime64[ns, UTC]")
    return table


def behind(record: NightRecord, at: datetime) -> timedelta | None:
    """Return how far lighting runs behind the plan (negative: ahead), or None where no row has a time yet.

    The latest lit row is held against the time the plan gave it.
    """
    planned = record.pieces[record.pieces["order_no"] > 0].set_index("order_no")["lit_at"]
    lit = [
        (e.at, n)
        for e in standing(record.entries)
        if e.kind == "rows" and e.at and e.at <= at and e.body["state"] in ("lit", *FIRE_WENT_ALONG)
        for n in e.body["numbers"]
        if n in planned.index and pd.notna(planned[n])
    ]
    if not lit:
        return None
    when, number = max(lit)
    late: timedelta = when - planned[number].to_pydatetime()
    return late
