"""Kinds of things on and round a farm that a burn must respect."""

from dataclasses import dataclass
from typing import Literal

Shape = Literal["point", "line", "area", "any"]


@dataclass(frozen=True)
class AssetKind:
    """One kind of asset.

    care_limit and break_limit name the local limits (farm/limits.py) that give its care distance and the
    width of the bare ring wanted round it; empty where the trade asks for none.
    """

    kind: str
    label: str
    shape: Shape
    care_limit: str = ""
    break_limit: str = ""
    tell: bool = False


ASSET_KINDS: dict[str, AssetKind] = {
    k.kind: k
    for k in (
        AssetKind("house", "House", "any", "care_house", "break_building", tell=True),
        AssetKind("shed", "Shed", "any", "care_shed", "break_building"),
        AssetKind("haystack", "Haystack", "any", "care_haystack", "break_haystack"),
        AssetKind("power_line", "Power line", "line", "care_power_line"),
        AssetKind("pole", "Power pole", "point", "", "break_pole"),
        AssetKind("road", "Public road", "line", "care_road", tell=True),
        AssetKind("track", "Farm track", "line"),
        AssetKind("railway", "Railway", "line", "care_railway", tell=True),
        AssetKind("tree", "Tree", "point", "", "break_tree"),
        AssetKind("trees", "Trees", "area", "care_trees", "break_tree"),
        AssetKind("vineyard", "Vineyard", "area", "care_vineyard", tell=True),
        AssetKind("crop", "Standing crop", "area", "care_crop", "break_crop", tell=True),
        AssetKind("reserve", "Reserve", "area", "care_reserve", tell=True),
        AssetKind("town", "Town", "any", "care_town", tell=True),
        AssetKind("water", "Water", "any"),
        AssetKind("gate", "Gate", "point"),
        AssetKind("bare", "Bare ground", "area"),
        AssetKind("green", "Green ground", "area"),
    )
}

# Words that files use for a kind; matched on the whole lower-case value.
ASSET_WORDS: dict[str, str] = {
    "dwelling": "house", "homestead": "house", "residence": "house", "building": "shed", "stack": "haystack",
    "hay": "haystack", "hay stack": "haystack", "powerline": "power_line", "power line": "power_line",
    "power pole": "pole", "public road": "road", "lane": "track", "farm track": "track", "rail": "railway",
    "vines": "vineyard", "dam": "water", "tank": "water", "water point": "water", "creek": "water",
    "remnant": "trees", "remnant trees": "trees", "scrub": "trees", "bush": "trees", "park": "reserve",
    "fallow": "bare", "bare fallow": "bare", "green crop": "green", "standing crop": "crop",
}  # fmt: skip
