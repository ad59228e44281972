"""Working out stages off the GUI thread: begin, say how far, stop, take what came."""

from typing import TYPE_CHECKING, Any

from mapper.farm.errors import MapperError

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

STAGE_WORDS = {
    "rows": "Finding rows", "hours": "Judging the hours", "ground": "Checking breaks", "order": "Working out the order",
    "smoke": "Following the smoke", "escapes": "Following escapes",
}  # fmt: skip


class Working:
    """One piece of work at a time; the last good plan stays until another is there."""

    def __init__(self, window: "MainWindow") -> None:
        self._window, self.session, self.jobs = window, window.session, window.jobs
        self._work = 0
        self._next: tuple[str, ...] | None = None

    def work_out(self, stages: tuple[str, ...] = ()) -> None:
        """Work out some stages, or the whole plan, off the GUI thread; asked while at work, it follows after."""
        s = self.session
        if s.farm is None:
            return
        if s.working:
            self._next = stages
            return
        step = {"rows": "rows", "hours": "evening", "ground": "breaks"}.get(stages[-1] if stages else "", "order")
        try:
            request = s.request()
        except MapperError as error:
            if stages != ("rows",):
                s.fail("evening", error)
                return
            from mapper.plan.request import NightRequest

            request = NightRequest(s.now().date(), s.now())
        farm, workings, before = s.farm, s.workings, s.plan
        s.working = True
        s.clear_error(step)
        words = {"now": ""}

        def work(progress: Any, cancelled: Any) -> Any:
            from mapper.plan.job import run
            from mapper.plan.job import work as part
            from mapper.plan.worse import what_got_worse

            def tell(stage: str, done: int, total: int) -> None:
                words["now"] = STAGE_WORDS[stage]
                progress(done, total)

            if not stages:
                plan, done = run(farm, request, workings, tell, cancelled)
                worse = what_got_worse(before, plan) if before is not None and before.night == plan.night else ()
                return plan, done, worse
            return None, part(farm, request, workings, stages, tell, cancelled)

        self._work = self.jobs.start(
            "plan", work, self._worked, lambda e: self._not_worked(step, e),
            lambda done, total: self._window.panels[s.step].progress.show_done(words["now"], done, total),
            self._stopped,
        )  # fmt: skip
        s.said.emit("Working. You can go on drawing; the last good plan stays on the map.")
        s.plan_changed.emit()

    def _worked(self, result: Any) -> None:
        plan, workings, *worse = result
        self.session.working = False
        if plan is not None:
            self.session.take_plan(plan, workings, *worse)
            self.session.said.emit(f"Plan {plan.number} is worked out.")
        else:
            self.session.take_workings(workings)
            self.session.said.emit("Done.")
        self._follow()

    def _follow(self) -> None:
        if self._next is not None:
            stages, self._next = self._next, None
            self.work_out(stages)

    def _not_worked(self, step: str, error: MapperError) -> None:
        self.session.working = False
        self.session.fail(step, error)
        self._follow()

    def _stopped(self) -> None:
        self.session.working, self._next = False, None
        self.session.said.emit("Stopped. Nothing was changed.")
        self.session.plan_changed.emit()

    def stop_working(self) -> None:
        """Ask the work in hand to stop."""
        self.jobs.stop(self._work)
        self.session.said.emit("Stopping ...")
