"""The exponential function from additions, multiplications and divisions in a fixed order.

A library's own may differ in the last bit from machine to machine and with the length of the row;
this one does not. exp(x) = 2^k exp(r), k the nearest whole number to x / ln 2, exp(r) by the
Padé approximant [5/5] about 0 (Abramowitz and Stegun 4.2.40 gives its continued fraction, from
memory): |r| <= 0.347, relative error under 1e-15.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

PER_LN_2 = 1.4426950408889634
LN_2_HIGH = 0.693147180369123816490
"""The first 32 bits of ln 2, so that k times it is exact."""
LN_2_LOW = 1.90821492927058770002e-10


def exponential(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """exp(x) for -700 <= x <= 700."""
    k = np.rint(x * PER_LN_2)
    r = (x - k * LN_2_HIGH) - k * LN_2_LOW
    t = r * r
    even = 1.0 + t * (1.0 / 9.0 + t * (1.0 / 1008.0))
    odd = r * (0.5 + t * (1.0 / 72.0 + t * (1.0 / 30240.0)))
    result: NDArray[np.float64] = np.ldexp((even + odd) / (even - odd), k.astype(np.int32))
    return result
