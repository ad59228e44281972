"""Gather the window's words for Qt's translation tools, bring resources/words/mapper_de.ts up to date, compile it.

python -m tests.words

The window's controls look their words up when they get them (mapper/window/words.py), so the literals given to them are
what can be translated. They are written as translate() calls into a file for pyside6-lupdate; pyside6-lrelease
compiles the answer. Translate in Qt Linguist. The sheets' own words (mapper/draw/words.py) stay English on purpose: a
sheet is a safety paper, and nobody who burns has checked it in another language yet.
"""

import ast
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HOME = Path(__file__).resolve().parents[1]
TS = HOME / "resources" / "words" / "mapper_de.ts"
# Which of a call's arguments are words, by the name called.
WORDS_AT = {
    "PushButton": (0,), "Tick": (0,), "Words": (0,), "IconButton": (1,), "set_words": (0,), "setText": (0,),
    "field": (0,), "fact": (0,), "_act": (1,), "_sub": (0,), "said": (0,), "PlainTable": (1,),
    "_link": (0,), "__init__": (1, 2, 3, 4),
}  # fmt: skip
# Class attributes and tables of words that stand at the top of a module.
NAMED = {"title", "lead", "quiet", "act", "STEP_WORDS", "HEAD", "KINDS", "STEP_HELP", "STOPS", "NUMBERS", "closes"}
STATES = ("done", "out of date", "working", "printed", "ready to print", "not begun")
# Safety words stay English in every language.
ENGLISH = ("Advice only", "CAUTION")


def window_words() -> list[str]:
    """Return the literals that the window's controls are given, sorted, each once."""
    found: set[str] = set(STATES)
    for path in sorted((HOME / "mapper" / "window").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                for at in WORDS_AT.get(name, ()):
                    if at < len(node.args):
                        found |= _literals(node.args[at])
            elif isinstance(node, ast.Assign | ast.AnnAssign):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                if node.value is not None and any(NAMED & _names(t) for t in targets):
                    found |= _literals(node.value)
            elif isinstance(node, ast.For | ast.comprehension):
                found |= _literals(node.iter)
    return sorted(w for w in found if any(c.isalpha() for c in w) and " " in w + " " and not w.startswith(ENGLISH))


def _names(target: ast.expr) -> set[str]:
    return {n.id for n in ast.walk(target) if isinstance(n, ast.Name)}


def _literals(node: ast.expr) -> set[str]:
    return {
        n.value for n in ast.walk(node)
        if isinstance(n, ast.Constant) and isinstance(n.value, str) and n.value[:1].isupper()
    }  # fmt: skip


def update(ts: Path) -> None:
    """Bring a .ts file up to date: new words join it, words gone leave it, translations stay."""
    tools = str(Path(sys.executable).parent)
    lupdate = shutil.which("pyside6-lupdate", path=tools)
    assert lupdate is not None, "Qt's translation tools are not in this environment"
    with tempfile.TemporaryDirectory() as folder:
        calls = Path(folder) / "window_words.py"
        lines = [f"QCoreApplication.translate('window', {w!r})" for w in window_words()]
        calls.write_text("from PySide6.QtCore import QCoreApplication\n" + "\n".join(lines) + "\n", encoding="utf-8")
        subprocess.run(
            [lupdate, str(calls), "-locations", "none", "-no-obsolete", "-target-language", "de", "-ts", str(ts)],
            check=True, capture_output=True,
        )  # fmt: skip


def compile_words(ts: Path, qm: Path) -> None:
    """Compile a .ts file."""
    lrelease = shutil.which("pyside6-lrelease", path=str(Path(sys.executable).parent))
    assert lrelease is not None, "Qt's translation tools are not in this environment"
    subprocess.run([lrelease, str(ts), "-qm", str(qm)], check=True, capture_output=True)


if __name__ == "__main__":
    TS.parent.mkdir(parents=True, exist_ok=True)
    update(TS)
    compile_words(TS, TS.with_suffix(".qm"))
