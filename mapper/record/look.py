"""Where to look in the next crop: stretches of row whose seed may have lived."""

from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from mapper.farm.layers import make_layer
from mapper.record.heat import heat_table
from mapper.record.night import NightRecord
from mapper.record.parts import row_parts
from mapper.record.states import LOOK_AT, STATES

# Stretches of one piece nearer to each other than this are one place to walk to: our choice.
_JOINED_M = 5.0


def look_here(record: NightRecord) -> gpd.GeoDataFrame:
    """Return layer "look_here": a line a place, worst first, with its row, metres along it and why.

    Rows of which nothing was written down are looked at too: not known is not burnt. Rows burnt after the last moment
    to light are late, those with a probe that reached no kill point are cool, whatever the tally says.
    """
    parts = row_parts(record)
    parts = parts.assign(reason=[_reason(p, record) for p in parts.itertuples()])
    cool = _cool_rows(record)
    known_cool = parts["order_no"].isin(list(cool)) & (parts["state"] == "burnt")
    parts.loc[known_cool, "reason"] = "A probe in it did not reach the heat that kills seed"
    wanted = parts[parts["reason"] != ""]
    rows = [part for _, group in wanted.groupby(["piece_id", "reason"], sort=False) for part in _join(group)]
    rank = {state: k for k, state in enumerate(("got away", "missed", "went out", "", "cool", "late", "left", "burnt"))}
    rows.sort(key=lambda r: (rank[r["state"]], r["order_no"], r["from_m"]))
    columns = {
        name: [r[name] for r in rows]
        for name in ("piece_id", "row_id", "paddock", "block", "order_no", "from_m", "to_m", "reason", "state")
    }
    columns["length_m"] = [float(shapely.length(r["geometry"])) for r in rows]
    columns["place"] = [f"L{k}" for k in range(1, len(rows) + 1)]
    return make_layer("look_here", columns, [r["geometry"] for r in rows], record.pieces.crs)


def _reason(part: Any, record: NightRecord) -> str:
    state = str(part.state)
    if state == "burnt" and record.window_end is not None and pd.notna(part.at) and part.at > record.window_end:
        return STATES["late"]
    if state in LOOK_AT:
        return f"{STATES[state]}: {part.why}" if part.why else STATES[state]
    return "" if state == "burnt" else ("Still written as alight" if state == "lit" else "Nothing written down")


def _cool_rows(record: NightRecord) -> set[int]:
    table = heat_table(record)
    reached = table[["ryegrass", "radish", "all_seed"]].any(axis=1)
    return {int(n) for n in table.loc[~reached.astype(bool), "row"].dropna()}


def _join(group: gpd.GeoDataFrame) -> list[dict[str, Any]]:
    joined: list[dict[str, Any]] = []
    for part in group.sort_values("from_m").to_dict("records"):
        if joined and part["from_m"] - joined[-1]["to_m"] <= _JOINED_M:
            last = joined[-1]
            coords = [*last["geometry"].coords, *part["geometry"].coords]
            last.update(to_m=part["to_m"], geometry=shapely.LineString(coords))
        else:
            joined.append(dict(part))
    return joined
