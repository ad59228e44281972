"""GPX tracks as a log's table; a file cut short is read as far as it goes. Routes and waypoints are not driven."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd

from mapper.farm.errors import FileError, Stopped

_ASK_EVERY = 20_000
_VALUES = {"time": "time", "speed": "speed (m/s)", "course": "heading", "heading": "heading", "bearing": "heading"}


def read_gpx_track(
    path: Path,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[pd.DataFrame, tuple[str, ...], tuple[str, ...]]:
    """Return the points of all tracks (GPX 1.0 and 1.1), repairs and notes.

    Columns: latitude, longitude, time as written (UTC by the format's rule), track and its segment, speed and course
    where they are given. Raises FileError where there is no track point before the file breaks off.
    """
    from xml.etree.ElementTree import ParseError

    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import iterparse

    size = max(path.stat().st_size, 1)
    points: list[dict[str, Any]] = []
    other = {"rtept": 0, "wpt": 0}
    tracks, segment, name, broken = 0, 0, "", ""
    with path.open("rb") as handle:
        try:
            for event, element in iterparse(handle, events=("start", "end")):
                tag = _local(element.tag)
                if event == "start":
                    tracks, name = (tracks + 1, "") if tag == "trk" else (tracks, name)
                    segment += tag == "trkseg"
                    continue
                if tag == "name" and not points:
                    name = element.text or ""
                elif tag in other:
                    other[tag] += 1
                elif tag == "trkpt":
                    points.append(_point(element) | {"track": tracks, "set": segment})
                    element.clear()
                    if len(points) % _ASK_EVERY == 0:
                        if cancelled is not None and cancelled():
                            raise Stopped
                        if progress is not None:
                            progress(min(handle.tell(), size), size)
                elif tag == "trkseg":
                    element.clear()
        except ParseError as exc:
            broken = f"the file breaks off or is damaged ({exc}); it was read as far as that."
        except (DefusedXmlException, ValueError) as exc:
            raise FileError(f"it is not a GPX file ({exc})", str(path), "Export the track again") from exc
    if cancelled is not None and cancelled():
        raise Stopped
    if not points:
        left = ", ".join(f"{n} {'route points' if k == 'rtept' else 'waypoints'}" for k, n in other.items() if n)
        why = f"only {left}" if left else broken.rstrip(".") or "nothing else either"
        raise FileError(f"it holds no track, {why}", str(path), "Export the track that was driven")
    table = pd.DataFrame(points)
    notes = [f"{n} {'route points' if k == 'rtept' else 'waypoints'} not used." for k, n in other.items() if n]
    notes += [f"{tracks} tracks in {segment} parts."] if segment > 1 else []
    return table, ((broken,) if broken else ()), tuple(notes)


def _local(tag: str) -> str:
    return tag.rsplit("}", 1)[-1]


def _point(element: Any) -> dict[str, Any]:
    out: dict[str, Any] = {"latitude": _float(element.get("lat")), "longitude": _float(element.get("lon"))}
    for inner in element.iter():
        column = _VALUES.get(_local(inner.tag))
        if column is not None and inner.text:
            out[column] = inner.text.strip() if column == "time" else _float(inner.text)
    return out


def _float(text: str | None) -> float:
    try:
        return float(text or "nan")
    except ValueError:
        return float("nan")
