"""Is it right: limits, deviations, typed numbers, computed points."""
