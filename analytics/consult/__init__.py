"""Consult: the roster's tables at hand in JupyterLab, one athlete at a time, while the athlete sits there."""
