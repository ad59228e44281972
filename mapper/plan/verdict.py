"""What stands against lighting. A plan is a go only where nothing does."""

from mapper.farm.farm import Farm
from mapper.farm.limits import LIMIT_KINDS
from mapper.farm.notes import Remark
from mapper.hours.rules import CHECK_HOLDS
from mapper.hours.verdict import BanCheck, Window

# Limits without which nobody can say go; the others are only said to be missing.
NEEDED = (
    "wind_max", "index_max", "light_from", "out_by", "change_margin", "soaking_rain", "dry_days", "break_edge",
    "people_min", "water_min", "notice_hours",
)  # fmt: skip


def against_lighting(
    farm: Farm,
    ban: BanCheck,
    windows: tuple[Window, ...],
    lit: int,
    untold: tuple[str, ...],
    remarks: tuple[Remark, ...],
) -> tuple[str, ...]:
    """Return one sentence for each thing that stands against lighting; empty means go.

    lit: number of pieces to light. untold: one sentence for each way in which people
    are not told (plan/tell.py).
    """
    said: list[str] = []
    if ban.state == "declared":
        said.append("A ban is declared for this night.")
    elif ban.state == "unknown" or ban.checked_at is None:
        said.append("Nobody has checked whether a ban is declared: ask, and type in who asked and when.")
    elif windows and windows[0].starts_at - ban.checked_at > CHECK_HOLDS:
        said.append("Bans were looked up more than 24 h before the first lighting: look again.")
    if not windows:
        said.append("No hour of this night lies inside every limit.")
    if windows and not lit:
        said.append("No row can be lit in these hours.")
    missing = [k for k in NEEDED if farm.limits.get(k) is None]
    if missing:
        labels = ", ".join(_label(k) for k in missing)
        said.append(f"Local limits not known: {labels}.")
    unset = [k for k in NEEDED if (found := farm.limits.get(k)) is not None and found.starting]
    if unset:
        said.append(f"Starting values nobody has confirmed here: {', '.join(_label(k) for k in unset)}.")
    if farm.zone.startswith("Etc/"):
        said.append(f"The time zone {farm.zone} was taken from the longitude and knows no summer time: name the zone.")
    said.extend(untold)
    said.extend(r.text if not r.paddock else f"{r.paddock}: {r.text}" for r in remarks if r.level == "stop")
    return tuple(dict.fromkeys(said))


def _label(key: str) -> str:
    label = LIMIT_KINDS[key].label
    return label[0].lower() + label[1:]
