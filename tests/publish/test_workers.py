"""Workers: any Executor will do, a dead worker loses nothing, and few reports are under way at once."""

from __future__ import annotations

import sys
from concurrent.futures import Future, ThreadPoolExecutor

import pytest

from analytics import workers as hands
from analytics.errors import BadCall, MissingExtra, ReportFailed
from analytics.publish import workers
from analytics.publish.report import Facts, Limits, Rendered, Report


def report(athlete: str) -> Report:
    facts = Facts(title="", week="", as_of="", version="", key="", inputs_hash="", home="")
    settings = {
        "notebook": "{}",
        "tables": {},
        "facts": facts,
        "limits": Limits(),
        "kernel": "stock",
        "modules": (),
    }
    return Report(athlete=athlete, **settings)


def rendered(one: Report) -> Rendered:
    if one.athlete == "bad":
        raise ReportFailed("bad", 3, "no sets")
    if one.athlete == "broken":
        raise EOFError("the worker went away")
    return Rendered(athlete=one.athlete, page="", notebook="", seconds=0.0)


def test_every_report_comes_back_rendered_or_failed(monkeypatch):
    monkeypatch.setattr(workers, "_render", rendered)
    names = ["heron", "bad", "otter", "broken", "gull"]
    with ThreadPoolExecutor(2) as pool:
        results = {r.athlete: r for r in workers.finished(pool, map(report, names), 2)}
    assert set(results) == set(names)
    assert str(results["bad"]) == "bad: cell 3: no sets"
    assert str(results["broken"]) == "broken: cell -1: the worker failed: EOFError: the worker went away"


def test_reports_are_made_only_as_there_is_room(monkeypatch):
    asked: list[str] = []

    class Waiting(ThreadPoolExecutor):
        def submit(self, function, one):
            future: Future = Future()
            future.set_result(rendered(one))
            return future

    def source():
        for name in map(str, range(50)):
            asked.append(name)
            yield report(name)

    results = workers.finished(Waiting(1), source(), 3)
    next(results)
    assert len(asked) == 3


@pytest.mark.parametrize(
    "cores, free_mb, wanted, expected",
    [(8, 1000, None, 3), (2, 9000, None, 2), (8, 100, None, 1), (2, 100, 5, 5)],
)
def test_workers_are_bounded_by_cores_and_memory(monkeypatch, cores, free_mb, wanted, expected):
    monkeypatch.setattr(hands, "_cores", lambda: cores)
    monkeypatch.setattr(hands, "_free_mb", lambda: free_mb)
    assert hands.worker_count(wanted, 300) == expected


def test_a_scheduler_without_dask_names_the_cure(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(MissingExtra, match=r"pip install 'roster-workbook\[cluster\]'"),
        workers.executor(1, 1, "tcp://x"),
    ):
        pass


def test_a_scheduler_that_does_not_answer_is_told(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr(hands, "_CONNECT_S", 1)
    with pytest.raises(BadCall, match="no scheduler answers at"), workers.executor(1, 1, "tcp://127.0.0.1:9"):
        pass
