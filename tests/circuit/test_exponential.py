"""The exponential against Python's decimal arithmetic, at 40 digits."""

from __future__ import annotations

from decimal import Decimal, localcontext

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.circuit.exponential import exponential


@settings(deadline=None)
@given(st.floats(-700.0, 700.0))
def test_agrees_with_decimal_arithmetic(x: float) -> None:
    ours = float(exponential(np.array([x]))[0])
    with localcontext() as context:
        context.prec = 40
        exact = Decimal(x).exp()
        assert abs(Decimal(ours) - exact) <= exact * Decimal("1.5e-15")


def test_zero_is_exact_and_rows_of_any_length_agree() -> None:
    assert exponential(np.zeros(1))[0] == 1.0
    rows = np.linspace(-700.0, 700.0, 1001)
    whole = exponential(rows)
    assert np.array_equal(
        whole, np.concatenate([exponential(rows[n : n + 1]) for n in range(1001)])
    )
    assert (np.diff(whole) > 0.0).all()
