"""Heat found: probe traces of burning rows, what they say of seed, and the farm's burn-out time set by them."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QFileDialog, QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window.controls import PushButton, Words
from mapper.window.numberbox import NumberBox
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.tallypart import Attempt

if TYPE_CHECKING:
    import pandas as pd

    from mapper.window.window import MainWindow


class HeatPart(Section):
    """Traces of this night; the farm's figure is set from those of all nights kept beside the farm."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow", attempt: Attempt) -> None:
        super().__init__(into)
        self._window, self.session, self._attempt = window, window.session, attempt
        self._book = window.session.book
        self.add(Words("Heat at the soil's surface", "head"))
        self.row = NumberBox("Row of the probe", 1, 9999, 0, may_be_empty=True)
        self.step = NumberBox("Seconds between readings", 0.1, 3600, 1, may_be_empty=True)
        self.ambient = NumberBox("Air before the fire", -20, 60, 1, may_be_empty=True)
        self.field("Row", self.row)
        self.field("Seconds between readings", self.step, "s")
        self.field("Air before the fire", self.ambient, "degC")
        self.bring = PushButton("Bring in a probe's trace")
        self.bring.clicked.connect(self._ask)
        self.add(self.bring)
        self.table = PlainTable("Probe traces", ("Row", "Peak", "Heat", "Burn", "Kills"), (40, 52, 66, 52, 0))
        self.add(self.table)
        self.words = Words(
            "Heat: degree-seconds above air. Burn: seconds above 200 degC. Kills: seed at the surface, by published"
            " heats (Walsh & Newman 2007, Norsworthy et al. 2020).", "small",
        )  # fmt: skip
        self.add(self.words)
        self.rule()
        self.adjusted = Words("", "body")
        self.add(self.adjusted)
        self.adjust = PushButton("Take it for this farm")
        self.adjust.clicked.connect(self._adjust)
        self.add(self.adjust)

    def _ask(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "A probe's trace", "", "Tables (*.csv *.txt)")
        if path:
            self.bring_trace(Path(path))

    def bring_trace(self, path: Path) -> None:
        """Keep a trace with the row and interval typed; the file's own interval where it has one."""
        from mapper.files.heattrace import read_trace

        def keep() -> None:
            trace = read_trace(path)
            step = trace.step_s if math.isnan(self.step.number()) else self.step.number()
            if math.isnan(step):
                raise MapperError("it does not say how far apart its readings are", path.name, "Type the seconds")
            row, ambient = self.row.number(), self.ambient.number()
            if not math.isnan(row) and self._book.record is not None and int(row) not in self._book.record.numbers:
                raise MapperError(f"there is no row {row:.0f}", path.name, "Type a number of the plan")
            body = {"points": 1, "step_s": step, "temp_c": list(trace.temp_c), "place": path.stem,
                    "row": None if math.isnan(row) else int(row),
                    "ambient_c": None if math.isnan(ambient) else ambient}  # fmt: skip
            self._book.write("heat", [(body, None)])

        if self._attempt(keep):
            self.row.set_number(math.nan)

    def _traces(self) -> "pd.DataFrame":
        """The traces of all nights kept beside the farm."""
        import pandas as pd

        from mapper.record.heat import HEAT_COLUMNS, heat_table

        tables = [t for r in self._book.nights(self.session.path) if len(t := heat_table(r))]
        return pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=list(HEAT_COLUMNS))

    def _proposed(self) -> Any:
        from mapper.record.heat import adjust_row_burn

        farm = self.session.farm
        return None if farm is None else adjust_row_burn(farm.row_burn, self._traces())

    def refresh(self) -> None:
        """Show traces and what they would set."""
        from mapper.record.heat import FEWEST_TRACES, heat_table

        record, farm = self._book.record, self.session.farm
        if record is None:
            return
        table = heat_table(record)
        lines: Any = table.itertuples()
        self.table.setVisible(len(table) > 0)
        self.table.show_rows([
            ("" if t.row is None else f"{t.row:.0f}", f"{t.peak_c:.0f}", f"{t.heat_index:,.0f}",
             f"{t.burn_time_s:.0f} s", f"ok|{_kills(t)}" if _kills(t) else "look|too cool") for t in lines
        ], most=5)  # fmt: skip
        found = self._proposed() if len(table) else None
        new = found is not None and farm is not None and found.row_burn != farm.row_burn
        self.adjust.setVisible(new)
        if found is None:
            few = "" if farm is None else f" Now: {farm.row_burn.burnout_min:g} min ({farm.row_burn.source})."
            self.adjusted.setText(f"{FEWEST_TRACES} traces or more set how long a row burns on this farm.{few}")
        else:
            self.adjusted.setText(found.text if new else f"In use: {found.row_burn.source}.")

    def _adjust(self) -> None:
        farm, found = self.session.farm, self._proposed()
        if farm is not None and found is not None:
            self.session.edit("Set the burn-out time by probe traces", farm.with_(row_burn=found.row_burn))


def _kills(trace: Any) -> str:
    if trace.all_seed:
        return "all tested"
    named = [words for words, reached in (("ryegrass", trace.ryegrass), ("radish", trace.radish)) if reached]
    return ", ".join(named)
