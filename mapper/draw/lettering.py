"""Type: the one font that travels with the program, sized in points of paper."""

from functools import lru_cache

from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF

from mapper.carried import carried

FAMILY = "Mapper Sans"
MM_PER_PT = 25.4 / 72.0


@lru_cache(maxsize=1)
def load_fonts() -> str:
    """Register the carried fonts with Qt once and return their family. A QGuiApplication must be there."""
    for cut in ("Regular", "Bold"):
        path = carried("resources", "fonts", f"MapperSans-{cut}.ttf")
        if QFontDatabase.addApplicationFont(str(path)) < 0:
            raise FileNotFoundError(path)
    return FAMILY


@lru_cache(maxsize=256)
def font(size_pt: float, bold: bool = False, px_per_mm: float = 96.0 / 25.4) -> QFont:
    """Return the font at a size in points of paper, for a painter with so many units per mm."""
    made = QFont(load_fonts())
    made.setPixelSize(max(1, round(size_pt * MM_PER_PT * px_per_mm)))
    made.setBold(bold)
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return made


@lru_cache(maxsize=256)
def metrics(size_pt: float, bold: bool = False, px_per_mm: float = 96.0 / 25.4) -> QFontMetricsF:
    """Return the font's metrics in painter units."""
    return QFontMetricsF(font(size_pt, bold, px_per_mm))
