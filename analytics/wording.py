"""Wording: how a number stands in a sentence."""


def signed(value: float) -> str:
    """Two decimals with a sign, and no minus before zero."""
    return f"{round(value, 2) + 0.0:+.2f}"
