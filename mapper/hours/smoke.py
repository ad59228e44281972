"""Would the smoke go up and away: still or layered air, fog danger, and the quarrel between smoke and containment."""

import numpy as np
import pandas as pd

from mapper.hours.reasons import Reasons
from mapper.weather.smoke import FOG_RH_PCT
from mapper.weather.stability import inversion_likely

# Calm: below the least wind of the plume equation, smoke pools (rice growers' and Victorian advice: avoid calm; read).
_CALM_KM_H = 3.6
# Air this damp under an inversion makes fog of smoke: our choice below saturation; "superfog" is Achtemeier (2009).
_FOG_SURE_RH_PCT = 90.0


def smoke(hours: pd.DataFrame) -> Reasons:
    """Return the reasons against the smoke, hour by hour. hours: weather, stability, still (within 1 h of the night).

    Where the smoke of a given order would go is worked out with the order, not here.
    """
    said = Reasons(len(hours))
    wind, cloud, rh = (hours[c].to_numpy() for c in ("wind_km_h", "cloud_pct", "rh_pct"))
    still = hours["still"].to_numpy()
    inversion = inversion_likely(wind / 3.6, cloud, still)
    said.add(
        inversion,
        "caution",
        lambda i: f"Inversion likely: clear, {wind[i]:.0f} km/h, near or in the night; smoke will lie low",
    )
    stable = np.isin(hours["stability"], ["E", "F"])
    said.add(inversion, "caution", "Smoke advice is midday burning; holding the rows asks for evening: you choose")
    said.add(stable & ~inversion, "go", "Stable air: smoke rises little")
    said.add(wind < _CALM_KM_H, "caution", lambda i: f"Calm, {wind[i]:.0f} km/h: smoke pools and drifts any way")
    fog = inversion & (rh >= _FOG_SURE_RH_PCT)
    said.add(fog, "no-go", lambda i: f"Humidity {rh[i]:.0f} % under an inversion: smoke can turn to thick fog on roads")
    damp = still & (rh >= FOG_RH_PCT) & ~fog
    said.add(
        damp,
        "caution",
        lambda i: f"Humidity {rh[i]:.0f} %: sight in smoke cannot be worked out from {FOG_RH_PCT:g} % on; fog danger",
    )
    said.add(still & np.isnan(cloud), "caution", "Cloud is not known: judged as a clear sky")
    return said
