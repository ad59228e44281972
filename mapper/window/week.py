"""Week of evenings: which paddock suits which of the coming nights, which night is proposed for it, and why."""

import math
from typing import TYPE_CHECKING, Any

from mapper.window.controls import Words
from mapper.window.dialog import Dialog
from mapper.window.tables import PlainTable

if TYPE_CHECKING:
    from datetime import date

    from mapper.window.window import MainWindow

WHAT = (
    "Each paddock on each night that the forecast reaches. Proposed: burns the most that matters with the least risk. "
    "Pick a cell to read why; the night picked is then taken in hand."
)
# State of plan/nights.py to mark and word.
STATES = {"suited": "ok|suited", "tell first": "look|tell first", "break open": "stop|break open", "not": "todo|not"}


class WeekDialog(Dialog):
    """Shows a NightsPlan (plan/nights.py); `night` is the one picked."""

    def __init__(self, window: "MainWindow", plan: Any) -> None:
        super().__init__(window, "Week of evenings", WHAT, "Leave it", "Take this night in hand")
        self.night: date | None = None
        self._nights = [n.night for n in plan.nights]
        heads = ("Paddock", *(f"{n:%a} {n.day} {n:%b}" for n in self._nights))
        self.resize(170 + 124 * max(3, len(self._nights)), 460)
        self.table = PlainTable("Week of evenings", heads, (150,))
        self.table.setSelectionBehavior(self.table.SelectionBehavior.SelectItems)
        self._lines = plan.table.set_index(["paddock", "night"])
        self._names = list(dict.fromkeys(plan.table["paddock"]))
        self.table.show_rows([(n, *(self._cell(n, night) for night in self._nights)) for n in self._names], most=12)
        self.table.selectionModel().currentChanged.connect(
            lambda now, _: self._tell(self.table.row_of(now), now.column())
        )
        self.body.addWidget(self.table)
        self.why = Words("", "body")
        self.body.addWidget(self.why)
        for remark in plan.remarks[:3]:
            self.body.addWidget(Words(remark.text, "small"))
        self.body.addStretch(1)
        self.add_buttons()
        self.take_button.setEnabled(False)

    def _cell(self, name: str, night: Any) -> str:
        if (name, night) not in self._lines.index:
            return "todo|no rows"
        line = self._lines.loc[(name, night)]
        if not line["chosen"]:
            return STATES[str(line["state"])]
        part = f", {line['part']}" if line["part"] else ""
        return f"go|proposed{part}"

    def _tell(self, row: int, column: int) -> None:
        if not (0 <= row < len(self._names) and 1 <= column <= len(self._nights)):
            self.take_button.setEnabled(False)
            return
        name, self.night = self._names[row], self._nights[column - 1]
        self.take_button.setEnabled(True)
        if (name, self.night) in self._lines.index:
            line = self._lines.loc[(name, self.night)]
            need, there = float(line["need_h"]), float(line["there_h"])
            hours = "" if math.isnan(need) else f" Needs {need:.1f} h; the night has {there:.1f} h."
            self.why.setText(f"{name}, {self.night:%A} {self.night.day} {self.night:%B}: {line['why']}{hours}")


def look_at_week(window: "MainWindow") -> None:
    """Work the week out off the GUI thread, then show it."""
    s = window.session
    if s.farm is None or s.farm.forecast is None:
        s.said.emit("A week needs a forecast.")
        return
    farm, workings, now = s.farm, s.workings, s.now()
    first = min(now.astimezone().date(), s.night) if s.night is not None else now.date()

    def work(progress: Any, cancelled: Any) -> Any:
        from mapper.plan.nights import NightsRequest, plan_nights

        def tell(stage: str, n: int, total: int) -> None:
            progress(n, total)

        return plan_nights(farm, NightsRequest(first, now), workings, tell, cancelled)[0]

    def shown(plan: Any) -> None:
        dialog = WeekDialog(window, plan)
        if dialog.exec() and dialog.night is not None:
            s.look_at(dialog.night)
            window.work.work_out(("hours",))

    s.said.emit("Looking at the week ...")
    window.jobs.start(
        "week", work, shown, lambda e: s.fail("evening", e),
        lambda n, total: s.said.emit(f"Looking at the week, night {n + 1} of {total}"),
    )  # fmt: skip
