"""Rules for source that no linter has: signals, SQL, docstrings."""

import ast
import re

SQL = re.compile(
    r"\b(?:SELECT\s[\s\S]*\sFROM\b|INSERT\s+(?:OR\s+\w+\s+)?INTO\b|REPLACE\s+INTO\b"
    r"|UPDATE\s+\w+\s+SET\b|DELETE\s+FROM\b|ALTER\s+TABLE\b|BEGIN\s+(?:IMMEDIATE|EXCLUSIVE)\b"
    r"|(?:CREATE|DROP)\s+(?:TEMP\w*\s+|UNIQUE\s+|VIRTUAL\s+)?(?:TABLE|VIEW|INDEX|TRIGGER)\b"
    r"|PRAGMA\s+\w|ATTACH\s+DATABASE\b|VACUUM\b)"
    r"|^\s*(?:select\s[\s\S]*\sfrom\s|insert\s+into\s|update\s+\w+\s+set\s|delete\s+from\s|pragma\s)"
)
"""SQL in capitals anywhere in a string; in small letters only where a string begins with it."""

DEFINITIONS = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)


def docstrings_of(tree) -> set[int]:
    """The identities of the nodes that are docstrings or the strings that follow a constant."""
    return {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }


def sql_in(tree) -> list[int]:
    """Line numbers of strings that are SQL, docstrings aside."""
    told = docstrings_of(tree)
    return sorted(
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and id(node) not in told
        and SQL.search(node.value)
    )


def keeps_widget(node) -> bool:
    """Tell whether an argument of `connect` is a lambda or a partial."""
    if isinstance(node, ast.Lambda):
        return True
    called = node.func if isinstance(node, ast.Call) else None
    name = getattr(called, "attr", getattr(called, "id", ""))
    return name in {"partial", "partialmethod"}


def bad_connects(tree) -> list[int]:
    """Line numbers of `….connect(…)` calls given a lambda or a partial."""
    return [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "connect"
        and any(keeps_widget(a) for a in [*node.args, *(k.value for k in node.keywords)])
    ]


def undocumented(tree) -> list[str]:
    """Public classes, and public functions of the module or of public classes, without docstring.

    A method that overrides a library's (Qt's camelCase) or is a property's setter is told there;
    the signatures of an overloaded function are told once, where it is defined.
    """
    found = []

    def visit(body, inside):
        for node in body:
            if not isinstance(node, DEFINITIONS) or node.name.startswith("_"):
                continue
            setter = any(getattr(d, "attr", "") == "setter" for d in node.decorator_list)
            overload = any(getattr(d, "id", "") == "overload" for d in node.decorator_list)
            overrides = inside and re.search(r"[a-z][A-Z]", node.name)
            if ast.get_docstring(node) is None and not (setter or overload or overrides):
                found.append(f"{node.lineno} {inside}{node.name}")
            if isinstance(node, ast.ClassDef):
                visit(node.body, f"{inside}{node.name}.")

    visit(tree.body, "")
    return found


def test_no_signal_is_connected_to_a_lambda_or_a_partial(sources):
    """Either would keep the widget it captures alive for ever."""
    found = [f"{s.where}:{line}" for s in sources for line in bad_connects(s.tree)]
    assert not found, "connect a bound method instead:\n" + "\n".join(found)


def test_sql_stands_in_record_only(sources, kept_files, repo_root):
    """Neither a string nor a file of SQL lies outside logbook/record."""
    inside = "logbook/record/"
    found = [
        f"{s.where}:{line}"
        for s in sources
        if not s.where.startswith(inside)
        for line in sql_in(s.tree)
    ]
    names = [p.relative_to(repo_root).as_posix() for p in kept_files if p.suffix == ".sql"]
    found += [name for name in names if not name.startswith((inside, "tests/"))]
    assert not found, "SQL outside logbook/record:\n" + "\n".join(found)


def test_every_public_function_and_class_says_what_it_is(sources):
    """A docstring of at least one sentence."""
    found = [f"{s.where}:{entry}" for s in sources for entry in undocumented(s.tree)]
    assert not found, "without docstring:\n" + "\n".join(found)


def test_every_module_says_what_it_is(sources):
    """The first thing in each module is what it is for."""
    found = [s.where for s in sources if ast.get_docstring(s.tree) is None]
    assert not found, "without docstring:\n" + "\n".join(found)


def test_every_test_states_the_behaviour_it_holds(test_sources):
    """Each test function has a docstring."""
    found = [
        f"{s.where}:{node.lineno} {node.name}"
        for s in test_sources
        for node in ast.walk(s.tree)
        if isinstance(node, ast.FunctionDef)
        and node.name.startswith("test_")
        and not any(
            getattr(d, "attr", getattr(d, "id", "")) == "fixture" for d in node.decorator_list
        )
        and ast.get_docstring(node) is None
    ]
    assert not found, "without docstring:\n" + "\n".join(found)


def test_the_scan_for_sql_sees_sql_and_leaves_prose_alone():
    """Statements in strings and f-strings are found; sentences and docstrings are not."""
    source = (
        '"""SELECT a FROM b is how a docstring may put it."""\n'
        'one = "SELECT key FROM point"\n'
        'two = f"delete from {table}"\n'
        'three = "INSERT OR REPLACE INTO book VALUES (1)"\n'
        'four = "Select a point from the list, then update the value."\n'
        'five = "Nothing is deleted from the book."\n'
    )
    assert sql_in(ast.parse(source)) == [2, 3, 4]


def test_the_scan_for_connections_sees_both_forms():
    """A lambda and a partial are found; a bound method and another `connect` argument are not."""
    source = (
        "a.clicked.connect(lambda: b)\n"
        "a.clicked.connect(partial(f, 1))\n"
        "a.clicked.connect(functools.partial(f, 1))\n"
        "a.clicked.connect(self.save)\n"
        "a.clicked.connect(self.save, Qt.ConnectionType.QueuedConnection)\n"
        "key = sorted(x, key=lambda y: y)\n"
    )
    assert bad_connects(ast.parse(source)) == [1, 2, 3]
