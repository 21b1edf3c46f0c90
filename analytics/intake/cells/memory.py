"""Memory: what a pure reader made of a short text, kept, because the files of a roster repeat each other."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import Concatenate, ParamSpec, TypeVar

_LONGEST, _MOST = 60, 16_384
_P = ParamSpec("_P")
_Told = TypeVar("_Told")
_Read = Callable[Concatenate[str | None, _P], _Told]


def remembered(read: _Read[_P, _Told]) -> _Read[_P, _Told]:
    """`read` with its answers kept by text; what it returns must not be changed.  Long texts are not kept."""
    kept = lru_cache(maxsize=_MOST)(read)

    @wraps(read)
    def told(text: str | None, *args: _P.args, **kwargs: _P.kwargs) -> _Told:
        if text is None or len(text) > _LONGEST:
            return read(text, *args, **kwargs)
        return kept(text, *args, **kwargs)  # type: ignore[arg-type]

    return told
