"""The one error tree: what is wrong, where, and what to do about it."""


class MapperError(Exception):
    """Something the user can put right, said in one sentence.

    Parameters
    ----------
    what : str
        What is wrong, in trade words, without a full stop.
    where : str
        File, line, paddock or field it concerns; may be empty.
    todo : str
        What to do about it; may be empty.
    """

    def __init__(self, what: str, where: str = "", todo: str = "") -> None:
        self.what, self.where, self.todo = what, where, todo
        super().__init__(what, where, todo)

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head.rstrip('.')}. {self.todo}".rstrip() if self.todo else f"{head.rstrip('.')}."


class FileError(MapperError):
    """A file that cannot be read, written or trusted."""


class CrsError(MapperError):
    """A coordinate system that is missing, unknown or does not fit the place."""


class SettingError(MapperError):
    """A setting or local limit outside what makes sense."""


class LayerError(MapperError):
    """A layer that breaks its column contract."""


class Stopped(Exception):
    """The user asked a running job to stop; nothing was changed."""
