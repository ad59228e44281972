"""Invented data are marked once on a sheet, by the farm's name, not beside every name."""

import re
from dataclasses import replace

import pandas as pd

from mapper.plan.burnplan import BurnPlan

_MARK = re.compile(r"\s*\(invented\)")


def without_marks(plan: BurnPlan) -> BurnPlan:
    """Return the plan of an invented farm with "(invented)" taken out of its names and sentences, as sheets say it.

    Other farms' plans come back as they are. The sheets' title and source line carry the mark instead.
    """
    if not plan.farm.invented:
        return plan
    farm, tell = plan.farm, plan.tell.copy()
    neighbours = farm.neighbours.copy()
    neighbours["name"] = [_plain(str(n)) for n in neighbours["name"]]
    breaks = plan.breaks.copy()
    breaks["guards"] = [_plain(str(g)) for g in breaks["guards"]]
    escapes, reach, raking = (_plain_columns(t, "name", "words", "against") for t in (
        plan.escapes, plan.smoke_reach, plan.raking))  # fmt: skip
    if len(tell):
        tell["who"] = [_plain(str(w)) for w in tell["who"]]
    plain = farm.with_(name=_plain(farm.name), in_charge=_plain(farm.in_charge), neighbours=neighbours)
    return replace(
        plan, farm=plain, tell=tell, breaks=breaks, escapes=escapes, smoke_reach=reach, raking=raking,
        author=_plain(plan.author),
        against=tuple(_plain(t) for t in plan.against),
        remarks=tuple(replace(r, text=_plain(r.text)) for r in plan.remarks),
    )  # fmt: skip


def _plain_columns(table: pd.DataFrame, *columns: str) -> pd.DataFrame:
    return table.assign(**{c: [_plain(str(v)) for v in table[c]] for c in columns if c in table})


def _plain(words: str) -> str:
    return _MARK.sub("", words)
