"""SAE J2452, "Stepwise Coastdown Methodology for Measuring Tire Rolling Resistance": the regression form."""

from __future__ import annotations

import pytest

from configopt.physics import rolling


@pytest.mark.parametrize("speeds", [pytest.param([15.0, 80.0, 115.0], id="P^alpha Z^beta (a + b V + c V^2)")])
def test_regression_form_in_its_own_units(speeds: list[float]) -> None:
    """P in kPa, Z in N, V in km/h, at the ends of the test's speed sweep and at its reference speed."""
    alpha, beta, a, b, c = -0.42, 0.93, 0.081, 7.1e-5, 4.9e-7
    expected = [230.0**alpha * 3200.0**beta * (a + b * v + c * v * v) for v in speeds]
    got = rolling.sae_j2452_resistance(
        3200.0,
        pressure=230e3,
        speed=[v / 3.6 for v in speeds],
        pressure_exponent=alpha,
        load_exponent=beta,
        constant=a,
        linear=b,
        quadratic=c,
    )
    assert got == pytest.approx(expected, rel=1e-12)
