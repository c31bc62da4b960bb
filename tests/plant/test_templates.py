"""The plant templates that travel with the program."""

from __future__ import annotations

import pytest

from logbook.plant.file import read_plant
from logbook.plant.templates import template_names, template_path
from logbook.resources import resource_folder


def test_templates_are_named_and_found() -> None:
    """Both unit systems are there, each at the path given for its name."""
    assert {"soybean-metric", "soybean-us"} <= set(template_names())
    for name in template_names():
        assert template_path(name) == resource_folder() / "plants" / f"{name}.toml"


@pytest.mark.parametrize("name", template_names())
def test_every_template_reads_without_a_fault(name: str) -> None:
    """What the program offers to start from is right."""
    assert len(read_plant(template_path(name)).points) > 100


def test_an_unknown_template_is_told_with_the_nearest() -> None:
    """A misspelt name is answered with the one meant."""
    with pytest.raises(KeyError, match="soybean-metric"):
        template_path("soybean-metrik")
