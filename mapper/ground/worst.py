"""The few worst places of a paddock's edge, in words that a crew can walk to."""

from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from mapper.farm.notes import Level, Remark
from mapper.ground.edges import Edge
from mapper.ground.sides import place_words

# As many places as are named, and how far from the worst piece its stretch goes. Our choices.
PLACES, _ALIKE = 3, 0.7
# Taken where no chance of crossing is accepted yet. Our choice, only for what is worth a word.
_CHANCE = 0.05


def worst_places(edge: Edge, edges: gpd.GeoDataFrame, accepted: float, response_min: float) -> list[Remark]:
    """Return up to three places, one a side, where most is likely to get out: depth of reach times chance of crossing.

    accepted: the chance of crossing accepted here, NaN where nobody has said. Places where the break holds better than
    that are for the record ("note"); the others want eyes.
    """
    if edges.empty:
        return []
    accepted = _CHANCE if np.isnan(accepted) else accepted
    now = edges["reach_m"].to_numpy() * edges["breach"].to_numpy()
    after = np.nan_to_num(edges["reach_after_m"].to_numpy() * edges["breach_after"].to_numpy())
    threat = np.maximum(now, after)
    remarks: list[Remark] = []
    side = edges["side"].to_numpy(dtype=object)
    left = threat.copy()
    while len(remarks) < PLACES and left.max() > max(0.1 * threat.max(), 0.1):
        k = int(left.argmax())
        stretch = _stretch(k, threat, side, edge.pieces.ring)
        late = bool(after[k] > now[k])
        breach = float(edges["breach_after" if late else "breach"].iloc[k])
        level: Level = "look" if breach > accepted else "note"
        gates = edge.assets.of("gate")
        text = _words(
            edges.iloc[k], late, place_words(edge.pieces.mids[k], edge.area, gates), stretch, edges, response_min
        )
        where = shapely.line_merge(shapely.multilinestrings(edges.geometry.to_numpy()[stretch]))
        remarks.append(Remark("breaks", level, text, str(edge.paddock["paddock"]), where))
        left[side == side[k]] = 0.0
    return remarks


def _stretch(k: int, threat: Any, side: Any, ring: Any) -> list[int]:
    """The pieces beside a piece that are about as bad."""
    alike = (threat >= _ALIKE * threat[k]) & (side == side[k]) & (ring == ring[k])
    first = last = k
    while first > 0 and alike[first - 1]:
        first -= 1
    while last < len(alike) - 1 and alike[last + 1]:
        last += 1
    return list(range(first, last + 1))


def _words(piece: Any, late: bool, place: str, stretch: list[int], edges: gpd.GeoDataFrame, response_min: float) -> str:
    length = float(edges["length_m"].iloc[stretch].sum())
    reach, breach = (piece["reach_after_m"], piece["breach_after"]) if late else (piece["reach_m"], piece["breach"])
    along = f", and {round(length, -1):,.0f} m like it" if length >= 50 else ""
    when = "after the wind change " if late else ""
    label, chance = _label(piece, late)
    if piece["present_m"] > 0:
        holds = f"the {piece['present_m']:.3g} m break lets {_share(breach)} across"
    else:
        holds = "no break holds it"
    soon = f", fire there in about {_minutes(piece['arrives_min'])}" if np.isfinite(piece["arrives_min"]) else ""
    return (
        f"{piece['side']}, {place}{along}, {label}{chance}: {when}fire from up to {max(round(reach, -1), 10):.0f} m "
        f"inside gets here within {response_min:g} min; {holds}. Beyond: {piece['beyond']}{soon}."
    )


def _label(piece: Any, late: bool) -> tuple[str, str]:
    """How the place lies to the wind, and the chance that it does."""
    label = str(piece["label_after"] if late else piece["label"])
    if label == "downwind":
        return label, f" in {round(100 * (piece['chance_after'] if late else piece['chance_downwind']))} of 100"
    if label == "flank" and not late:
        return label, f" in {round(100 * (piece['chance_flank'] - piece['chance_downwind']))} of 100"
    return label, ""


def _share(chance: float) -> str:
    return f"{round(100 * chance)} in 100 such fires" if chance >= 0.01 else "less than 1 in 100 such fires"


def _minutes(minutes: float) -> str:
    if minutes < 1:
        return "a minute"
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.1f} h"
