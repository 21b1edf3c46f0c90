"""Judging: a roster folder read and studied batch by batch, side by side, and put together as one roster."""

from analytics.judging.folder import Asked, Judged, judged

__all__ = ["Asked", "Judged", "judged"]
