"""What may lie in the tree, and which words may not stand in it."""

import re

TOP = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "PKG-INFO",  # only in an unpacked source archive
    "pyproject.toml",
    "start.py",
    "logbook",
    "resources",
    "sample_db",
    "tests",
}

# Written in pieces, so that this file passes its own test.
UNFINISHED = re.compile(r"\b(?:TO" r"DO|FIX" r"ME|XX" r"X)\b|(?i:coming\s+so" r"on)")
MACHINE = re.compile(r"(?<![\w.~$}])/(?:wo" r"rk|ro" r"ot)(?![\w.-])")
HOSTS = re.compile(
    r"(?i)py"
    r"pi\.org|python"
    r"hosted\.org|registry\.npm"
    r"js|npm"
    r"js\.(?:com|org)"
    r"|deb\.deb"
    r"ian\.org|proxy\.gol"
    r"ang|crates"
    r"\.io|extra-in"
    r"dex-url|index"
    r"-url"
)


def texts(kept_files):
    """Every kept file that is text, with its lines."""
    for file in kept_files:
        try:
            yield file, file.read_text("utf-8").splitlines()
        except UnicodeDecodeError:
            continue


def places(kept_files, root, pattern) -> list[str]:
    """Where a pattern stands, as file, line and the line itself."""
    return [
        f"{file.relative_to(root).as_posix()}:{number}: {line.strip()[:100]}"
        for file, lines in texts(kept_files)
        for number, line in enumerate(lines, start=1)
        if pattern.search(line)
    ]


def test_nothing_unfinished_is_promised(kept_files, repo_root):
    """What is not there yet is not announced in a file."""
    found = places(kept_files, repo_root, UNFINISHED)
    assert not found, "\n".join(found)


def test_no_path_of_one_machine_stands_in_a_file(kept_files, repo_root):
    """The checkout works wherever it lies."""
    found = places(kept_files, repo_root, MACHINE)
    assert not found, "\n".join(found)


def test_no_package_registry_is_named(kept_files, repo_root):
    """Where packages come from is a setting of each machine."""
    found = places(kept_files, repo_root, HOSTS)
    assert not found, "\n".join(found)


def test_the_patterns_find_what_they_are_for():
    """Each forbidden form is seen, and its harmless neighbours are not."""
    assert UNFINISHED.search("# TO" + "DO: later")
    assert UNFINISHED.search("Coming " + "soon")
    assert not UNFINISHED.search("what is to be done; a method; a soon-coming shift")
    assert MACHINE.search("cd /ro" + "ot/x")
    assert MACHINE.search('"/wo' + 'rk"')
    assert not MACHINE.search("framework/work and ~/work and ${HERE}/work")
    assert HOSTS.search("https://py" + "pi.org/simple")


def test_the_top_of_the_tree_is_as_agreed(kept_files, repo_root):
    """Files whose names begin with a dot may join; nothing else does without a decision."""
    top = {file.relative_to(repo_root).parts[0] for file in kept_files}
    extra = {name for name in top if not name.startswith(".")} - TOP
    assert not extra, f"not agreed: {sorted(extra)}"
    assert {"README.md", "LICENSE", "pyproject.toml", "start.py", "logbook", "tests"} <= top


def test_tests_are_no_packages(kept_files, repo_root):
    """Files of the same name may lie in different test folders."""
    found = [
        file.relative_to(repo_root).as_posix()
        for file in kept_files
        if file.name == "__init__.py" and file.relative_to(repo_root).parts[0] == "tests"
    ]
    assert not found, "\n".join(found)


def test_every_folder_of_tests_belongs_to_something(repo_root, kept_files):
    """Tests mirror logbook; published, bench, house and data stand beside."""
    packages = {p.name.removesuffix(".py") for p in (repo_root / "logbook").iterdir()}
    allowed = packages | {"sample_db", "published", "bench", "house", "data"}
    parts = [file.relative_to(repo_root).parts for file in kept_files]
    folders = {p[1] for p in parts if p[0] == "tests" and len(p) > 2}
    assert folders <= allowed, f"mirrors nothing: {sorted(folders - allowed)}"
