"""Training logs of a roster of athletes, turned into answers a coach can stand by."""

__version__ = "0.1.0"
