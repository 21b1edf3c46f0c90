"""One report as a value that travels: what it is made from, what its page says of itself, what comes back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Seconds a kernel may take to start, and a whole report may take to run."""

    start_s: float = 60.0
    report_s: float = 180.0


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What a page says besides its notebook.

    `key` stands for everything the page depends on, `inputs_hash` for its data alone; `home` is the address
    of the roster page, empty on that page itself.
    """

    title: str
    week: str
    as_of: str
    version: str
    key: str
    inputs_hash: str
    home: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Report:
    """Everything one report needs, as values that travel to another process or machine.

    `athlete` is empty for the roster page.  `tables` are Arrow streams by table name.  `notebook` is JSON.
    `kernel` is ``stock`` or ``forked``; a fork server has `modules` imported.  `scratch` is the folder for
    the tables while the report is made, empty for the worker's own temporary folder.
    """

    athlete: str
    notebook: str
    tables: Mapping[str, bytes]
    facts: Facts
    limits: Limits
    kernel: str
    modules: tuple[str, ...]
    scratch: str = ""


@dataclass(frozen=True, kw_only=True)
class Rendered:
    """A finished report: page without the drawing library, executed notebook as JSON, seconds it took."""

    athlete: str
    page: str
    notebook: str
    seconds: float
