"""Parts that nothing in the catalog can be used with."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from configopt.fit.layers import rim_class
from configopt.fit.rules import mm, tire_width
from configopt.guard.fitting import Fitting
from configopt.guard.looking import Look
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Shelf
from configopt.guard.waivers import Found
from configopt.sizes import parse_tire_size

ORPHAN = Rule(
    "ORPHAN",
    "warning",
    "a part that nothing fits",
    "Something that every package with this part needs is not in the catalog, or is withdrawn: a rim for the tire, "
    "spokes for the hub. The part can never be chosen. Correct the figure that meets the other part, add the partner, "
    "or waive it with the reason. Asked by the rules of fit of the search, without any vehicle.",
    Example("disc-wheels", "studs: 5x120", "studs: 4x110"),
    waivable=True,
)
RULES = (ORPHAN,)

#: What a part needs: a test for whether it does, what is missing in words, and the ids of those that have it.
_Need = tuple[Callable[[Any], bool], Callable[[Any], str], Callable[[Fitting], set[str]]]


def _always(part: Any) -> bool:
    return True


def _seat(part: Any) -> str:
    seen = rim_class(part)
    return f"bead seat {seen.family} {mm(seen.bead_diameter)}, {mm(seen.width)} wide"


def _tire(tire: Any) -> str:
    widths = f"{mm(float(tire.rim_width_min))} to {mm(float(tire.rim_width_max))} wide"
    return f"no rim or disc wheel with bead seat {mm(parse_tire_size(tire.size).rim_diameter)}, {widths}"


def _inner_of(tire: Any) -> str:
    seat = mm(parse_tire_size(tire.size).rim_diameter)
    return f"no inner for bead diameter {seat} and a tire {mm(tire_width(tire))} wide"


_NEEDS: dict[str, tuple[_Need, ...]] = {
    "tires": (
        (_always, _tire, lambda fit: fit.tires_and_rims[0]),
        (_always, _inner_of, lambda fit: fit.tires_and_inners[0]),
    ),
    "rims": (
        (_always, lambda rim: f"no tire for {_seat(rim)}", lambda fit: fit.tires_and_rims[1]),
        (_always, lambda rim: f"no hub of {rim.holes} holes with spokes of its length", lambda fit: fit.laced[0]),
    ),
    "spokes": ((_always, lambda spokes: "no rim and hub that take its lengths and gauge", lambda fit: fit.laced[2]),),
    "hubs": (
        (
            lambda hub: hub.kind == "spoked",
            lambda hub: f"no rim of {hub.holes} holes with spokes of its length and gauge",
            lambda fit: fit.laced[1],
        ),
        (
            lambda hub: hub.kind == "studded",
            lambda hub: f"no disc wheel with studs {hub.studs}",
            lambda fit: fit.hubs_and_discs[0],
        ),
        (
            lambda hub: hub.rotor_pattern is not None,
            lambda hub: f"no rotor with pattern {hub.rotor_pattern}",
            lambda fit: fit.hubs_and_rotors[0],
        ),
    ),
    "disc-wheels": (
        (_always, lambda wheel: f"no hub with studs {wheel.studs}", lambda fit: fit.hubs_and_discs[1]),
        (_always, lambda wheel: f"no tire for {_seat(wheel)}", lambda fit: fit.tires_and_rims[1]),
    ),
    # Whether a caliper takes the rotor is asked by ROTOR-MOUNT.
    "rotors": ((_always, lambda rotor: f"no hub with pattern {rotor.pattern}", lambda fit: fit.hubs_and_rotors[1]),),
    "calipers": (
        (_always, lambda caliper: "no rotor of its diameters and thicknesses", lambda fit: fit.calipers_and_rotors[0]),
        (
            _always,
            lambda caliper: f"no pad of shape {caliper.pad_shape} that its rotors' tracks take",
            lambda fit: fit.calipers_and_pads[0],
        ),
    ),
    "pads": (
        (
            _always,
            lambda pad: f"no caliper for shape {pad.shape} with a track of {mm(float(pad.height))}",
            lambda fit: fit.calipers_and_pads[1],
        ),
    ),
    "inners": (
        (_always, lambda inner: "no tire of its bead diameters and widths", lambda fit: fit.tires_and_inners[1]),
    ),
    "rim-locks": ((_always, lambda lock: "no drilled rim of its widths with a tube", lambda fit: fit.locks),),
}


def orphans(shelf: Shelf) -> Iterator[Found]:
    """Parts that can be had, or are thought of, and fit nothing."""
    fitting = Fitting(shelf.catalog)
    for family, needs in _NEEDS.items():
        for entry in shelf.entries(family):
            if entry.part.status == "withdrawn":
                continue
            lacking = [
                words(entry.part)
                for concerns, words, having in needs
                if concerns(entry.part) and entry.part.id not in having(fitting)
            ]
            if lacking:
                fix = "correct what meets it, add the partner, or state a waiver with the reason"
                yield entry, entry.finding(ORPHAN, (), f"{'; '.join(lacking)} is in the catalog", fix)


#: Looks that rely on what else is in the catalog.
ACROSS: tuple[Look, ...] = (orphans,)
