"""After the lighting: how many rows burn at once, mopping up and patrol; and what one point a row or many cost."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Figure, Level, Remark
from mapper.order.lighting import lighting_times
from mapper.order.lit import Lit
from mapper.order.paddock import PaddockOrder
from mapper.order.tell import clock


def watch(lit: Sequence[Lit], limits: LocalLimits, night_hours: pd.DataFrame) -> list[Remark]:
    """Return what to do when the last row is lit: mop up, patrol until when; and how many rows burn at once at most."""
    if not lit:
        return []
    out, patrol = max(x.out_at for x in lit), limits.get("patrol_min")
    begin = f"Last row lit at {clock(max(x.done_at for x in lit), night_hours)}, out at {clock(out, night_hours)}: "
    level: Level = "note" if patrol is not None else "look"
    if patrol is None:
        text = begin + "mop up along the edges; how long to patrol is not known: type the local limit in."
    else:
        until = clock(out + timedelta(minutes=patrol.value), night_hours)
        text = begin + f"mop up along the edges, patrol until {until} at least, and look again in the morning."
    cap = limits.get("rows_alight_max")
    said = "your limit is not known" if cap is None else f"your limit is {cap.value:.0f}"
    most = max(sum(y.lit_at <= x.lit_at < y.out_at for y in lit) for x in lit)
    return [
        Remark("order", level, text),
        Remark("order", "note", f"At most {most} rows or parts of rows burn at once; {said}."),
    ]


def points_cost(orders: Sequence[PaddockOrder], crews: Sequence[Crew], burn: RowBurn) -> tuple[Figure, ...]:
    """Return for each paddock what lighting with one point a row and with many costs: crew hours shared, last row out.

    Lighting along every row, and the longest time a row burns after it; driving between rows and waiting are left out.
    """
    found = []
    for order in (o for o in orders if o.burning):
        lengths = np.array([b.piece.line.length for b in order.burning])
        one = replace(burn, point_gap_m=2000.0)
        for words, how in (("one point a row", one), (f"a point every {burn.point_gap_m:g} m", burn)):
            times = lighting_times(lengths, tuple(crews), how)
            hours = float(times.lighting_s.min(axis=0).sum()) / len(crews) / 3600.0
            row_h = float(times.out_s.max()) / 3600.0
            inputs = (
                f"lighting {hours:.1f} h, longest row burns {row_h:.1f} h after it; {burn.spread_m_min:g} m a minute"
            )
            found.append(Figure(f"{order.paddock}: with {words}", hours + row_h, "h", burn.source, inputs))
    return tuple(found)
