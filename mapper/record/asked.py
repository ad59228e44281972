"""What has to be written down of a fire that got away: the farm's own list, or the one the program begins with.

The starting fields are those that the Western Australian Bush Fires Regulations 1954 r.43 asks an occupier to report
within seven days (date, cause, area burnt, estimated loss, time first noticed, time extinguished, persons and equipment
used), and r.32 (tell the nearest officer at once). Other places ask for other things: the farm's list decides.
"""

import re
from dataclasses import dataclass

from mapper.farm.wording import Wording


@dataclass(frozen=True)
class Field:
    """One thing to write down: key in the entry's body, words on paper, and who asks for it."""

    key: str
    label: str
    source: str


_R43 = "WA Bush Fires Regulations 1954 r.43 (read)"
_R32 = "WA Bush Fires Regulations 1954 r.32 (read)"
_USUAL = "common practice, no source"
ESCAPE_FIELDS: tuple[Field, ...] = (
    Field("place", "Where", _USUAL),
    Field("noticed_at", "First noticed", _R43),
    Field("out_at", "Out at", _R43),
    Field("area_ha", "Area burnt, ha", _R43),
    Field("burnt", "What burnt", _USUAL),
    Field("cause", "Cause", _R43),
    Field("loss", "Estimated loss", _R43),
    Field("done", "What was done", _USUAL),
    Field("people", "People used", _R43),
    Field("equipment", "Equipment used", _R43),
    Field("told", "Authority told, when and how", _R32),
)


def asked_by(wording: Wording | None) -> tuple[Field, ...]:
    """Return the fields of a farm's own list, a line a field; the starting ones where it has none.

    A line worded as a starting field is that field, so that its time or area is still understood.
    """
    if wording is None:
        return ESCAPE_FIELDS
    known = {f.label.casefold(): f.key for f in ESCAPE_FIELDS}
    source = f"{wording.source}, {wording.date}"
    return tuple(Field(known.get(line.casefold(), _key(line)), line, source) for line in wording.lines)


def _key(label: str) -> str:
    return "_".join(re.findall(r"\w+", label.casefold()))
