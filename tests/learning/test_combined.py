"""Catalog and tests weighed together: with the truth drawn from what was known before, what is told after is so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from made_logs import brake_rows, coast_down_runs, energy_rows, head, plate_rows, ridden_in, write
from scipy.stats import chi2
from simulated import require_coverage, require_unbiased

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.uncertain import UncertainFigure, range_of
from configopt.catalog.corrections import quantity_of_figure
from configopt.catalog.records import FAMILIES
from configopt.learning.combine import Combined, combine
from configopt.learning.from_ground import read_ground
from configopt.learning.learn import READERS, learn
from configopt.learning.log_reading import read_log
from configopt.learning.reading import Reading, itself, prior_spread
from configopt.quantities import Figure
from configopt.scenario.case import Case, load

SCENARIO = Path(__file__).parents[2] / "scenarios" / "upland-wardens.yaml"


@cache
def shipped() -> Case:
    return load(SCENARIO)


def require_unit_variance(standardised: np.ndarray) -> None:
    """Chance lets the variance of so many errors lie outside once in a thousand."""
    count = len(standardised)
    low, high = chi2.ppf([0.0005, 0.9995], count - 1) / (count - 1)
    assert low < standardised.var(ddof=1) < high, standardised.var(ddof=1)


def cut_off(figure: UncertainFigure) -> bool:
    """Whether what a catalog may say cuts off more than a twentieth of what was known before on one side."""
    if figure.part is None or figure.name in RANGES:
        return False
    low, high = range_of(FAMILIES[figure.part[0]], figure.name, figure.value)
    room = 1.7 * prior_spread(figure)
    return figure.value - room < low or figure.value + room > high


def require_honest(found: Sequence[Combined], truths: np.ndarray) -> None:
    """Each figure: no bias, errors as large as is said, intervals that hold the truth.

    Of a figure whose range cuts off what was known before, more is known than a normal curve says: it may be surer than
    is said, not less sure.  Of a figure that a reading hangs on only where it gives way first, the few errors outside
    their interval lie far outside, because the other explanation counted as none: errors have no unit variance there.
    """
    after = np.array([[one.after for one in combined.learned] for combined in found])
    for number in range(truths.shape[1]):
        errors, spreads = after[:, number, 0] - truths[:, number], after[:, number, 1]
        if cut_off(found[0].learned[number].figure):
            assert np.mean((errors / spreads) ** 2) < 1.3
            continue
        require_unbiased(errors.tolist())
        if figure_of_pads(found[0].learned[number].figure):
            # Half of the errors are as small as is said.
            assert np.median(np.abs(errors / spreads)) < 1.0
        else:
            require_unit_variance(errors / spreads)
        require_coverage(errors.tolist(), spreads.tolist())


def figure_of_pads(figure: UncertainFigure) -> bool:
    """Whether it decides a stop only where the brake gives way before the grip."""
    return figure.part is not None and figure.part[0] == "pads"


def drawn(figures: Sequence[UncertainFigure], count: int, rng: np.random.Generator) -> np.ndarray:
    middle = np.array([figure.value for figure in figures])
    spread = np.array([prior_spread(figure) for figure in figures])
    truths = middle + spread * np.clip(rng.normal(size=(count, len(figures))), -3.0, 3.0)
    # No truth lies where no catalog may say it: the model would not compute with it.
    for number, figure in enumerate(figures):
        if figure.part is not None and figure.name not in RANGES:
            low, high = range_of(FAMILIES[figure.part[0]], figure.name, figure.value)
            truths[:, number] = np.clip(truths[:, number], low, high)
    return truths


@pytest.mark.parametrize("seeds", [60, pytest.param(500, marks=pytest.mark.slow)])
@pytest.mark.parametrize("surface", ["lete-sand", "dry-sand"])
def test_plates_tell_the_soil(surface: str, seeds: int, tmp_path: Path) -> None:
    """Read from the log to the soil's exponent and moduli; plate readings scatter by 8 %."""
    rng = np.random.default_rng(11)
    log = read_log(write(tmp_path / "p.csv", head("ground", surface=surface) + plate_rows(shipped(), surface)))
    figures = read_ground(log, shipped()).readings[0].figures
    assert [figure.name for figure in figures] == ["soil.exponent", "soil.cohesive_modulus", "soil.frictional_modulus"]
    truths = drawn(figures, seeds, rng)
    found = []
    for n, cohesive, frictional in truths.tolist():
        rows = ["plate width (m),plate pressure (Pa),plate sinkage (m)"]
        for width in (0.05, 0.1, 0.15):
            for z in np.linspace(0.01, 0.06, 6).tolist():
                pressure = (cohesive / width + frictional) * z**n * (1.0 + 0.08 * rng.normal())
                rows.append(f"{width!r},{float(pressure)!r},{z!r}")
        text = head("ground", surface=surface) + "\n".join(rows) + "\n"
        found.append(combine(read_ground(read_log(write(tmp_path / "p.csv", text)), shipped()).readings))
    require_honest(found, truths)


@cache
def full_model_readings(folder: Path) -> tuple[Reading, ...]:
    """Coast-downs at two pressures, stops and energy on gravel; each with the figures that it can tell anything of."""
    case, surface = shipped(), "loose-gravel"
    one = ridden_in(case, folder)
    high = {"pressure_front": "140 kPa", "pressure_rear": "140 kPa"}
    runs = coast_down_runs(one, surface, pairs=1, fast=12.0, slow=2.5)
    texts = {
        "soft.csv": head("coast-down", surface=surface, drive_drag="0 N") + runs,
        "hard.csv": head("coast-down", surface=surface, drive_drag="0 N", **high) + runs,
        "stops.csv": head("brake", surface=surface) + brake_rows(one, surface),
        "energy.csv": head("energy", surface=surface) + energy_rows(one, surface, (6.0,)),
    }
    found = []
    for name, text in texts.items():
        log = read_log(write(folder / name, text))
        for reading in READERS[log.kind.name](log, case).readings:
            told = combine([reading]).learned
            figures = tuple(one.figure for one in told if one.readings)
            uncertainty = 0.02 * abs(reading.value)
            found.append(replace(reading, figures=figures, uncertainty=uncertainty))
    return tuple(found)


@pytest.mark.slow
@pytest.mark.parametrize("seeds", [120])
def test_the_full_model_weighed_with_tests_is_honest(seeds: int, tmp_path_factory: pytest.TempPathFactory) -> None:
    readings = full_model_readings(tmp_path_factory.getbasetemp())
    assert len(readings) >= 4
    figures = [one.figure for one in combine(readings).learned]
    keys = [(figure.part, figure.name) for figure in figures]
    assert {"rolling_coefficient", "texture_factor", "rolling_exponent", "friction"} <= {name for _, name in keys}
    rng = np.random.default_rng(12)
    truths = drawn(figures, seeds, rng)
    exact = np.column_stack([reading.model(figures, truths) for reading in readings])
    found = []
    for row in exact:
        noisy = [
            replace(reading, value=float(value + reading.uncertainty * rng.normal()))
            for reading, value in zip(readings, row, strict=True)
        ]
        found.append(combine(noisy))
    require_honest(found, truths)


def plain(name: str, value: float, uncertainty: float) -> UncertainFigure:
    return UncertainFigure(name, ("tires", "x"), value, uncertainty, name)


def read(figure: UncertainFigure, value: float, uncertainty: float) -> Reading:
    return Reading("log.csv", 1, figure.wording, value, uncertainty, "ratio", itself(figure), (figure,))


def test_two_readings_and_the_catalog_make_the_weighted_mean() -> None:
    """Weights 1/u2: 1/4 at 10, 1 at 13, 4 at 12; in closed form."""
    figure = plain("mass", 10.0, 2.0)
    (learned,) = combine([read(figure, 13.0, 1.0), read(figure, 12.0, 0.5)]).learned
    assert learned.after[0] == pytest.approx((10.0 / 4 + 13.0 + 12.0 * 4) / (0.25 + 1.0 + 4.0), rel=1e-9)
    assert learned.after[1] == pytest.approx((0.25 + 1.0 + 4.0) ** -0.5, rel=1e-9)


def test_the_order_of_the_readings_does_not_matter() -> None:
    a, b = plain("mass", 10.0, 2.0), plain("grip.loose", 1.0, 0.2)
    readings = [read(a, 13.0, 1.0), read(b, 0.9, 0.1), read(a, 12.0, 0.5)]
    forth = {one.figure.name: one.after for one in combine(readings).learned}
    back = {one.figure.name: one.after for one in combine(readings[::-1]).learned}
    assert forth.keys() == back.keys()
    for name, after in forth.items():
        assert back[name] == pytest.approx(after, rel=1e-9)


def test_a_reading_far_from_the_catalog_is_named_and_still_weighed() -> None:
    """10 +- 0.2 against 11.5 +- 0.3: 4.2 standard uncertainties apart."""
    figure = plain("mass", 10.0, 0.2)
    combined = combine([read(figure, 11.5, 0.3)])
    (judged,) = combined.judged
    assert judged.outlying
    assert judged.off == pytest.approx(1.5 / np.hypot(0.2, 0.3), rel=1e-9)
    assert combined.learned[0].after[0] == pytest.approx(10.0 + 1.5 * 0.04 / 0.13, rel=1e-9)


def test_no_mean_leaves_what_a_catalog_may_say() -> None:
    """However sure a wrong reading claims to be."""
    accepted = quantity_of_figure(FAMILIES["tires"], "rolling_coefficient")
    assert accepted is not None
    for value in (-3.0, 5.0):
        (learned,) = combine([read(plain("rolling_coefficient", 0.02, 0.004), value, 1e-4)]).learned
        accepted.read(Figure(learned.after[0]))
        assert (learned.after[0] > 0.02) == (value > 0.0)


def test_no_readings_teach_nothing() -> None:
    found = combine([])
    assert (found.judged, found.learned) == ((), ())


def test_two_logs_at_different_pressures_tell_the_pressure_exponent(tmp_path: Path) -> None:
    """One pressure says little about it, two say much; and the truth, not the catalog's assumption, comes out."""
    case, surface = shipped(), "asphalt-dry"
    tire = case.scenario.vehicles[0].baseline.rear.tire
    truth = -0.7
    tires = tuple(
        one.model_copy(update={"pressure_exponent": type(one.rolling_coefficient)(truth)}) for one in case.catalog.tires
    )
    real = replace(case, catalog=replace(case.catalog, tires=tires))
    paths = {}
    for pressure in ("45 kPa", "150 kPa"):
        set_to = {"pressure_front": pressure, "pressure_rear": pressure}
        one = ridden_at(real, tmp_path, set_to)
        rows = coast_down_runs(one, surface, pairs=5, fast=13.0, slow=2.5, noise=0.01, seed=3)
        text = head("coast-down", surface=surface, drive_drag="0 N", **set_to) + rows
        paths[pressure] = write(tmp_path / f"{pressure}.csv", text)

    def exponent(*logs: Path) -> tuple[float, float]:
        learned = learn(case, logs).combined.learned
        return next(
            one.after for one in learned if one.figure.name == "rolling_exponent" and one.figure.part[1] == tire
        )

    alone, both = exponent(paths["45 kPa"]), exponent(*paths.values())
    assert both[1] < 0.8 * alone[1]
    assert abs(both[0] - truth) < NEAR * both[1]
    assert abs(both[0] - truth) < abs(-0.5 - truth)


#: Standard uncertainties between an estimate and the truth of one test: beyond, once in a thousand.
NEAR = 3.3


def ridden_at(case: Case, folder: Path, pressures: dict[str, str]):  # type: ignore[no-untyped-def]
    from configopt.learning.ridden import ridden

    path = write(folder / "at.csv", head("climb", **pressures) + "grade (%),held\n10,yes\n")
    return ridden(read_log(path), case)
