"""Rows where there is no log: headland laps round the paddock, then straight passes at one heading.

Only as good as the pattern: a heading 0.1 degrees or a header 5 cm out moves far rows by metres. Two or three observed
rows fix it (fit.py). Every row is "estimated". Left out: row ends displaced by the threshing delay.
"""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from mapper.farm.along import stretches, write_along
from mapper.farm.errors import SettingError
from mapper.farm.layers import empty_layer, make_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Figure, Remark
from mapper.farm.ranged import Array
from mapper.rows.clip import clip_lines, thin_lines
from mapper.rows.fit import PatternFit
from mapper.rows.load import classify_load, load_t_ha
from mapper.rows.number import across_order, row_names
from mapper.rows.result import RowsResult

# A harvester turns a corner on about this radius.
_CORNER_M = 6.0


def pattern_rows(
    paddock: Any,
    crs: Any,
    *,
    heading_deg: float | None,
    header_width_m: float,
    headland_laps: int,
    load_kg_m: float,
    row_width_m: float = 0.6,
    limits: LocalLimits | None = None,
    fit: PatternFit | None = None,
) -> RowsResult:
    """Return estimated rows of a paddock (row of the paddocks layer), metres in crs.

    heading_deg: of the passes, from grid north; None or NaN takes the direction of the longest side, with a remark.
    load_kg_m: straw in a row. fit: a pattern from observed rows; it stands instead of the heading, and its spacing and
    place instead of a grid centred in the paddock.

    Raises SettingError for a width, lap count or load that makes no sense.
    """
    name = str(paddock["paddock"])
    for what, value, low, high in (
        ("header width", header_width_m, 1, 60),
        ("number of headland laps", headland_laps, 0, 50),
        ("load", load_kg_m, 0, 50),
        ("row width", row_width_m, 0.2, 3),
    ):
        if not low <= value <= high:
            raise SettingError(f"{what} {value:g} is outside {low:g} to {high:g}", f"paddock {name}", "Correct it")
    area = shapely.make_valid(paddock.geometry)
    remarks = [Remark("rows", "look", _HOW_SURE if fit is None else _fit_said(fit, area), name)]
    heading_deg = heading_deg if fit is None else fit.heading_deg
    if heading_deg is None or not np.isfinite(heading_deg):
        heading_deg = longest_side_deg(area)
        text = f"No row heading is given: the direction of the longest side is taken ({heading_deg:.0f} degrees)"
        remarks.append(Remark("rows", "look", text, name))
    laps = int(headland_laps)
    rings = headland_rings(area, header_width_m, laps)
    inside = _inset(area, laps * header_width_m)
    if fit is None:
        passes = straight_passes(inside, header_width_m, heading_deg)
    else:
        passes = straight_passes(inside, fit.spacing_m, heading_deg, through=(fit.x, fit.y))
    lines, _, _ = clip_lines(np.concatenate((rings, passes)), area)
    if not len(lines):
        remarks.append(Remark("rows", "look", "The paddock is too narrow for a row of this pattern", name))
        return RowsResult(empty_layer("windrows", crs), empty_layer("heaps", crs), tuple(remarks))
    lines = lines[across_order(lines)]
    in_row = load_t_ha(np.full(len(lines), float(load_kg_m)), row_width_m)
    windrows = make_layer(
        "windrows",
        {
            "row_id": row_names(name, len(lines)),
            "paddock": [name] * len(lines),
            "pass_no": np.zeros(len(lines), "int64"),
            "length_m": shapely.length(lines),
            "load_kg_m": np.full(len(lines), float(load_kg_m)),
            "load_t_ha": in_row,
            "load_class": classify_load(in_row, limits or LocalLimits()),
            "load_along": [write_along(np.full(stretches(v), float(load_kg_m))) for v in shapely.length(lines)],
            "confidence": np.full(len(lines), _SURE) if fit is None else _fit_confidence(fit, lines),
            "share_interpolated": np.ones(len(lines)),
            "evidence": ["estimated"] * len(lines),
        },
        thin_lines(lines),
        crs,
    )
    figure = Figure(
        "load in estimated rows", float(load_kg_m), "kg/m", "given for the paddock", f"row {row_width_m:g} m wide"
    )
    return RowsResult(windrows, empty_layer("heaps", crs), tuple(remarks), (figure,))


_HOW_SURE = (
    "No log: rows are estimated from a pattern and may lie some metres off, row ends too. Draw or walk two or three "
    "rows before lighting by this map"
)


# Confidence of a row whose pattern nobody checked: the design measured 9 to 13 % of such rows in place.
_SURE = 0.1


def _fit_confidence(fit: PatternFit, lines: NDArray[np.object_]) -> Array:
    """Chance that a row lies within half a metre of where the pattern says, from the fit's error at its middle."""
    from scipy.special import erf

    middle = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    error = fit.error_m(shapely.get_x(middle), shapely.get_y(middle))
    chance: Array = erf(0.5 / np.maximum(error, 1e-3) / np.sqrt(2))
    return chance


def _fit_said(fit: PatternFit, area: BaseGeometry) -> str:
    xy = shapely.get_coordinates(area)
    worst = float(fit.error_m(xy[:, 0], xy[:, 1]).max())
    rows = "1 observed row" if fit.used == 1 else f"{fit.used} observed rows"
    more = f". {fit.remark[0].upper()}{fit.remark[1:]}" if fit.remark else ""
    return (
        f"No log: rows are estimated from {rows}: heading {fit.heading_deg:.2f} degrees "
        f"(+-{fit.heading_error_deg:.2f}), {fit.spacing_m:.2f} m apart (+-{fit.spacing_error_m:.2f}), "
        f"{fit.residual_m:.1f} m off them. Rows may lie {worst:.1f} m to the side at the far end of the paddock{more}"
    )


def longest_side_deg(area: BaseGeometry) -> float:
    """Return the heading (0 to 180 degrees) of the longest side, bends under 5 m straightened."""
    best, heading = 0.0, 0.0
    for part in shapely.get_parts(area):
        if part.geom_type != "Polygon":
            continue
        xy = shapely.get_coordinates(shapely.simplify(part.exterior, 5.0))
        side = np.diff(xy, axis=0)
        length = np.hypot(side[:, 0], side[:, 1])
        k = int(np.argmax(length))
        if length[k] > best:
            best, heading = float(length[k]), float(np.degrees(np.arctan2(side[k, 0], side[k, 1])) % 180)
    return heading


def headland_rings(area: BaseGeometry, header_width_m: float, laps: int) -> NDArray[np.object_]:
    """Return the laps' middle lines, closed: half a header inside the edge and every header on, round holes too."""
    rings: list[Any] = []
    for lap in range(laps):
        inner = _inset(area, (lap + 0.5) * header_width_m)
        # Corners as driven: rounded from the inside, so that nothing leaves the paddock.
        driven = inner.buffer(-_CORNER_M).buffer(_CORNER_M)
        for part in shapely.get_parts(inner if driven.is_empty else driven):
            rings += [shapely.LineString(ring.coords) for ring in (part.exterior, *part.interiors)]
    result = np.empty(len(rings), object)
    result[:] = rings
    return result


def _inset(area: BaseGeometry, by_m: float) -> BaseGeometry:
    return area.buffer(-by_m, join_style="mitre", mitre_limit=2.0) if by_m > 0 else area


def straight_passes(
    inside: BaseGeometry, header_width_m: float, heading_deg: float, through: tuple[float, float] | None = None
) -> NDArray[np.object_]:
    """Return straight lines at one heading, a header apart, every second one driven back.

    Centred in each part, or on one grid that runs through a point.
    """
    found: list[NDArray[np.object_]] = [np.zeros(0, object)]
    for part in shapely.get_parts(inside):
        if part.geom_type != "Polygon" or part.is_empty:
            continue
        centre = part.centroid
        # Turned so that passes run north, cut as such, turned back.
        upright = affinity.rotate(part, heading_deg, origin=centre)
        west, south, east, north = upright.bounds
        count = max(1, round((east - west) / header_width_m))
        x = (west + east) / 2 + (np.arange(count) - (count - 1) / 2) * header_width_m
        if through is not None:
            on = affinity.rotate(shapely.Point(through), heading_deg, origin=centre).x
            x = on + np.arange(np.ceil((west - on) / header_width_m), (east - on) / header_width_m) * header_width_m
            count = len(x)
        low, high = np.full(count, south - 1), np.full(count, north + 1)
        back = np.arange(count) % 2 == 1
        start, end = np.where(back, high, low), np.where(back, low, high)
        lines = shapely.linestrings(np.stack((np.column_stack((x, start)), np.column_stack((x, end))), axis=1))
        pieces, _, _ = clip_lines(lines, upright)
        found.append(np.array([affinity.rotate(p, -heading_deg, origin=centre) for p in pieces] + [None], object)[:-1])
    return np.concatenate(found)
