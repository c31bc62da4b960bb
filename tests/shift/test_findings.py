"""The tables of the Findings screen, from the sample book."""

import pytest

from logbook.plant.model import Role
from logbook.record import open_book
from logbook.shift.findings import duration_text, findings_of
from sample_db.story import DEFAULT_END


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading at its end."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as made:
        yield made


@pytest.fixture(scope="module")
def month(book):
    """What anybody sees of the last 30 days."""
    return {page.key: page for page in findings_of(book, DEFAULT_END, 30, None).pages}


def test_every_table_has_as_many_cells_as_columns(month):
    """And says what was looked at, and of each row the whole in words."""
    assert list(month) == ["drifts", "questions", "worst", "longest", "limits", "answers"]
    for page in month.values():
        assert page.told.endswith(".")
        for row in page.rows:
            assert len(row.cells) == len(page.columns)
            assert row.words


def test_names_are_told_to_a_supervisor_and_to_nobody_else(book, month):
    """An operator, an engineer and whoever is not signed on see the shift, not the person."""
    people = {person.name for person in book.plant_at(DEFAULT_END).people}

    def named(page):
        return [cell for row in page.rows for cell in row.cells if cell in people]

    assert month["questions"].rows
    assert not named(month["questions"])
    for role, is_told in ((Role.OPERATOR, False), (Role.SUPERVISOR, True)):
        pages = findings_of(book, DEFAULT_END, 30, role).pages
        page = next(one for one in pages if one.key == "questions")
        assert bool(named(page)) is is_told


def test_the_copied_rounds_of_the_story_are_asked_about_and_never_called_more(month):
    """Nights of the sample's copying: asked with an honest explanation beside it."""
    copied = [row for row in month["questions"].rows if row.cells[0] == "round like the one before"]
    assert copied
    assert all("?" in row.words for row in copied)
    assert "not findings about anybody" in month["questions"].caution


def test_proposals_are_called_proposals(month):
    """A limit from readings never comes without its caution."""
    page = month["limits"]
    assert page.rows
    assert "no more than that" in page.caution


@pytest.mark.parametrize(
    ("minutes", "words"), [(30, "30 min"), (119, "119 min"), (180, "3 h"), (60 * 60, "2.5 days")]
)
def test_lengths_of_time_are_told_in_the_unit_that_suits_them(minutes, words):
    """Minutes below two hours, hours below two days."""
    from datetime import timedelta

    assert duration_text(timedelta(minutes=minutes)) == words
