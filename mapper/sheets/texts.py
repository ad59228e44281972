"""Texts of paper filled in from the plan: the farm's own where it has set them, else the program's."""

import re

from mapper.draw.words import tr
from mapper.farm.wording import Wording
from mapper.files.wording import starting_wording
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.night import compass, gate_place, nearest_road, winds

LINE = "____"


def wording(plan: BurnPlan, key: str) -> Wording:
    """Return a text by its name."""
    found = plan.farm.wording.get(key)
    return found if found is not None else starting_wording()[key]


def lines_of(plan: BurnPlan, key: str, paddock: str | None = None, **more: str) -> list[str]:
    """Return a text's lines filled in. What is not known becomes a line to write on.

    more: values for names that only this place knows.
    """
    road = nearest_road(plan, paddock)
    now, after = winds(plan, paddock)
    gate = gate_place(plan, paddock)
    due = plan.tell.loc[plan.tell["role"] == "neighbour", "who"].astype(str).tolist() if len(plan.tell) else []
    wind = plan.farm.limits.get("wind_max")
    values = {
        "farm": plan.farm.name, "in_charge": plan.farm.in_charge, "phone": plan.farm.phone,
        "emergency": plan.farm.emergency_number, "road": road or tr("the road"),
        "place": gate.words.replace(": ", f", {road}, ", 1) if road else gate.words,
        "smoke_to": compass(now.from_deg + 180) if now is not None else "",
        "smoke_after": compass(after.from_deg + 180) if after is not None else "",
        "neighbours": ", ".join(due), "wind_max": "" if wind is None else f"{wind.value:g} km/h",
        "paddocks": ", ".join([paddock] if paddock is not None else plan.paddocks), **more,
    }  # fmt: skip
    filled = {name: value or LINE for name, value in values.items()}
    return [re.sub(r"\{(\w+)\}", lambda m: filled.get(m[1], LINE), tr(line)) for line in wording(plan, key).lines]


def set_by(plan: BurnPlan, key: str) -> str:
    """Return who set a text: the farm, or nobody yet."""
    found = wording(plan, key)
    if key in plan.farm.wording:
        return tr("Set by {source}, {date}.").format(source=found.source, date=found.date)
    return tr("The program's words, not yet set by the farm: {source}.").format(source=found.source)
