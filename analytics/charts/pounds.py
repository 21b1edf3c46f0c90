"""Pounds: loads in both units, for an athlete who logs in pounds; every number stays in kilograms."""

from __future__ import annotations

from analytics.charts.report import Report
from analytics.schema import KG_PER_LB


def load_words(report: Report, kg: float, digits: int = 0) -> str:
    """``100 kg``, or ``100 kg (220 lb)`` for an athlete who logs in pounds."""
    pounds = f" ({kg / KG_PER_LB:.0f} lb)" if report.in_pounds else ""
    return f"{kg:.{digits}f} kg{pounds}"


def load_title(report: Report, what: str) -> str:
    """Title of an axis in kilograms; its labels tell both units for an athlete who logs in pounds."""
    return what if report.in_pounds else f"{what}, kg"


def load_labels(report: Report) -> str:
    """Vega expression for the labels of an axis in kilograms: two lines where both units are told.

    The lowest label is left out then, as its second line would lie on the labels of the other axis.
    """
    if not report.in_pounds:
        return "datum.label"
    return f"datum.index ? [datum.label + ' kg', format(datum.value / {KG_PER_LB}, 'd') + ' lb'] : ''"
