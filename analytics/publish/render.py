"""One report: its tables and its notebook in, the executed notebook and the page out; runs in any process."""

from __future__ import annotations

import json
import tempfile
import time
from pathlib import Path

import nbformat

from analytics.errors import ReportFailed
from analytics.publish.forking import FORKED, STOCK, start_server
from analytics.publish.kernels import run_notebook
from analytics.publish.pages import page
from analytics.publish.report import Rendered, Report
from analytics.publish.stable import written


def render(report: Report) -> Rendered:
    """The finished report; raises ReportFailed, which names the athlete, the cell and why."""
    start = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="rt-", dir=report.scratch or None) as folder:
        for name, content in report.tables.items():
            (Path(folder) / f"{name}.arrow").write_bytes(content)
        source = nbformat.from_dict(json.loads(report.notebook))
        parameters = {"athlete": report.athlete, "tables": folder}
        done = run_notebook(source, parameters, report.limits, _kernel(report))
    try:
        text = page(done, report.facts)
    except Exception as problem:  # a broken output must cost this report only
        raise ReportFailed(report.athlete, -1, f"the page could not be made: {problem}") from problem
    return Rendered(
        athlete=report.athlete,
        page=text,
        notebook=written(done) + "\n",
        seconds=time.perf_counter() - start,
    )


def _kernel(report: Report) -> str:
    """The kernel's full name: forked by this process's own server where that is sound, else a stock one."""
    server = start_server(report.modules) if report.kernel == FORKED else None
    address = server.address if server else ""
    return f"{FORKED}:{address}" if address else STOCK
