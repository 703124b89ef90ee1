"""Which next test would be worth most: the loss that it is expected to avoid, among the candidates of a short list.

A choice made on uncertain figures may turn out wrong: another candidate would have been better, or a limit is missed.
A test narrows some figures before the choice is made; what that is worth is the expected loss with the choice as it
stands less the expected loss when one may choose again after the test.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from configopt.appraisal.conditions import aims_in, over_conditions
from configopt.appraisal.model import Margin, Outcome
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_record
from configopt.appraisal.parts import Orders
from configopt.appraisal.rows import evaluation_of_rows
from configopt.appraisal.uncertain import FARTHEST, UncertainFigure, uncertain_figures
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.choice.shortlist import Shortlist, shortlist
from configopt.learning.layer import Joint
from configopt.learning.reading import Array
from configopt.scenario.case import Case

#: Draws are 2 to this power.
LOG_DRAWS = 10
SEED = 20_260_102
#: What the test itself is sure to, relative, by kind (common practice, no source).
SURE: dict[str, float] = {
    "coast-down": 0.03,
    "climb": 0.04,
    "brake": 0.04,
    "cooling": 0.08,
    "ground": 0.10,
    "static": 0.05,
    "weighing": 0.005,
}
#: Weight of a missed limit: missing it by 1 % counts as 1 % of the aim; at most so much is counted of one limit.
_MOST_MISSED = 0.5
_SHUFFLES = 8
#: Kinds of figures that are told, at most.
_FIGURES_TOLD = 6
_SOIL = ("soil.exponent", "soil.cohesive_modulus", "soil.frictional_modulus")


@dataclass(frozen=True)
class Worth:
    """What knowing something would be worth: expected loss avoided, and how often another candidate would be taken."""

    kind: str
    """Kind of log, ``weighing``, or ``figure`` for a figure known for certain."""
    about: str
    avoided: float
    """Expected loss avoided [in units of the aim]."""
    switches: float
    """Share of the outcomes of the test after which another candidate is taken [1]."""


@dataclass(frozen=True)
class NextTests:
    """Tests by what they are worth, the best first, and the figures that threaten the choice most."""

    shortlist: Shortlist
    expected_loss: float
    """Of the best candidate against choosing with everything known [in units of the aim]."""
    aim: float
    """Of the best choice."""
    taken: int
    """Number, from 1, of the candidate with the least expected loss as things are known now."""
    tests: tuple[Worth, ...]
    figures: tuple[Worth, ...]
    draws: int

    def to_json(self) -> dict[str, Any]:
        """Part ``next_tests`` of the JSON of learn."""
        return {
            "candidates": [
                {
                    "number": number,
                    "tires": {
                        package["position"]: {"tire": package["tire"], "pressure_kpa": package["pressure_kpa"]}
                        for package in entry.vehicle["packages"]
                    },
                    "aim": entry.aim,
                }
                for number, entry in enumerate(self.shortlist.candidates, 1)
            ],
            "aim": self.aim,
            "least_expected_loss_with": self.taken,
            "expected_loss": self.expected_loss,
            "expected_loss_percent": 100.0 * self.expected_loss / self.aim if self.aim else None,
            "tests": [_worth_json(one, self.aim) for one in self.tests],
            "figures": [_worth_json(one, self.aim) for one in self.figures],
            "draws": self.draws,
            "model": (
                "expected value of sample information by regression over seeded draws of all uncertain figures; a "
                "limit missed by 1 % counts as 1 % of the aim (own rule)"
            ),
            "source": "Strong, Oakley and Brennan, Medical Decision Making 35 (2015) 570-583, from memory",
        }


def _worth_json(one: Worth, aim: float) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "about": one.about,
        "loss_avoided": one.avoided,
        "loss_avoided_percent": 100.0 * one.avoided / aim if aim else None,
        "switches_percent": 100.0 * one.switches,
    }


def next_tests(
    case: Case,
    *,
    joint: Joint | None = None,
    count: int = 5,
    within: float = 0.05,
    time_limit: float | None = None,
    threads: int = 1,
    progress: Callable[[str], None] | None = None,
) -> NextTests | None:
    """Say which test would be worth most before choosing.

    Parameters
    ----------
    case
        Scenario and catalogs, as corrected by the tests so far.
    joint
        What tests have taught of the corrected figures together: what hangs together is drawn together, so that a test
        that was made is not asked for again.
    count, within
        Candidates of the short list, and how far they may lie above the best.
    time_limit
        For the short list [s].
    threads
        Of the solver.
    progress
        Called with a line of text now and then.

    Returns
    -------
    NextTests or None
        None where there are no two candidates between which a test could decide.

    Raises
    ------
    UsageError
        A scenario with several vehicles or with aims in order.
    """
    found = shortlist(case, count=count, within=within, time_limit=time_limit, threads=threads, progress=progress)
    if len(found.candidates) < 2:
        return None
    if progress is not None:
        progress(f"drawing uncertain figures for {len(found.candidates)} candidates")
    model = VehicleModel(case.vehicle, case.catalog)
    appraised = [appraise_record(model, entry.record) for entry in found.candidates]
    figures = _all_figures(appraised)
    values = _draws(figures, joint)
    rates = {name: case.scenario.aims.rates.get(name, 0.0) for name in ("mass", "rolling_loss", "energy", "cost")}
    outcomes = [_outcomes(one, figures, values) for one in appraised]
    loss = np.column_stack([_loss(one, own, rates) for one, own in zip(appraised, outcomes, strict=True)])
    means = loss.mean(axis=0)
    taken = int(means.argmin())
    tests = [
        Worth(kind, about, *_worth(loss, taken, _read(features, kind, number)))
        for number, (kind, about, features) in enumerate(_tests(case, appraised, figures, values, outcomes))
    ]
    alone = [
        Worth("figure", figure.wording, *_worth(loss, taken, values[:, [number]]))
        for number, figure in enumerate(figures)
    ]
    return NextTests(
        found,
        float(means[taken] - loss.min(axis=1).mean()),
        found.candidates[0].aim,
        taken + 1,
        tuple(sorted((one for one in tests if one.avoided > 0.0), key=lambda one: -one.avoided)),
        tuple(sorted((one for one in alone if one.avoided > 0.0), key=lambda one: -one.avoided)[:_FIGURES_TOLD]),
        len(values),
    )


def _all_figures(appraised: Sequence[VehicleAppraisal]) -> list[UncertainFigure]:
    found: dict[tuple[Any, str], UncertainFigure] = {}
    for one in appraised:
        for figure in uncertain_figures(one.model, one.packages):
            found.setdefault((figure.part, figure.name), figure)
    return list(found.values())


def _draws(figures: Sequence[UncertainFigure], joint: Joint | None = None) -> Array:
    """Values of every figure, the same on every machine: a scrambled Sobol sequence with a fixed seed."""
    from scipy.special import ndtri
    from scipy.stats.qmc import Sobol

    drawn = Sobol(len(figures), scramble=True, rng=SEED).random_base2(LOG_DRAWS)
    shares = np.clip(drawn, 1e-6, 1.0 - 1e-6)
    values = np.column_stack([figure.at(shares[:, number]) for number, figure in enumerate(figures)])
    if joint is not None:
        own = {(figure.part, figure.name): number for number, figure in enumerate(figures)}
        pairs = [(own[key], number) for number, key in enumerate(joint.keys) if key in own]
        columns = np.array([column for column, _ in pairs], dtype=np.int64)
        numbers = np.array([number for _, number in pairs], dtype=np.int64)
        z = np.clip(ndtri(shares[:, columns]), -FARTHEST, FARTHEST)
        covariance = joint.covariance[np.ix_(numbers, numbers)]
        size, turned = np.linalg.eigh(covariance)
        values[:, columns] = joint.mean[numbers] + z @ (turned * np.sqrt(np.maximum(size, 0.0))).T
    return values


def _outcomes(one: VehicleAppraisal, figures: Sequence[UncertainFigure], values: Array) -> list[Outcome]:
    """The full model of one candidate with every draw, in each condition of the vehicle."""
    bought, rows = one.outcome.bought, len(values)
    same = Orders(
        np.full(rows, bought.cost[0]), np.full(rows, bought.lead_time[0]), np.full(rows, bought.running_cost[0])
    )
    return [
        evaluation_of_rows(each.model, each.packages, each.drive, figures, values).outcome(same, values=True)
        for each in one.in_all
    ]


def _loss(one: VehicleAppraisal, outcomes: Sequence[Outcome], rates: dict[str, float]) -> Array:
    """The aim with what missed limits count, by draw."""
    whole = outcomes[0] if len(outcomes) == 1 else over_conditions(one.model, outcomes, rates)
    aim = aims_in([whole], rates)[:, 0]
    missed = sum((_missed(margin) for margin in whole.margins), np.zeros_like(aim))
    return np.asarray(aim * (1.0 + missed))


def _missed(margin: Margin) -> Array:
    """By how much a limit is missed, as a share of it."""
    assert margin.value is not None
    required, value = margin.bound.required, np.asarray(margin.value, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = value / required if margin.bound.at_least else required / value
    short = np.where(np.isfinite(ratio), np.clip(1.0 - ratio, 0.0, _MOST_MISSED), _MOST_MISSED)
    return np.where(margin.met, 0.0, short)


def _tests(
    case: Case,
    appraised: Sequence[VehicleAppraisal],
    figures: Sequence[UncertainFigure],
    values: Array,
    outcomes: Sequence[Sequence[Outcome]],
) -> Iterator[tuple[str, str, Array]]:
    """Every test that could be made of the candidates: kind, what is tested, and what it would read by draw."""
    column = {(figure.part, figure.name): values[:, number] for number, figure in enumerate(figures)}
    for number, own in enumerate(outcomes, 1):
        legs = {leg.leg.terrain.name: leg for leg in own[0].legs}
        for terrain in case.vehicle.terrains:
            wheel = legs[terrain.name].wheel
            force = wheel["rolling"] + wheel["soft_ground"] + wheel["roughness"]
            yield "coast-down", f"candidate {number} on {terrain.surface}", force[:, None]
        for margin in own[0].margins:
            name = {"climb_grade": "climb", "deceleration": "brake"}.get(margin.bound.limit.key)
            if name is not None and margin.value is not None:
                yield name, f"candidate {number} on {_surface(case, str(margin.bound.terrain))}", margin.value[:, None]
    for tire in dict.fromkeys(one.packages[p].mount.tire.id for one in appraised for p in POSITIONS):
        for key in ("carcass_share", "carcass_pressure"):
            if (("tires", tire), key) in column:
                yield "static", f"deflection of {tire}", column[("tires", tire), key][:, None]
        if (("tires", tire), "mass") in column:
            yield "weighing", f"mass of {tire}", column[("tires", tire), "mass"][:, None]
    if (None, "convection") in column:
        yield "cooling", "one of the rotors", column[None, "convection"][:, None]
    for surface in dict.fromkeys(terrain.surface for terrain in case.vehicle.terrains):
        if (("surfaces", surface), _SOIL[0]) in column:
            n, cohesive, frictional = (column[("surfaces", surface), name] for name in _SOIL)
            # Two plates at two depths are what the reading of the soil comes from.
            readings = [(cohesive / width + frictional) * depth**n for width in (0.05, 0.10) for depth in (0.01, 0.04)]
            yield "ground", f"plates in {surface}", np.log(np.maximum(np.column_stack(readings), 1e-9))


def _surface(case: Case, terrain: str) -> str:
    return next(one.surface for one in case.vehicle.terrains if one.name == terrain)


def _read(features: Array, kind: str, number: int) -> Array:
    """What a test would read: the true value with the test's own uncertainty."""
    noise = np.random.default_rng([SEED, number]).standard_normal(features.shape)
    scale = SURE[kind] * (np.ones_like(features) if kind == "ground" else np.abs(features))
    return np.asarray(features + scale * noise)


def _worth(loss: Array, taken: int, read: Array) -> tuple[float, float]:
    """Expected loss avoided by choosing after a reading, and how often another candidate is then taken.

    Notes
    -----
    The expected loss of every candidate given the reading is a regression of its loss on the reading (a cubic, for
    several readings their products); what a reading that is shuffled, and so tells nothing, seems to be worth is
    taken off.
    """
    against = loss - loss[:, [taken]]
    basis = _basis(read)
    gained, switches = _gain(against, basis)
    if gained <= 0.0:
        return 0.0, 0.0
    rng = np.random.default_rng(SEED)
    nothing = np.array([_gain(against, basis[rng.permutation(len(basis))])[0] for _ in range(_SHUFFLES)])
    # A worth within what a reading that tells nothing may seem to have is none.
    if gained <= nothing.mean() + 2.0 * nothing.std():
        return 0.0, 0.0
    return float(gained - nothing.mean()), switches


def _gain(against: Array, basis: Array) -> tuple[float, float]:
    answer, *_ = np.linalg.lstsq(basis, against, rcond=None)
    expected = basis @ answer
    return float(-np.minimum(expected.min(axis=1), 0.0).mean()), float((expected.min(axis=1) < -1e-12).mean())


def _basis(read: Array) -> Array:
    spread = read.std(axis=0)
    kept = spread > 0.0
    z = (read[:, kept] - read[:, kept].mean(axis=0)) / spread[kept]
    columns = [np.ones(len(read)), *z.T]
    if z.shape[1] == 1:
        columns += [z[:, 0] ** 2, z[:, 0] ** 3]
    else:
        columns += [z[:, i] * z[:, j] for i in range(z.shape[1]) for j in range(i, z.shape[1])]
    return np.column_stack(columns)
