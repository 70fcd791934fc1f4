"""How much of the machine other programs take, from Linux's own counters.

What this process and all that it started took is subtracted from what all processors did, so that
a benchmark with servers of its own does not disturb itself. Elsewhere than on Linux the load
average over a minute stands in.
"""

import os
from pathlib import Path

_TICK = os.sysconf("SC_CLK_TCK")
_STAT = Path("/proc/stat")
_IDLE, _WAITING = 3, 4  # places in the first line of /proc/stat
_PARENT, _OWN, _ENDED = 1, slice(11, 13), slice(13, 15)  # behind the name in /proc/PID/stat


class Watch:
    """Begins to count when it is made."""

    def __init__(self) -> None:
        self.busy, self.all = _machine()
        self.ours = _ours()

    def by_others(self) -> float:
        """The share of all processors' time that went to others since then: 0 to 1."""
        if not _STAT.exists():
            return min(1.0, os.getloadavg()[0] / (os.cpu_count() or 1) / 2)
        busy, whole = _machine()
        passed = whole - self.all
        if passed <= 0:
            return 0.0
        return max(0.0, (busy - self.busy) - (_ours() - self.ours)) / passed


def load() -> float:
    """The load average over the last minute."""
    return os.getloadavg()[0]


def _machine() -> tuple[float, float]:
    """Seconds that all processors were busy, and seconds in all; stolen time counts as busy."""
    if not _STAT.exists():
        return 0.0, 0.0
    ticks = [int(word) for word in _STAT.read_text().splitlines()[0].split()[1:9]]
    idle = ticks[_IDLE] + ticks[_WAITING]
    return (sum(ticks) - idle) / _TICK, sum(ticks) / _TICK


def _ours() -> float:
    """Seconds of this process, of all that descend from it, and of those that have ended."""
    rows: dict[int, tuple[int, int]] = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            words = (folder / "stat").read_text().rpartition(") ")[2].split()
        except OSError:
            continue  # it has ended meanwhile
        spent = sum(int(word) for word in (*words[_OWN], *words[_ENDED]))
        rows[int(folder.name)] = int(words[_PARENT]), spent
    family = {os.getpid()}
    grown = True
    while grown:
        more = {pid for pid, (parent, _) in rows.items() if parent in family} - family
        grown = bool(more)
        family |= more
    return sum(spent for pid, (_, spent) in rows.items() if pid in family) / _TICK
