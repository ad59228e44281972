"""What a run of this room says about itself while it goes."""

from collections.abc import Callable

from mapper.farm.errors import Stopped
from mapper.farm.notes import Figure, Level, Remark

Progress = Callable[[int, int], None]
Cancelled = Callable[[], bool]

STEPS = 6


class Account:
    """Remarks and figures of one paddock, the progress told, and the wish to stop obeyed."""

    def __init__(self, paddock: str, progress: Progress | None, cancelled: Cancelled | None) -> None:
        self.paddock = paddock
        self.remarks: list[Remark] = []
        self.figures: list[Figure] = []
        self._done, self._progress, self._cancelled = 0, progress, cancelled

    def step(self) -> None:
        """Say that a stage is done. Raises Stopped where the user wants to stop."""
        self._done += 1
        if self._cancelled and self._cancelled():
            raise Stopped
        if self._progress:
            self._progress(min(self._done, STEPS), STEPS)

    def look(self, text: str, level: Level = "look") -> None:
        """Add a remark."""
        self.remarks.append(Remark("rows", level, text, self.paddock))

    def figure(self, name: str, value: float, unit: str, source: str, inputs: str = "", outside: bool = False) -> None:
        """Add a figure with its origin."""
        self.figures.append(Figure(f"{self.paddock}: {name}", float(value), unit, source, inputs, outside))
