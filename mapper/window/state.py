"""The session: the farm in hand, the last plan, what is picked and shown. No widgets here.

Every change to the farm goes through `Session.edit`, every change to what is asked of a night through `Session.ask`, so
that each can be taken back, done again and saved.
"""

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from mapper.farm.errors import MapperError
from mapper.window.nightbook import NightBook

# Kept out of start-up: geopandas alone takes half a second, and the window opens without it.
if TYPE_CHECKING:
    import geopandas as gpd

    from mapper.farm.farm import Farm
    from mapper.farm.notes import Remark
    from mapper.hours.verdict import BanCheck
    from mapper.plan.asked import Asked
    from mapper.plan.burnplan import BurnPlan
    from mapper.plan.request import NightRequest
    from mapper.plan.workings import Workings

STEPS = ("paddock", "rows", "breaks", "evening", "order", "sheets", "record")
STEP_WORDS = {
    "paddock": "Paddock", "rows": "Rows", "breaks": "Breaks", "evening": "Evening", "order": "Order",
    "sheets": "Sheets", "record": "Record",
}  # fmt: skip
# Which stages of the plan stand behind a step.
STAGES_OF: dict[str, tuple[str, ...]] = {
    "paddock": (),
    "rows": ("rows",),
    "breaks": ("ground",),
    "evening": ("hours",),
    "order": ("order", "smoke", "escapes"),
    "sheets": ("rows", "hours", "ground", "order", "smoke", "escapes"),
    "record": (),
}


class _Edit(QUndoCommand):
    """One change: its name, what stood before and what stands after (frozen values), and where it is put."""

    def __init__(self, name: str, before: Any, after: Any, put: Callable[[Any], None]) -> None:
        super().__init__(name)
        self._before, self._after, self._put = before, after, put

    def redo(self) -> None:
        """Do it, or do it again."""
        self._put(self._after)

    def undo(self) -> None:
        """Take it back."""
        self._put(self._before)


class Session(QObject):
    """What the window is about.

    Signals: farm_changed (another farm value), plan_changed (plan, staleness or request), picked (paddock, row or
    step), hour_changed, trouble (an error and the step it belongs to), said (a line for the status bar).
    """

    farm_changed = Signal()
    plan_changed = Signal()
    picked = Signal()
    hour_changed = Signal()
    trouble = Signal(str, object)
    said = Signal(str)

    def __init__(self, now: Callable[[], datetime] = lambda: datetime.now(UTC), parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.now = now
        self.undo = QUndoStack(self)
        # The record of a night stands beside the farm and its history: what was written down is never taken back.
        self.book = NightBook(self._clock, self)
        self.book.changed.connect(self.plan_changed)
        self.farm: Farm | None = None
        self.path = ""
        self.saved_at: datetime | None = None
        self.plan: BurnPlan | None = None
        self.workings: Workings | None = None
        self.working = False
        self.printed = False
        self.paddock, self.row_id, self.block = "", "", ""
        self.step = "paddock"
        self.hour: datetime | None = None
        self.night: date | None = None
        self.author = ""
        self.nights: dict[date, Asked] = {}
        self.worse: tuple[str, ...] = ()
        self.errors: dict[str, MapperError] = {}
        self._stale: tuple[Any, frozenset[str]] | None = None
        # The farm and the nights as they stand in the file.
        self._saved_farm: Farm | None = None
        self._in_file: tuple[int, dict[date, Asked]] = (0, {})

    def _clock(self) -> datetime:
        # Asked anew each time: the clock of a session may be set after the book was made.
        return self.now()

    # What is in hand -------------------------------------------------------------------------------------------

    def take_farm(self, farm: "Farm", path: str = "", nights: "Iterable[Asked]" = ()) -> None:
        """Begin with another farm and what was asked of its nights; history, plan and errors start anew."""
        self.undo.clear()
        self.book.leave()
        self.farm, self.path, self.plan, self.workings = farm, path, None, None
        self.paddock, self.row_id, self.block = "", "", ""
        self.hour, self.night, self.printed = None, None, False
        self.worse = ()
        self.nights = {asked.night: asked for asked in nights}
        self.saved_at = self.now() if path else None
        self._saved_farm = farm if path else None
        self._in_file = (id(farm), self._nights()) if path else (0, {})
        self.errors.clear()
        if farm.forecast is not None:
            self.night = likely_night(farm)
        self.go_to("paddock")
        self.farm_changed.emit()
        self.plan_changed.emit()

    def edit(self, name: str, farm: "Farm") -> None:
        """Change the farm; the one door for every edit. name is what History and the tips say."""
        if self.farm is None:
            self.take_farm(farm)
            return
        self.undo.push(_Edit(name, self.farm, farm, self._put))

    def _put(self, farm: "Farm") -> None:
        self.farm = farm
        if self.paddock and self.paddock not in set(farm.paddocks["paddock"]):
            self.paddock = ""
        if self.night is None and farm.forecast is not None:
            self.night = likely_night(farm)
        self.farm_changed.emit()
        self.plan_changed.emit()

    @property
    def dirty(self) -> bool:
        """True while something is not saved."""
        return self.farm is not None and not (self.path and self._in_file == (id(self.farm), self._nights()))

    def _nights(self) -> "dict[date, Asked]":
        """What was asked of each night, without the nights of which nothing was asked."""
        from mapper.plan.asked import Asked

        return {night: asked for night, asked in self.nights.items() if asked != Asked(night)}

    def mark_saved(self, path: str, farm: "Farm | None" = None, nights: "dict[date, Asked] | None" = None) -> None:
        """Note that a farm and its nights stand in a file: those in hand, or those that were when saving began."""
        now, self.nights = self.nights, self.nights if nights is None else nights
        self._saved_farm = self.farm if farm is None else farm
        self._in_file = (id(self._saved_farm), self._nights())
        self.nights = now
        self.path, self.saved_at = path, self.now()
        self.plan_changed.emit()

    # What is picked --------------------------------------------------------------------------------------------

    def go_to(self, step: str) -> None:
        """Go to a step of the walk."""
        self.step = step
        self.picked.emit()

    def pick(self, paddock: str, row_id: str = "", block: str = "") -> None:
        """Pick a paddock (or none), and perhaps a row or a block of it."""
        if (paddock, row_id, block) != (self.paddock, self.row_id, self.block):
            self.paddock, self.row_id, self.block = paddock, row_id, block
            self.picked.emit()

    def show_hour(self, hour: datetime) -> None:
        """Show the map as at an hour (UTC)."""
        if hour != self.hour:
            self.hour = hour
            self.hour_changed.emit()

    # The plan --------------------------------------------------------------------------------------------------

    @property
    def asked(self) -> "Asked":
        """What people said of the night in hand. Raises MapperError where no night is known."""
        from mapper.plan.asked import Asked

        if self.night is None:
            raise MapperError("no evening is chosen", "Evening", "Open a forecast file or pick an evening")
        return self.nights.get(self.night) or Asked(self.night)

    @property
    def ban(self) -> "BanCheck":
        """What is known about a declared ban that night; not known until somebody looked."""
        return self.asked.ban

    def look_at(self, night: date) -> None:
        """Take another night in hand; what was asked of each is kept."""
        if night != self.night:
            self.night, self.hour = night, None
            self.plan_changed.emit()

    def ask(self, name: str, **changes: Any) -> None:
        """Change what is asked of the night in hand (fields of plan/asked.py); can be taken back."""
        before = self.asked
        after = before.with_(**changes)
        if after != before:
            self.undo.push(_Edit(name, before, after, self._put_asked))

    def _put_asked(self, asked: "Asked") -> None:
        self.nights[asked.night] = asked
        self.look_at(asked.night)
        self.plan_changed.emit()

    def request(self) -> "NightRequest":
        """Return what is asked of the plan now. Raises MapperError where no night is known."""
        number = 1 if self.plan is None else self.plan.number + 1
        return self.asked.request(self.now(), self.author, number)

    @property
    def stale(self) -> frozenset[str]:
        """Stages out of date (or never done), all of them while there is no plan."""
        from mapper.plan.workings import STAGES, stale_stages

        if self.farm is None or self.workings is None or self.night is None:
            return frozenset(STAGES)
        key = (id(self.farm), id(self.workings), self.asked)
        if self._stale is None or self._stale[0] != key:
            self._stale = (key, stale_stages(self.farm, self.request(), self.workings))
        return self._stale[1]

    def take_plan(self, plan: "BurnPlan", workings: "Workings", worse: tuple[str, ...] = ()) -> None:
        """Take a plan that has been worked out; worse: what got worse against the one before it."""
        self.worse = worse
        self.plan, self.workings, self.printed = plan, workings, False
        self.errors.clear()
        if self.hour is None or not _within(self.hour, plan):
            self.hour = _first_hour(plan)
        self.plan_changed.emit()
        self.hour_changed.emit()

    @property
    def may_print(self) -> bool:
        """True only for a plan with nothing out of date."""
        return self.plan is not None and not self.stale and not self.working

    def take_workings(self, workings: "Workings") -> None:
        """Take stages worked out without a whole plan."""
        self.workings = workings
        self.plan_changed.emit()

    def known(self, stage: str) -> bool:
        """True where a stage has been worked out, be it out of date."""
        return self.workings is not None and stage in self.workings.done

    def layer(self, name: str) -> "gpd.GeoDataFrame | None":
        """Return a layer of the last good workings (windrows, edges, blocks ...), or None."""
        from mapper.window.findings import worked_layer

        return worked_layer(self.workings, name)

    @property
    def rows_shown(self) -> "gpd.GeoDataFrame | None":
        """The rows that the map shows at the step in hand: as they burnt at the last step, else the windrows."""
        parts = self.book.parts if self.step == "record" else None
        return self.layer("windrows") if parts is None else parts

    def remarks(self, step: str) -> "tuple[Remark, ...]":
        """Return the warnings of a step, those that stop first; of the picked paddock only, where one is."""
        from mapper.window.findings import worked_remarks

        rank = {"stop": 0, "look": 1, "note": 2}
        found = [r for r in worked_remarks(self.workings, self.plan) if r.step == step]
        if self.paddock:
            found = [r for r in found if r.paddock in {"", self.paddock}]
        return tuple(sorted(found, key=lambda r: rank[r.level]))

    def fail(self, step: str, error: MapperError) -> None:
        """Keep an error beside the step it belongs to, and say it once."""
        self.errors[step] = error
        self.trouble.emit(step, error)
        self.plan_changed.emit()

    def clear_error(self, step: str) -> None:
        """Forget a step's error."""
        if self.errors.pop(step, None) is not None:
            self.plan_changed.emit()


def likely_night(farm: "Farm") -> date:
    """Return the forecast's second evening where it has one (the first may have begun), else its first."""
    assert farm.forecast is not None
    local = farm.forecast["time_utc"].dt.tz_convert(farm.zone)
    evenings = sorted(set(local[local.dt.hour == 18].dt.date))
    if not evenings:
        return local.iloc[0].date()  # type: ignore[no-any-return]
    return evenings[1] if len(evenings) > 2 else evenings[0]  # type: ignore[no-any-return]


def _within(hour: datetime, plan: "BurnPlan") -> bool:
    times = plan.hours["time_utc"]
    return bool(len(times)) and bool(times.iloc[0] <= hour <= times.iloc[-1])


def _first_hour(plan: "BurnPlan") -> datetime | None:
    if plan.windows:
        return plan.windows[0].starts_at
    return plan.hours["time_utc"].iloc[0].to_pydatetime() if len(plan.hours) else None
