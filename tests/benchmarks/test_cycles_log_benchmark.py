"""How fast a log of a million rows is read, beside a bare loop over the same file in the same run."""

import csv
import io
import time
from datetime import datetime, timedelta

import numpy as np

from tracelabels.cycles.log import LogOptions, read_log

ROWS = 1_000_000
LIMIT_S = 2.0
"""For reading and judging together; reading alone is printed beside it."""


def million_rows() -> bytes:
    """Write a reading for every second: date and clock, temperature and pressure."""
    seconds = np.arange(ROWS)
    start = datetime(2026, 3, 14, 8)  # noqa: DTZ001 - a logger's clock has no zone
    celsius = np.interp(seconds % 3600, [0, 900, 1200, 2400, 3599], [24, 134, 134.5, 134.5, 24])
    kpa = np.interp(celsius, [24, 100, 121.1, 134.5], [101.3, 101.4, 205.7, 308.7])
    days = [f"{start + timedelta(days=day):%Y-%m-%d}" for day in range(ROWS // 86400 + 2)]
    clocks = [f"{at // 3600:02d}:{at // 60 % 60:02d}:{at % 60:02d}" for at in range(86400)]
    rows = [
        f"{days[at // 86400]} {clocks[at % 86400]},{degrees:.2f},{pressure:.1f}"
        for at, degrees, pressure in zip((seconds + 8 * 3600).tolist(), celsius.tolist(), kpa.tolist(), strict=True)
    ]
    return "\n".join(["Time,Temperature (°C),Pressure (kPa abs)", *rows, ""]).encode()


def bare_loop(content: bytes) -> tuple[list[datetime], list[float], list[float]]:
    """Read the same with what the language brings, knowing all that had to be found out."""
    rows = csv.reader(io.StringIO(content.decode()))
    next(rows)
    times, celsius, kpa = [], [], []
    for moment, degrees, pressure in rows:
        times.append(datetime.fromisoformat(moment))
        celsius.append(float(degrees))
        kpa.append(float(pressure))
    return times, celsius, kpa


def test_a_million_rows_are_read_faster_than_by_a_bare_loop(best_of):
    content = million_rows()
    log = read_log(content, LogOptions(), name="million.csv")
    times, celsius, kpa = bare_loop(content)
    assert (log.readings.celsius.tolist(), log.readings.kpa.tolist()) == (celsius, kpa)
    assert log.readings.seconds[-1] == (times[-1] - times[0]).total_seconds()

    start = time.process_time()
    read_log(content, LogOptions(), name="million.csv")
    spent = time.process_time() - start
    ours, bare = best_of(
        lambda: read_log(content, LogOptions(), name="million.csv"), lambda: bare_loop(content), rounds=3
    )
    print(
        f"\na log of {ROWS:,} rows, {len(content) / 1e6:.0f} MB: {ours:.2f} s, {spent:.2f} s of the processor's time "
        f"(limit with judging {LIMIT_S:g} s); a bare loop {bare:.2f} s: {bare / ours:.1f} times as fast as that"
    )
    assert bare / ours >= 1.0
