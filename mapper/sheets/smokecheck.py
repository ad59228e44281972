"""A way out must never lie in the smoke: the check that warns on the sheet."""

import pandas as pd

from mapper.plan.burnplan import BurnPlan

# Haze is breathed and seen through; what blinds and chokes is the rest.
_BLINDING = ("smoke", "thick smoke")


def ways_in_smoke(plan: BurnPlan, paddock: str) -> list[str]:
    """Return a sentence for each way out that runs into smoke while it is to be used."""
    ways = plan.ways_out[plan.ways_out["paddock"] == paddock]
    found = []
    for way in ways.itertuples():
        smoke = plan.smoke[plan.smoke["level"].isin(_BLINDING)]
        if way.until is not None and not pd.isna(way.until):
            smoke = smoke[smoke["starts_at"] < way.until]
        for when, words in (("now", "the smoke"), ("after", "the smoke after the wind change")):
            areas = smoke[smoke["when"] == when]
            if len(areas) and areas.intersects(way.geometry).any():
                found.append(f"{way.name}{' (block ' + str(way.block) + ')' if way.block else ''} runs into {words}.")
                break
    return list(dict.fromkeys(found))
