"""The range guard of the physics: names the argument, the first bad index, its value, the range and the count."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.errors import DomainError

Array = NDArray[np.float64]
_least, _most = np.minimum.reduce, np.maximum.reduce


def require(
    name: str,
    value: ArrayLike,
    *,
    unit: str,
    low: float = -np.inf,
    high: float = np.inf,
    above: float | None = None,
) -> Array:
    """Return ``value`` as a float array, or raise if any element lies outside [low, high].

    Parameters
    ----------
    name : name of the argument as the caller knows it
    value : number or array of any shape
    unit : unit shown in the message, "1" for a ratio
    low, high : closed range
    above : open lower end, used instead of ``low`` where zero itself is meaningless

    Raises
    ------
    DomainError
        NaN fails as well, because the test asks whether the value is inside, not whether it is outside.

    >>> float(require("load", 700.0, unit="N", low=0.0))
    700.0
    """
    array = np.asarray(value, dtype=np.float64)
    if array.size == 0:
        return array
    # Both ends of the array decide, and NaN makes either NaN; this is far faster than a mask.
    least: float
    most: float
    if array.size == 1:
        least = most = array.item()
    else:
        least = _least(array, axis=None)
        most = least if high == np.inf else _most(array, axis=None)
    if least >= low and most <= high and (above is None or least > above):
        return array
    inside: Any = (array >= low) & (array <= high)
    if above is not None:
        inside &= array > above
    bad = np.flatnonzero(~np.ravel(inside))
    first = int(bad[0])
    index = tuple(int(i) for i in np.unravel_index(first, array.shape)) if array.ndim else ()
    place = f" at index {index}" if index else ""
    lower = f"above {above:g}" if above is not None else f"{low:g}"
    count = f" ({bad.size} of {array.size} values)" if array.size > 1 else ""
    raise DomainError(
        f"{name}{place} is {np.ravel(array)[first]:g} {unit}; allowed is {lower} to {high:g} {unit}{count}"
    )
