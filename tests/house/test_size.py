"""How long functions and modules may grow."""

import ast
import statistics

LONGEST_FUNCTION = 50
NINE_OF_TEN = 25
LONGEST_MODULE = 500


def code_lines(function) -> int:
    """Lines from `def` to the end, less the docstring, which may be as long as the formula needs."""
    lines = function.end_lineno - function.lineno + 1
    first = function.body[0]
    if ast.get_docstring(function, clean=False) is not None:
        lines -= first.end_lineno - first.lineno + 1
    return lines


def functions_of(sources) -> list[tuple[int, str]]:
    """Length and place of every function and method, longest first."""
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef)
    found = [
        (code_lines(node), f"{source.where}:{node.lineno} {node.name}")
        for source in sources
        for node in ast.walk(source.tree)
        if isinstance(node, kinds)
    ]
    return sorted(found, reverse=True)


def worst(found, count=10) -> str:
    """The first entries as lines to read."""
    return "\n".join(f"{size:5d}  {where}" for size, where in found[:count])


def test_no_function_is_longer_than_fifty_lines(sources):
    """A function that long does more than one thing."""
    found = functions_of(sources)
    long = [entry for entry in found if entry[0] > LONGEST_FUNCTION]
    assert not long, f"over {LONGEST_FUNCTION} lines:\n{worst(long)}"


def test_nine_functions_of_ten_have_at_most_twenty_five_lines(sources):
    """Short functions are the rule; the worst offenders are listed."""
    found = functions_of(sources)
    lengths = sorted(size for size, _ in found)
    ninth = lengths[min(len(lengths) - 1, round(0.9 * len(lengths)))]
    middle = statistics.median(lengths)
    print(f"{len(lengths)} functions: median {middle:.0f}, p90 {ninth}\n{worst(found)}")
    assert ninth <= NINE_OF_TEN, f"p90 is {ninth} lines; the longest:\n{worst(found, 20)}"


def test_no_module_is_longer_than_five_hundred_lines(sources, repo_root):
    """A module that long is two modules; start.py counts too."""
    sizes = [(source.text.count("\n"), source.where) for source in sources]
    sizes.append(((repo_root / "start.py").read_text("utf-8").count("\n"), "start.py"))
    sizes.sort(reverse=True)
    print(worst(sizes))
    long = [entry for entry in sizes if entry[0] > LONGEST_MODULE]
    assert not long, f"over {LONGEST_MODULE} lines:\n{worst(long)}"
