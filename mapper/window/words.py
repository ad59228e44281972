"""The window's one door for words in another language, and the language in use.

Controls pass their words through `said` when they are given them; what has no translation stays English. Cautions,
warnings, limits and refusals are English in every language (see tests/words.py): nobody who burns has yet checked
their translation, and half a warning in another language is worse than a whole one in English.
"""

from functools import lru_cache
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QLocale, QSettings, QTranslator

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

CONTEXT = "window"
# What can be chosen: the setting, and its words in its own language.
LANGUAGES = {"": "As the computer", "en": "English", "de": "Deutsch"}


def said(words: str) -> str:
    """Return words in the language in use, as they are where it has none for them."""
    return QCoreApplication.translate(CONTEXT, words) if words else words


@lru_cache(maxsize=1)
def _translator() -> QTranslator:
    return QTranslator()


def speak(app: "QApplication", language: str | None = None) -> str:
    """Put the program into a language: a code, or None for the one chosen before, else the computer's.

    Return the code of the language in use. Controls already made keep their words until the program starts again.
    """
    from mapper.carried import carried

    if language is None:
        language = str(QSettings("mapper", "mapper").value("language", "") or "")
    code = language or QLocale.system().name()[:2]
    app.removeTranslator(_translator())
    file = carried("resources", "words").joinpath(f"mapper_{code}.qm") if code != "en" else None
    if file is None or not file.is_file() or not _translator().load(str(file)):
        return "en"
    app.installTranslator(_translator())
    return code
