"""Executed notebooks without what differs between two equal runs: times, random ids, temporary paths."""

from __future__ import annotations

import json

import nbformat
from nbformat import NotebookNode

PARAMETERS_TAG = "parameters"
_INJECTED_TAG = "injected-parameters"


def parameters_cell(notebook: NotebookNode) -> int:
    """The index of the one cell tagged ``parameters``; ValueError if there is not exactly one."""
    found = [i for i, cell in enumerate(notebook.cells) if PARAMETERS_TAG in cell.metadata.get("tags", [])]
    if len(found) != 1:
        raise ValueError(f"a report notebook has one cell tagged {PARAMETERS_TAG!r}, found {len(found)}")
    return found[0]


def stable(notebook: NotebookNode, folder: str) -> NotebookNode:
    """The executed notebook as it would be after any equal run; `folder` is the temporary folder to name."""
    text = written(notebook).replace(json.dumps(folder, ensure_ascii=False)[1:-1], "tables")
    clean: NotebookNode = nbformat.from_dict(json.loads(text))
    clean.metadata.pop("papermill", None)
    for cell in clean.cells:
        cell.metadata.pop("papermill", None)
        cell.metadata.pop("execution", None)
        if _INJECTED_TAG in cell.metadata.get("tags", []):
            cell.id = _INJECTED_TAG
    return clean


def written(notebook: NotebookNode) -> str:
    """The notebook as JSON text; on one line, which takes a tenth of the time of an indented one."""
    return json.dumps(notebook, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def unfinished(notebook: NotebookNode) -> int | None:
    """The first cell that raised or never ran, as an index; None if the notebook ran to its end.

    papermill takes a notebook that stops itself with ``exit()`` for a success.
    """
    for index, cell in enumerate(notebook.cells):
        if cell.cell_type != "code" or not cell.source.strip():
            continue
        if cell.execution_count is None or any(out.output_type == "error" for out in cell.outputs):
            return index
    return None
