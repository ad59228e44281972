"""The inks: one palette for paper, two for the screen. Contrast and colour sight are checked by tests."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Palette:
    """Colours as #rrggbb. On paper black carries all meaning and colour only helps."""

    ground: str  # behind everything
    ink: str
    soft: str  # second-rank ink
    plate: str  # under words
    tint: str  # every other block, panels
    fire: str
    water: str
    out: str  # ways out
    care: str
    row: str
    row_light: str
    row_heavy: str
    burnt: str
    stubble: str  # a paddock's ground
    track: str  # harvester's fixes
    act: str
    focus: str
    picked: str
    field: str  # outline of neighbours and fields
    points: tuple[str, ...]  # harvester's fixes by class, fast to slow or little to much


PAPER = Palette(
    ground="#FFFFFF", ink="#000000", soft="#595959", plate="#FFFFFF", tint="#EDEDED", fire="#D55E00", water="#0072B2",
    out="#00704F", care="#F0E442", row="#000000", row_light="#000000", row_heavy="#000000", burnt="#000000",
    stubble="#FFFFFF", track="#595959", act="#000000", focus="#000000", picked="#000000", field="#8A8A8A",
    points=("#8A8A8A", "#707070", "#555555", "#333333", "#000000"),
)  # fmt: skip

LIGHT = Palette(
    ground="#F6F4EF", ink="#22201C", soft="#5A554B", plate="#FFFFFF", tint="#E9E4D6", fire="#C24A00", water="#0072B2",
    out="#00704F", care="#F0E442", row="#2C2A25", row_light="#2B78B0", row_heavy="#C24A00", burnt="#3A3733",
    stubble="#FBFAF5", track="#2F7F98", act="#9A3B12", focus="#0B5CAD", picked="#0B5CAD", field="#857E70",
    points=("#8A882F", "#4F8A63", "#2F7F98", "#2B5290", "#2A1F52"),
)  # fmt: skip

DARK = Palette(
    ground="#191815", ink="#F0EDE6", soft="#B5AFA2", plate="#22211D", tint="#2E2C26", fire="#FF8A3D", water="#72B4E8",
    out="#5CC9A0", care="#F3CF7A", row="#CFC9BA", row_light="#72B4E8", row_heavy="#FF8A3D", burnt="#7D776B",
    stubble="#22211D", track="#74A99B", act="#E8834F", focus="#7DB8F0", picked="#7DB8F0", field="#8C8679",
    points=("#6A7AA6", "#4F7F9B", "#74A99B", "#B5C98A", "#F2EBA0"),
)  # fmt: skip
