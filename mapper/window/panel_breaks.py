"""The Breaks step: each break that is wanted, what is there, and what is missing."""

import math

from mapper.window.controls import Words
from mapper.window.panel import StepPanel
from mapper.window.section import Section
from mapper.window.tables import PlainTable, initials


class BreaksPanel(StepPanel):
    """Fields of the third step."""

    step, title = "breaks", "Breaks"
    lead = "Firebreaks round the paddock and what they must guard."
    quiet, act = "Check breaks", "Use these breaks"

    def build(self) -> None:
        """A table and what the limits ask."""
        self._part = Section(self.body)
        self.limit = Words("", "small")
        self._part.add(self.limit)
        self.table = PlainTable("Breaks", ("Side", "Present", "Wanted", ""), (0, 56, 56, 100))
        self.table.chosen.connect(self._show)
        self._part.add(self.table)
        self.why = Words("", "small")
        self._part.add(self.why)

    def _layer(self) -> object:
        breaks = self.session.layer("breaks")
        if breaks is None:
            return None
        if self.session.paddock:
            breaks = breaks[breaks["paddock"] == self.session.paddock]
        return breaks.sort_values("short_m", ascending=False, na_position="first", kind="stable")

    def refresh(self) -> None:
        """Show the breaks of the picked paddock, the worst first."""
        farm, breaks = self.session.farm, self._layer()
        self._part.setVisible(breaks is not None)
        able = farm is not None and farm.forecast is not None
        self.quiet_button.set_words("Check breaks" if breaks is not None else "")
        self.act_button.set_words(
            "Use these breaks" if breaks is not None else "Check breaks" if able else "Go to evening"
        )
        self.act_button.setEnabled(farm is not None)
        if farm is None or breaks is None:
            self.lead_words.setText(
                "Not checked yet. Breaks are held against your limits and the forecast fire; the forecast comes next."
                if not able
                else "Not checked yet. Breaks are held against your limits and the forecast fire."
            )
            return
        self.lead_words.setText(self.lead)
        limit = farm.limits.get("break_edge")
        self.limit.setText(
            "No local limit for a paddock's edge is typed in." if limit is None
            else f"Local limit for an edge: {limit.value:g} m, {limit.source}, {limit.date}"
        )  # fmt: skip
        rows = []
        for b in breaks.itertuples():  # type: ignore[attr-defined]
            who = b.side if not b.guards or b.guards == "edge" else f"{b.guards}"
            side = f"{initials(b.paddock)} {who}" if not self.session.paddock else who
            if math.isnan(b.short_m):
                state = "stop|not known"
            elif b.short_m > 0:
                state = f"look|{b.short_m:.0f} m short" if b.short_m >= 1 else f"look|{b.short_m:.1f} m short"
            else:
                state = "ok|wide enough"
            rows.append((str(side), _metres(b.present_m), _metres(b.wanted_m), state))
        self.table.show_rows(rows)

    def _show(self, row: int) -> None:
        picked = self._layer().iloc[row]  # type: ignore[attr-defined]
        self.why.setText(f"Wanted by: {picked['wanted_by']}. {picked['todo']}".strip())
        self.window_.show_place(picked.geometry)

    def on_quiet(self) -> None:
        """Hold the breaks against limits and forecast."""
        self.window_.work.work_out(("hours", "ground"))

    def on_act(self) -> None:
        """Go on to the evening; check the breaks first where there is a forecast to check them with."""
        farm = self.session.farm
        if self._layer() is None and farm is not None and farm.forecast is not None:
            self.on_quiet()
        else:
            self.session.go_to("evening")


def _metres(value: float) -> str:
    return "?" if math.isnan(value) else f"{value:.0f} m" if value >= 10 or value == int(value) else f"{value:.1f} m"
