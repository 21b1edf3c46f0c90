"""Errors: every failure this package reports on purpose, each naming where, what was found and the cure.

::

    WorkbookError
    ├── BadRoster      the roster folder or roster.toml cannot be used (exit code 2)
    ├── BadCall        the command line asks for something that does not exist (exit code 2)
    ├── BadExport      one file cannot be read; the other files go on (exit code 1)
    ├── ReportFailed   one report's kernel raised, died or timed out; the others go on (exit code 1)
    └── MissingExtra   an optional part is not installed
"""

from __future__ import annotations


class WorkbookError(Exception):
    """Base of every error raised on purpose by this package."""


class BadRoster(WorkbookError):
    """A roster folder that cannot be used at all: `where` it is wrong, what was `found`, and the `cure`."""

    def __init__(self, where: str, found: str, cure: str) -> None:
        super().__init__(where, found, cure)
        self.where, self.found, self.cure = where, found, cure

    def __str__(self) -> str:
        return f"{self.where}: {self.found}. {self.cure}"


class BadCall(WorkbookError):
    """A wrong call: what was asked for, and what would be possible."""


class BadExport(WorkbookError):
    """A file that is refused whole: `path`, 1-based `line`, what was `found`, and the `cure`.

    All parts are in ``args``, so the error comes back whole from a worker process.
    """

    def __init__(self, path: str, line: int, found: str, cure: str) -> None:
        super().__init__(path, line, found, cure)
        self.path, self.line, self.found, self.cure = path, line, found, cure

    def __str__(self) -> str:
        return f"{self.path}, line {self.line}: {self.found}. {self.cure}"


class ReportFailed(WorkbookError):
    """A report that could not be rendered: the `athlete`, the `cell` (0-based, -1 if none ran), and `why`."""

    def __init__(self, athlete: str, cell: int, why: str) -> None:
        super().__init__(athlete, cell, why)
        self.athlete, self.cell, self.why = athlete, cell, why

    def __str__(self) -> str:
        return f"{self.athlete}: cell {self.cell}: {self.why}"


class MissingExtra(WorkbookError):
    """An optional part that is not installed; the message holds the command that installs it."""
