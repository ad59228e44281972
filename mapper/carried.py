"""Where the files that travel with the program stand: fonts, starting limits, the sample farm."""

from pathlib import Path


def carried(*parts: str) -> Path:
    """Return the path of a carried file: carried("resources", "limits.toml"), carried("sample_data", "farm.toml").

    A checkout keeps them beside the package, a wheel inside it.
    """
    package = Path(__file__).resolve().parent
    inside = package / "_carried"
    return (inside if inside.is_dir() else package.parent).joinpath(*parts)
