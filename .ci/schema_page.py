"""Write the schema page into DEVELOPERS.md, between its two markers: run after a migration."""

from pathlib import Path

from logbook.record.schema_page import schema_markdown

BEGIN, END = "<!-- schema:begin -->", "<!-- schema:end -->"


def renew(page: Path) -> None:
    """Replace what stands between the markers; all else stays as it is."""
    head, rest = page.read_text("utf-8").split(BEGIN)
    tail = rest.split(END)[1]
    text = f"{head}{BEGIN}\n\n{schema_markdown().strip()}\n\n{END}{tail}"
    page.write_text(text, "utf-8", newline="\n")


if __name__ == "__main__":
    renew(Path(__file__).resolve().parent.parent / "DEVELOPERS.md")
