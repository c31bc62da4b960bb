"""`logbook trend`: pictures, data, and what it refuses."""

import csv

import pytest


@pytest.mark.parametrize(("name", "head"), [("x.png", b"\x89PNG"), ("x.pdf", b"%PDF")])
def test_a_trend_is_drawn(run, book, tmp_path, name, head):
    """As the name of the file says; its place is told."""
    out = tmp_path / name
    days = ("--from", "2024-03-01", "--to", "2024-03-05")
    assert run("trend", book, "gap.m1", *days, "--out", out) == (0, [str(out)], [])
    assert out.read_bytes().startswith(head)


def test_the_readings_are_written_as_csv(run, book, tmp_path):
    """One row for each reading of the stretch."""
    out = tmp_path / "x.csv"
    run(
        "trend",
        book,
        "gap.m1",
        "--from",
        "2024-03-04 08:00",
        "--to",
        "2024-03-04 12:30",
        "--out",
        out,
    )
    rows = list(csv.DictReader(out.read_text(encoding="utf-8-sig").splitlines()))
    assert [row["value"] for row in rows] == ["0.35", "0.47", "0.35"]
    judged = [row["judgement"] for row in rows]
    assert (judged[0], judged[2]) == ("within", "within")
    assert judged[1].endswith(" high")


@pytest.mark.parametrize(
    ("points", "more", "said"),
    [
        (["nothing"], [], "no point with numbers fits"),
        (["bed"], [], "answered in words"),
        (["gap.m1"], ["--from", "soon"], "no day and no time"),
        (["gap.m1"], ["--from", "2024-03-05", "--to", "2024-03-01"], "before it begins"),
    ],
)
def test_what_cannot_be_drawn_is_told_in_one_line(fails, book, tmp_path, points, more, said):
    """Which point or time is wrong, and what would be right."""
    assert said in fails("trend", book, *points, *more, "--out", tmp_path / "x.png")


@pytest.mark.parametrize(
    ("name", "said"), [("x.gif", ".png or .pdf"), ("none/x.png", "does not exist")]
)
def test_a_file_that_cannot_be_made_is_told(fails, book, tmp_path, name, said):
    """Nothing is written."""
    days = ("--from", "2024-03-01", "--to", "2024-03-05")
    assert said in fails("trend", book, "gap.m1", *days, "--out", tmp_path / name)
    assert not list(tmp_path.glob("x.*"))
