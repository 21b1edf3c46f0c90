"""The whole roster: judged in parts against at once, a second run against the first; run by hand."""

from __future__ import annotations

import shutil
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest

from analytics.simulate import LAST_DAY, write_demo

pytestmark = pytest.mark.bench

ATHLETES, WEEKS = 400, 52
_AT_ONCE = """
import sys
from datetime import date
from pathlib import Path
from analytics.intake import read_folder
from analytics.publish.tables import write_tables
from analytics.week import analyse
day = date.fromisoformat(sys.argv[2])
write_tables(analyse(read_folder(Path(sys.argv[1]), day), day), Path(sys.argv[3]))
"""


@dataclass(frozen=True)
class Cost:
    """Of a command with all its processes: wall and processor seconds, most memory (proportional set)."""

    wall_s: float
    cpu_s: float
    peak_mb: float

    def __str__(self) -> str:
        return f"{self.wall_s:.1f} s ({self.cpu_s:.1f} s of processor, {self.peak_mb:.0f} MB)"


def cost(*command: str) -> Cost:
    resource = pytest.importorskip("resource")
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    process = subprocess.Popen([sys.executable, *command], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    peaks = [0.0]

    def watch() -> None:
        while process.poll() is None:
            peaks.append(sum(memory_mb(one) for one in family(process.pid)))
            time.sleep(0.1)

    watcher = threading.Thread(target=watch)
    watcher.start()
    told = process.communicate()[1]
    wall = time.perf_counter() - start
    watcher.join()
    assert process.returncode == 0, told.decode()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Cost(wall_s=wall, cpu_s=cpu, peak_mb=max(peaks))


def family(pid: int) -> list[int]:
    """A process and all below it, as Linux lists them."""
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return [pid]
    return [pid, *(one for child in children for one in family(int(child)))]


def memory_mb(pid: int) -> float:
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("Pss:")), 0.0)


def states(folder: Path, out: Path) -> Cost:
    day = LAST_DAY.isoformat()
    return cost("-m", "analytics", "states", str(folder), "--as-of", day, "--out", str(out))


def test_parts_side_by_side_against_the_whole_at_once(tmp_path: Path) -> None:
    write_demo(tmp_path / "roster", ATHLETES, WEEKS, 3, None)
    folder = str(tmp_path / "roster")
    at_once = cost("-c", _AT_ONCE, folder, LAST_DAY.isoformat(), str(tmp_path / "one"))
    parts = states(tmp_path / "roster", tmp_path / "parts")
    print(f"\n{ATHLETES} athletes x {WEEKS} weeks, read and judged at once: {at_once}")
    print(f"in parts, side by side: {parts}")
    print(f"ratios: wall {parts.wall_s / at_once.wall_s:.2f}, memory {parts.peak_mb / at_once.peak_mb:.2f}")
    assert parts.peak_mb < at_once.peak_mb


def test_cost_grows_with_athletes_and_memory_does_not(tmp_path: Path) -> None:
    found = {}
    for athletes in (100, 400):
        write_demo(tmp_path / f"r{athletes}", athletes, WEEKS, 3, None)
        found[athletes] = states(tmp_path / f"r{athletes}", tmp_path / f"out{athletes}")
        each = 1000 * found[athletes].cpu_s / athletes
        print(f"\n{athletes} athletes: {found[athletes]}, {each:.0f} ms of processor an athlete")
    assert found[400].cpu_s / 400 < found[100].cpu_s / 100
    assert found[400].peak_mb < 2 * found[100].peak_mb


def test_a_second_weekly_run(tmp_path: Path) -> None:
    write_demo(tmp_path / "roster", 200, WEEKS, 3, None)
    week = f"{LAST_DAY:%G-W%V}"
    command = ("-m", "analytics", "weekly", str(tmp_path / "roster"), "--week", week, "--out")
    first = cost(*command, str(tmp_path / "out"))
    again = cost(*command, str(tmp_path / "out"))
    athlete = sorted((tmp_path / "roster" / "exports").iterdir())[-1]
    more = f"Date,Exercise,Weight (kg),Reps\n{LAST_DAY - timedelta(days=1)},Bench press,60,5\n"
    (athlete / "more.csv").write_text(more)
    changed = cost(*command, str(tmp_path / "out"))
    print(f"\n200 athletes, whole command: first {first}; unchanged {again}; one changed {changed}")
    shutil.rmtree(tmp_path / "out")
    assert again.wall_s < first.wall_s / 10
    assert changed.wall_s < first.wall_s / 5
