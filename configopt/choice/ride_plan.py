"""What a shortlist goes by: how far choices lie apart, which to show, what each is best at, what rides would settle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import comb
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.packages import Package
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position, Tire
from configopt.scenario.limits import LIMITS

Array = NDArray[np.float64]
Packages = Mapping[Position, Package]
#: Distance between two tires at one end: another tire, and one that differs only in size class or compound.
OTHER_TIRE, SISTER_TIRE = 1.0, 0.5
#: Distance of one step of tread (open, medium, closed), and of another rim (or disc wheel), hub or rotor.
TREAD_STEP, OTHER_PART = 0.3, 0.2
TREADS = ("open", "medium", "closed")
#: Sets of choices among which the one that differs most is looked for one by one.
SETS_AT_MOST = 200_000
#: Aims within this share are equal.
EQUAL = 1e-9
#: Difference of two chances of a miss from which a ride tells two choices apart.
LEAST_CHANCE = 0.05
#: Rows of a plan.
MOST_ROWS = 8
#: Labels of the figures of a vehicle of which the least is the best.
LEAST_FIGURES = {
    "mass_kg": "least mass",
    "rolling_loss_wh_per_km": "least rolling loss",
    "energy_wh_per_km": "least energy",
    "cost": "cheapest",
}
#: Labels of limits of which the most to spare is the best.
MOST_RESERVES = {
    "thrust_reserve": "most reserve of thrust",
    "climb_grade": "most reserve in climbing",
    "ground_pressure": "least pressure against what is allowed",
    "creep_margin": "best hold of the tire on the rim",
    "strike_margin": "most reserve against strikes on the rim",
    "brake_torque_reserve": "most reserve of brake torque",
}


def tire_distance(first: Tire, second: Tire) -> float:
    """How different two tires are [1]: nothing for the same, half where only size class or compound differ.

    Tires of one maker and kind with the same tread and casing count as one line.
    """
    if first.id == second.id:
        return 0.0
    line = [(tire.maker, tire.kind, tire.tread, tire.casing) for tire in (first, second)]
    return SISTER_TIRE if line[0] == line[1] else OTHER_TIRE


def distance(first: Packages, second: Packages) -> float:
    """How different two choices are, tire first [1].

    Notes
    -----
    The sum over front and rear of: the tire (1, or 0.5 where it differs only in size class or compound); 0.3 for each
    step of tread from open over medium to closed; the difference of the pressures over the higher one; and 0.2 each
    for another rim or disc wheel, another hub and another rotor.  Spokes, inner, caliper, pads and final drive do not
    count.  Each term is a metric, so the sum is one.
    """
    total = 0.0
    for position in POSITIONS:
        one, other = first[position], second[position]
        total += tire_distance(one.mount.tire, other.mount.tire)
        total += TREAD_STEP * abs(TREADS.index(one.mount.tire.tread) - TREADS.index(other.mount.tire.tread))
        highest = max(one.pressure, other.pressure)
        total += abs(one.pressure - other.pressure) / highest if highest > 0.0 else 0.0
        total += OTHER_PART * sum(mine != theirs for mine, theirs in zip(_parts(one), _parts(other), strict=True))
    return total


def _parts(package: Package) -> tuple[str | None, ...]:
    wheel, rotor = package.wheel, package.brake.rotor
    rim = wheel.rim if wheel.rim is not None else wheel.disc_wheel
    return (None if rim is None else rim.id, wheel.hub.id, None if rotor is None else rotor.id)


def distances(choices: Sequence[Packages]) -> Array:
    """Distances between all of several choices, (n, n) [1]."""
    found = np.zeros((len(choices), len(choices)))
    for i, j in combinations(range(len(choices)), 2):
        found[i, j] = found[j, i] = distance(choices[i], choices[j])
    return found


def pick(apart: Array, aims: Array, count: int) -> tuple[list[int], bool]:
    """The choices that differ most, the first among them, and whether no other set of as many differs more.

    Parameters
    ----------
    apart : distances, (n, n) [1]
    aims : of the choices, the first the best, (n,)
    count : how many to pick

    Returns
    -------
    list of int, bool
        By rising aim, the first in front.

    Notes
    -----
    A set is the better, the larger its least distance; of equal ones the one with the smaller sum of aims.  Up to
    :data:`SETS_AT_MOST` sets are compared one by one.  Beyond that, the choice that is farthest from all picked ones
    is added until there are enough, of equal ones that with the smaller aim; the least distance is then at least half
    of what any set reaches, because the distance is a metric.

    References
    ----------
    Gonzalez, T. F., Clustering to minimize the maximum intercluster distance, Theoretical Computer Science 38 (1985)
    293-306 (the farthest-first rule); Ravi, Rosenkrantz, Tayi, Heuristic and special case algorithms for dispersion
    problems, Operations Research 42 (1994) 299-310 (its factor of 2); both from memory.
    """
    size = len(aims)
    count = min(count, size)
    exact = comb(size - 1, count - 1) <= SETS_AT_MOST
    picked = [0]
    if exact:
        best: tuple[float, float] | None = None
        for others in combinations(range(1, size), count - 1):
            chosen = np.array([0, *others])
            least = float(apart[np.ix_(chosen, chosen)][np.triu_indices(count, 1)].min(initial=np.inf))
            value = (-round(least, 9), float(aims[chosen].sum()))
            if best is None or value < best:
                best, picked = value, chosen.tolist()
    while len(picked) < count:
        rest = [row for row in range(size) if row not in picked]
        picked.append(min(rest, key=lambda row: (-round(float(apart[row, picked].min()), 9), aims[row], row)))
    return [0, *sorted(picked[1:], key=lambda row: (aims[row], row))], exact


def labels(aims: Sequence[float], vehicles: Sequence[Mapping[str, Any]]) -> list[list[str]]:
    """What each of several choices is strictly best at.

    Parameters
    ----------
    aims : weighted by the scenario's rates
    vehicles : entries of ``vehicles`` of an answer, with how sure their margins are
    """
    columns: dict[str, list[float | None]] = {"best by the aims": [float(aim) for aim in aims]}
    for key, label in LEAST_FIGURES.items():
        columns[label] = [vehicle[key] for vehicle in vehicles]
    columns["lowest risk"] = [risk(vehicle["margins"]) for vehicle in vehicles]
    for key, label in MOST_RESERVES.items():
        ratios = [_least_ratio(vehicle["margins"], key) for vehicle in vehicles]
        columns[label] = [None if ratio is None else -ratio for ratio in ratios]
    found: list[list[str]] = [[] for _ in aims]
    for label, values in columns.items():
        known = [value for value in values if value is not None]
        if len(known) < len(values) or not known:
            continue
        least = min(known)
        near = [row for row, value in enumerate(known) if value <= least + EQUAL * max(abs(least), EQUAL)]
        if len(near) == 1:
            found[near[0]].append(label)
    return found


def risk(margins: Sequence[Mapping[str, Any]]) -> float:
    """The largest chance that a limit is missed [1]."""
    return max((float(row.get("chance_missed") or 0.0) for row in margins), default=0.0)


def _least_ratio(margins: Sequence[Mapping[str, Any]], key: str) -> float | None:
    ratios = [row["ratio"] for row in margins if row["limit"] == key and row["ratio"] is not None]
    return min(ratios, default=None)


def ride_plan(vehicles: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Which pair of choices to ride where, to settle which doubt; what separates most comes first.

    Parameters
    ----------
    vehicles : entries of ``vehicles`` of an answer, in the order of their numbers from 1

    Notes
    -----
    A limit is a doubt where the chances that two choices miss it differ by at least :data:`LEAST_CHANCE`; the energy on
    a terrain always is.  The pair that differs most is ridden.  A row separates by the difference of its chances, or
    by that of its energies over the larger one.
    """
    pairs = list(combinations(range(len(vehicles)), 2))
    if not pairs:
        return []
    rows = [*_limit_rows(vehicles, pairs), *_energy_rows(vehicles, pairs)]
    return sorted(rows, key=lambda row: -float(row["separates"]))[:MOST_ROWS]


def _limit_rows(vehicles: Sequence[Mapping[str, Any]], pairs: Sequence[tuple[int, int]]) -> list[dict[str, Any]]:
    by_scope = [
        {(row["limit"], row["terrain"], row["position"]): row for row in vehicle["margins"]} for vehicle in vehicles
    ]
    rows = []
    for scope in by_scope[0]:
        if not all(scope in margins for margins in by_scope):
            continue
        margins = [found[scope] for found in by_scope]
        chance = [float(row.get("chance_missed") or 0.0) for row in margins]
        first, second = max(pairs, key=lambda pair: abs(chance[pair[0]] - chance[pair[1]]))
        separates = abs(chance[first] - chance[second])
        if separates < LEAST_CHANCE:
            continue
        risky = first if chance[first] > chance[second] else second
        matters = margins[risky].get("matters_most") or []
        hangs = f"; it hangs most on the {matters[0]['figure']}" if matters else ""
        key, terrain, position = scope
        words = LIMITS[key].wording + (f", {position}" if position else "") + (f" on {terrain}" if terrain else "")
        rows.append(
            {
                "about": "limit",
                "limit": key,
                "position": position,
                "first": first + 1,
                "second": second + 1,
                "place": terrain,
                "doubt": words,
                "values": [margins[first]["value"], margins[second]["value"]],
                "required": margins[first]["required"],
                "unit": margins[first]["unit"],
                "separates": separates,
                "why": f"chance of a miss {chance[first]:.0%} against {chance[second]:.0%}".replace("%", " %") + hangs,
            }
        )
    return rows


def _energy_rows(vehicles: Sequence[Mapping[str, Any]], pairs: Sequence[tuple[int, int]]) -> list[dict[str, Any]]:
    rows = []
    for number, terrain in enumerate(vehicles[0]["terrains"]):
        energy = [vehicle["terrains"][number]["energy_wh_per_km"] for vehicle in vehicles]
        known = [pair for pair in pairs if energy[pair[0]] is not None and energy[pair[1]] is not None]
        if not known:
            continue
        first, second = max(known, key=lambda pair: abs(energy[pair[0]] - energy[pair[1]]))
        difference = abs(energy[first] - energy[second])
        # A descent may give energy back, so that the two have opposite signs.
        separates = min(difference / max(abs(energy[first]), abs(energy[second]), 1e-9), 1.0)
        if separates < EQUAL:
            continue
        rows.append(
            {
                "about": "energy",
                "limit": None,
                "position": None,
                "first": first + 1,
                "second": second + 1,
                "place": terrain["name"],
                "doubt": f"energy per kilometre on {terrain['name']}",
                "values": [energy[first], energy[second]],
                "required": None,
                "unit": "Wh/km",
                "separates": separates,
                "why": f"these two differ most there, by {difference:.1f} Wh/km",
            }
        )
    return rows
