"""The plant's arithmetic: throughput, yields, the accounts of oil, water and solvent, reconciliation.

Pure functions of numbers: no clock, no files, no database, usable from a notebook. Units are
stated at every input and result; `logbook.plant.units` converts at the edge.
"""
