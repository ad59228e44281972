"""NMEA 0183 sentences (RMC, GGA, ZDA) as a log's table: checksums held, fixes without a position left out.

Layout of the sentences from the standard as commonly published; every talker (GP, GN, GL ...) is taken. Left out: all
other sentences, height, and the century of RMC, whose two-digit years 80 to 99 are taken as the last one's.
"""

import io
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.errors import FileError, Stopped
from mapper.farm.ranged import Array

_PIECE_BYTES = 8_000_000
_LOOKED_AT = 65_536
_KINDS = ("RMC", "GGA", "ZDA")
_FIELDS = 15
_NAMES = [f"f{i}" for i in range(_FIELDS)]
# What is used of each kind: a day of sentences holds no more in memory than that.
_USED = {"RMC": _NAMES[1:10], "GGA": _NAMES[1:7], "ZDA": _NAMES[1:5]}
_QUALITY = {1: "plain", 2: "corrected (DGPS)", 4: "RTK fixed", 5: "RTK float", 6: "dead reckoning"}
_DAY_S = 86_400.0


def is_nmea(path: Path) -> bool:
    """Return whether a file holds position sentences of NMEA 0183 (with or without something before the $)."""
    try:
        with path.open("rb") as handle:
            head = handle.read(_LOOKED_AT)
    except OSError:
        return False
    lines = head.replace(b"\x00", b"").splitlines()
    said = sum(line[at : at + 1] == b"$" and line[at + 3 : at + 7] in (b"RMC,", b"GGA,", b"GLL,", b"VTG,", b"GSA,",
               b"GSV,", b"ZDA,", b"GST,") for line in lines if (at := line.find(b"$")) >= 0)  # fmt: skip
    return said > 0.3 * max(len(lines), 1) and (b"RMC," in head or b"GGA," in head)


def read_nmea(
    path: Path,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[pd.DataFrame, tuple[str, ...], tuple[str, ...]]:
    """Return the fixes (latitude, longitude, time in seconds since 1970 UTC, speed in knots, heading), repairs, notes.

    Where RMC and GGA both come, the fix is RMC's and GGA's quality is put beside it. Raises FileError where no
    sentence with a position is whole.
    """
    size = path.stat().st_size
    faults: Counter[str] = Counter()
    pieces: list[dict[str, pd.DataFrame]] = []
    rest = b""
    with path.open("rb") as handle:
        while raw := handle.read(_PIECE_BYTES):
            if cancelled is not None and cancelled():
                raise Stopped
            data = rest + raw
            cut = data.rfind(b"\n") + 1 if len(raw) == _PIECE_BYTES else len(data)
            rest = data[cut:]
            pieces.append(_sentences(data[:cut], faults))
            if progress is not None:
                progress(min(handle.tell(), size), size)
    said = {kind: pd.concat([p[kind] for p in pieces if kind in p] or [_none()], ignore_index=True) for kind in _KINDS}
    fixes, notes = _fixes(said, faults)
    if fixes.empty:
        why = f"{faults['sum']} sentences fail their checksum" if faults["sum"] else "no sentence has a fix"
        raise FileError(f"no position could be read: {why}", str(path), "Record RMC or GGA sentences")
    repaired = [
        text.format(faults[key])
        for key, text in (
            ("sum", "{} sentences whose checksum is wrong were left out."),
            ("bare", "{} sentences without a checksum, or cut short, were left out."),
            ("void", "{} fixes that the receiver itself calls void were left out."),
        )
        if faults[key]
    ]
    return fixes, tuple(repaired), notes


def _none() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series(dtype=float) for name in _NAMES})


def _sentences(data: bytes, faults: "Counter[str]") -> dict[str, pd.DataFrame]:
    """Return the whole sentences of each kind wanted, a column a field: f0 (the kind), f1 ... f14."""
    raw = np.frombuffer(data, np.uint8)
    begin = np.flatnonzero(raw == ord("$"))
    if not len(begin):
        return {}
    after = np.append(begin[1:], len(raw))
    stars = np.flatnonzero(raw == ord("*"))
    star = np.append(stars, len(raw))[np.searchsorted(stars, begin)]
    kinds = _kinds(raw, begin)
    wanted = np.isin(kinds, [k.encode() for k in _KINDS])
    whole = wanted & (star < after - 2) & (star - begin < 200)
    faults["bare"] += int((wanted & ~whole).sum())
    begin, star, kinds = begin[whole], star[whole], kinds[whole]
    if not len(begin):
        return {}
    # The checksum is the exclusive or of all between $ and *.
    edges = np.column_stack([begin + 1, star]).ravel()
    sums = np.bitwise_xor.reduceat(raw, edges)[::2]
    good = sums == _hex(raw[star + 1]) * 16 + _hex(raw[star + 2])
    faults["sum"] += int((~good).sum())
    out = {}
    for kind in _KINDS:
        mine = good & (kinds == kind.encode())
        lines = [data[b:s] for b, s in zip(begin[mine] + 3, star[mine], strict=True)]
        if lines:
            text = b"\n".join([",".join(_NAMES).encode(), *lines])
            out[kind] = pd.read_csv(
                io.BytesIO(text), usecols=_USED[kind], index_col=False, quoting=3, encoding="latin-1", low_memory=False
            )
    return out


def _kinds(raw: NDArray[np.uint8], begin: NDArray[np.int64]) -> NDArray[np.bytes_]:
    at = np.minimum(begin[:, None] + np.arange(3, 6), len(raw) - 1)
    kinds: NDArray[np.bytes_] = raw[at].copy().view("S3")[:, 0]
    return kinds


def _hex(letters: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Return the value of hexadecimal digits; 99 where it is none."""
    value = np.full(256, 99, np.int64)
    for i, letter in enumerate("0123456789ABCDEF"):
        value[ord(letter)] = value[ord(letter.lower())] = i
    return value[letters]


def _fixes(said: dict[str, pd.DataFrame], faults: "Counter[str]") -> tuple[pd.DataFrame, tuple[str, ...]]:
    notes: list[str] = []
    rmc, gga = said["RMC"], said["GGA"]
    if len(rmc):
        void = (rmc["f2"] != "A").to_numpy()
        faults["void"] += int(void.sum())
        rmc = rmc[~void]
    if len(rmc):
        out = _position(rmc, "f3", "f4", "f5", "f6")
        out["time (UTC)"] = _dates(rmc["f9"]) + _of_day(rmc["f1"])
        out["speed (kn)"] = _number(rmc["f7"])
        out["heading (deg)"] = _number(rmc["f8"])
        beside = pd.Series(_number(gga["f6"]), index=_of_day(gga["f1"])) if len(gga) else pd.Series(dtype=float)
        quality = beside[~beside.index.duplicated()].reindex(_of_day(rmc["f1"])).to_numpy(float)
    else:
        quality = _number(gga["f6"])
        fixed = quality > 0
        faults["void"] += int((~fixed).sum())
        gga, quality = gga[fixed], quality[fixed]
        out = _position(gga, "f2", "f3", "f4", "f5")
        out["time (UTC)"] = _running(gga, said["ZDA"], notes)
    lost = out[["latitude", "longitude"]].isna().any(axis=1).to_numpy()
    faults["void"] += int(lost.sum())
    good = quality[np.isfinite(quality)]
    if len(good):
        share = {int(q): float(np.mean(good == q)) for q in np.unique(good)}
        words = [f"{100 * s:.0f} % {_QUALITY.get(q, f'quality {q}')}" for q, s in share.items() if q]
        notes.append(f"the receiver calls its fixes {', '.join(words)}.")
    return out[~lost].reset_index(drop=True), tuple(notes)


def _position(rows: pd.DataFrame, lat: str, ns: str, lon: str, ew: str) -> pd.DataFrame:
    def degrees(value: str, side: str, negative: str) -> Array:
        v = _number(rows[value])
        out: Array = (v // 100 + v % 100 / 60.0) * np.where(rows[side] == negative, -1.0, 1.0)
        return out

    return pd.DataFrame({"latitude": degrees(lat, ns, "S"), "longitude": degrees(lon, ew, "W")})


def _number(text: "pd.Series[str]") -> Array:
    return pd.to_numeric(text, errors="coerce").to_numpy(float, na_value=np.nan)


def _of_day(text: "pd.Series[str]") -> Array:
    v = _number(text)
    out: Array = v // 10_000 * 3600 + v // 100 % 100 * 60 + v % 100
    return out


def _dates(text: "pd.Series[str]") -> Array:
    """Return seconds since 1970 of days written ddmmyy."""
    v = _number(text)
    year = np.where(v % 100 >= 80, 1900, 2000) + v % 100
    parts = pd.DataFrame({"year": year, "month": v // 100 % 100, "day": v // 10_000})
    stamps = pd.to_datetime(parts, errors="coerce").to_numpy("datetime64[s]")
    return np.where(np.isnat(stamps), np.nan, stamps.astype("int64"))


def _running(gga: pd.DataFrame, zda: pd.DataFrame, notes: list[str]) -> Array:
    """Return times of GGA, which has no date: from the first ZDA sentence, run on past midnight; else of day only."""
    of_day = _of_day(gga["f1"])
    steps = np.nan_to_num(np.diff(of_day, prepend=of_day[:1]))
    t_s: Array = of_day + _DAY_S * np.cumsum(steps < -_DAY_S / 2)
    if zda.empty:
        notes.append("GGA sentences hold no date: the times are used for order and speed only.")
        return t_s
    first = zda.iloc[0]
    date = pd.Timestamp(year=int(first["f4"]), month=int(first["f3"]), day=int(first["f2"])).timestamp()
    return date + t_s
