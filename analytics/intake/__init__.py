"""Intake: a roster folder of exports in any layout to one set table, with an account of every row."""

from analytics.intake.intake import Intake, latest_week_end, read_folder
from analytics.intake.ledger import file_lines

__all__ = ["Intake", "file_lines", "latest_week_end", "read_folder"]
