"""Every worked example in a docstring gives what it says."""

import doctest
import importlib


def module_name(where: str) -> str:
    """The dotted name of a source file below the root."""
    return where.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def test_worked_examples_hold(sources):
    """Each `>>>` line in logbook and sample_db is run and compared."""
    wrong = []
    for source in sources:
        if ">>>" in source.text:
            name = module_name(source.where)
            outcome = doctest.testmod(importlib.import_module(name), report=False)
            wrong += [name] if outcome.failed else []
    assert not wrong, f"examples that do not hold (see the output above): {wrong}"
