"""The installed Qt binding keeps its books on Python's objects."""

from __future__ import annotations

import sys

from PySide6.QtGui import QColor, QImage, QPainter


def test_calls_that_return_nothing_keep_their_reference_to_none(qapp):
    """A binding that drops one with each call would end the process after some hours of use."""
    image = QImage(8, 8, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    colour = QColor("black")
    before = sys.getrefcount(None)
    for _ in range(1000):
        painter.setPen(colour)
    lost = before - sys.getrefcount(None)
    painter.end()
    assert lost < 100
