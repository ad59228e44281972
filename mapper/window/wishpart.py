"""Changes of plan at the Order step: what is fixed, what got worse by it, and what a stop at this minute leaves."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QVBoxLayout

from mapper.window.controls import Choice, PushButton, Words
from mapper.window.numberbox import MomentBox
from mapper.window.remarks import Cards
from mapper.window.section import Section
from mapper.window.tables import PlainTable

if TYPE_CHECKING:
    from mapper.order.wishes import Wishes
    from mapper.window.window import MainWindow


class WishPart(Section):
    """Each wish is an edit of what is asked of the night; the order is mended round all of them."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self.rule()
        self.add(Words("Change of plan", "head"))
        self.worse = Cards(most=5)
        self.add(self.worse)
        self.table = PlainTable("What is fixed", ("Fixed by you",), (0,))
        self.table.chosen.connect(lambda _: self.refresh())
        self.add(self.table)
        self.take_out = PushButton("Take it out")
        self.take_out.clicked.connect(self._take_out)
        self.add(self.take_out)
        self.help = Words(
            "Drag a block up or down in the table to light it earlier or later (Alt and arrow keys too).", "small"
        )
        self.add(self.help)
        self.unlit = PushButton("Do not light the picked row")
        self.unlit.clicked.connect(self._forbid)
        self.add(self.unlit)
        self.start = MomentBox("Start of the picked block")
        self.field("Not before", self.start)
        self.fix = PushButton("Fix the picked block's start")
        self.fix.clicked.connect(self._fix)
        self.add(self.fix)
        self.crew = Choice("Crew that drops out")
        self.crew.setFixedWidth(180)
        self.field("Crew", self.crew)
        self.lose = PushButton("It drops out at the hour shown")
        self.lose.clicked.connect(self._lose)
        self.add(self.lose)
        self.change = MomentBox("Wind change now expected at")
        self.field("Wind change", self.change)
        self.move_change = PushButton("Move the wind change")
        self.move_change.clicked.connect(self._move)
        self.add(self.move_change)
        self.rule()
        self.stop = PushButton("Stop now", "halt")
        self.stop.clicked.connect(self._stop)
        self.add(self.stop)
        self.stopped = Words("", "body")
        self.add(self.stopped)

    # What is shown ---------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show what is fixed and which of the buttons can be used now."""
        s, farm = self.session, self.session.farm
        self.setVisible(farm is not None and s.plan is not None and s.night is not None)
        if farm is None or s.plan is None or s.night is None:
            return
        self.worse.show_items([("look", text, None) for text in s.worse])
        words = [text for text, _ in self._wishes()]
        self.table.setVisible(bool(words))
        self.table.show_rows([(w,) for w in words], most=5)
        self.take_out.setVisible(bool(words) and self.table.currentIndex().isValid())
        self.unlit.setEnabled(bool(s.row_id) and s.row_id not in s.asked.wishes.unlit_rows)
        self.fix.setEnabled(bool(s.block))
        picked = self._block()
        if picked is not None and not self.start.hasFocus() and picked["starts_at"] == picked["starts_at"]:
            self.start.show_moment(picked["starts_at"].to_pydatetime(), farm.zone)
        names = [c.crew for c in farm.crews]
        if [self.crew.itemText(k) for k in range(self.crew.count())] != names:
            self.crew.clear()
            self.crew.addItems(names)
        self.lose.setEnabled(bool(names) and s.hour is not None)
        change = None if self._window.evening is None else next(iter(self._window.evening.changes), None)
        self.move_change.setEnabled(change is not None)
        if change is not None and not self.change.hasFocus():
            self.change.show_moment(change.at, farm.zone)
        if s.hour is not None:
            self.stop.set_words(f"Stop at {self._window.clock(s.hour)}: what then?")
        self.stop.setEnabled(s.hour is not None and s.may_print)

    def _wishes(self) -> "list[tuple[str, Wishes]]":
        """Return each wish in words, and the wishes without it."""
        w, clock = self.session.asked.wishes, self._window.clock
        found = []
        for k, e in enumerate(w.earlier):
            words = f"{self._name(e.pieces)} before {self._name(e.before)}"
            found.append((words, replace(w, earlier=w.earlier[:k] + w.earlier[k + 1 :])))
        for row in w.unlit_rows:
            found.append((f"{row} stays unlit", replace(w, unlit_rows=tuple(r for r in w.unlit_rows if r != row))))
        for k, s in enumerate(w.starts):
            words = f"{self._name(s.pieces)} not before {clock(s.at)}"
            found.append((words, replace(w, starts=w.starts[:k] + w.starts[k + 1 :])))
        for k, c in enumerate(w.lost_crews):
            words = f"{c.crew} out" + (f" from {clock(c.at)}" if c.at is not None else " all night")
            found.append((words, replace(w, lost_crews=w.lost_crews[:k] + w.lost_crews[k + 1 :])))
        return found

    def _name(self, pieces: tuple[str, ...]) -> str:
        """Return the blocks that pieces lie in now: "block B", else how many rows they are."""
        layer = self.session.layer("pieces")
        blocks = [] if layer is None else sorted(set(layer.loc[layer["piece_id"].isin(pieces), "block"]) - {""})
        return f"block {' and '.join(blocks)}" if 0 < len(blocks) <= 2 else f"{len(pieces)} rows"

    def _block(self) -> Any:
        blocks = self.session.layer("blocks")
        if blocks is None or not self.session.block:
            return None
        mine = blocks[(blocks["paddock"] == self.session.paddock) & (blocks["block"] == self.session.block)]
        return mine.iloc[0] if len(mine) else None

    def _pieces(self, paddock: str, block: str) -> tuple[str, ...]:
        layer = self.session.layer("pieces")
        if layer is None:
            return ()
        return tuple(layer.loc[(layer["paddock"] == paddock) & (layer["block"] == block), "piece_id"])

    # What is done ----------------------------------------------------------------------------------------------

    def _ask(self, name: str, wishes: "Wishes") -> None:
        self.session.ask(name, wishes=wishes)
        self._window.work.work_out()

    def _take_out(self) -> None:
        at = self.table.row_of(self.table.currentIndex())
        wishes = self._wishes()
        if 0 <= at < len(wishes):
            self._ask(f"Take out: {wishes[at][0]}", wishes[at][1])

    def light_earlier(self, block: tuple[str, str], before: tuple[str, str]) -> None:
        """Light a block (paddock, letter) before another."""
        from mapper.order.wishes import Earlier

        wishes = self.session.asked.wishes
        wish = Earlier(self._pieces(*block), self._pieces(*before))
        if wish.pieces and wish.before and wish not in wishes.earlier:
            name = f"Light block {block[1]} before {before[1]}"
            self._ask(name, replace(wishes, earlier=(*wishes.earlier, wish)))

    def _forbid(self) -> None:
        wishes, row = self.session.asked.wishes, self.session.row_id
        self._ask(f"Do not light {row}", replace(wishes, unlit_rows=(*wishes.unlit_rows, row)))

    def _fix(self) -> None:
        from mapper.order.wishes import FixedStart

        farm, wishes = self.session.farm, self.session.asked.wishes
        pieces = self._pieces(self.session.paddock, self.session.block)
        if farm is not None and pieces:
            wish = FixedStart(pieces, self.start.moment(farm.zone))
            others = tuple(s for s in wishes.starts if s.pieces != pieces)
            self._ask(f"Fix the start of block {self.session.block}", replace(wishes, starts=(*others, wish)))

    def _lose(self) -> None:
        from mapper.order.wishes import LostCrew

        wishes, crew = self.session.asked.wishes, self.crew.currentText()
        others = tuple(c for c in wishes.lost_crews if c.crew != crew)
        lost = LostCrew(crew, self.session.hour)
        self._ask(f"{crew} drops out", replace(wishes, lost_crews=(*others, lost)))

    def _move(self) -> None:
        farm, evening = self.session.farm, self._window.evening
        if farm is None or evening is None or not evening.changes:
            return
        moved = replace(evening.changes[0], at=self.change.moment(farm.zone))
        others = tuple(c for c in self.session.asked.typed_changes if c.at != evening.changes[0].at)
        changes = tuple(sorted((*others, moved), key=lambda c: c.at))
        self.session.ask("Move the wind change", typed_changes=changes)
        self._window.work.work_out()

    def _stop(self) -> None:
        plan, hour = self.session.plan, self.session.hour
        if plan is None or hour is None:
            return

        def work(progress: Any, cancelled: Any) -> Any:
            from mapper.plan.stopnow import stop_now

            return stop_now(plan, hour)

        self._window.jobs.start("stop now", work, self._say_stopped, lambda e: self.session.fail("order", e))

    def _say_stopped(self, found: Any) -> None:
        clock = self._window.clock
        alight = (
            f"{len(found.alight)} rows alight, {found.alight_m / 1000:.1f} km"
            if len(found.alight)
            else "nothing alight"
        )
        out = f", out by {clock(found.out_at)} if left to burn" if found.out_at is not None else ""
        patrol = (
            f"Patrol until {clock(found.patrol_until)}." if found.patrol_until is not None
            else "How long to patrol is not known: no local limit says it."
        )  # fmt: skip
        left = (
            f"{len(found.left)} rows not lit, {found.left_m / 1000:.1f} km." if len(found.left) else "Nothing is left."
        )
        self.stopped.setText(f"Stop at {clock(found.at)}: {alight}{out}. {left} {patrol}")
