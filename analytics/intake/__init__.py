"""Intake: a roster folder of exports in any layout to one set table, with an account of every row."""

from analytics.intake.batch import Batch, carried, one_batch, part_of, parted
from analytics.intake.intake import (
    Intake,
    Reading,
    latest_week_end,
    open_folder,
    read_batch,
    read_folder,
    share_of,
)
from analytics.intake.ledger import file_lines
from analytics.intake.source.folder import Source, read_bytes
from analytics.intake.table.setlog import SetLog

__all__ = [
    "Batch",
    "Intake",
    "Reading",
    "SetLog",
    "Source",
    "carried",
    "file_lines",
    "latest_week_end",
    "one_batch",
    "open_folder",
    "part_of",
    "parted",
    "read_batch",
    "read_bytes",
    "read_folder",
    "share_of",
]
