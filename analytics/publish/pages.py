"""Pages: an executed notebook as one self-contained HTML file.

The page runs only the two scripts whose hashes stand in its Content-Security-Policy and asks nothing from
outside.  The drawing library is put in last (marks.with_library), so a page travels small between processes.
"""

from __future__ import annotations

import functools
import html
import json
import re
from pathlib import Path
from typing import Any

import mistune
from markupsafe import Markup
from mistune.plugins.table import table
from nbconvert.exporters import TemplateExporter
from nbformat import NotebookNode
from traitlets.config import Config

from analytics.publish import marks
from analytics.publish.library import source_hash
from analytics.publish.packing import Parts, packed_chart
from analytics.publish.report import Facts
from analytics.publish.show import CLOSED_MIME, FOLD_MIME, TABLE_MIME, rows_of

_TEMPLATES = Path(__file__).parent


class _Prose(mistune.HTMLRenderer):
    """Markdown without a way out of the page: raw HTML is text, images are words, links stay inside."""

    def heading(self, text: str, level: int, **attrs: Any) -> str:
        return super().heading(text, max(level, 2), **attrs)

    def link(self, text: str, url: str, title: str | None = None) -> str:
        address = inside(url)
        return f'<a href="{html.escape(address)}">{text}</a>' if address else text

    def image(self, text: str, url: str, title: str | None = None) -> str:
        return text


_prose = mistune.Markdown(_Prose(escape=True), plugins=[table])


def inside(address: str) -> str:
    """The address if it is a path below the page's folder or a place on the page, else nothing."""
    plain = re.fullmatch(r"(\.\./)?[A-Za-z0-9_][A-Za-z0-9_./-]*(#[\w-]*)?|#[\w-]*", address)
    return address if plain and ".." not in address.removeprefix("../") else ""


def _chart(data: dict[str, Any], parts: Parts) -> dict[str, Any] | None:
    """The packed specification of an output that is a chart."""
    found = (data[mime] for mime in data if mime.startswith("application/vnd.vegalite."))
    return next((packed_chart(spec, parts) for spec in found), None)


def _data(value: Any) -> Markup:
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return Markup(text)


@functools.cache
def _exporter() -> TemplateExporter:
    config = Config({"TemplateExporter": {"extra_template_basedirs": [str(_TEMPLATES)]}})
    exporter = TemplateExporter(config=config, template_name="page", template_file="index.html.j2")
    exporter.environment.trim_blocks = exporter.environment.lstrip_blocks = True
    exporter.register_filter("prose", lambda text: Markup(str(_prose(text)).strip()))
    exporter.register_filter("chart", _chart)
    exporter.register_filter("data", _data)
    exporter.register_filter("rows_of", rows_of)
    exporter.register_filter("inside", inside)
    return exporter


@functools.cache
def _asset(name: str) -> Markup:
    return Markup((_TEMPLATES / "page" / name).read_text(encoding="utf-8"))


def page(notebook: NotebookNode, facts: Facts) -> str:
    """The page of an executed notebook, still without the drawing library: see marks.with_library."""
    extra = {
        "style": _asset("page.css"),
        "script": _asset("page.js"),
        "script_hash": Markup(source_hash(str(_asset("page.js")))),
        "library_hash": Markup(marks.LIBRARY_HASH),
        "library_mark": Markup(marks.LIBRARY),
        "note_mark": Markup(marks.NOTE),
        "table_mime": TABLE_MIME,
        "closed_mime": CLOSED_MIME,
        "fold_mime": FOLD_MIME,
        "parts": Parts(),
    }
    # Not from_notebook_node, which copies the notebook twice for preprocessors that this page does not have.
    return str(_exporter().template.render(nb=notebook, resources={"page": {**vars(facts), **extra}}))


def plain_page(facts: Facts, note: str) -> str:
    """A page that holds a note only, for a report that never worked."""
    empty = NotebookNode(cells=[], metadata=NotebookNode(), nbformat=4, nbformat_minor=5)
    text = marks.with_library(page(empty, facts), "").replace(marks.NOTE, marks.NOTE + marks.PLAIN, 1)
    return marks.noted(text, note)
