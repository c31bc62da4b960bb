"""Crush Plant Shift Logbook: rounds, limits and the record of an oilseed crushing plant."""

__version__ = "0.1.0"
