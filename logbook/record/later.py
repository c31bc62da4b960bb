"""Modules of this package that are loaded when something of them is first asked for."""

from __future__ import annotations

from importlib import import_module


class Later:
    """Stands for a module until one of its names is wanted."""

    def __init__(self, module: str) -> None:
        self._module = module

    def __getattr__(self, name: str) -> object:
        """The name of the module, which is loaded now."""
        found = getattr(import_module(self._module), name)
        setattr(self, name, found)
        return found
