"""Pictures of the screen from the command line, without a screen."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage

from logbook.cli import FAILED, main
from logbook.ui.theme import LIGHT_THEME, apply_theme


@pytest.fixture
def picture(qapp, qtbot, book_path, tmp_path, capsys):
    """Run `logbook picture`; gives the image and checks that its path is all that is printed."""

    def take(name, *options) -> QImage:
        out = tmp_path / name
        assert main(["picture", str(book_path), "--out", str(out), *options]) == 0
        told = capsys.readouterr()
        assert (told.out.strip(), told.err) == (str(out), "")
        return QImage(str(out))

    yield take
    apply_theme(qapp, LIGHT_THEME)


def overall(image) -> int:
    """Lightness of a picture as a whole, 0 to 255."""
    mode = Qt.TransformationMode.SmoothTransformation
    dot = image.scaled(1, 1, Qt.AspectRatioMode.IgnoreAspectRatio, mode)
    return dot.pixelColor(0, 0).lightness()


def colours_in(image) -> int:
    """How many colours a coarse sample of the picture has."""
    points = ((x, y) for x in range(0, image.width(), 3) for y in range(0, image.height(), 3))
    return len({image.pixel(x, y) for x, y in points})


@pytest.mark.parametrize("size", [(1024, 700), (1280, 800), (1920, 1080)])
def test_a_picture_has_the_size_asked_for_and_is_not_blank(picture, size):
    """Width and height to the pixel, and more on it than a background."""
    image = picture("round.png", "--size", f"{size[0]}x{size[1]}")
    assert (image.width(), image.height()) == size
    assert colours_in(image) > 30


def test_light_and_dark_differ(picture):
    """The same screen, once light, once dark."""
    light, dark = picture("light.png"), picture("dark.png", "--dark")
    assert light.size() == dark.size()
    assert overall(light) > 180
    assert overall(dark) < 90


def test_the_area_named_is_the_one_shown(picture):
    """Two areas have two pictures; the same area the same one twice."""
    flaking, again = picture("a.png", "--area=flaking"), picture("b.png", "--area=flaking")
    assert flaking == again
    assert picture("c.png", "--area=storage") != flaking


def test_sparklines_are_on_the_picture(picture):
    """A picture waits for what is drawn later: the traces of the last week are there."""
    image = picture("round.png", "--area=flaking", "--size", "1280x1080")
    band = LIGHT_THEME.colour("band").rgb()
    points = ((x, y) for x in range(300, 1280) for y in range(200, 900))
    assert sum(image.pixel(x, y) == band for x, y in points) > 500


def test_a_path_that_cannot_be_written_is_told(book_path, tmp_path, capsys, qapp, qtbot):
    """A folder in the place of the file: one line that names it, and exit code 2."""
    out = tmp_path / "taken.png"
    out.mkdir()
    assert main(["picture", str(book_path), "--out", str(out)]) == FAILED == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert str(out) in told.err
    apply_theme(qapp, LIGHT_THEME)


def test_a_picture_changes_nothing_in_the_book(picture, book_path):
    """Looking is not writing: the file is the same to the byte."""
    before = book_path.read_bytes()
    picture("round.png")
    assert book_path.read_bytes() == before


def test_every_screen_of_the_window_can_be_drawn():
    """The command line's list, which loads no Qt, is that of the window."""
    from logbook.cli_parser import SCREENS
    from logbook.ui.screens import SCREENS as OF_WINDOW

    assert tuple(key for key, _ in OF_WINDOW) == SCREENS
