"""Parts that another one makes needless: by brute force over made-up parts, and one figure at a time."""

from __future__ import annotations

import itertools
import random
from pathlib import Path
from typing import Any

import pytest
from laid import SHIPPED, lay

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.catalog.records import FAMILIES, PriceTier, RimLock
from configopt.files.yaml_source import load_yaml
from configopt.guard.dominated_rules import MERITS, dominators
from configopt.quantities import Figure

#: Figures of a part that say nothing of its use.
APART = {"id", "name", "maker", "supplier", "status", "source", "figure_sources", "note", "waivers"}
#: Terms of trade, which every family is compared by.
TRADE = {"lead_time", "minimum_order", "prices", "one_off_cost"}


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """The shipped catalogs."""
    return load_catalog(SHIPPED)


def test_every_figure_of_every_family_is_compared() -> None:
    for family, merits in MERITS.items():
        named = {name.partition(".")[0] for name in (*merits.alike, *merits.less, *merits.more, *merits.sets)}
        left = set(FAMILIES[family].model_fields) - APART - TRADE - named
        # Load index, maximum load and maximum speed are compared by what follows from them; the compound of a pad is a
        # name for figures that are compared.
        known = {"tires": {"service_description", "maximum_load", "maximum_speed"}, "pads": {"compound"}}
        assert left == known.get(family, set()), family


def _lock(rng: random.Random, number: int) -> RimLock:
    tiers = sorted(rng.sample([1, 20, 100], rng.randint(1, 3)))
    prices = sorted((rng.choice([4.0, 5.0, 6.0]) for _ in tiers), reverse=True)
    return RimLock(
        id=f"lock-{number}",
        name="Lock",
        maker="Maker",
        supplier="Maker",
        status=rng.choice(["active", "active", "active", "last buy", "withdrawn", "concept"]),
        lead_time=Figure(rng.choice([1, 2]) * 86400),
        minimum_order=rng.choice([1, 1, 20]),
        prices=[PriceTier(quantity=q, unit_price=Figure(p)) for q, p in zip(tiers, prices, strict=True)],
        one_off_cost=Figure(rng.choice([0, 0, 50])),
        source="anything",
        rim_width_min=Figure(rng.choice([0.03, 0.04])),
        rim_width_max=Figure(rng.choice([0.05, 0.06])),
        torque=Figure(rng.choice([60, 70])),
        mass=Figure(rng.choice([0.1, 0.12])),
    )


def _cost(part: RimLock, need: int) -> float:
    """Least cost of at least so many pieces."""
    floor = max(need, part.minimum_order, part.prices[0].quantity)
    costs = []
    for bought in range(floor, 301):
        price = [tier.unit_price for tier in part.prices if tier.quantity <= bought][-1]
        costs.append(bought * float(price))
    return part.one_off_cost + min(costs)


def _no_worse(a: RimLock, b: RimLock) -> bool:
    """Whether b is no worse than a, cost asked piece by piece."""
    figures = (
        b.rim_width_min <= a.rim_width_min,
        b.rim_width_max >= a.rim_width_max,
        b.torque >= a.torque,
        b.mass <= a.mass,
        b.lead_time <= a.lead_time,
    )
    return all(figures) and all(_cost(b, need) <= _cost(a, need) + 1e-9 for need in (1, 5, 19, 20, 21, 99, 100, 150))


def test_what_is_called_needless_is_beaten_in_use_and_at_every_quantity() -> None:
    rng = random.Random(20)
    found = 0
    for _ in range(40):
        parts = [_lock(rng, i) for i in range(30)]
        for worse, better, equal in dominators(parts, MERITS["rim-locks"]):
            found += 1
            assert parts[better].status == "active"
            assert parts[worse].status in ("active", "last buy")
            assert _no_worse(parts[worse], parts[better])
            assert not equal or better < worse
    assert found > 100


def test_parts_that_differ_in_one_figure_are_told_apart_to_the_right_side() -> None:
    rng = random.Random(3)
    for _ in range(50):
        part = _lock(rng, 0).model_copy(update={"status": "active"})
        heavy = part.model_copy(update={"id": "heavy", "mass": Figure(part.mass * 1.01)})
        strong = part.model_copy(update={"id": "strong", "torque": Figure(part.torque + 1)})
        dear = part.model_copy(
            update={
                "prices": [PriceTier(quantity=1, unit_price=Figure(9.0)), *part.prices[part.prices[0].quantity == 1 :]]
            }
        )
        assert list(dominators([part, heavy], MERITS["rim-locks"])) == [(1, 0, False)]
        assert list(dominators([part, strong], MERITS["rim-locks"])) == [(0, 1, False)]
        assert list(dominators([part, part], MERITS["rim-locks"])) == [(1, 0, True)]
        if dear.prices[0].quantity == part.prices[0].quantity:
            assert list(dominators([dear, part], MERITS["rim-locks"])) == [(0, 1, False)]


def test_two_parts_never_make_each_other_needless(catalog: Catalog) -> None:
    for family, merits in MERITS.items():
        parts: list[Any] = [*catalog.family(family), *catalog.family(family)]
        pairs = {(worse, better) for worse, better, _ in dominators(parts, merits)}
        assert not any((b, a) in pairs for a, b in pairs)
        # Everything that can be had stands there twice, so the second one is needless.
        offered = [part for part in catalog.family(family) if part.status == "active"]
        assert len(pairs) == len(offered)


def test_an_interface_that_differs_keeps_both(catalog: Catalog) -> None:
    for family, merits in MERITS.items():
        part = next(part for part in catalog.family(family) if part.status == "active")
        for name in merits.alike:
            old = getattr(part, name)
            other = Figure((old or 0.0) + 0.001) if isinstance(old, Figure) or old is None else None
            if other is not None:
                changed = part.model_copy(update={"id": "other", name: other})
                assert not list(dominators([part, changed], merits)), (family, name)


def test_the_shipped_parts_each_have_something_for_them(catalog: Catalog) -> None:
    found = itertools.chain(*(dominators(list(catalog.family(family)), merits) for family, merits in MERITS.items()))
    assert not list(found)


def test_a_needless_part_is_told_of_in_a_whole_sentence(tmp_path: Path) -> None:
    first, second = (
        {key: value for key, value in entry.items() if key not in ("id", "name")}
        for entry in load_yaml(SHIPPED / "rim-locks.yaml").data["parts"][:2]
    )
    of = "rim-locks:clampwell-latch-185"
    gone = dict.fromkeys(second.keys() - first.keys())
    (same,) = lay(tmp_path, of, {**gone, **first}).here("DOMINATED")
    assert same.message == (
        "clampwell-latch-160 (line 7) has the same figures, costs as much at every quantity and is there as soon"
    )
    (worse,) = lay(tmp_path, of, {**gone, **first, "mass": "0.2 kg"}).here("DOMINATED")
    assert worse.message == (
        "clampwell-latch-160 (line 7) fits wherever this part does, is no worse in any figure, costs no more at any "
        "quantity and is there no later"
    )
