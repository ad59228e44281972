"""How much of each row is too light, right or too heavy, from the load along it; what chart and panel show."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from mapper.farm.limits import LocalLimits

# In the order of a chart's bar from its foot up; "" is not known.
CLASSES = ("light", "right", "", "heavy")


@dataclass(frozen=True)
class RowBar:
    """One row of the chart: metres of it in each of CLASSES, and its class as a whole."""

    row_id: str
    number: str
    metres: tuple[float, ...]
    load_class: str

    @property
    def length_m(self) -> float:
        """The whole row."""
        return sum(self.metres)


def row_bars(rows: Any, limits: "LocalLimits") -> tuple[RowBar, ...]:
    """Return a bar for each row of a paddock (layer windrows), in the layer's order."""
    bars = []
    for row in rows.itertuples():
        classes = stretch_classes(row, limits)
        share = [classes.count(k) / max(len(classes), 1) for k in CLASSES]
        if not classes:
            share = [float(k == (row.load_class or "")) for k in CLASSES]
        metres = tuple(float(row.length_m) * s for s in share)
        bars.append(
            RowBar(str(row.row_id), str(row.row_id).rpartition("-")[2].lstrip("0"), metres, str(row.load_class))
        )
    return tuple(bars)


def stretch_classes(row: Any, limits: "LocalLimits") -> list[str]:
    """Return the class of each even stretch along a row; empty where its load along is not known."""
    from mapper.farm.along import read_along
    from mapper.rows.load import classify_load

    along = read_along(str(row.load_along))
    if not len(along) or not row.load_kg_m > 0:
        return []
    return list(classify_load(along * (row.load_t_ha / row.load_kg_m), limits))


def limits_kg_m(row: Any, limits: "LocalLimits") -> tuple[float, float]:
    """Return the light and the heavy limit as kg a metre of this row (its width is in its own two loads)."""
    per = row.load_kg_m / row.load_t_ha if row.load_t_ha > 0 else float("nan")
    return limits.value("row_load_min") * per, limits.value("row_load_max") * per
