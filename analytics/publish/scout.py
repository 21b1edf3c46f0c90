"""The scout: a forked kernel that goes ahead, and tells which modules kernels import on their way."""

from __future__ import annotations

import contextlib
import json
import os
import sys
import tempfile

_CHANNELS = ("shell", "iopub", "stdin", "control", "hb")
_FIRST_CHART = """
import altair, datetime, polars
polars.DataFrame({{"a": [1.5], "d": [datetime.date(2026, 1, 4)], "s": ["x"]}}).write_parquet({path!r})
t = polars.read_parquet({path!r}).filter(polars.col("a") > 0).sort("s")
c = altair.Chart(t).mark_line().encode(x="d:T", y="a:Q", color="s:N")
c = altair.layer(c, c.mark_rule()).properties(description="d").to_dict()
"""


def scouted_modules() -> list[str]:
    """Modules that a kernel imports on its way and at its first chart: a forked one goes ahead and tells."""
    told, tell = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.close(told)
            nothing = os.open(os.devnull, os.O_RDWR)
            for target in (0, 1, 2):
                os.dup2(nothing, target)
            known = set(sys.modules)
            _go_ahead()
            new = sorted(set(sys.modules) - known - {"__main__"})
            with os.fdopen(tell, "w", encoding="utf-8") as pipe:
                json.dump(new, pipe)
        finally:
            os._exit(0)
    os.close(tell)
    with os.fdopen(told, encoding="utf-8") as pipe:
        text = pipe.read()
    os.waitpid(pid, 0)
    return list(json.loads(text)) if text else []


def _go_ahead() -> None:
    """In the scout: a kernel up to its start, and a chart of a table read from Parquet."""
    from ipykernel.kernelapp import IPKernelApp

    with tempfile.TemporaryDirectory(prefix="rs-") as folder, contextlib.suppress(Exception):
        os.environ["IPYTHONDIR"] = folder
        connection = {
            "transport": "ipc",
            "ip": f"{folder}/s",
            "key": "scout",
            "signature_scheme": "hmac-sha256",
            **{f"{name}_port": port for port, name in enumerate(_CHANNELS, 1)},
        }
        with open(f"{folder}/kernel.json", "w", encoding="utf-8") as file:
            json.dump(connection, file)
        app = IPKernelApp.instance()
        app.initialize(["-f", f"{folder}/kernel.json", "--HistoryManager.hist_file=:memory:"])
        if "altair" in sys.modules and "polars" in sys.modules:
            app.shell.run_cell(_FIRST_CHART.format(path=f"{folder}/t.parquet"))


def validate_once() -> None:
    """Builds what Altair builds at its first chart, from plain values; its counters stay as they were."""
    if "altair" not in sys.modules:
        return
    import altair as alt

    counters = {kind: kind._counter for kind in (alt.Chart, alt.Parameter) if hasattr(kind, "_counter")}
    data = alt.Data(values=[{"a": 1, "b": "x"}])
    line = (
        alt.Chart(data).mark_line().encode(x=alt.X("a:Q", title="a"), y="a:Q", color="b:N", tooltip=["a:Q"])
    )
    (line + alt.Chart(data).mark_rule().encode(x=alt.datum(1))).properties(width=100).to_dict()
    for kind, count in counters.items():
        kind._counter = count
