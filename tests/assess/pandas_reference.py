"""Classification and run finding once more, in pandas and on purpose in another way.

Written from the description of the rules alone, to be compared with `logbook.assess` on random
series and on whole books. Load it by path; it imports nothing of ours.

`codes(frame)` and `runs(frame, max_gap_s)` take a frame of one point in order of time with
the columns value, warning_low, warning_high, action_low, action_high (NaN: none), and for
`runs` also time (epoch seconds) and not_due (bool).
"""

from __future__ import annotations

import pandas as pd

NOT_JUDGED = -128
EDGES = ["warning_low", "warning_high", "action_low", "action_high"]


def codes(frame: pd.DataFrame) -> pd.Series:
    """-2 action low, -1 warning low, 0 within, 1 warning high, 2 action high, -128 not judged."""
    code = pd.Series(0, index=frame.index, dtype="int64")
    # From the mildest to the gravest, each overwriting the one before; low overwrites high.
    code[frame.value > frame.warning_high] = 1
    code[frame.value < frame.warning_low] = -1
    code[frame.value > frame.action_high] = 2
    code[frame.value < frame.action_low] = -2
    code[frame.value.isna() | frame[EDGES].isna().all(axis=1)] = NOT_JUDGED
    return code


def runs(frame: pd.DataFrame, max_gap_s: float) -> pd.DataFrame:
    """One row per run: start, last_out, end (NaN: none), direction, severity, worst, count."""
    rows = frame.assign(code=codes(frame), idle=frame.not_due.cumsum()).reset_index(drop=True)
    rows = rows[(rows.code != NOT_JUDGED) & ~rows.not_due]
    side = rows.code.clip(-1, 1)
    previous, following = rows.shift(1), rows.shift(-1)
    starts = (
        (side != side.shift(1))
        | (rows.time - previous.time > max_gap_s)
        | (rows.idle != previous.idle)
    )
    comes_back = (
        (following.code == 0)
        & (following.time - rows.time <= max_gap_s)
        & (following.idle == rows.idle)
    )
    rows = rows.assign(
        side=side,
        run=starts.cumsum(),
        back=following.time.where(comes_back),
        severity=rows.code.abs(),
        beyond=_beyond(rows),
    )
    out = rows[rows.side != 0]
    found = [_summary(run) for _, run in out.groupby("run", sort=True)]
    columns = ["start", "last_out", "end", "direction", "severity", "worst", "count"]
    return pd.DataFrame(found, columns=columns)


def _beyond(rows: pd.DataFrame) -> pd.Series:
    limits = {1: "warning_high", -1: "warning_low", 2: "action_high", -2: "action_low"}
    beyond = pd.Series(0.0, index=rows.index)
    for code, name in limits.items():
        beyond = beyond.mask(rows.code == code, (rows.value - rows[name]).abs())
    return beyond


def _summary(run: pd.DataFrame) -> tuple:
    worst = run.sort_values(["severity", "beyond", "time"], ascending=[False, False, True])
    return (
        run.time.iloc[0],
        run.time.iloc[-1],
        run.back.iloc[-1],
        int(run.side.iloc[0]),
        int(worst.severity.iloc[0]),
        worst.value.iloc[0],
        len(run),
    )
