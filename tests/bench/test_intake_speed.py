"""Speed and memory of the loader beside Polars reading the same file as text; by hand: pytest -m bench -s.

The export is invented: rows per set with mixed units, decimal commas, notes in quotes, and one broken cell
in a thousand.  Ratios of one run are what counts; seconds depend on the machine and on what else it does.
"""

import shutil
import subprocess
import sys
import time
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics.catalogue import load_catalogue
from analytics.intake import read_folder
from analytics.pieces import write_whole
from analytics.runs import read
from analytics.simulate.demo import write_demo

AS_OF = date(2100, 1, 1)
ATHLETES = 50
RUNS = 7
GOAL_MILLION_ROWS, GOAL_TIMES_TEXT, GOAL_MS_A_FILE = 1.0, 4.0, 10
MOST_TIMES_TEXT, MOST_TIMES_STOCK, MOST_TIMES_SMALL_TEXT = 4.5, 3.0, 20.0


def write_messy_export(folder, rows):
    """A roster folder with one export of many athletes: five exercises of four sets a day."""
    random = np.random.default_rng(7)
    days = rows // (ATHLETES * 20) + 1
    athlete = np.repeat(np.arange(ATHLETES), days * 20)[:rows]
    day = np.tile(np.repeat(np.arange(days), 20), ATHLETES)[:rows]
    place = np.tile(np.repeat(np.arange(5), 4), ATHLETES * days)[:rows]
    number = np.tile(np.arange(1, 5), ATHLETES * days * 5)[:rows]
    names = np.array([e.name for e in load_catalogue().exercises.values() if e.bodyweight_share == 0][:150])
    lift = place * 30 + (day + athlete) % 30
    texts = np.array([(date(2001, 1, 1) + timedelta(days=n)).strftime("%d/%m/%Y") for n in range(days)])
    loads = np.array(
        [f"{n / 2:g} kg" if n % 5 else f"{n / 2:.2f}".replace(".", ",") for n in range(100, 400)]
    )
    reps = np.array([*map(str, range(5, 15)), "8 reps", "-3"])
    frame = pl.DataFrame(
        {
            "Date": texts[day],
            "Athlete": np.array([f"a{n:03d}" for n in range(ATHLETES)])[athlete],
            "Exercise": names[lift],
            "Set": number,
            "Weight": loads[(lift * 2 + day // 20 % 30 + random.integers(0, 3, rows)) % len(loads)],
            "Reps": random.choice(reps, rows, p=[*[0.098] * 10, 0.019, 0.001]),
            "RPE": random.choice(["7", "8", "8.5", "", "9,5"], rows),
            "Rest": random.choice(["90", "2:00", "1 min", ""], rows),
            "Notes": random.choice(["", "", "", "felt good; ok", "tired"], rows),
        }
    )
    (folder / "exports").mkdir()
    frame.write_csv(folder / "exports" / "all.csv", separator=";", line_terminator="\r\n")
    people = "".join(f'[[athlete]]\nid = "a{n:03d}"\nname = "Athlete {n}"\n' for n in range(ATHLETES))
    (folder / "roster.toml").write_text(f'[roster]\ntitle = "Bench"\n[defaults]\nunit = "kg"\n{people}')


def seconds(work):
    """(wall, processor) seconds of one call, and what it gives."""
    wall, cpu = time.perf_counter(), time.process_time()
    result = work()
    return np.array([time.perf_counter() - wall, time.process_time() - cpu]), result


def read_texts(folder):
    """Every cell of every file as text, by Polars alone: what nobody can be faster than."""
    sign = {"exports": ";", "checkins": ","}
    for place, separator in sign.items():
        for path in sorted((folder / place).rglob("*.csv")):
            pl.read_csv(path, separator=separator, infer_schema=False)


@pytest.mark.bench
def test_messy_rows_a_second(tmp_path):
    rows = 1_000_000
    write_messy_export(tmp_path, rows)
    taken = {"text": [], "table": [], "written": [], "text to Parquet": []}
    for run in range(RUNS + 1):
        text, frame = seconds(
            lambda: pl.read_csv(tmp_path / "exports" / "all.csv", separator=";", infer_schema=False)
        )
        stock, _ = seconds(lambda frame=frame: write_whole(frame.lazy(), tmp_path / "text.parquet"))
        del frame
        table, intake = seconds(lambda: read_folder(tmp_path, AS_OF))
        written, _ = seconds(lambda: read(tmp_path, tmp_path / "out", AS_OF))
        if run:  # the first one warms up
            for name, value in zip(taken, (text, table, written, text + stock), strict=True):
                taken[name].append(value)
    (entry,) = intake.ledger.to_dicts()
    assert entry["rows_read"] == rows + 1
    assert entry["rows_used"] + entry["rows_set_aside"] == rows
    assert intake.sets.height == entry["rows_used"]
    assert pl.read_parquet(tmp_path / "out" / "sets.parquet").equals(intake.sets)
    wall, cpu = (
        {name: float(np.median([run[i] for run in runs])) for name, runs in taken.items()} for i in (0, 1)
    )
    print(f"\n{rows} rows, medians of {RUNS} runs in one process, {pl.thread_pool_size()} threads.")
    for name, what in (
        ("text", "Polars reads them as text"),
        ("text to Parquet", "Polars reads them as text and writes that as Parquet"),
        ("table", "set table, roles, set-aside rows, ledger"),
        ("written", "the same read and written by roster read"),
    ):
        print(
            f"{what}: {wall[name]:.2f} s, {wall[name] / wall['text']:.1f} x text, "
            f"{rows / wall[name] / 1e6:.2f} M rows/s; processor {cpu[name]:.2f} s, "
            f"{cpu[name] / cpu['text']:.1f} x, {rows / cpu[name] / 1e6:.2f} M rows a second"
        )
    best = min(run[0] for run in taken["written"])
    print(f"goals: {rows / best / 1e6 / GOAL_MILLION_ROWS:.2f} of 1 M rows/s (best run, written)")
    for name in ("table", "written"):
        for kind, spent in (("wall", wall), ("processor", cpu)):
            share = spent[name] / spent["text"] / GOAL_TIMES_TEXT
            print(f"goals: {share:.2f} of 4 x text ({kind}, {name})")
    # A shared machine stretches seconds, but those of both sides; the limits leave a tenth of room.
    assert cpu["table"] < MOST_TIMES_TEXT * cpu["text"]
    assert cpu["written"] < MOST_TIMES_TEXT * cpu["text"]
    assert cpu["written"] < MOST_TIMES_STOCK * cpu["text to Parquet"]


@pytest.mark.bench
def test_many_small_files(tmp_path):
    write_demo(tmp_path, 132, 52, 3, None)
    for place in ("exports", "checkins"):
        for path in (tmp_path / place).iterdir():
            if not path.stem[-4:].isdigit():  # the first twelve have layouts of their own
                shutil.rmtree(path) if path.is_dir() else path.unlink()
    files = [path for place in ("exports", "checkins") for path in (tmp_path / place).rglob("*.csv")]
    assert len(files) > 200
    texts, reads = [], []
    for run in range(RUNS + 1):
        text, _ = seconds(lambda: read_texts(tmp_path))
        taken, intake = seconds(lambda: read_folder(tmp_path, AS_OF))
        if run:
            texts.append(text)
            reads.append(taken)
    assert not intake.failures
    assert intake.ledger.height >= len(files)
    text, taken = (np.median(runs, axis=0) * 1000 / len(files) for runs in (texts, reads))
    print(
        f"\n{len(files)} plain files, {intake.sets.height} sets, medians of {RUNS} runs: "
        f"{taken[0]:.1f} ms a file, processor {taken[1]:.1f} ms = {taken[1] / GOAL_MS_A_FILE:.2f} of the "
        f"goal of {GOAL_MS_A_FILE} ms; Polars reads their text in {text[0]:.1f} ms, "
        f"processor {text[1]:.1f} ms ({taken[1] / text[1]:.1f} x)"
    )
    assert taken[1] < MOST_TIMES_SMALL_TEXT * text[1]


WAYS = {
    "in memory": (
        "from analytics.intake import read_folder;"
        "intake = read_folder(folder, day);"
        "intake.sets.write_parquet(folder / 'sets.parquet');"
    ),
    "by roster read": "from analytics.runs import read; read(folder, folder / 'out', day);",
}


@pytest.mark.bench
def test_five_million_rows_in_two_gigabytes(tmp_path):
    write_messy_export(tmp_path, 5_000_000)
    for way, work in WAYS.items():
        program = (
            "from datetime import date; from pathlib import Path;"
            f"folder, day = Path({str(tmp_path)!r}), date(2100, 1, 1);{work}"
            "status = Path('/proc/self/status').read_text();"
            "print(status.split('VmHWM:')[1].split()[0])"
        )
        wall = time.perf_counter()
        told = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
        seconds, kilobytes = time.perf_counter() - wall, int(told.stdout)
        print(f"\n5 M rows {way}: {seconds:.1f} s with start, at most {kilobytes / 1e6:.2f} GB")
        assert kilobytes < 2_000_000
