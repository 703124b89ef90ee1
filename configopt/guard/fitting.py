"""Which parts of a catalog meet a partner at all, family by family.

Parts that meet the others alike are asked for once: the rules of fit are those of the search, taken on one part of each
kind.  Withdrawn parts meet nobody; a part that is only thought of counts as if it could be had.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

import numpy as np

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Caliper, Hub, Rim, Rotor, Tire
from configopt.fit import rules
from configopt.fit.layers import rim_class
from configopt.scenario.records import BrakeCircuit
from configopt.sizes import parse_tire_size

#: Beyond this length [m] there is no wheel to reckon.
LONGEST = 10.0
T = TypeVar("T")
Groups = dict[Hashable, list[Any]]


def _groups(parts: Iterable[T], key: Callable[[T], Hashable]) -> dict[Hashable, list[T]]:
    """Parts that meet the others alike."""
    found: dict[Hashable, list[T]] = {}
    for part in parts:
        found.setdefault(key(part), []).append(part)
    return found


def _meeting(one: Groups, other: Groups, fits: Callable[[Any, Any], bool]) -> tuple[set[str], set[str]]:
    """Ids on both sides that meet at least one of the other side."""
    left: set[Hashable] = set()
    right: set[Hashable] = set()
    for a, first in one.items():
        for b, second in other.items():
            if not (a in left and b in right) and fits(first[0], second[0]):
                left.add(a)
                right.add(b)
    return {part.id for key in left for part in one[key]}, {part.id for key in right for part in other[key]}


@dataclass(frozen=True)
class Fitting:
    """Ids of the parts that meet a partner, by family and what they need."""

    catalog: Catalog

    def offered(self, family: str) -> list[Any]:
        """Parts that are not withdrawn, all as if they could be had."""
        return [
            part.model_copy(update={"status": "active"}) if part.status == "concept" else part
            for part in self.catalog.family(family)
            if part.status != "withdrawn"
        ]

    @cached_property
    def tires_and_rims(self) -> tuple[set[str], set[str]]:
        """Tires with a rim or disc wheel; rims and disc wheels with a tire."""
        tires = _groups(self.offered("tires"), lambda tire: (tire.size, tire.rim_width_min, tire.rim_width_max))
        wheels = _groups([*self.offered("rims"), *self.offered("disc-wheels")], lambda part: part.size)
        return _meeting(tires, wheels, lambda tire, wheel: rules.tire_on_rim(tire, wheel) is None)

    @cached_property
    def tires_and_inners(self) -> tuple[set[str], set[str]]:
        """Tires with an inner; inners with a tire."""
        inners = self.offered("inners")
        # Between two bounds of any inner all tire widths are alike.
        bounds = sorted({float(w) for inner in inners for w in (inner.section_width_min, inner.section_width_max)})

        def key(tire: Tire) -> Hashable:
            width = rules.tire_width(tire)
            place = bisect_left(bounds, width), bisect_right(bounds, width)
            return parse_tire_size(tire.size).rim_diameter, place, tire.tubeless

        found = _groups(self.offered("tires"), key), _groups(inners, lambda inner: inner.id)
        return _meeting(*found, lambda tire, inner: rules.inner_in_tire(inner, tire) is None)

    @cached_property
    def laced(self) -> tuple[set[str], set[str], set[str]]:
        """Rims, hubs and spokes from which a wheel can be laced."""

        def built(hub: Hub) -> Hashable:
            offsets = hub.flange_offset_left, hub.flange_offset_right
            return (hub.holes, hub.flange_diameter_left, hub.flange_diameter_right, *offsets, hub.spoke_hole_diameter)

        hubs = _groups([hub for hub in self.offered("hubs") if hub.kind == "spoked"], built)
        seats: dict[Hashable, list[Rim]] = _groups(
            self.offered("rims"), lambda rim: (rim.holes, rim.effective_diameter)
        )
        all_spokes = self.offered("spokes")
        good_rims: set[Hashable] = set()
        good_hubs: set[Hashable] = set()
        good_spokes: set[str] = set()
        by_holes: dict[int, list[Hashable]] = {}
        for key, rims in seats.items():
            by_holes.setdefault(rims[0].holes, []).append(key)
        for key, (hub, *_) in hubs.items():
            if max(float(hub.flange_offset_left or 0.0), float(hub.flange_offset_right or 0.0)) > LONGEST:
                continue
            # A rim inside the flanges is no wheel, and the spoke length knows none.
            flange = rules.largest_flange(hub)
            drilled = [
                seat
                for seat in by_holes.get(int(hub.holes or 0), [])
                if flange < float(seats[seat][0].effective_diameter) < LONGEST
            ]
            diameters = np.array([float(seats[seat][0].effective_diameter) for seat in drilled])
            lengths: dict[int, list[Any]] = {}
            for spokes in all_spokes if drilled else ():
                if rules.spokes_in_hub(spokes, hub) is not None:
                    continue
                for crossings in spokes.crossings:
                    if rules.crossings_on_hub(crossings, int(hub.holes or 0)) is not None:
                        continue
                    if crossings not in lengths:
                        lengths[crossings] = rules.spoke_lengths(hub, crossings, diameters)
                    left, right = (rules.length_offered(spokes, length) for length in lengths[crossings])
                    able = np.flatnonzero(left & right)
                    if able.size:
                        good_hubs.add(key)
                        good_spokes.add(spokes.id)
                        good_rims.update(drilled[i] for i in able.tolist())
        return (
            {rim.id for key in good_rims for rim in seats[key]},
            {hub.id for key in good_hubs for hub in hubs[key]},
            good_spokes,
        )

    @cached_property
    def hubs_and_discs(self) -> tuple[set[str], set[str]]:
        """Studded hubs with a disc wheel; disc wheels with a hub."""
        hubs = _groups(self.offered("hubs"), lambda hub: (hub.kind, hub.studs))
        discs = _groups(self.offered("disc-wheels"), lambda wheel: wheel.studs)
        return _meeting(hubs, discs, lambda hub, wheel: rules.hub_in_disc_wheel(hub, wheel) is None)

    @cached_property
    def hubs_and_rotors(self) -> tuple[set[str], set[str]]:
        """Hubs with a rotor; rotors with a hub."""
        hubs = _groups(self.offered("hubs"), lambda hub: hub.rotor_pattern)
        rotors = _groups(self.offered("rotors"), lambda rotor: rotor.pattern)
        # The rim's size is not part of this pair: with an endless one only the bolt pattern is left.
        return _meeting(hubs, rotors, lambda hub, rotor: rules.rotor_in_wheel(rotor, hub, math.inf) is None)

    @cached_property
    def _gripping(self) -> tuple[Groups, Groups, Callable[[Any, Any], bool]]:
        def span(caliper: Caliper) -> Hashable:
            diameters = caliper.rotor_diameter_min, caliper.rotor_diameter_max
            return (*diameters, caliper.rotor_thickness_min, caliper.rotor_thickness_max, caliper.pad_shape)

        def seen(rotor: Rotor) -> Hashable:
            return rotor.diameter, rotor.thickness, rotor.track_height

        def fits(caliper: Caliper, rotor: Rotor) -> bool:
            circuit = BrakeCircuit.model_construct(caliper_mounts=[caliper.mount])
            return rules.caliper_on_rotor(caliper, rotor, circuit) is None

        return _groups(self.offered("calipers"), span), _groups(self.offered("rotors"), seen), fits

    @cached_property
    def calipers_and_rotors(self) -> tuple[set[str], set[str]]:
        """Calipers with a rotor; rotors with a caliper."""
        return _meeting(*self._gripping)

    @cached_property
    def calipers_and_pads(self) -> tuple[set[str], set[str]]:
        """Calipers with a pad that their rotors' tracks take; pads with such a caliper."""
        calipers, rotors, fits = self._gripping
        highest: dict[str, Rotor] = {}
        for made in calipers.values():
            able = [group[0] for group in rotors.values() if fits(made[0], group[0])]
            if able:
                best = max(able, key=lambda rotor: float(rotor.track_height))
                highest.update({caliper.id: best for caliper in made})
        pads = _groups(self.offered("pads"), lambda pad: (pad.shape, pad.height))

        def pressed(caliper: Caliper, pad: Any) -> bool:
            rotor = highest.get(caliper.id)
            return rotor is not None and rules.pad_in_caliper(pad, caliper, rotor) is None

        return _meeting(calipers, pads, pressed)

    @cached_property
    def locks(self) -> set[str]:
        """Rim locks with a drilled rim and a tube."""
        rims = _groups(
            [rim for rim in self.offered("rims") if rim.lock_holes], lambda rim: (rim_class(rim).width, rim.lock_holes)
        )
        tubes = [inner for inner in self.offered("inners") if inner.kind == "tube"][:1]

        def holds(lock: Any, rim: Rim) -> bool:
            width, holes = rim_class(rim).width, rim.lock_holes
            return any(
                rules.locks_in_package(lock, 1, tube, rim_width=width, lock_holes=holes) is None for tube in tubes
            )

        return _meeting(_groups(self.offered("rim-locks"), lambda lock: lock.id), rims, holds)[0]
