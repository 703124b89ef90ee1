"""Where figures come from: sources that are old, from the future or unused, and figures that claim to be better."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from configopt.catalog.records import UNCERTAINTY_BY_GRADE, Source
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Shelf
from configopt.guard.waivers import Found
from configopt.quantities import Figure

#: Years after which figures should be looked at again, by grade (own convention): what was measured holds as long as
#: the part is made alike, data sheets are revised, estimates are there to be replaced.
YEARS = {"measured": 6, "data sheet": 4, "estimated": 2}
#: Relative standard uncertainty below which an estimate claims to be as good as a measurement.
SUREST_ESTIMATE = UNCERTAINTY_BY_GRADE["measured"]
#: Figures that decide whether something breaks, bursts or burns.
SAFETY = (
    "service_description",
    "maximum_load",
    "maximum_speed",
    "pressure_max",
    "maximum_pressure",
    "maximum_spoke_tension",
    "tensile_strength",
    "maximum_torque",
    "wear_limit",
    "maximum_temperature",
)

STALE_SOURCE = Rule(
    "STALE-SOURCE",
    "warning",
    "a source that is older than its grade lasts",
    f"Measurements count for {YEARS['measured']} years, data sheets for {YEARS['data sheet']}, estimates for "
    f"{YEARS['estimated']}, up to the newest date in the catalogs or the day of --as-of. Look whether the figures "
    "still hold and date the source anew, or waive it with the reason.",
    Example("sources", 'date: "2019-03-12"', 'date: "2025-03-12"'),
    waivable=True,
)
FUTURE_SOURCE = Rule(
    "FUTURE-SOURCE",
    "warning",
    "a source from after the day of the check",
    "With --as-of, a source that is dated later did not exist on that day: the date is wrong, or that day's catalog "
    "was another one.",
    waivable=True,
)
UNUSED_SOURCE = Rule(
    "UNUSED-SOURCE",
    "note",
    "a source that no figure names",
    "No entry takes a figure from it. Remove it, or name it where its figures are.",
    waivable=True,
)
FIGURE_SOURCE = Rule(
    "FIGURE-SOURCE",
    "warning",
    "a source for a figure that is not stated",
    "figure_sources names a figure that the entry leaves out: the figure was lost, or the line is left over.",
    Example("tires", "figure_sources: {width: weighing-2025}", "figure_sources: {mass: weighing-2025}"),
    waivable=True,
)
SURE_ESTIMATE = Rule(
    "SURE-ESTIMATE",
    "warning",
    "an estimate that claims to be as sure as a measurement",
    f"The figure comes from a source of grade estimated and states a standard uncertainty below {SUREST_ESTIMATE:.0%}, "
    "the default of a measurement. The chances of missing a limit then look better than they are: name the "
    "measurement it comes from, or state what the estimate can know.",
    Example(
        "tires",
        "tread_life: 2600 km +- 20 km\nfigure_sources: {tread_life: parts-estimate}",
        "tread_life: 2600 km +- 500 km\nfigure_sources: {tread_life: parts-estimate}",
    ),
    waivable=True,
)
SAFETY_ESTIMATE = Rule(
    "SAFETY-ESTIMATE",
    "warning",
    "a figure of safety that is only estimated",
    "Loads, speeds, pressures, torques, tensions, strengths, wear limits and temperatures that decide whether a part "
    "holds are the maker's to state. Ask for the data sheet; parts that are only thought of are left out.",
    Example(
        "rims",
        "maximum_load: 210 kg\nfigure_sources: {maximum_load: parts-estimate}",
        "maximum_load: 210 kg\nfigure_sources: {maximum_load: harrowbeck-sheet}",
    ),
    waivable=True,
)
RULES = (STALE_SOURCE, FUTURE_SOURCE, UNUSED_SOURCE, FIGURE_SOURCE, SURE_ESTIMATE, SAFETY_ESTIMATE)


def _anniversary(day: date, years: int) -> date:
    try:
        return day.replace(year=min(day.year + years, 9999))
    except ValueError:  # the 29th of February
        return day.replace(year=min(day.year + years, 9999), day=28)


def dates(shelf: Shelf) -> Iterator[Found]:
    """Sources that are too old, or from after the day of the check."""
    for entry in shelf.entries("sources"):
        source: Source = entry.part
        made, years = date.fromisoformat(source.date), YEARS[source.grade]
        if made > shelf.day:
            message = f"dated {source.date}, the check is as of {shelf.day.isoformat()}"
            yield entry, entry.finding(FUTURE_SOURCE, "date", message, "correct the date")
        elif _anniversary(made, years) < shelf.day:
            message = f"{source.grade} of {source.date} counts for {years} years, it is {shelf.day.isoformat()}"
            yield entry, entry.finding(STALE_SOURCE, "date", message, "look at its figures again and date it anew")


def _parts(shelf: Shelf) -> Iterator[Any]:
    for family in shelf.reading.documents:
        if family != "sources":
            yield from shelf.entries(family)


def unused(shelf: Shelf) -> Iterator[Found]:
    """Sources that nothing names."""
    used = {name for entry in _parts(shelf) for name in (entry.part.source, *entry.part.figure_sources.values())}
    for entry in shelf.entries("sources"):
        if entry.part.id not in used:
            message = f'no figure comes from "{entry.part.id}"'
            yield entry, entry.finding(UNUSED_SOURCE, "id", message, "remove it, or name it where its figures are")


def figures(shelf: Shelf) -> Iterator[Found]:
    """What entries say of their figures' sources."""
    grades = {source.id: source.grade for source in shelf.catalog.sources}
    for entry in _parts(shelf):
        part = entry.part
        for name, source in part.figure_sources.items():
            if getattr(part, name) is None or getattr(part, name) == []:
                message = f"{name} is said to come from {source}, and is not stated"
                yield entry, entry.finding(FIGURE_SOURCE, ("figure_sources", name), message, "state it, or remove it")
        if getattr(part, "status", "active") == "concept":
            continue
        if grades.get(part.source) != "estimated" and "estimated" not in {
            grades.get(source) for source in part.figure_sources.values()
        }:
            continue
        named = {name: part.figure_sources.get(name, part.source) for name in type(part).model_fields}
        guessed = [
            name
            for name, source in named.items()
            if grades.get(source) == "estimated" and getattr(part, name) is not None
        ]
        unsafe = [name for name in guessed if name in SAFETY]
        if unsafe:
            message = f"{' and '.join(unsafe)}: only an estimate ({named[unsafe[0]]})"
            fix = "ask the maker, or state a waiver with the reason"
            yield entry, entry.finding(SAFETY_ESTIMATE, unsafe[0], message, fix)
        for name in guessed:
            value = getattr(part, name)
            known = value.uncertainty if isinstance(value, Figure) else None
            if known is not None and known < SUREST_ESTIMATE * abs(value) * (1 - 1e-9):
                message = f"{name} is an estimate ({named[name]}) and states an uncertainty of {known / abs(value):.1%}"
                yield entry, entry.finding(SURE_ESTIMATE, name, message, f"at least {SUREST_ESTIMATE:.0%}")


LOOKS = (dates, figures)
#: Looks that rely on what else is in the catalog.
ACROSS = (unused,)
