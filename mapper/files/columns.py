"""Which column of a log is taken as what, in which unit, and how sure that is; kept as TOML for correction."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from mapper.farm.errors import SettingError
from mapper.files.atomic import written_whole
from mapper.files.toml import read_toml, toml_text
from mapper.files.units import FACTORS, read_unit

Sure = Literal["certain", "likely", "guess"]

# What a column may be taken as, with its dimension ("" where it has no unit).
MEANINGS: dict[str, str] = {
    "longitude": "angle", "latitude": "angle", "east_west": "", "north_south": "", "easting": "length",
    "northing": "length", "time": "", "date": "", "speed": "speed", "heading": "angle", "header_down": "",
    "width": "length", "flow": "flow", "yield": "yield", "machine": "", "set": "", "point": "", "distance": "length",
    "duration": "time", "temperature": "temperature", "humidity": "share", "wind": "speed", "gust": "speed",
    "wind_from": "angle", "rain": "rain", "cloud": "share",
    "dew_point": "temperature", "wind_east": "speed", "wind_north": "speed", "issued": "",
}  # fmt: skip
WORDS: dict[str, str] = {
    "north_south": "N or S of the latitude", "east_west": "E or W of the longitude",
    "header_down": "header down or up", "set": "set of points", "point": "point number", "yield": "grain yield",
    "flow": "grain flow", "width": "cutting width", "wind_from": "wind direction", "cloud": "cloud cover",
    "dew_point": "dew point", "wind_east": "wind blowing to the east", "wind_north": "wind blowing to the north",
    "issued": "when it was issued",
}  # fmt: skip


@dataclass(frozen=True)
class ColumnEntry:
    """One column of a file and what it is taken as.

    down: for header_down, the values that mean down. samples: some of its values, for the eye.
    """

    meaning: str
    column: str
    unit: str = ""
    sure: Sure = "certain"
    why: str = ""
    samples: tuple[str, ...] = ()
    down: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.meaning not in MEANINGS:
            raise SettingError(
                f"nothing is called {self.meaning!r}", "column mapping", f"A column can be {', '.join(MEANINGS)}"
            )
        if self.unit and self.unit not in FACTORS.get(MEANINGS[self.meaning], {}):
            known = ", ".join(FACTORS.get(MEANINGS[self.meaning], {})) or "no unit"
            raise SettingError(
                f"unit {self.unit!r} does not fit {self.meaning}", "column mapping", f"It can be in {known}"
            )

    @property
    def word(self) -> str:
        """The trade word for what the column is taken as."""
        return WORDS.get(self.meaning, self.meaning)


@dataclass(frozen=True)
class ColumnMap:
    """The columns of a file as they are taken. crs, zone: what the file is in, "" where not given."""

    entries: tuple[ColumnEntry, ...]
    crs: str = ""
    zone: str = ""
    unused: tuple[str, ...] = ()

    def get(self, meaning: str) -> ColumnEntry | None:
        """Return the entry for a meaning, or None."""
        return next((e for e in self.entries if e.meaning == meaning), None)

    def lines(self) -> list[str]:
        """Return one sentence a column, for a report."""
        out = []
        for e in self.entries:
            unit = f" in {e.unit}" if e.unit else ""
            why = f", {e.why}" if e.why else ""
            out.append(f"column {e.column!r} taken as {e.word}{unit} ({e.sure}{why}).")
        return out


def write_columns(columns: ColumnMap, path: Path | str) -> None:
    """Write a column mapping as TOML, one table a meaning; read_columns() reads it back."""
    tables: dict[str, Any] = {k: v for k, v in (("crs", columns.crs), ("zone", columns.zone)) if v}
    for e in columns.entries:
        table: dict[str, Any] = {"column": e.column}
        if e.unit:
            table["unit"] = e.unit
        if e.down:
            table["down"] = list(e.down)
        tables[e.meaning] = table | {"sure": e.sure, "why": e.why, "samples": list(e.samples)}
    with written_whole(Path(path)) as half:
        half.write_text(toml_text(tables), encoding="utf-8")


def read_columns(path: Path | str) -> ColumnMap:
    """Return the column mapping of a TOML file. Raises FileError or SettingError naming the file."""
    path = Path(path)
    tables = read_toml(path)
    try:
        return columns_from(tables)
    except SettingError as exc:
        raise SettingError(exc.what, str(path), exc.todo) from exc


def columns_from(tables: dict[str, Any]) -> ColumnMap:
    """Return the column mapping of parsed TOML tables; a meaning may also be written as meaning = "column"."""
    entries = []
    for meaning, table in tables.items():
        if meaning in ("crs", "zone"):
            continue
        if isinstance(table, str):
            table = {"column": table}  # noqa: PLW2901
        if not isinstance(table, dict) or not isinstance(table.get("column"), str):
            raise SettingError(f"{meaning} names no column", "column mapping", 'Write column = "its name"')
        written = str(table.get("unit", ""))
        unit = read_unit(written) or written
        down = tuple(str(v) for v in table.get("down", []))
        samples = tuple(str(v) for v in table.get("samples", []))
        sure = table.get("sure", "certain")
        if sure not in ("certain", "likely", "guess"):
            raise SettingError(f"sure = {sure!r} is not certain, likely or guess", "column mapping", "Leave it out")
        entries.append(ColumnEntry(meaning, table["column"], unit, sure, str(table.get("why", "")), samples, down))
    return ColumnMap(tuple(entries), str(tables.get("crs", "")), str(tables.get("zone", "")))
