"""Rows by hand and from season to season: what a drawn line is, what was edited, last season's rows."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout

from mapper.window import rowedits
from mapper.window.controls import Choice, PushButton, Words
from mapper.window.section import Section

if TYPE_CHECKING:
    from mapper.window.rowtools import DrawRowTool
    from mapper.window.window import MainWindow

USUAL = "R draws a row, G moves one, X cuts one, Delete takes the picked one out."


class HandRows(Section):
    """Fields of the Rows step for what the hand did and for the season before."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self.rule()
        self.line_is = Choice("A line drawn is")
        self.line_is.setFixedWidth(180)
        self.line_is.addItem("a row more", False)
        self.line_is.addItem("a row seen, for the pattern", True)
        self.line_is.activated.connect(lambda _: self._take_line_is())
        self.field("A line drawn is", self.line_is)
        self.by_hand = Words("", "small")
        self.add(self.by_hand)
        self.forget = PushButton("Forget the rows seen here")
        self.forget.clicked.connect(self._forget_seen)
        self.add(self.forget)
        self.rule()
        self.season = Words("", "small")
        self.add(self.season)
        self.bring, self.keep = PushButton("Bring in last season's rows"), PushButton("Keep these rows for next season")
        self.bring.clicked.connect(lambda: window.files.open_layer("rows_before"))
        self.keep.clicked.connect(self._keep_season)
        self.add(self.bring)
        self.add(self.keep)

    def _take_line_is(self) -> None:
        tool: DrawRowTool = self._window.canvas.tools["Draw a row"]  # type: ignore[assignment]
        tool.seen_only = bool(self.line_is.currentData())
        self._window.canvas.take_tool("Draw a row")

    def _forget_seen(self) -> None:
        farm, name = self.session.farm, self.session.paddock
        if farm is not None and name:
            self.session.edit(f"Forget the rows seen in {name}", rowedits.forget_seen(farm, name))
            self._window.work.work_out(("rows",))

    def _keep_season(self) -> None:
        from mapper.record.nextseason import keep_rows
        from mapper.record.season import season_name

        farm, rows = self.session.farm, self.session.layer("windrows")
        if farm is not None and rows is not None and len(rows):
            dates = rows["dropped_at"].dropna()
            last = dates.max() if len(dates) else self.session.now()
            season = season_name(last.date())
            self.session.edit(f"Keep the rows of {season}", keep_rows(farm, rows, season))

    def refresh(self) -> None:
        """Show what the hand did in the picked paddock (or in all), and which season's rows are held."""
        farm, name = self.session.farm, self.session.paddock
        if farm is None:
            return
        edited = sum(not name or e.paddock == name for e in farm.row_edits)
        seen = farm.rows_seen
        count = 0 if seen is None else int((seen["paddock"] == name).sum()) if name else len(seen)
        said = f"{_count(edited, 'edit')} by hand, kept when the rows are worked out anew. " if edited else ""
        said += f"{_count(count, 'row')} seen: the pattern is fitted to them." if count else ""
        self.by_hand.setText(said.strip() or USUAL)
        self.forget.setVisible(bool(name) and count > 0)
        self.keep.setVisible(self.session.known("rows"))
        before = farm.rows_before
        if before is None:
            self.season.setText("With last season's rows held, you see how much lies on the same strips.")
            return
        seasons = ", ".join(sorted({s for s in before["season"] if s})) or "last season"
        self.season.setText(f"The rows of {seasons} are held; what lies on their strips is said below.")


def _count(n: int, word: str) -> str:
    return f"{n} {word}" + "s" * (n != 1)
