"""Every word of the sheets can stand in another language: lupdate finds them, and a translation reaches the page."""

import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QTranslator

from mapper.sheets.burn_order import sides
from mapper.sheets.pdf import Sheet, picture_of
from mapper.sheets.scenes import burn_scene
from tests.demo import demo_plan

HOME = Path(__file__).resolve().parents[2]
TOOLS = Path(sys.executable).parent
LUPDATE, LRELEASE = (shutil.which(f"pyside6-{n}", path=str(TOOLS)) for n in ("lupdate", "lrelease"))


@pytest.mark.skipif(LUPDATE is None or LRELEASE is None, reason="Qt's translation tools are not in this environment")
def test_a_translation_reaches_the_page(tmp_path):
    sources = [str(p) for room in ("sheets", "draw") for p in sorted((HOME / "mapper" / room).glob("*.py"))]
    path = tmp_path / "other.ts"
    subprocess.run([LUPDATE, *sources, "-ts", str(path)], check=True, capture_output=True)
    tree = ET.parse(path)
    contexts = tree.findall("context")
    # All words stand in the one nameless context that mapper.draw.words.tr looks in.
    assert [c.findtext("name") or "" for c in contexts] == [""]
    messages = contexts[0].findall("message")
    words = {m.findtext("source") for m in messages}
    assert len(words) > 250
    assert {
        "NOT A GO",
        "BURN ORDER: {work_way}",
        "Exposed edge, now",
        "Notice of burning",
        "Sign-off",
        "Block",
    } <= words
    for message in messages:
        found = message.find("translation")
        found.text = "ü" + message.findtext("source")
        found.attrib.pop("type", None)
    tree.write(path, encoding="utf-8", xml_declaration=True)
    subprocess.run([LRELEASE, str(path), "-qm", str(tmp_path / "other.qm")], check=True, capture_output=True)
    translator = QTranslator()
    assert translator.load(str(tmp_path / "other.qm"))
    QCoreApplication.installTranslator(translator)
    try:
        plan = demo_plan(("Hut",), blocks=1)
        made = Sheet("x", "x", "A4 portrait", tuple(sides(plan, "Hut", "A4 portrait", burn_scene(plan, "Hut"))))
        said = {w.words for side in (0, 1) for w in picture_of(made, side, 40.0)[1].written}
    finally:
        QCoreApplication.removeTranslator(translator)
    for english in (
        "Burn-order map",
        "LIGHT UP ONLY IF ALL ARE TICKED",
        "STOP AND HOLD",
        "Way out",
        "Block",
        "Lookout",
    ):
        assert f"ü{english}" in said and english not in said, english
