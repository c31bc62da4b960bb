"""The Findings screen: drifts, questions, offenders and limits to look at."""
