"""What kinds of test logs there are: the columns of each with their dimensions, and what their heads say."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from configopt.quantities import DIMENSIONS

Content = Literal["number", "text", "yes or no"]


@dataclass(frozen=True)
class Column:
    """One column of a log: name, dimension of its figures (empty for text), what it is for, whether it must stand."""

    name: str
    dimension: str
    wording: str
    required: bool = False
    content: Content = "number"
    usual: str = ""
    """Unit in which it is mostly written; by default the first of the dimension."""
    low: float | None = None
    """Least value that can be true [SI]; nothing below is taken."""
    high: float | None = None
    """Greatest value that can be true [SI]."""

    @property
    def unit(self) -> str:
        """Unit for examples; empty for texts and plain numbers."""
        return self.usual or (DIMENSIONS[self.dimension].unit_names[0] if self.dimension else "")


@dataclass(frozen=True)
class Kind:
    """One kind of log."""

    name: str
    wording: str
    columns: tuple[Column, ...]
    #: Keys of the head beyond the common ones: name, dimension (empty for text), meaning.
    head: tuple[Column, ...] = ()
    one_of: tuple[tuple[str, ...], ...] = field(default=())
    """Sets of columns of which at least one must be there whole."""


def _number(
    name: str,
    dimension: str,
    wording: str,
    *,
    required: bool = False,
    usual: str = "",
    low: float | None = None,
    high: float | None = None,
) -> Column:
    return Column(name, dimension, wording, required, usual=usual, low=low, high=high)


def _text(name: str, wording: str, *, required: bool = False) -> Column:
    return Column(name, "", wording, required, "text")


def _flag(name: str, wording: str, *, required: bool = False) -> Column:
    return Column(name, "", wording, required, "yes or no")


_RUN = _text("run", "number of the run; runs out and back over one stretch share it", required=True)
#: Parts of a package that a head may state instead of those that were ridden otherwise, each with _front or _rear.
PACKAGE_KEYS = (
    "tire", "pressure", "inner", "rim_lock", "rim_locks", "rim", "spokes", "crossings", "disc_wheel", "hub", "rotor",
    "caliper", "pad",
)  # fmt: skip
#: What every head may say.
HEAD: tuple[Column, ...] = (
    _text("kind", "which kind of log this is", required=True),
    _text("when", "day of the test, YYYY-MM-DD", required=True),
    _text("who", "who rode or measured"),
    _text("place", "where"),
    _text("note", "anything else"),
    _text("vehicle", "name of the vehicle in the scenario; by default its first"),
    _text("ridden", "a choice or decision file, relative to the log, with what was mounted; by default the baseline"),
    _text("final_drive", "final drive that was mounted, where it is another one"),
    _text("surface", "surface under the wheels, an id of the catalog"),
    _number("rider_mass", "mass", "rider with gear, where it is another than the scenario's", low=1.0, high=1000.0),
    _number("cargo_mass", "mass", "cargo, where it is another than the scenario's"),
    _number("temperature", "temperature", "of the air, where it is another than the scenario's"),
    _number("altitude", "length", "of the place, where it is another than the scenario's", usual="m"),
)
KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            "coast-down",
            "speed over time while the vehicle rolls out by itself, out and back",
            (
                _number("time", "time", "within the run or through the day", required=True),
                _number("speed", "speed", "over ground", required=True),
                _RUN,
                _text("way", "out or back", required=True),
            ),
            (
                _number("wind", "speed", "measured wind along the stretch"),
                _number("drive_drag", "force", "drag of motor and chain at the wheel while rolling out"),
            ),
        ),
        Kind(
            "climb",
            "attempts on grades of known steepness, held or lost for want of grip",
            (
                _number("grade", "ratio", "of the attempt", required=True, usual="%", low=0.001, high=1.5),
                _flag("held", "yes where the vehicle climbed, no where the wheel lost its grip", required=True),
                _number("slip", "ratio", "of the driven wheel, where it was measured", usual="%", low=0.0, high=0.95),
            ),
        ),
        Kind(
            "brake",
            "hardest stops on the level, both brakes",
            (
                _number("deceleration", "acceleration", "mean of the stop", required=True, low=0.1, high=20.0),
                _text("ended by", "what ended it: grip, brake or lift (rear wheel)", required=True),
                _number(
                    "pressure",
                    "pressure",
                    "in both brake lines; needed where the brake ended the stop",
                    low=1e4,
                    high=5e7,
                ),
            ),
        ),
        Kind(
            "cooling",
            "temperature of a rotor over time with the brake released",
            (
                _number("time", "time", "within the run", required=True),
                _number("temperature", "temperature", "of the rotor's track", required=True, low=200.0, high=1500.0),
                _number("speed", "speed", "of the vehicle", required=True),
                _text("run", "number of the run", required=True),
            ),
            (
                _text("position", "front or rear", required=True),
                _number(
                    "rotor_thickness",
                    "length",
                    "of the track, where it is worn; by default as new",
                    low=5e-4,
                    high=0.05,
                ),
            ),
        ),
        Kind(
            "ground",
            "what the soil carries: plate and cone readings, depth of the rut",
            (
                _number("plate width", "length", "smaller side or diameter of the plate", low=0.005, high=2.0),
                _number("plate pressure", "pressure", "under the plate", low=10.0, high=1e7),
                _number("plate sinkage", "length", "at that pressure", low=1e-5, high=2.0),
                _number("cone index", "pressure", "of a 30 degree cone", low=100.0, high=5e7),
                _number("rut depth", "length", "after one pass of the vehicle"),
            ),
            one_of=(("plate width", "plate pressure", "plate sinkage"), ("cone index",), ("rut depth",)),
        ),
        Kind(
            "static",
            "what stands on the scales and in the stand: masses, deflection, spoke tension",
            (
                _text("part", "id of the part that was weighed or loaded", required=True),
                _number("mass", "mass", "of one piece", low=1e-3, high=200.0),
                _number("load", "mass", "on the wheel, as the scales show it", usual="kg", low=0.5, high=2000.0),
                _number("pressure", "pressure", "in the tire"),
                _number("deflection", "length", "of the tire under the load", low=1e-4, high=0.3),
                _number("rim width", "length", "on which the tire sat; by default its measuring rim"),
                _number("tension", "force", "of one spoke; the part is the spoke's id"),
            ),
            one_of=(("mass",), ("load", "pressure", "deflection"), ("tension",)),
        ),
        Kind(
            "energy",
            "energy from the battery over distance at a steady speed",
            (
                _number(
                    "distance", "length", "of the stretch, out and back counted", required=True, usual="km", low=1.0
                ),
                _number("energy", "energy", "from the battery", required=True, low=1.0, high=1e9),
                _number("speed", "speed", "mean", required=True, low=0.1),
            ),
            (
                _number(
                    "grade",
                    "ratio",
                    "mean grade, half up and half down; by default level",
                    usual="%",
                    low=0.0,
                    high=0.6,
                ),
            ),
        ),
        Kind(
            "tread",
            "depth of the tread over distance",
            (
                _text("part", "id of the tire", required=True),
                _number("distance", "length", "since the tire was new", required=True, usual="km"),
                _number("tread depth", "length", "mean over the tread", required=True),
            ),
            (
                _number(
                    "worn_depth", "length", "depth at which the tire counts as worn; by default 30 % of the new one"
                ),
            ),
        ),
    )
}
