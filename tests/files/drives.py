"""An invented drive of a harvester and the ways that loggers of many makes would write it: the same truth each time."""

# ruff: noqa: E501 - a style is a table: one line a few columns
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from mapper.farm.crs import Grid, metric_crs

FOOT, POUND, ACRE_HA, MILE_H, KNOT = 0.3048, 0.45359237, 0.40468564224, 0.44704, 1852 / 3600  # by definition
START = pd.Timestamp("2025-07-14T21:58:00Z")  # runs past midnight UTC
PLACES = {  # name: (longitude, latitude, zone); plain country places, nobody's farm
    "au": (141.613, -36.207, "Australia/Melbourne"), "de": (11.314, 52.103, "Europe/Berlin"),
    "fr": (1.512, 48.204, "Europe/Paris"), "es": (-4.713, 41.602, "Europe/Madrid"),
    "br": (-54.213, -13.104, "America/Cuiaba"), "us": (-98.514, 38.403, "America/Chicago"),
}  # fmt: skip


@dataclass(frozen=True)
class Drive:
    """Truth: one row a fix in metres of the grid, UTC seconds, m/s, degrees from true north, t/ha, kg/s, m."""

    table: pd.DataFrame
    grid: Grid
    zone: str

    @property
    def local(self) -> "pd.Series":
        return pd.to_datetime(self.table["t_s"], unit="s", utc=True).dt.tz_convert(ZoneInfo(self.zone))

    @property
    def utc(self) -> "pd.Series":
        return pd.to_datetime(self.table["t_s"], unit="s", utc=True)


def drive(place: str = "au", passes: int = 6, length: float = 240.0, width: float = 12.0, seed: int = 7) -> Drive:
    """Up and down with half circles between, header up in the turns and on the last metres, yield that varies."""
    lon, lat, zone = PLACES[place]
    grid = Grid(metric_crs(lon, lat))
    e0, n0 = (float(v) for v in grid.from_lonlat(lon, lat))
    rng = np.random.default_rng(seed)
    x, y, down = [], [], []
    for p in range(passes):
        speed = rng.uniform(1.6, 2.6)
        along = np.arange(0.0, length, speed)
        x.append(np.full(len(along), p * width))
        y.append(along if p % 2 == 0 else length - along)
        down.append(along < length - 8)
        turn = np.arange(0.15, np.pi, 1.3 / (width / 2))
        x.append((p + 0.5) * width - width / 2 * np.cos(turn))
        y.append(np.where(p % 2 == 0, length, 0) + (1 if p % 2 == 0 else -1) * width / 2 * np.sin(turn))
        down.append(np.zeros(len(turn), bool))
    x, y, down = np.concatenate(x) + e0, np.concatenate(y) + n0, np.concatenate(down)
    step_x, step_y = np.gradient(x), np.gradient(y)
    table = pd.DataFrame({"x": x, "y": y, "down": down.astype(int)})
    table["t_s"] = START.timestamp() + np.arange(len(x), dtype=float)
    table["speed"] = np.hypot(step_x, step_y)
    table["heading"] = (np.degrees(np.arctan2(step_x, step_y)) + grid.convergence_deg(e0, n0)) % 360
    table["width"] = width
    table["yield"] = np.where(down, 3.2 + np.sin(np.arange(len(x)) / 40) + rng.normal(0, 0.05, len(x)), 0.0)
    table["flow"] = 0.1 * table["yield"] * width * table["speed"]
    table["lon"], table["lat"] = grid.to_lonlat(x, y)
    return Drive(table, grid, zone)


@dataclass(frozen=True)
class Style:
    """A way to write: the file's name and bytes; what of the drive it holds; the grid to give, if any."""

    name: str
    content: bytes
    holds: frozenset[str]
    crs: str | None = None
    doubt: str = ""  # words that must stand in the report where the style leaves room for doubt


def _minutes(v: pd.Series, wide: int) -> list[str]:
    size = v.abs()
    return [f"{int(d):0{wide}d}{(d - int(d)) * 60:09.6f}" for d in size]


def _dms(v: float, letters: str) -> str:
    size = abs(v)
    d, m = int(size), int(size * 60 % 60)
    return f"{d}°{m:02d}'{size * 3600 % 60:07.4f}\"{letters[0] if v >= 0 else letters[1]}"


def _csv(table: dict, **options) -> str:
    return pd.DataFrame(table).to_csv(index=False, **options)


ALL = frozenset({"time", "speed", "down", "yield", "width"})


def plain_metric(d: Drive) -> Style:
    t = d.table
    text = _csv({"Timestamp": d.utc.dt.strftime("%Y-%m-%dT%H:%M:%S.%fZ"), "Latitude": t["lat"].round(8),
                 "Longitude": t["lon"].round(8), "Elevation (m)": 130.2, "Ground Speed (km/h)": (t["speed"] * 3.6).round(3),
                 "Heading (deg)": t["heading"].round(1), "Header": t["down"].map({1: "Down", 0: "Up"}),
                 "Cut Width (m)": 12.0, "Yield Mass Dry (t/ha)": t["yield"].round(3), "Moisture (%)": 11.2})  # fmt: skip
    return Style("plain.csv", text.encode(), ALL | {"heading"})


def imperial(d: Drive) -> Style:
    t = d.table
    text = _csv({"Obj. Id": np.arange(1, len(t) + 1), "Date": d.local.dt.strftime("%m/%d/%Y"),
                 "Time": d.local.dt.strftime("%I:%M:%S %p"), "Longitude": t["lon"].round(8), "Latitude": t["lat"].round(8),
                 "Speed(mph)": (t["speed"] / MILE_H).round(3), "Swath Width(ft)": round(12 / FOOT, 3),
                 "Yield(bu/ac)": (t["yield"] * 1000 / POUND * ACRE_HA / 60).round(3), "Work State": t["down"]})  # fmt: skip
    return Style("imperial.csv", text.encode(), ALL)


def imperial_unsaid(d: Drive) -> Style:
    t = d.table
    text = _csv({"lon": t["lon"].round(8), "lat": t["lat"].round(8), "epoch": t["t_s"].astype(int),
                 "dstnc": (t["speed"] / FOOT).round(3), "swth_wdth": round(12 / FOOT, 2), "vehicl_spd": (t["speed"] / MILE_H),
                 "crp_flw_m": (t["flow"] / POUND).round(3), "yld_mss_dr": (t["yield"] * 1000 / POUND * ACRE_HA).round(1),
                 "wrk_stt": t["down"]})  # fmt: skip
    return Style("cut names.csv", text.encode(), ALL, doubt="likely")


def german(d: Drive) -> Style:
    t = d.table
    text = _csv({"Datum": d.local.dt.strftime("%d.%m.%Y"), "Uhrzeit": d.local.dt.strftime("%H:%M:%S"),
                 "Breitengrad": t["lat"].round(8), "Längengrad": t["lon"].round(8),
                 "Fahrgeschwindigkeit [km/h]": (t["speed"] * 3.6).round(2), "Fahrtrichtung [°]": t["heading"].round(1),
                 "Arbeitsstellung": t["down"].map({1: "ein", 0: "aus"}), "Arbeitsbreite [m]": 12.0,
                 "Ertrag trocken [dt/ha]": (t["yield"] * 10).round(2), "Feuchte [%]": 13.1},
                sep=";", decimal=",")  # fmt: skip
    return Style("Mähdrescher Feld Süd.csv", text.encode("cp1252"), ALL | {"heading"})


def french(d: Drive) -> Style:
    t = d.table
    text = _csv({"Date": d.local.dt.strftime("%d/%m/%Y"), "Heure": d.local.dt.strftime("%H:%M:%S"),
                 "Latitude": t["lat"].round(8), "Longitude": t["lon"].round(8), "Vitesse (km/h)": (t["speed"] * 3.6).round(2),
                 "Cap (°)": t["heading"].round(1), "En travail": t["down"].map({1: "Oui", 0: "Non"}),
                 "Largeur de travail (m)": 12.0, "Rendement (q/ha)": (t["yield"] * 10).round(2), "Humidité (%)": 14.0},
                sep="\t", decimal=",")  # fmt: skip
    return Style("récolte.txt", text.encode("utf-8-sig"), ALL | {"heading"})


def spanish(d: Drive) -> Style:
    t = d.table
    text = "Cosecha de prueba (inventada)\nLote: norte\n\n" + _csv(
        {"Fecha y hora": d.local.dt.strftime("%d-%m-%Y %H:%M:%S"), "Latitud": t["lat"].round(8),
         "Longitud": t["lon"].round(8), "Velocidad (km/h)": (t["speed"] * 3.6).round(2), "Rumbo (grados)": t["heading"].round(1),
         "Cabezal": t["down"].map({1: "bajo", 0: "alto"}), "Ancho de corte (m)": 12.0,
         "Rendimiento (kg/ha)": (t["yield"] * 1000).round(0)}, sep=";")  # fmt: skip
    return Style("cosecha.csv", text.encode(), ALL | {"heading"})


def brazilian(d: Drive) -> Style:
    t = d.table
    text = _csv({"Data": d.local.dt.strftime("%d/%m/%Y"), "Hora": d.local.dt.strftime("%H:%M:%S"), "Latitude": t["lat"].round(8),
                 "Longitude": t["lon"].round(8), "Velocidade (km/h)": (t["speed"] * 3.6).round(2),
                 "Plataforma": t["down"].map({1: "Baixa", 0: "Alta"}), "Largura (m)": 12.0,
                 "Produtividade (sc/ha)": (t["yield"] * 1000 / 60).round(2), "Máquina": "Colheitadeira 3"},
                sep=";", decimal=",")  # fmt: skip
    return Style("colheita.csv", text.encode("utf-16"), ALL)


def projected(d: Drive) -> Style:
    t = d.table
    text = _csv({"Easting": t["x"].round(2), "Northing": t["y"].round(2), "GPS Time (UTC)": d.utc.dt.strftime("%H%M%S"),
                 "GPS Date": d.utc.dt.strftime("%d%m%y"), "Speed (m/s)": t["speed"].round(3), "Track(deg)": t["heading"].round(1),
                 "Header Status": t["down"].map({1: "In", 0: "Out"}), "Width": 12.0,
                 "Flow (kg/s)": t["flow"].round(3), "Yld Mass(Dry)(tonne/ha)": t["yield"].round(3)})  # fmt: skip
    return Style("grid.csv", text.encode(), ALL | {"heading", "flow"}, crs=d.grid.crs.to_string())


def degree_minutes(d: Drive) -> Style:
    t = d.table
    text = _csv({"UTC": d.utc.dt.strftime("%Y/%m/%d %H:%M:%S"), "Lat": _minutes(t["lat"], 2),
                 "N/S": np.where(t["lat"] < 0, "S", "N"), "Lon": _minutes(t["lon"], 3), "E/W": np.where(t["lon"] < 0, "W", "E"),
                 "SOG (kn)": (t["speed"] / KNOT).round(3), "COG": t["heading"].round(1), "Lift": t["down"].map({1: "0", 0: "1"}),
                 "Yield t/ha": t["yield"].round(3)})  # fmt: skip
    return Style("marine.log", text.encode(), frozenset({"time", "speed", "yield", "heading"}))


def degree_minute_seconds(d: Drive) -> Style:
    t = d.table
    text = _csv({"Time": d.utc.dt.strftime("%Y-%m-%d %H:%M:%S+00:00"), "Latitude": [_dms(v, "NS") for v in t["lat"]],
                 "Longitude": [_dms(v, "EW") for v in t["lon"]], "Speed": [f"{v * 3.6:.2f} km/h" for v in t["speed"]],
                 "Header": t["down"].map({1: "Lowered", 0: "Raised"}), "Yield": [f"{v:.3f} t/ha" for v in t["yield"]]},
                sep="|")  # fmt: skip
    return Style("survey.txt", text.encode(), frozenset({"time", "speed", "down", "yield"}))


def blanks(d: Drive) -> Style:
    t = d.table
    rows = [f"{a:>14.8f}  {b:>14.8f} {c} {s:6.3f} {w:5.1f} {y:7.3f} {h}" for a, b, c, s, w, y, h in zip(
        t["lat"], t["lon"], d.local.dt.strftime("%Y-%m-%d %H:%M:%S"), t["speed"], t["width"], t["yield"], t["down"], strict=True)]  # fmt: skip
    text = (
        "# made up\r\nLatitude Longitude Date Time Speed_mps Width_m Yield_tha Header\r\n" + "\r\n".join(rows) + "\r\n"
    )
    return Style("blanks.prn", text.encode(), ALL)


def units_row(d: Drive) -> Style:
    t = d.table
    body = _csv({"a": t["t_s"] * 1000, "b": t["lat"].round(8), "c": t["lon"].round(8), "d": t["speed"] * 3.6, "e": t["down"],
                 "f": 12.0, "g": t["yield"] * 1000}, header=False)  # fmt: skip
    text = (
        "File made for a test\nTimestamp,Lat,Lon,Speed,Work Status,Working Width,Yield\nms,deg,deg,km/h,,m,kg/ha\n"
        + body
    )
    return Style("units row.csv", text.encode(), ALL)


def spreadsheet(d: Drive) -> Style:
    t = d.table
    wall = d.local.dt.tz_localize(None)
    days = (wall - pd.Timestamp("1899-12-30")) / pd.Timedelta("1D")
    text = "sep=;\n" + _csv({"Date Time": days, "Lat": t["lat"], "Long": t["lon"], "Speed km/h": t["speed"] * 3.6,
                             "Header down": t["down"].map({1: "WAHR", 0: "FALSCH"}), "Width m": 12, "Yield t/ha": t["yield"]},
                            sep=";", decimal=",")  # fmt: skip
    return Style("sheet.csv", text.encode("utf-8-sig"), ALL)


def day_of_year(d: Drive) -> Style:
    t, u = d.table, d.utc
    text = _csv({"Year": u.dt.year, "DOY": u.dt.day_of_year, "UTC Hour": u.dt.hour, "UTC Minute": u.dt.minute, "UTC Second": u.dt.second,
                 "latitude_deg": t["lat"].round(8), "longitude_deg": t["lon"].round(8), "ground_speed_mps": t["speed"].round(3),
                 "implement_state": t["down"], "swath_m": 12.0, "dry_yield_kg_ha": (t["yield"] * 1000).round(1)})  # fmt: skip
    return Style("doy.csv", text.encode(), ALL)


def parts_of_a_date(d: Drive) -> Style:
    t, u = d.table, d.local
    text = _csv({"YYYY": u.dt.year, "MM": u.dt.month, "DD": u.dt.day, "HH": u.dt.hour, "Min": u.dt.minute, "Sec": u.dt.second,
                 "LATITUDE": t["lat"].round(8), "LONGITUDE": t["lon"].round(8), "VEHICLE_SPEED_KPH": (t["speed"] * 3.6).round(3),
                 "HEADER_STATE": t["down"].map({1: "DOWN", 0: "UP"}), "CUTTING_WIDTH_M": 12.0,
                 "YIELD_T_HA": t["yield"].round(3)})  # fmt: skip
    return Style("parts.csv", text.encode(), ALL)


def gps_week(d: Drive) -> Style:
    t = d.table
    gps_s = t["t_s"] - 315_964_800 + 18
    text = _csv({"GPS Week": (gps_s // 604_800).astype(int), "TOW (s)": (gps_s % 604_800).round(1), "Lat (deg)": t["lat"].round(8),
                 "Lon (deg)": t["lon"].round(8), "Velocity (m/s)": t["speed"].round(3), "Working": t["down"].map({1: "true", 0: "false"}),
                 "Effective Width (m)": 12.0, "Yield (t/ha)": t["yield"].round(3)})  # fmt: skip
    return Style("tow.csv", text.encode(), ALL)


def one_position_column(d: Drive) -> Style:
    t = d.table
    text = _csv({"geometry": [f"POINT ({a:.8f} {b:.8f})" for a, b in zip(t["lon"], t["lat"], strict=True)],
                 "IsoTime": d.utc.dt.strftime("%Y-%m-%dT%H:%M:%S+00:00"), "speed": t["speed"] * 3.6, "header": t["down"],
                 "width": 12.0, "yield": t["yield"].round(3)})  # fmt: skip
    return Style("wkt.csv", text.encode(), ALL)


def whole_numbers(d: Drive) -> Style:
    t = d.table
    text = _csv({"ts": (t["t_s"] * 1000).astype("int64"), "lat": (t["lat"] * 1e7).round().astype("int64"),
                 "lon": (t["lon"] * 1e7).round().astype("int64"), "speed_mm/s": (t["speed"] * 1000).round().astype(int),
                 "workstate": t["down"], "width_mm": 12000, "yield_kg/ha": (t["yield"] * 1000).round().astype(int)})  # fmt: skip
    return Style("bus.csv", text.encode(), ALL)


def no_header(d: Drive) -> Style:
    t = d.table
    text = _csv({"t": d.utc.dt.strftime("%Y-%m-%dT%H:%M:%SZ"), "a": t["lat"].round(8), "b": t["lon"].round(8),
                 "c": (t["speed"] * 3.6).round(2), "d": t["yield"].round(3), "e": t["down"]}, header=False)  # fmt: skip
    return Style("bare.csv", text.encode(), frozenset({"time"}), doubt="guess")


def quoted_with_commas(d: Drive) -> Style:
    t = d.table
    text = pd.DataFrame({"Date/Time": d.local.dt.strftime("%d/%m/%y %I:%M:%S %p"), "Position": [f"{a:.8f}, {b:.8f}" for a, b in zip(
        t["lat"], t["lon"], strict=True)], "Speed, km/h": [f"{v * 3.6:.2f}".replace(".", ",") for v in t["speed"]],
        "Header": t["down"].map({1: "Engaged", 0: "Disengaged"}), "Width, m": "12,0",
        "Yield, t/ha": [f"{v:.3f}".replace(".", ",") for v in t["yield"]]}).to_csv(index=False, quoting=1)  # fmt: skip
    return Style("quoted.csv", text.encode(), ALL)


def seconds_of_day(d: Drive) -> Style:
    t, wall = d.table, d.local.dt.tz_localize(None)
    text = _csv({"Log Date": wall.dt.strftime("%Y%m%d"), "Log Time": ((wall - wall.dt.normalize()) / pd.Timedelta("1s")).astype(int),
                 "X": t["lon"].round(8), "Y": t["lat"].round(8), "Speed(ft/s)": (t["speed"] / FOOT).round(3), "Header": t["down"] * 4 + 1,
                 "Header Width(in)": 12 / 0.0254, "Yield(lb/ac)": (t["yield"] * 1000 / POUND * ACRE_HA).round(1)})  # fmt: skip
    return Style("seconds.csv", text.replace("\n", "\r").encode("latin-1"), ALL)


def nmea(d: Drive) -> Style:
    lines = []
    for lat, lon, when, speed, heading in zip(
        d.table["lat"], d.table["lon"], d.utc, d.table["speed"], d.table["heading"], strict=True
    ):
        a, b = _minutes(pd.Series([lat]), 2)[0], _minutes(pd.Series([lon]), 3)[0]
        ns, ew = "NS"[lat < 0], "EW"[lon < 0]
        clock = when.strftime("%H%M%S.00")
        body = f"GNRMC,{clock},A,{a},{ns},{b},{ew},{speed / KNOT:.3f},{heading:.2f},{when:%d%m%y},,,R"
        lines += [_sentence(f"GNGGA,{clock},{a},{ns},{b},{ew},4,17,0.7,131.2,M,2.1,M,1.0,0001"), _sentence(body)]
    return Style("receiver.nmea", "\r\n".join(lines).encode() + b"\r\n", frozenset({"time", "speed", "heading"}))


def _sentence(body: str) -> str:
    total = 0
    for letter in body.encode():
        total ^= letter
    return f"${body}*{total:02X}"


def gpx(d: Drive) -> Style:
    points = "".join(
        f'<trkpt lat="{a:.8f}" lon="{b:.8f}"><ele>131</ele><time>{w:%Y-%m-%dT%H:%M:%SZ}</time></trkpt>'
        for a, b, w in zip(d.table["lat"], d.table["lon"], d.utc, strict=True)
    )
    text = (
        '<?xml version="1.0"?><gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">'
        f'<wpt lat="1" lon="2"/><trk><name>Harvester (invented)</name><trkseg>{points}</trkseg></trk></gpx>'
    )
    return Style("track.gpx", text.encode(), frozenset({"time"}))


def italian(d: Drive) -> Style:
    t = d.table
    text = _csv({"Data": d.local.dt.strftime("%d/%m/%Y"), "Ora": d.local.dt.strftime("%H.%M.%S"), "Latitudine": t["lat"].round(8),
                 "Longitudine": t["lon"].round(8), "Velocità (km/h)": (t["speed"] * 3.6).round(2), "Resa (t/ha)": t["yield"].round(3),
                 "Barra": t["down"].map({1: "abbassata", 0: "alzata"}), "Larghezza (m)": 12}, sep=";", decimal=",")  # fmt: skip
    return Style("raccolta.csv", text.encode("latin-1"), ALL)


def geojson(d: Drive) -> Style:
    points = ",".join(
        f'{{"type":"Feature","properties":{{"time":"{w:%Y-%m-%dT%H:%M:%SZ}","speed_kmh":{v * 3.6:.3f},"Hdr":{k},"yield t/ha":{y:.3f}}},'
        f'"geometry":{{"type":"Point","coordinates":[{a:.8f},{b:.8f}]}}}}'
        for a, b, w, v, k, y in zip(
            d.table["lon"], d.table["lat"], d.utc, d.table["speed"], d.table["down"], d.table["yield"], strict=True
        )
    )
    text = f'{{"type":"FeatureCollection","features":[{points}]}}'
    return Style("points.geojson", text.encode(), frozenset({"time", "speed", "down", "yield"}))


def nanoseconds(d: Drive) -> Style:
    t = d.table
    text = _csv({"time_ns": (t["t_s"] * 1e9).astype("int64"), "latitude": t["lat"].round(8), "longitude": t["lon"].round(8),
                 "velocity_m_s": t["speed"].round(3), "heading_rad": np.radians(t["heading"]), "is_working": t["down"].astype(bool),
                 "header_width_m": 12.0, "yield_kg_ha": (t["yield"] * 1000).round(1)})  # fmt: skip
    return Style("robot.csv", text.encode(), ALL | {"heading"})


STYLES: dict[str, tuple[str, Callable[[Drive], Style]]] = {
    "plain metric": ("au", plain_metric), "imperial, 12-hour clock": ("us", imperial),
    "cut names, no units": ("us", imperial_unsaid), "German": ("de", german), "French": ("fr", french),
    "Spanish": ("es", spanish), "Portuguese, UTF-16": ("br", brazilian), "projected, ddmmyy hhmmss": ("au", projected),
    "degrees and minutes": ("br", degree_minutes), "degrees, minutes, seconds": ("au", degree_minute_seconds),
    "blanks": ("es", blanks), "units in a row, ms": ("au", units_row), "spreadsheet days": ("de", spreadsheet),
    "day of year": ("us", day_of_year), "parts of a date": ("au", parts_of_a_date), "GPS week": ("fr", gps_week),
    "well-known text": ("au", one_position_column), "whole numbers": ("br", whole_numbers), "no header": ("de", no_header),
    "quoted decimal commas": ("us", quoted_with_commas), "seconds of day, CR": ("us", seconds_of_day), "NMEA": ("au", nmea),
    "GPX": ("fr", gpx), "Italian": ("fr", italian), "GeoJSON": ("us", geojson), "nanoseconds, radians": ("br", nanoseconds),
}  # fmt: skip


def write(style: Style, folder: Path) -> Path:
    path = folder / style.name
    path.write_bytes(style.content)
    return path
