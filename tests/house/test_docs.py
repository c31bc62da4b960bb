"""README and DEVELOPERS say what is true."""

import doctest
import re
import subprocess
import sys
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from logbook.record.schema_page import schema_markdown


@pytest.fixture(scope="module")
def readme(repo_root) -> str:
    """The text of README.md."""
    return (repo_root / "README.md").read_text("utf-8")


def test_readme_opens_with_the_job_in_one_paragraph(readme):
    """A title line, then one paragraph that says whose job it is and what gets lost."""
    blocks = [block for block in readme.split("\n\n") if block.strip()]
    assert blocks[0].startswith("# ")
    assert "\n" not in blocks[0].strip()
    job = blocks[1]
    assert not job.lstrip().startswith(("#", "-", "|", "```", "!"))
    assert len(job) > 300
    assert all(word in job for word in ("crews", "readings", "out of limits"))


def test_both_commands_stand_before_the_first_section(readme):
    """Whoever opens README sees at once how to start it and how to test it."""
    head = readme.split("\n## ")[0]
    block = re.search(r"```\w*\n(.*?)```", head, re.DOTALL)
    assert block is not None
    commands = [line.split("#")[0].strip() for line in block[1].splitlines()]
    assert commands == ["python3 start.py", "python3 start.py test"]


def test_readme_says_what_the_program_is_not(readme):
    """No alarm, no safety system; site procedures and codes come first; hexane is named."""
    for words in ("not an alarm system", "not a safety", "hexane", "Site procedures, local codes"):
        assert words.lower() in readme.lower(), words


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_link_leads_to_a_file(repo_root, name):
    """A relative link in a document names something that is there."""
    text = (repo_root / name).read_text("utf-8")
    links = re.findall(r"\]\((?!https?:|#)([^)#]+)", text)
    dead = [link for link in links if not (repo_root / link).exists()]
    assert not dead, f"{name} links to what is not there: {dead}"


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_file_of_ours_that_a_document_names_is_there(repo_root, name):
    """`tests/…`, `logbook/…`, `resources/…` and the like in code marks exist."""
    text = (repo_root / name).read_text("utf-8")
    named = re.findall(r"`((?:logbook|tests|resources|sample_db|\.ci)/[\w./-]+)`", text)
    dead = [path for path in named if not (repo_root / path).exists()]
    assert not dead, f"{name} names what is not there: {dead}"


def test_every_command_of_the_command_line_is_in_readme_and_none_else(repo_root, readme, start):
    """The table and `logbook --help` list the same commands."""
    command = [sys.executable, "-m", "logbook", "--help"]
    done = subprocess.run(command, cwd=repo_root, capture_output=True, text=True, check=True)
    told = set(re.findall(r"^\| `logbook ([a-z][\w-]*)", readme, re.MULTILINE))
    assert told == start.commands_in(done.stdout)
    assert {"sample", "check", "exceptions"} <= told


def test_the_place_of_the_schema_is_marked_once(repo_root):
    """Generated content goes between two markers in DEVELOPERS.md."""
    text = (repo_root / "DEVELOPERS.md").read_text("utf-8")
    assert text.count("<!-- schema:begin -->") == text.count("<!-- schema:end -->") == 1
    assert text.index("<!-- schema:begin -->") < text.index("<!-- schema:end -->")


def test_the_schema_page_is_the_one_the_migrations_give(repo_root):
    """Between the markers stands what `.ci/schema_page.py` writes there."""
    text = (repo_root / "DEVELOPERS.md").read_text("utf-8")
    between = text.split("<!-- schema:begin -->")[1].split("<!-- schema:end -->")[0]
    assert between.strip() == schema_markdown().strip()


@pytest.fixture(scope="module")
def pins(repo_root) -> dict[str, Requirement]:
    """The pinned versions by canonical name."""
    text = (repo_root / ".ci" / "constraints.txt").read_text("utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    found = [Requirement(line) for line in lines]
    return {canonicalize_name(pin.name): pin for pin in found}


def test_every_pin_is_one_version_without_address_or_hash(repo_root, pins):
    """The list is a plain set of `name==version`, whatever marker follows."""
    assert len(pins) > 20
    odd = [
        str(p) for p in pins.values() if p.url or not re.fullmatch(r"==[\w.]+", str(p.specifier))
    ]
    assert not odd
    assert "--hash" not in (repo_root / ".ci" / "constraints.txt").read_text("utf-8")


def test_every_dependency_has_a_pin_inside_its_range(repo_root, pins):
    """What pyproject asks for is what was tested."""
    project = tomllib.loads((repo_root / "pyproject.toml").read_text("utf-8"))["project"]
    asked = [Requirement(line) for line in project["dependencies"]]
    asked += [Requirement(line) for line in project["optional-dependencies"]["test"]]
    for wanted in asked:
        pin = pins.get(canonicalize_name(wanted.name))
        assert pin is not None, f"{wanted.name} has no pin"
        version = str(pin.specifier).removeprefix("==")
        assert wanted.specifier.contains(version), f"{pin} is outside {wanted}"


def test_the_worked_examples_of_developers_hold(repo_root):
    """Every `>>>` line of DEVELOPERS.md gives what it says."""
    path = repo_root / "DEVELOPERS.md"
    outcome = doctest.testfile(str(path), module_relative=False, encoding="utf-8")
    assert outcome.attempted > 10
    assert not outcome.failed
