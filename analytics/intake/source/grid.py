"""Grid: the cells of one text, one row per record, each with the true line it starts on."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import repeat

import polars as pl

from analytics.errors import BadExport
from analytics.intake.source.octets import quotes_at_ends
from analytics.intake.source.text import Text

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
MOST_COLUMNS = 500
_SPARE = 2
_LONGEST_CELL = 200_000
_LINES_LOOKED_AT = 200
_LARGE = 4_000_000
_MOST_LINES_IN_A_CELL = 40
_QUOTED, _BETWEEN_DIGITS = re.compile(r'"[^"]*"'), re.compile(r"\d,\d")


@dataclass(frozen=True, kw_only=True)
class Grid:
    """`cells`: `row` (1-based line in the file) and text columns c0, c1, ...; `records`: how many rows.

    Cells are Categorical over one dictionary of the file, so that each distinct text is read once.
    """

    cells: pl.DataFrame
    delimiter: str
    encoding: str

    @property
    def columns(self) -> list[str]:
        """Names of the cell columns, in order."""
        return [name for name in self.cells.columns if name != "row"]


def written(cells: pl.DataFrame, columns: list[str]) -> list[tuple[str | None, ...]]:
    """The texts of some columns, row by row."""
    return list(zip(*(cells.get_column(name).cast(pl.String).to_list() for name in columns), strict=True))


def read_grid(text: Text, path: str) -> Grid:
    """All records of a text: delimiter found, RFC 4180 quoting, blank records kept as empty rows.

    The quick way is Polars' reader; it is taken only where record and line counts agree, so that line
    numbers are true.  Quoted line breaks and odd quoting go through the csv module.
    """
    head = text.utf8[:200_000].decode("utf-8", errors="ignore")
    delimiter = find_delimiter(head)
    width = _width(head, delimiter)
    if width > MOST_COLUMNS:
        raise BadExport(
            path, 1, f"a line has more than {MOST_COLUMNS} columns", "Export one table, one row per set"
        )
    words = pl.Categorical(pl.Categories.random())
    cells = _quick(text, delimiter, width, words)
    if cells is None:
        cells = _careful(text, delimiter, path, words)
    return Grid(cells=cells, delimiter=DELIMITERS[delimiter], encoding=text.encoding)


def find_delimiter(head: str) -> str:
    """The delimiter that splits the first lines most evenly, and best the first line that is split at all.

    A comma that only ever stands between digits is a decimal mark, and loses to any other candidate.
    """
    declared = re.match(r'\s*"?sep=(.)"?\s*\n', head, re.IGNORECASE)
    if declared and declared[1] in DELIMITERS:
        return declared[1]
    lines = [_unquoted(line) for line in head.splitlines()[:200] if line.strip()]
    counts_of = {mark: [line.count(mark) for line in lines] for mark in DELIMITERS}
    if any(sum(n > 0 for n in counts_of[mark]) > 0.5 * len(lines) for mark in ";\t|"):
        between = [len(_BETWEEN_DIGITS.findall(line)) for line in lines]
        counts_of[","] = [n - k for n, k in zip(counts_of[","], between, strict=True)]
    first = next((i for i, marks in enumerate(zip(*counts_of.values(), strict=True)) if any(marks)), 0)
    best, best_score = ",", 0.0
    for mark in (";", "\t", "|", ","):
        counts = counts_of[mark]
        filled = [n for n in counts if n > 0]
        if not filled:
            continue
        common = max(set(filled), key=lambda n: (filled.count(n), n))
        score = filled.count(common) / len(lines) * min(common, 6) ** 0.5 + 0.001 * (mark != ",")
        if not counts[first]:
            score *= 0.5  # the header has none: it may part the sets of a cell
        if score > best_score:
            best, best_score = mark, score
    return best


def _unquoted(line: str) -> str:
    return _QUOTED.sub("", line) if '"' in line else line


def _width(head: str, delimiter: str) -> int:
    return 1 + max(map(str.count, head.split("\n"), repeat(delimiter)))


def _quick(text: Text, delimiter: str, width: int, words: pl.DataType) -> pl.DataFrame | None:
    if not text.utf8:
        return None
    quoted = b'"' in text.utf8
    large = len(text.utf8) > _LARGE
    if quoted and not large and _odd_quotes(text.utf8, delimiter):
        return None
    with ThreadPoolExecutor(1) as pool:
        # The quotes of a large file are looked at while its cells are read.
        odd = pool.submit(_odd_quotes, text.utf8, delimiter) if quoted and large else None
        # Columns without cells take time, so they are offered only where a line is longer than the first.
        for spare in (0, _SPARE):
            table = pl.scan_csv(
                text.utf8,
                separator=delimiter,
                has_header=False,
                schema={f"c{i}": words for i in range(width + spare)},
                quote_char='"' if quoted else None,
                truncate_ragged_lines=False,
                missing_columns="insert",
            )
            try:
                # The streaming engine reads categories with all threads, the other one starts sooner.
                cells = table.collect(engine="streaming" if large else "in-memory")
            except pl.exceptions.PolarsError:
                continue
            if cells.height != text.lines or (odd and odd.result()):
                return None
            return cells.insert_column(
                0, pl.int_range(1, cells.height + 1, dtype=pl.Int32, eager=True).alias("row")
            )
    return None


def _odd_quotes(utf8: bytes, delimiter: str) -> bool:
    """Whether a quote stands elsewhere than at the two ends of a cell or doubled inside one.

    Where quotes do not just open and close cells, the lines that have some are looked at one by one.
    """
    if quotes_at_ends(utf8, delimiter):
        return False
    mark = re.escape(delimiter.encode())
    cell = rb'(?:"(?:[^"]+|"")*+"|[^"' + mark + rb"]*+)"
    sound = re.compile(cell + rb"(?:" + mark + cell + rb")*+\r?")
    return not all(sound.fullmatch(line) for line in utf8.split(b"\n") if b'"' in line)


def _careful(text: Text, delimiter: str, path: str, words: pl.DataType) -> pl.DataFrame:
    source = text.utf8.decode("utf-8", errors="replace").replace("\r\n", "\n")
    records = _records(source, delimiter, path, quoting=True)
    if records is None:
        records = _records(source, delimiter, path, quoting=False)
    assert records is not None
    width = max((len(cells) for _, cells in records), default=1)
    if width > MOST_COLUMNS:
        line = next(number for number, cells in records if len(cells) > MOST_COLUMNS)
        raise BadExport(
            path, line, f"a line has more than {MOST_COLUMNS} columns", "Export one table, one row per set"
        )
    columns = {
        f"c{i}": pl.Series(
            [cells[i] if i < len(cells) and cells[i] else None for _, cells in records], dtype=pl.String
        ).cast(words)
        for i in range(width)
    }
    return pl.DataFrame({"row": pl.Series([number for number, _ in records], dtype=pl.Int32), **columns})


def _records(source: str, delimiter: str, path: str, *, quoting: bool) -> list[tuple[int, list[str]]] | None:
    """(first line, cells) of each record; None where quotes swallow so much that they cannot be quoting."""
    records: list[tuple[int, list[str]]] = []
    csv.field_size_limit(_LONGEST_CELL)
    lines = list(_lines(source))
    usual = Counter(line.count(delimiter) for line in lines[:_LINES_LOOKED_AT]).most_common(1)
    marks = usual[0][0] if usual else 0
    reader = csv.reader(lines, delimiter=delimiter, quoting=csv.QUOTE_MINIMAL if quoting else csv.QUOTE_NONE)
    before = 0
    try:
        for cells in reader:
            span = lines[before : reader.line_num]
            if len(span) > _MOST_LINES_IN_A_CELL:
                return None
            if len(span) > 1 and _swallowed(span, delimiter, marks):
                records += [(before + 1 + i, _alone(line, delimiter)) for i, line in enumerate(span)]
            else:
                records.append((before + 1, cells))
            before = reader.line_num
    except csv.Error as problem:
        if quoting:
            return None
        raise BadExport(
            path,
            before + 1,
            f"a cell is longer than {_LONGEST_CELL} characters ({problem})",
            "Export one table as CSV",
        ) from problem
    return records


def _swallowed(span: list[str], delimiter: str, marks: int) -> bool:
    """Whether a quote that was never closed has taken whole rows into its cell.

    It ends with the file still open, or one of its later lines is as full as a line of the file usually is.
    """
    if sum(line.count('"') for line in span) % 2:
        return True
    return marks > 0 and any(line.count(delimiter) >= marks for line in span[1:])


def _alone(line: str, delimiter: str) -> list[str]:
    """The cells of one line by itself; a quote without its partner is a sign like any other."""
    odd = line.count('"') % 2
    reader = csv.reader([line], delimiter=delimiter, quoting=csv.QUOTE_NONE if odd else csv.QUOTE_MINIMAL)
    return next(reader, [])


def _lines(source: str) -> Iterator[str]:
    lines = source.split("\n")
    if not lines[-1]:
        lines.pop()
    for line in lines:
        yield line + "\n"
