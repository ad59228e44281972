"""GPX tracks as a log's table; a file cut short is read as far as it goes. Routes and waypoints are not driven."""

from array import array
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.parsers import expat

import numpy as np
import pandas as pd

from mapper.farm.errors import FileError, Stopped

_PIECE_BYTES = 1_000_000
_UNKNOWN = float("nan")
_VALUES = {"time": "time", "speed": "speed (m/s)", "course": "heading", "heading": "heading", "bearing": "heading"}


class _Points:
    """What the parser hands over, gathered a column at a time: millions of points are no elements."""

    def __init__(self) -> None:
        self.columns: dict[str, Any] = {name: array("d") for name in ("latitude", "longitude", "track", "set")}
        self.tracks = self.segments = 0
        self.other = {"rtept": 0, "wpt": 0}
        self._inside = False
        self._text: list[str] | None = None

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(":")[2]
        if name == "trkpt":
            self._inside = True
            self.columns["latitude"].append(_number(attributes.get("lat", "")))
            self.columns["longitude"].append(_number(attributes.get("lon", "")))
            self.columns["track"].append(self.tracks)
            self.columns["set"].append(self.segments)
        elif self._inside and name in _VALUES:
            self._text = []
        elif name == "trk":
            self.tracks += 1
        elif name == "trkseg":
            self.segments += 1
        elif name in self.other:
            self.other[name] += 1

    def text(self, letters: str) -> None:
        if self._text is not None:
            self._text.append(letters)

    def end(self, tag: str) -> None:
        name = tag.rpartition(":")[2]
        if self._text is not None and name in _VALUES:
            text, written = "".join(self._text).strip(), _VALUES[name] == "time"
            column = self.columns.setdefault(_VALUES[name], [] if written else array("d"))
            count = len(self.columns["latitude"])
            column.extend([None if written else _UNKNOWN] * (count - 1 - len(column)))
            if len(column) < count:
                column.append(text if written else _number(text))
            self._text = None
        elif name == "trkpt":
            self._inside = False

    def table(self) -> pd.DataFrame:
        count = len(self.columns["latitude"])
        for name, column in self.columns.items():
            column.extend([None if name == "time" else _UNKNOWN] * (count - len(column)))
        return pd.DataFrame({n: c if n == "time" else np.frombuffer(c) for n, c in self.columns.items()}, copy=False)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return _UNKNOWN


def _no_entities(*_: Any) -> None:
    raise ValueError("it declares entities, which no track needs")


def read_gpx_track(
    path: Path,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[pd.DataFrame, tuple[str, ...], tuple[str, ...]]:
    """Return the points of all tracks (GPX 1.0 and 1.1), repairs and notes.

    Columns: latitude, longitude, time as written (UTC by the format's rule), track and its segment, speed and course
    where they are given. Raises FileError where there is no track point before the file breaks off.
    """
    size = max(path.stat().st_size, 1)
    points = _Points()
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = points.start, points.end
    parser.CharacterDataHandler, parser.EntityDeclHandler = points.text, _no_entities
    broken = ""
    with path.open("rb") as handle:
        try:
            while piece := handle.read(_PIECE_BYTES):
                if cancelled is not None and cancelled():
                    raise Stopped
                parser.Parse(piece)
                if progress is not None:
                    progress(min(handle.tell(), size), size)
            parser.Parse(b"", True)
        except expat.ExpatError as exc:
            broken = f"the file breaks off or is damaged ({exc}); it was read as far as that."
        except ValueError as exc:
            raise FileError(f"it is not a GPX file that can be trusted ({exc})", str(path), "Export it again") from exc
    left = [f"{n} {'route points' if k == 'rtept' else 'waypoints'}" for k, n in points.other.items() if n]
    if not points.columns["latitude"]:
        why = f"only {', '.join(left)}" if left else broken.rstrip(".") if broken else "nothing that was driven"
        raise FileError(f"it holds no track, {why}", str(path), "Export the track that was driven")
    notes = [f"{text} not used." for text in left]
    notes += [f"{points.tracks} tracks in {points.segments} parts."] if points.segments > 1 else []
    return points.table(), ((broken,) if broken else ()), tuple(notes)
