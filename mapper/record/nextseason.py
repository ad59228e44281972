"""The farm rolled over to the next season: the ground stays, the harvest goes, this year's rows become last year's."""

import geopandas as gpd
import numpy as np

from mapper.farm.farm import Farm
from mapper.farm.layers import make_layer

# What a paddock's next crop decides; everything else about it stays.
_OF_THE_CROP = {"crop": "", "yield_t_ha": np.nan, "cut_height_m": np.nan, "stubble_t_ha": np.nan, "curing_pct": np.nan}


def next_season(farm: Farm, windrows: gpd.GeoDataFrame, season: str) -> Farm:
    """Return the farm as the next season finds it; the farm passed in is not changed.

    windrows: this season's, all paddocks. season: its name, kept with its rows. Boundaries, assets, neighbours, breaks,
    machines, crews, limits and wording stay; logs, forecasts, readings, edits of rows and who was told go, for they are
    this season's and stay in its file, as do the rows of the season before.
    """
    return keep_rows(farm, windrows, season).with_(
        paddocks=farm.paddocks.assign(**_OF_THE_CROP),
        neighbours=farm.neighbours.assign(told_at="", told_by=""),
        tracks={},
        forecast=None,
        forecasts=(),
        readings=None,
        last_soak=None,
        row_edits=(),
        rows_seen=None,
        told=(),
    )


def keep_rows(farm: Farm, windrows: gpd.GeoDataFrame, season: str) -> Farm:
    """Return the farm with these rows kept as those of a past season, to hold the next season's rows against."""
    names = {"paddock": list(windrows["paddock"]), "season": [season] * len(windrows)}
    return farm.with_(rows_before=make_layer("rows_before", names, windrows.geometry.to_numpy(), farm.grid.crs))
