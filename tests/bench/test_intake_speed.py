"""Speed and memory of the loader beside Polars reading the same file as text; by hand: pytest -m bench -s.

The export is invented: rows per set with mixed units, decimal commas, notes in quotes, and one broken cell
in a thousand.  Ratios of one run are what counts; seconds depend on the machine and on what else it does.
"""

import subprocess
import sys
import time
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics.catalogue import load_catalogue
from analytics.intake import read_folder

AS_OF = date(2100, 1, 1)
ATHLETES = 50


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


def text_seconds(folder):
    """(wall, processor) seconds Polars needs to read the file with every cell as text."""
    wall, cpu = time.perf_counter(), time.process_time()
    pl.read_csv(folder / "exports" / "all.csv", separator=";", infer_schema=False)
    return time.perf_counter() - wall, time.process_time() - cpu


@pytest.mark.bench
def test_messy_rows_a_second(tmp_path):
    rows = 1_000_000
    write_messy_export(tmp_path, rows)
    read_folder(tmp_path, AS_OF)
    loads, texts = [], []
    for _ in range(5):
        texts.append(text_seconds(tmp_path))
        wall, cpu = time.perf_counter(), time.process_time()
        intake = read_folder(tmp_path, AS_OF)
        table = time.perf_counter() - wall, time.process_time() - cpu
        intake.sets.write_parquet(tmp_path / "sets.parquet")
        loads.append((*table, time.perf_counter() - wall, time.process_time() - cpu))
    (entry,) = intake.ledger.to_dicts()
    assert entry["rows_read"] == rows + 1
    assert entry["rows_used"] + entry["rows_set_aside"] == rows
    assert intake.sets.height == entry["rows_used"]
    best = np.array(loads).min(axis=0)
    text = np.array(texts).min(axis=0)
    print(f"\n{rows} rows. Polars reads them as text in {text[0]:.2f} s ({text[1]:.2f} s of processor).")
    for what, wall, cpu in (("set table and ledger", *best[:2]), ("the same and Parquet", *best[2:])):
        speed, times, processor = rows / wall / 1e6, wall / text[0], cpu / text[1]
        print(
            f"{what}: {wall:.2f} s, {speed:.2f} M rows/s, {times:.1f} x text ({cpu:.2f} s, {processor:.1f} x)"
        )


@pytest.mark.bench
def test_five_million_rows_in_two_gigabytes(tmp_path):
    write_messy_export(tmp_path, 5_000_000)
    program = (
        "from datetime import date; from pathlib import Path;"
        "from analytics.intake import read_folder;"
        f"intake = read_folder(Path({str(tmp_path)!r}), date(2100, 1, 1));"
        f"intake.sets.write_parquet({str(tmp_path / 'sets.parquet')!r});"
        "status = Path('/proc/self/status').read_text();"
        "print(intake.sets.height, status.split('VmHWM:')[1].split()[0])"
    )
    wall = time.perf_counter()
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    height, kilobytes = map(int, told.split())
    seconds = time.perf_counter() - wall
    print(f"\n5 M rows: {height} sets in {seconds:.1f} s with start, at most {kilobytes / 1e6:.2f} GB")
    assert kilobytes < 2_000_000
