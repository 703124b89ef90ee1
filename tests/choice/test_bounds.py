"""Every bound of the optimisation lies below the full model, also at box ends and at the switches of the physics.

Points are packages with axle masses anywhere in a box, not only those that real wheels and brakes give.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from random_cases import BASE_LIMITS, POSITIONS, case_of, few_quick, random_packages, stated, vehicle_with

from configopt.appraisal import ground as on
from configopt.appraisal.forces import LEAST_LOAD
from configopt.appraisal.model import Evaluation, Outcome
from configopt.appraisal.vehicle import REPEATED_STOPS, SLIP_LIMIT, Bound, Leg
from configopt.catalog.records import Position
from configopt.choice import limits as lim
from configopt.choice.audit import Candidates, Choices, PackageList, quantities, row_part
from configopt.choice.boxes import full_box
from configopt.choice.candidates import Instance, aim_constant, aim_term
from configopt.choice.context import CELLS, Box, Context, Nodes, contexts
from configopt.choice.costing import node_costs
from configopt.choice.losses import LegLoss, leg_losses
from configopt.choice.rows import rows as limit_rows
from configopt.choice.terms import Row, Term
from configopt.quantities import Figure
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import Aims, Vehicle

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
#: Points per box; with the boxes and scenarios below more than 1e5 in all. The quick line looks at fewer.
POINTS, QUICK_POINTS, QUICK_BOXES = 6_000, 2_000, slice(0, None, 2)
#: Widths of the boxes as shares of the whole range of masses.
WIDTHS = (1.0, 0.5, 0.25, 0.1, 0.02, 1e-6)
#: Rounding of sums of some thousand newtons or watts, as a share of the size of the quantity.
ROUNDING = 1e-9
#: Limits whose bound is drawn from what choices reach, so that many meet it and many do not.
STATED = tuple(key for key in LIMITS if key not in ("statutory_deceleration", "lead_time"))


#: Limits by which a built wheel alone can be struck out.
WHEEL_LIMITS = ("wheel_load", "hub_torque_margin", "spoke_reserve", "spoke_stress_reserve", "wheel_lateral_stiffness")
#: Variants of a scenario in which a wheel lifts on the grades: distance of the centre of gravity from the rear axle,
#: height.
TIPPING = {"front lifts": (0.3, 1.4), "rear lifts": (1.0, 1.3)}


def vehicle_of(name: str) -> Vehicle:
    """Vehicle of a scenario, or of a variant named ``scenario, variant``."""
    scenario, _, variant = name.partition(", ")
    vehicle = case_of(scenario).vehicle
    if not variant:
        return vehicle
    back, height = TIPPING[variant]
    terrains = [t.model_copy(update={"grade": Figure(0.45)}) if float(t.grade) > 0.0 else t for t in vehicle.terrains]
    return vehicle.model_copy(
        update={"cg_from_rear_axle": Figure(back), "cg_height": Figure(height), "terrains": terrains}
    )


@cache
def scenario_candidates(scenario: str) -> Candidates:
    """Candidates of a scenario with every limit stated at the median of what random choices reach."""
    case = case_of(scenario.partition(", ")[0])
    vehicle = vehicle_of(scenario)
    loose = []
    for key in STATED:
        if key == "lateral_stability" and vehicle.kind != "quad":
            continue
        value = 1e-6 if LIMITS[key].bound == "at_least" else 1e9
        loose.append(stated(key, value))
    aims = Aims.model_construct(mass=Figure(1.0), rolling_loss=Figure(0.2), energy=Figure(0.1), cost=Figure(0.02))
    plain = Candidates(vehicle_with(vehicle, loose), case.catalog, aims)
    rng = np.random.default_rng(7)
    drawn = Choices(
        random_packages(plain.of["front"], 500, rng),
        random_packages(plain.of["rear"], 500, rng),
        rng.integers(len(plain.drives), size=500),
    )
    medians = []
    for margin in plain.outcome(drawn, values=True).margins:
        bound = margin.bound
        if bound.limit.key in STATED:
            assert margin.value is not None
            terrain = None if bound.terrain == REPEATED_STOPS else bound.terrain
            median = float(np.median(margin.value))
            if median > 0.0:
                medians.append(stated(bound.limit.key, median, terrain, bound.position))
    return Candidates(vehicle_with(vehicle, medians), case.catalog, aims)


def some_nodes(candidates: Candidates, rng: np.random.Generator) -> dict[Position, Nodes]:
    """A few hundred footings, wheels and brake sets of each position."""
    nodes = {}
    for position, every in candidates.nodes().items():
        rows = random_packages(candidates.of[position], 150, rng)
        nodes[position] = Nodes(every.candidates, every.tables, *(np.unique(rows[:, layer]) for layer in range(3)))
    return nodes


@dataclass(frozen=True)
class Sample:
    """Bounds over one box and points in it, with the full model at the points."""

    candidates: Candidates
    instance: Instance
    packages: dict[Position, PackageList]
    choices: Choices
    masses: dict[Position, Array]
    evaluation: Evaluation
    outcome: Outcome
    beside: Counter[str]
    """Points beside switches, by kind."""

    def met(self, key: str, terrain: str | None, position: str | None) -> Bools:
        """Whether points meet one limit."""
        return next(
            margin.met
            for margin in self.outcome.margins
            if (margin.bound.limit.key, margin.bound.terrain, margin.bound.position) == (key, terrain, position)
        )

    def at(self, term: Term, position: Position) -> Array:
        """A term at the points."""
        own = self.packages[position]
        return term.at(own.footing, own.rest, own.cell)


def bounds_over(candidates: Candidates, nodes: dict[Position, Nodes], box: Box) -> Instance:
    """All bounds of a box without dropping anything that fails a limit."""
    model, drives = candidates.model, candidates.drives
    made = contexts(model, nodes, box, drives, CELLS)
    assert made is not None
    losses = leg_losses(model, made)
    costs = node_costs(model, {position: made[position].nodes for position in POSITIONS})
    rows, bad = limit_rows(model, made, drives, losses, costs)
    return Instance(
        model=model,
        box=box,
        contexts=made,
        drives=drives,
        allowed={p: np.ones((len(made[p].nodes.footing), CELLS), dtype=bool) for p in POSITIONS},
        rest_low={p: made[p].grid[:, 0] for p in POSITIONS},
        rest_high={p: made[p].grid[:, -1] for p in POSITIONS},
        costs=costs,
        losses=losses,
        rows=tuple(rows),
        bad=tuple(bad),
        weights=candidates.weights,
    )


def drawn_rest(ctx: Context, footing: NDArray[np.int64], rng: np.random.Generator) -> Array:
    """Rest masses over the range of each footing: anywhere, at both ends and beside the borders of cells."""
    low, high = ctx.grid[footing, 0], ctx.grid[footing, -1]
    rest = low + (high - low) * rng.random(len(footing))
    border = ctx.grid[footing, rng.integers(0, ctx.grid.shape[1], size=len(footing))]
    beside = np.clip(border + rng.choice([-1e-9, 0.0, 1e-9], size=len(footing)), low, high)
    return np.where(rng.random(len(footing)) < 0.4, beside, rest)


def package_list(ctx: Context, rows: dict[str, NDArray[np.int64]], rest: Array) -> PackageList:
    """Packages with their rest mass and the cell it lies in."""
    grid = ctx.grid[rows["footing"]]
    width = grid[:, -1] - grid[:, 0]
    share = np.divide(rest - grid[:, 0], width, out=np.zeros_like(rest), where=width > 0.0)
    cell = np.clip((share * CELLS).astype(np.int64), 0, CELLS - 1)
    return PackageList(rows["footing"], rows["wheel"], rows["brake"], np.zeros_like(rest), rest, cell)


def sampled(candidates: Candidates, instance: Instance, count: int, rng: np.random.Generator) -> Sample:
    """Points of a box, some of them moved to the nearest switch of the physics."""
    rows, rest = {}, {}
    for position in POSITIONS:
        nodes = instance.nodes(position)
        rows[position] = {
            "footing": rng.integers(len(nodes.footing), size=count),
            "wheel": rng.integers(len(nodes.wheel), size=count),
            "brake": rng.integers(len(nodes.brake), size=count),
        }
        rest[position] = drawn_rest(instance.contexts[position], rows[position]["footing"], rng)
    drive = rng.integers(len(instance.drives), size=count)

    def evaluated(rest: dict[Position, Array], pick: NDArray[np.int64]) -> tuple[Choices, Evaluation]:
        """The full model at picked points with these rest masses."""
        numbers, masses = {}, []
        for position in POSITIONS:
            nodes, own = instance.nodes(position), {layer: row[pick] for layer, row in rows[position].items()}
            numbers[position] = np.stack(
                [nodes.footing[own["footing"]], nodes.wheel[own["wheel"]], nodes.brake[own["brake"]]], axis=1
            )
            masses.append(nodes.footing_mass[own["footing"]] + rest[position])
        choices = Choices(numbers["front"], numbers["rear"], instance.drives[drive[pick]])
        return choices, candidates.evaluation(choices, (masses[0], masses[1]))

    beside: Counter[str] = Counter()
    for position in POSITIONS:
        rest[position], found = moved_to_switches(instance, position, rows[position]["footing"], rest, evaluated, rng)
        beside += found
    everything = np.arange(count)
    choices, evaluation = evaluated(rest, everything)
    bought = candidates.orders(choices)
    packages = {p: package_list(instance.contexts[p], rows[p], rest[p]) for p in POSITIONS}
    return Sample(
        candidates,
        instance,
        packages,
        choices,
        dict(evaluation.axle_mass),
        evaluation,
        evaluation.outcome(bought, values=False),
        beside,
    )


def switches(evaluation: Evaluation) -> dict[str, Bools]:
    """On which side of each switch of the physics points lie."""
    sides: dict[str, Bools] = {}
    for number, leg in enumerate(evaluation.model.legs):
        ride = evaluation.ride(leg)
        if leg.ground.soft:
            sides[f"slip limit, leg {number}"] = ride.slip >= SLIP_LIMIT * (1.0 - 1e-12)
        for position in POSITIONS:
            if leg.ground.soft:
                sides[f"rigid, leg {number}, {position}"] = ride.rigid[position]
            load = np.maximum(ride.loads[position], LEAST_LOAD)
            for obstacle in leg.ground.obstacles:
                residual = on.residual_obstacle(evaluation.side[position].footings, leg.ground, obstacle, load)
                sides[f"enveloped, leg {number}, {position}, {float(obstacle.height)}"] = residual > 0.0
    return sides


def moved_to_switches(
    instance: Instance,
    position: Position,
    footing: NDArray[np.int64],
    rest: dict[Position, Array],
    evaluated: Callable[[dict[Position, Array], NDArray[np.int64]], tuple[Choices, Evaluation]],
    rng: np.random.Generator,
) -> tuple[Array, Counter[str]]:
    """Rest masses of a position where the first sixth of the points with a switch in their range lies beside it.

    Also how many points lie beside switches, by kind.
    """
    grid = instance.contexts[position].grid
    part = np.arange(len(footing) // 6)

    def sides(own: Array, pick: NDArray[np.int64]) -> dict[str, Bools]:
        return switches(evaluated({p: own if p == position else rest[p][pick] for p in POSITIONS}, pick)[1])

    below, above = (sides(grid[footing[part], column], part) for column in (0, -1))
    crossed = {name: part[side != above[name]] for name, side in below.items() if (side != above[name]).any()}
    result, found = rest[position].copy(), Counter[str]()
    if not crossed:
        return result, found
    # All switches are looked for at once: which of them a point is looked at for, and its side at the low end.
    pick = np.concatenate(list(crossed.values()))
    which = np.repeat(np.arange(len(crossed)), [len(rows) for rows in crossed.values()])
    start = np.concatenate([below[name][rows] for name, rows in crossed.items()])
    low, high = grid[footing[pick], 0], grid[footing[pick], -1]
    for _ in range(44):
        middle = 0.5 * (low + high)
        now = sides(middle, pick)
        same = np.stack([now[name] for name in crossed])[which, np.arange(len(pick))] == start
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    for number, (name, rows) in enumerate(crossed.items()):
        beside = high[which == number] + rng.choice([-1e-9, 0.0, 1e-9], size=len(rows))
        result[rows] = np.clip(beside, grid[footing[rows], 0], grid[footing[rows], -1])
        found[name.split(",")[0]] += len(rows)
    return result, found


def boxes(candidates: Candidates, rng: np.random.Generator) -> list[Box]:
    """Boxes of several widths somewhere in the range of masses."""
    whole = full_box(candidates)
    found = []
    for width in WIDTHS:
        ranges = {}
        for position in POSITIONS:
            low, high = getattr(whole, position)
            size = width * (high - low)
            # Most packages lie in the lighter half.
            start = low + (0.4 * (high - low) - size) * float(rng.random()) if width < 0.4 else low
            ranges[position] = (start, start + size)
        found.append(Box(ranges["front"], ranges["rear"]))
    return found


@cache
def samples(scenario: str, points: int) -> tuple[Sample, ...]:
    """All samples of a scenario with so many points in a box."""
    candidates = scenario_candidates(scenario)
    rng = np.random.default_rng(11)
    found = []
    tips = "," in scenario
    every = boxes(candidates, rng)
    for box in every[:2] if tips else every if points == POINTS else every[QUICK_BOXES]:
        instance = None
        nodes = some_nodes(candidates, rng)
        if contexts(candidates.model, nodes, box, candidates.drives, CELLS) is not None:
            instance = bounds_over(candidates, nodes, box)
        if instance is not None:
            found.append(sampled(candidates, instance, points // 6 if tips else points, rng))
    return tuple(found)


def require_below(bound: Array, truth: Array, what: str) -> None:
    """bound <= truth up to rounding, with the worst point in the message."""
    excess = bound - truth - ROUNDING * (1.0 + np.abs(truth))
    worst = int(np.argmax(excess))
    assert excess[worst] <= 0.0, f"{what}: bound {bound[worst]!r} above {truth[worst]!r} at point {worst}"


def axle_resistance(sample: Sample, leg: Leg, position: Position) -> Array:
    """Resistance of one axle by the full model's pieces [N]."""
    evaluation = sample.evaluation
    loads = evaluation.loads(angle=leg.angle)
    soil = evaluation.on_ground(leg.ground, loads)[position]
    f, n = evaluation.side[position].footings, evaluation.model.wheels(position)
    load = np.maximum(loads[position], LEAST_LOAD)
    total = on.rolling_resistance(f, leg.ground, load, soil, on.coefficient(f, leg.ground))
    total = total + on.soil_resistance(leg.ground, soil, load, follows=position == "rear")
    total = total + evaluation.rough(leg.ground, position, load).resistance
    if leg.ground.obstacles:
        suspension = getattr(evaluation.vehicle, position).suspension
        total = total + on.obstacle_resistance(
            f,
            leg.ground,
            load,
            unsprung_mass=evaluation.unsprung[position],
            damping=float(suspension.damping),
            suspended=not suspension.rigid,
        )
    return n * total


SHIPPED = tuple(BASE_LIMITS)
SCENARIOS = (*SHIPPED, *(f"{SHIPPED[i]}, {variant}" for i, variant in ((0, "front lifts"), (2, "rear lifts"))))
#: Of the quick line: two scenarios as they are, and the one whose rear lifts.
QUICK_SCENARIOS = (*SHIPPED[:2], SCENARIOS[-1])
#: Every test looks at few points quickly and at all of them on the slow line.
OVER_SAMPLES = pytest.mark.parametrize(
    ("scenario", "points"),
    few_quick(
        [(scenario, points) for points in (QUICK_POINTS, POINTS) for scenario in SCENARIOS],
        [(scenario, QUICK_POINTS) for scenario in QUICK_SCENARIOS],
    ),
)


@OVER_SAMPLES
def test_the_separable_bound_of_the_aim_lies_below_the_aim(scenario: str, points: int) -> None:
    for sample in samples(scenario, points):
        require_below(
            aim_bound(sample, sample.instance),
            sample.candidates.weighed(sample.choices, quantities(sample.outcome)),
            "aim",
        )


def aim_bound(sample: Sample, instance: Instance) -> Array:
    """The separable bound of the aim at the points."""
    total = np.full(len(sample.choices), aim_constant(instance))
    for position in POSITIONS:
        term, wheel, brake = aim_term(instance, position)
        own = sample.packages[position]
        total = total + sample.at(term, position) + wheel[own.wheel] + brake[own.brake]
    return total


def place_of(row: Row) -> tuple[str | None, str | None]:
    """Terrain and position of a row's limit."""
    terrain, position = row.name[row.name.rindex("[") + 1 : row.name.rindex("]")].split(",")
    return (None if terrain == "all" else terrain, None if position == "both" else position)


def row_value(sample: Sample, row: Row) -> Array:
    """Left side of a row at the points."""
    total = sum(row_part(row, position, sample.packages[position]) for position in POSITIONS)
    return total + (0.0 if row.drive is None else row.drive[sample.choices.drive])


@OVER_SAMPLES
def test_what_meets_a_limit_satisfies_every_row_of_it(scenario: str, points: int) -> None:
    seen: Counter[str] = Counter()
    for sample in samples(scenario, points):
        for row in sample.instance.rows:
            met = sample.met(row.limit, *place_of(row))
            value = row_value(sample, row)[met]
            if value.size:
                seen[row.limit] += value.size
                worst = float(value.max())
                assert worst <= row.rhs + ROUNDING * max(row.scale, abs(row.rhs)), (
                    f"{row.name}: {worst} above {row.rhs}"
                )
    assert len(seen) > 6


@OVER_SAMPLES
def test_pairs_that_are_forbidden_break_their_limit(scenario: str, points: int) -> None:
    forbidden = 0
    for sample in samples(scenario, points):
        layers = {"drive": sample.choices.drive}
        for position in POSITIONS:
            for layer in ("footing", "wheel", "brake"):
                layers[f"{position} {layer}"] = getattr(sample.packages[position], layer)
        for pairs in sample.instance.bad:
            hit = pairs.forbidden(layers[pairs.left], layers[pairs.right])
            forbidden += int(hit.sum())
            assert not sample.outcome.met[hit].any(), pairs.name
            grouped = np.zeros_like(hit)
            for members, others in pairs.groups():
                grouped |= np.isin(layers[pairs.left], members) & np.isin(layers[pairs.right], others)
            assert np.array_equal(grouped, hit), pairs.name
    assert forbidden > 0


@OVER_SAMPLES
def test_rows_with_a_price_keep_the_aim_bound_below_what_meets_the_limit(scenario: str, points: int) -> None:
    rng = np.random.default_rng(5)
    for sample in samples(scenario, points):
        aim = sample.candidates.weighed(sample.choices, quantities(sample.outcome))
        for number in rng.choice(len(sample.instance.rows), size=min(8, len(sample.instance.rows)), replace=False):
            row = sample.instance.rows[number]
            met = sample.met(row.limit, *place_of(row))
            price = float(rng.uniform(0.01, 1.0)) * 50.0 / row.scale
            bound = aim_bound(sample, sample.instance.priced({row.name: price}))
            if met.any():
                require_below(bound[met], aim[met], f"aim with a price on {row.name}")


@OVER_SAMPLES
def test_the_cells_a_footing_may_use_hold_everything_that_meets_its_own_limits(scenario: str, points: int) -> None:
    used = 0
    for sample in samples(scenario, points):
        for margin in sample.outcome.margins:
            for position in POSITIONS:
                if margin.bound.position in (None, position):
                    value = lim.favourable_value(sample.instance.contexts[position], margin.bound)
                    if value is not None:
                        own = sample.packages[position]
                        can = lim.can_meet(margin.bound, value)[own.footing, own.cell]
                        used += int((~can).sum())
                        assert can[margin.met].all(), f"{margin.bound.limit.key} {margin.bound.terrain} {position}"
    assert used > 0


def local_bounds(sample: Sample, position: Position, keys: tuple[str, ...]) -> tuple[Bound, ...]:
    """Limits of some kinds that concern a position."""
    return tuple(b for b in sample.candidates.model.bounds if b.limit.key in keys and b.position in (None, position))


@OVER_SAMPLES
def test_creep_wheels_and_final_drives_are_dropped_only_where_nothing_can_meet_their_limit(
    scenario: str, points: int
) -> None:
    for sample in samples(scenario, points):
        instance, outcome = sample.instance, sample.outcome
        for position in POSITIONS:
            ctx, own = instance.contexts[position], sample.packages[position]
            local = [m.met for m in outcome.margins if m.bound.position in (None, position)]
            cells = lim.allowed_cells(ctx, instance.drives, Counter())
            assert cells[own.footing, own.cell][np.logical_and.reduce(local)].all()
            for_wheels = np.logical_and.reduce(
                [m.met for m in outcome.margins if m.bound in local_bounds(sample, position, WHEEL_LIMITS)]
            )
            assert lim.allowed_wheels(ctx, instance.drives, Counter())[own.wheel][for_wheels].all()
        fast = sample.met("top_speed", None, None)
        assert np.isin(
            sample.choices.drive[fast], lim.allowed_drives(instance.contexts, instance.drives, Counter())
        ).all()


@OVER_SAMPLES
def test_the_resistance_of_each_axle_lies_between_its_bounds(scenario: str, points: int) -> None:
    for sample in samples(scenario, points):
        for loss in sample.instance.losses:
            for position in POSITIONS:
                truth = axle_resistance(sample, loss.leg, position)
                what = f"{loss.leg.terrain.name} {loss.leg.angle:.3f} {position}"
                require_below(sample.at(loss.resist[position].low, position), truth, f"low {what}")
                require_below(truth, -sample.at(loss.resist[position].minus_high, position), f"high {what}")


@OVER_SAMPLES
def test_the_slip_loss_with_its_growth_lies_below_the_full_model(scenario: str, points: int) -> None:
    for sample in samples(scenario, points):
        for loss, ride in zip(sample.instance.losses, sample.outcome.legs, strict=True):
            if loss.slip is not None:
                require_below(slip_bound(sample, loss), ride.wheel["slip"], f"slip on {loss.leg.terrain.name}")


def slip_bound(sample: Sample, loss: LegLoss) -> Array:
    """Slip loss of a leg with what the other axle adds above its least resistance [N]."""
    other: Position = "rear" if loss.driven == "front" else "front"
    assert loss.slip is not None
    assert loss.slip_growth is not None
    above = np.maximum(axle_resistance(sample, loss.leg, other) - loss.other_least, 0.0)
    return sample.at(loss.slip, loss.driven) + loss.slip_growth[sample.packages[loss.driven].footing] * above


@OVER_SAMPLES
def test_the_line_below_a_staircase_lies_below_it(scenario: str, points: int) -> None:
    for sample in samples(scenario, points):
        for row in sample.instance.rows:
            for name, term in row.terms.items():
                position: Position = "front" if name == "front" else "rear"
                base, slope = term.affine(sample.instance.contexts[position].grid)
                own = sample.packages[position]
                require_below(base[own.footing] + slope[own.footing] * own.rest, sample.at(term, position), row.name)


@pytest.mark.parametrize(
    ("scenarios", "points", "least", "beside"),
    [(QUICK_SCENARIOS, QUICK_POINTS, 10_000, 5), pytest.param(SCENARIOS, POINTS, 100_000, 50, marks=pytest.mark.slow)],
    ids=["quick", "all"],
)
def test_the_samples_are_many_and_reach_every_kind_of_switch(
    scenarios: tuple[str, ...], points: int, least: int, beside: int, capsys: pytest.CaptureFixture[str]
) -> None:
    every = [sample for scenario in scenarios for sample in samples(scenario, points)]
    count, found = (
        sum(len(sample.choices) for sample in every),
        sum((sample.beside for sample in every), Counter[str]()),
    )
    with capsys.disabled():
        print(f"\n{count:,} points; beside switches: {dict(found)}")
    assert count >= least
    for scenario in [one for one in scenarios if one not in SHIPPED]:
        position: Position = "front" if "front" in scenario else "rear"
        assert any(
            (leg.loads[position] <= 0.0).any() for sample in samples(scenario, points) for leg in sample.outcome.legs
        )
    assert all(found[kind] > beside for kind in ("rigid", "enveloped", "slip limit"))
