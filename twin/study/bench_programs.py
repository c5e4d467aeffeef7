"""What a user waits for: commands that start; and the memory of a long study."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from time import perf_counter

from twin.study.bench import Bench, Goal, Row
from twin.study.bench_clocks import spread

_PASSLINE = "from twin.cli import main; main()"
_MEMORY = """
import resource, sys
from pathlib import Path
from twin.scenario import load
from twin.study.bench_clocks import lasting
from twin.study.replicate import replicate
plant = lasting(load(sys.argv[1]), 86400.0)
replicate(plant, runs=int(sys.argv[2]), workers=1)
status = Path("/proc/self/status")  # what the system counts for the process holds what its parent had before it
peaks = [line for line in status.read_text().splitlines() if line.startswith("VmHWM")] if status.is_file() else []
sys.stdout.write(peaks[0].split()[1] if peaks else str(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))
"""


def commands(setting: Bench) -> Iterator[Row]:
    """Time `--help` and `check` from start to end."""
    for words, goal in ((["--help"], Goal(0.3)), (["check", str(setting.scenario)], Goal(0.6))):
        taken = []
        for _ in range(setting.repeats):
            begun = perf_counter()
            subprocess.run([sys.executable, "-c", _PASSLINE, *words], check=True, capture_output=True)
            taken.append(perf_counter() - begun)
        yield Row(f"passline {words[0]}", median(taken), "s", goal, spread(taken))


def memory(setting: Bench) -> Iterator[Row]:
    """Take the largest memory of a study of many runs, in a process of its own."""
    runs = (100, 400) if setting.quick else (1000, 10_000)
    used = []
    for count in runs:
        words = [sys.executable, "-c", _MEMORY, str(setting.scenario), str(count)]
        done = subprocess.run(words, check=True, capture_output=True, text=True, cwd=Path(__file__).parents[2])
        used.append(float(done.stdout) / 1024.0)
    note = f"{used[0]:.0f} MB for {runs[0]}: {(used[1] - used[0]) / (runs[1] - runs[0]) * 1024.0:.2f} kB a run more"
    yield Row(f"memory of a study of {runs[1]} runs", used[1], "MB", Goal(300.0), note=note)
