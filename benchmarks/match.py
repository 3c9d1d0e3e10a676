"""How long a match of 200 candidates takes, over a pull of the same build at fifteen speeds: the goal is three.

Run it:  python benchmarks/match.py [--times 3]
Both run in one process, turn about, warm, with as many threads; the ratio of each pair counts, by the clock and by the
processor time of all threads (which a busy machine moves less). The build is the demo wren, the candidates its own
turbo and the family scaled from it.
"""

from __future__ import annotations

import argparse
import statistics
import time

import numpy as np

from spoolwright.engine.pull import pull
from spoolwright.engine.turbo import turbo
from spoolwright.match.candidates import family, own
from spoolwright.match.job import Asked, match
from spoolwright.match.rank import rank
from spoolwright.match.way import cooler_of
from spoolwright.sheet import demo_folder, load

SPEEDS = [float(n) for n in np.linspace(2000.0, 6000.0, 15)]


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=3)
    times = asked.parse_args().times
    sheet = load(demo_folder("wren"))
    pull(sheet, SPEEDS[:1])
    found = match(sheet, Asked(speeds_rpm=(SPEEDS[0], SPEEDS[-1])))  # compiles
    clocks = (time.perf_counter, time.process_time)
    pulls, matches = [], []
    for _ in range(times):
        begin = [clock() for clock in clocks]
        pull(sheet, SPEEDS)
        between = [clock() for clock in clocks]
        found = match(sheet, Asked())
        pulls.append([b - a for a, b in zip(begin, between, strict=True)])
        matches.append([clock() - a for clock, a in zip(clocks, between, strict=True)])
    print(f"{len(found.ranked)} candidates, {found.demand.runs} engine runs, {found.demand.pulses} boosted points")
    for k, name in enumerate(("by the clock", "processor")):
        ratio = statistics.median(m[k] / p[k] for m, p in zip(matches, pulls, strict=True))
        p, m = (statistics.median(each[k] for each in taken) for taken in (pulls, matches))
        print(f"{name:13} pull {p:7.2f} s   match {m:7.2f} s   ratio {ratio:5.2f}    (goal: at most 3)")
    parts = turbo(sheet)
    assert parts is not None
    few = family(own(sheet), 1.0)
    begin_ranking = time.process_time()
    rank(found.demand, found.way, cooler_of(parts), few, found.wish)
    taken = time.process_time() - begin_ranking
    print(f"ranking alone {1e3 * taken / len(few):7.2f} ms for each of {len(few)} candidates, one thread")


if __name__ == "__main__":
    main()
