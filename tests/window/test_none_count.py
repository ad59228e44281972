"""PySide6 6.12.0 drops a reference to None at every void call and kills Python 3.11 after some ten thousand."""

import sys

import pytest
from PySide6.QtGui import QImage, QPainter


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from Python 3.12 on")
def test_references_to_none_do_not_fall(qapp):
    image = QImage(8, 8, QImage.Format.Format_RGB32)
    p = QPainter(image)
    before = sys.getrefcount(None)
    for _ in range(500):
        p.drawLine(0, 0, 7, 7)
    after = sys.getrefcount(None)
    p.end()
    assert after >= before - 50
