"""Tables into Altair charts, each with its units, its sentence and its small table."""

from analytics.charts.body import bodyweight_figure, girths_figure
from analytics.charts.compare import compared_figure
from analytics.charts.effort import curve_figure, drops_figure
from analytics.charts.figure import Figure
from analytics.charts.lift import lift_figure
from analytics.charts.linked import linked_figure
from analytics.charts.muscle import aims_figure, response_figure
from analytics.charts.muscle_weeks import muscle_figure, weeks_figure
from analytics.charts.period import marked_figure, period_slope
from analytics.charts.report import Report
from analytics.charts.roster import slopes_figure, spread_figure

__all__ = [
    "Figure",
    "Report",
    "aims_figure",
    "bodyweight_figure",
    "compared_figure",
    "curve_figure",
    "drops_figure",
    "girths_figure",
    "lift_figure",
    "linked_figure",
    "marked_figure",
    "muscle_figure",
    "period_slope",
    "response_figure",
    "slopes_figure",
    "spread_figure",
    "weeks_figure",
]
