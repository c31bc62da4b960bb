"""Spreadsheets and instrument readings, in and out."""
