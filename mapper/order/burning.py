"""One piece as it is lit: by whom, from which end, point by point."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.ranged import Array
from mapper.order.lighting import point_places
from mapper.order.pieces import Piece
from mapper.order.sequence import Schedule


@dataclass(frozen=True)
class Burning:
    """A piece lit. way 1: from its last vertex. points (k, 3): metres along the work, seconds lit, crew.

    end_s: the crew is done with it, end_m along it; out_s: burnt out. Seconds count from the start of the night's first
    window.
    """

    piece: Piece
    crew: int
    way: int
    points: Array
    end_s: float
    end_m: float
    out_s: float
    edge: bool = False
    block: int = 0

    @property
    def begin_s(self) -> float:
        """When its first point is lit."""
        return float(self.points[0, 1])


def burning(
    pieces: Sequence[Piece], schedule: Schedule, crews: Sequence[Crew], row_burn: RowBurn, edge: NDArray[np.bool_]
) -> list[Burning]:
    """Return the pieces of a schedule as they are lit, in its order."""
    found = []
    for k, p in enumerate(schedule.pieces):
        crew = crews[int(schedule.crew[k])]
        places = point_places(pieces[p].line.length, row_burn.point_gap_m)
        times = schedule.begin_s[k] + places / (crew.light_km_h / 3.6) + np.arange(len(places)) * crew.dwell_s
        found.append(
            Burning(
                pieces[p],
                int(schedule.crew[k]),
                int(schedule.way[k]),
                np.stack([places, times, np.full(len(places), schedule.crew[k])], axis=1),
                float(schedule.end_s[k]),
                pieces[p].line.length,
                float(schedule.out_s[k]),
                bool(edge[p]),
            )
        )
    return found
