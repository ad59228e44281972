"""The map's pictures: which layers are on, the scene gathered for the step, frames asked for off the GUI thread."""

from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from mapper.farm.errors import MapperError
from mapper.window import looks

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

# Parts of the map that can be switched off, with their words (draw/scene.py, PARTS).
SWITCHES = {
    "image": "Picture behind the map", "names": "Names", "track": "Log points", "neighbours": "Neighbours",
    "buffers": "Care distances", "smoke": "Smoke", "breaks": "Breaks", "edges": "Exposed edges", "blocks": "Blocks",
    "windrows": "Rows", "pieces": "Rows in order", "lighting": "Where to light", "ways_out": "Ways out",
    "fronts": "Rows alight and burnt", "arrival": "Where an escape would go",
    "row_parts": "Rows as they burnt", "escapes": "Fire that got away",
    "power_lines": "Power lines", "symbols": "Houses, gates, water",
}  # fmt: skip
ROWS_SIDE, LOG_SIDE = frozenset({"track"}), frozenset({"windrows", "heaps", "pieces"})


class MapFrames:
    """Owns the scene and the switches; asks the jobs for frames and hands them to the canvas."""

    def __init__(self, window: "MainWindow") -> None:
        self._window, self.session = window, window.session
        self.scene: Any = None
        self.hidden: set[str] = set()
        self._points: tuple[Any, ...] = ()
        self._track: Any = None
        self._signs: tuple[Any, ...] = ()
        self._movers: Any = None
        self._pictures: Any = None
        self._moving_scene: Any = None
        self._moving = self._move_again = False
        # Lines of equal minutes of the escape asked for by a click (layer arrival), or None.
        self.escape: Any = None
        self.menu = QMenu(window)
        for part, words in SWITCHES.items():
            action = QAction(words, self.menu, checkable=True)
            action.setChecked(True)
            action.toggled.connect(lambda on, p=part: self._switch(p, on))
            self.menu.addAction(action)

    def _switch(self, part: str, on: bool) -> None:
        (self.hidden.discard if on else self.hidden.add)(part)
        self.renew()

    @property
    def parted(self) -> bool:
        """True where the map is parted: log points at the divider's left, rows at its right."""
        return (
            self.session.step == "rows"
            and self._track is not None
            and "track" not in self.hidden
            and self.session.known("rows")
        )

    def renew(self) -> None:
        """Gather the layers anew and ask for a frame; levels already made are kept."""
        if self.session.farm is None:
            return
        from mapper.draw.scene import Scene
        from mapper.window.frames import HourPicture, Moving, map_layers
        from mapper.window.signs import signs_of

        self._movers, self._pictures = self._movers or Moving(), self._pictures or HourPicture()
        self._ask_points()
        self._signs = signs_of(self.session, self._window.clock)
        layers = map_layers(self.session)
        if self.session.step in {"paddock", "rows"} and self._track is not None:
            layers["track"] = self._track
        kept = {} if self.scene is None else dict(self.scene._kept)
        self.scene = Scene(layers, kept)
        self._window.divider.setVisible(self.parted)
        self._window.show_key()
        self._window.canvas.refresh()

    def layers(self) -> dict[str, Any]:
        """Return all layers that the map shows now, standing and moving."""
        standing = {} if self.scene is None else dict(self.scene.layers)
        moving = {} if self._movers is None else self._movers.layers(self.session, self._window.evening, self.escape)
        return {**standing, **moving}

    def _ask_points(self) -> None:
        """Class the log points off the GUI thread, once for each set of logs and each way of colouring."""
        farm, by = self.session.farm, self._window.divider.by
        assert farm is not None
        key = (id(farm.tracks), by, self.session.paddock)
        if self.session.step != "rows" or key == self._points:
            return
        self._points = key
        if not farm.tracks:
            self._track = None
            return
        tracks = farm.tracks
        area = farm.paddock(self.session.paddock).geometry if self.session.paddock else None

        def work(progress: Any, cancelled: Any) -> Any:
            from mapper.window.logpoints import log_points

            return log_points(tracks, by, area)

        self._window.jobs.start("points", work, lambda track: self._take_points(key, track), self._failed)

    def _take_points(self, key: Any, track: Any) -> None:
        if key == self._points:
            self._track = track
            self.renew()

    def paint(self, view: Any, stop: Any) -> None:
        """Paint a frame for a view off the GUI thread; both sides of the divider where the map is parted."""
        ask = self._ask(view)
        if ask is None:
            return
        from mapper.window.frames import paint_frame

        parted, canvas, hidden = self.parted, self._window.canvas, frozenset(self.hidden)
        moving = self._ask_moving(view)

        def work(progress: Any, cancelled: Any) -> Any:
            def asked() -> bool:
                return bool(cancelled() or stop.is_set())

            rows = paint_frame(ask.with_hidden(hidden | ROWS_SIDE) if parted else ask, asked)
            left = paint_frame(ask.with_hidden(hidden | LOG_SIDE), asked) if parted else None
            return rows, left, self._pictures.paint(moving, asked)

        self._window.jobs.start("frame", work, lambda made: canvas.take_frame(view, *made), self._failed, urgent=True)

    def move(self) -> None:
        """The hour has moved: paint what moves with it, one picture at a time, the last hour asked for at the end."""
        view = self._window.canvas.frame_view
        if view is None or self._moving:
            self._move_again = view is not None
            return
        ask = self._ask_moving(view)
        if ask is None:
            return
        self._moving = True
        self._window.jobs.start(
            "frame", lambda progress, cancelled: self._pictures.paint(ask, cancelled),
            lambda made: self._moved(view, made), self._not_moved, urgent=True,
        )  # fmt: skip

    def _moved(self, view: Any, image: Any) -> None:
        self._moving = False
        self._window.canvas.take_moving(view, image)
        if self._move_again:
            self._move_again = False
            self.move()

    def _not_moved(self, error: MapperError) -> None:
        self._moving = self._move_again = False
        self._failed(error)

    def _ask(self, view: Any) -> Any:
        farm = self.session.farm
        if self.scene is None or farm is None:
            return None
        from mapper.window.frames import Ask, stale_blocks

        return Ask(
            view, self.scene, looks.colours(self._window), frozenset(self.hidden), self._signs, farm.image,
            farm.grid.crs, self._picked_shape(), stale_blocks(self.session), self.session.hour,
        )  # fmt: skip

    def _ask_moving(self, view: Any) -> Any:
        from mapper.draw.scene import Scene

        ask = self._ask(view)
        if ask is None:
            return None
        layers = self._movers.layers(self.session, self._window.evening, self.escape)
        self._moving_scene = Scene(layers, {} if self._moving_scene is None else dict(self._moving_scene._kept))
        return ask.with_scene(self._moving_scene)

    def _picked_shape(self) -> Any:
        farm, name = self.session.farm, self.session.paddock
        return farm.paddock(name).geometry if farm is not None and name else None

    def _failed(self, error: MapperError) -> None:
        self.session.said.emit(str(error))
