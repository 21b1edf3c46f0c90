"""Judging on the workers of a cluster, and with worker processes that are killed: the same answers."""

import os
import signal
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.judging import Asked, folder, judged
from analytics.pieces import Pieces

pytestmark = pytest.mark.slow
AS_OF = date(2026, 11, 22)


def same(tables, expected):
    for name, table in expected.items():
        found = tables[name]
        whole = pl.concat(found.frames()) if isinstance(found, Pieces) else found
        assert_frame_equal(whole, table, check_exact=True)


def quiet(athletes, done):
    """Nobody watches."""


@pytest.fixture
def parts_of_one(monkeypatch):
    monkeypatch.setattr(folder, "FEWEST_ATHLETES", 1)


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_says_what_this_process_says(demo_folder, demo_tables, tmp_path, parts_of_one):
    distributed = pytest.importorskip("distributed")
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    )
    killed = []
    with cluster, distributed.Client(cluster, set_as_default=False) as client:

        def kill_one(athletes, done):
            if not killed:
                killed.extend(client.run(os.getpid).values())
                os.kill(killed[0], signal.SIGKILL)

        ask = Asked(
            folder=demo_folder,
            as_of=AS_OF,
            today=AS_OF,
            scratch=tmp_path,
            scheduler=cluster.scheduler_address,
        )
        with judged(ask, kill_one) as found:
            same(found.tables, demo_tables)
    assert killed


def test_a_killed_process_is_replaced(demo_folder, demo_tables, tmp_path, parts_of_one):
    killed = []

    def kill_one(athletes, done):
        if not killed:
            children = Path(f"/proc/self/task/{os.getpid()}/children")
            if not children.exists():
                pytest.skip("this system does not list a process's children")
            killed.extend(int(child) for child in children.read_text().split() if is_worker(child))
            os.kill(killed[-1], signal.SIGKILL)

    ask = Asked(folder=demo_folder, as_of=AS_OF, today=AS_OF, scratch=tmp_path, workers=2)
    with judged(ask, kill_one) as found:
        same(found.tables, demo_tables)
    assert killed


def is_worker(child):
    return b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes()
