"""The one door for words that may stand in another language: Qt's translation, looked up when they are painted."""

from PySide6.QtCore import QCoreApplication


def tr(words: str) -> str:
    """Return the words in the language of the translator that is installed; as they are where there is none.

    Call it with a literal, from a function outside any class: `pyside6-lupdate` then collects the words. Values go in
    afterwards, by name: tr("joins map {number}").format(number=3).
    """
    return QCoreApplication.translate("", words)
