"""A variant applied to its scenario: a case of its own, or what is wrong with it, on the lines of the variants file."""

from __future__ import annotations

import copy
import hashlib
import json
import math
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from pydantic_core import PydanticCustomError

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import FAMILIES
from configopt.choice.live import repriced
from configopt.errors import Finding, FindingsError
from configopt.files.validation import validate
from configopt.files.yaml_source import Document, KeyPath, load_yaml
from configopt.quantities import quantity
from configopt.scenario.case import PACKAGE_PARTS, Case, load, reference_findings
from configopt.scenario.limits import LIMITS, near_limit_name
from configopt.scenario.records import Scenario
from configopt.scenario.variants import PARTS, PRICES, WITHDRAWN, Planned, Setting

#: Beginnings of addresses.
EVERY = "every_vehicle"
ROOTS = ("vehicles", EVERY, "aims", "sharing", PRICES, PARTS, WITHDRAWN)


@dataclass(frozen=True)
class Base:
    """What all variants start from: the scenario as its file has it, and its catalogs."""

    case: Case
    data: dict[str, Any]
    variants_path: str

    @cached_property
    def families(self) -> dict[str, str]:
        """Family of each part by its id."""
        return {part.id: family for family in FAMILIES for part in self.case.catalog.family(family)}

    @staticmethod
    def of(scenario: str | Path, variants_path: str) -> Base:
        """Read a scenario and its catalogs.

        Raises
        ------
        FindingsError
            If they are wrong.
        """
        return Base(load(scenario), load_yaml(scenario).data, variants_path)


@dataclass(frozen=True)
class Changed:
    """A variant as a case, and the parts that cannot be bought in it."""

    case: Case
    gone: frozenset[str]
    key: str
    """Fingerprint of everything its answer depends on, but for the choice it is compared with."""


class _Wrong(Exception):
    """A setting that cannot be applied: rule, message, fix."""

    def __init__(self, rule: str, message: str, fix: str = "") -> None:
        super().__init__(message)
        self.rule, self.message, self.fix = rule, message, fix


def changed(base: Base, planned: Planned) -> Changed:
    """Apply a variant.

    Parameters
    ----------
    base
        The scenario with its catalogs.
    planned
        The variant.

    Returns
    -------
    Changed
        Validated as a scenario of its own.

    Raises
    ------
    FindingsError
        With every mistake, on the lines of the variants file.
    """
    if planned.findings:
        raise FindingsError(planned.findings)
    applied = _Applied(copy.deepcopy(base.data), base)
    for setting in planned.settings:
        applied.add(setting)
    applied.drop_limits()
    gone = frozenset(applied.withdrawn)
    _drop_baselines(applied.data, gone)
    positions = {(): (planned.line, planned.column), **applied.positions}
    document = Document(base.variants_path, applied.data, positions, applied.keys)
    # What could be applied is checked as well, so that all mistakes are found at once.
    found = list(applied.findings)
    catalog, scenario = base.case.catalog, base.case.scenario
    try:
        catalog = applied.catalog(planned)
    except FindingsError as error:
        found += error.findings
    try:
        scenario = validate(document, Scenario)
    except FindingsError as error:
        found += error.findings
    else:
        found += reference_findings(document, scenario, catalog)
    if found:
        raise FindingsError(found)
    stated = {
        "program": program(),
        "catalogs": base.case.catalog.sha256,
        "scenario": applied.data,
        "name": base.case.name,
        "withdrawn": sorted(gone),
        "prices": dict(sorted(applied.prices.items())),
        "parts": {part: dict(sorted(figures.items())) for part, figures in sorted(applied.parts.items())},
    }
    key = hashlib.sha256(json.dumps(stated, sort_keys=True).encode()).hexdigest()
    return Changed(replace(base.case, scenario=scenario, catalog=catalog), gone, key)


class _Applied:
    """The scenario's data while settings are applied, with where each of them stands."""

    def __init__(self, data: dict[str, Any], base: Base) -> None:
        self.data, self.base = data, base
        self.positions: dict[KeyPath, tuple[int, int]] = {}
        self.keys: dict[KeyPath, tuple[int, int]] = {}
        """Where the last field below a path was dropped: there it is said if that field is required."""
        self.findings: list[Finding] = []
        self.withdrawn: set[str] = set()
        self.prices: dict[str, float] = {}
        self.parts: dict[str, dict[str, Any]] = {}
        self.part_positions: dict[tuple[str, str], tuple[int, int]] = {}
        self.dropped: set[tuple[int, int]] = set()
        """Limits that are left out in the end: number of the vehicle, and in its list."""

    def add(self, setting: Setting) -> None:
        """Apply one setting, or note what is wrong with it."""
        try:
            self._add(setting)
        except _Wrong as wrong:
            self.findings.append(
                Finding(
                    self.base.variants_path,
                    setting.line,
                    setting.column,
                    wrong.rule,
                    "error",
                    wrong.message,
                    wrong.fix,
                )
            )

    def _add(self, setting: Setting) -> None:
        steps = setting.field.split(".")
        if steps[0] not in ROOTS or len(steps) < 2 or not all(steps):
            near = get_close_matches(steps[0], ROOTS, n=1)
            fix = f'did you mean "{near[0]}"?' if near and steps[0] not in ROOTS else "for example aims.mass"
            message = f'"{setting.field[:100]}" is no field: it begins with one of {", ".join(ROOTS)}, then a dot'
            raise _Wrong("FIELD", message, fix)
        if steps[0] in (PRICES, PARTS, WITHDRAWN):
            self._part(steps, setting)
            return
        vehicles = self.data["vehicles"]
        if steps[0] == EVERY:
            for number in range(len(vehicles)):
                self._vehicle(number, steps[1:], setting)
        elif steps[0] == "vehicles":
            number = _member(vehicles, steps[1], "vehicle")
            self._vehicle(number, steps[2:], setting)
        else:
            self._set((), steps, setting)

    def _vehicle(self, number: int, steps: list[str], setting: Setting) -> None:
        at: KeyPath = ("vehicles", number)
        if not steps or steps == ["name"]:
            raise _Wrong("FIELD", "name a field of the vehicle", "for example battery_energy")
        if steps in (["limits"], ["terrains"]):
            raise _Wrong("FIELD", f"{steps[0]} are set and dropped one by one", f"name one: {steps[0]}.NAME")
        if steps[0] == "limits":
            self._limit(number, steps[1:], setting)
        elif steps == ["terrain_mix"]:
            self._mix(number, setting)
        else:
            self._set(at, steps, setting)

    def _set(self, at: KeyPath, steps: list[str], setting: Setting) -> None:
        """Set a field below a path; what is not known there is found by the scenario's schema."""
        node: Any = self.data
        for step in at:
            node = node[step]
        path = at
        for step in steps[:-1]:
            if isinstance(node, list):
                index = _member(node, step, str(path[-1]).removesuffix("s"))
                path, node = (*path, index), node[index]
                continue
            if not isinstance(node, dict):
                raise _Wrong("FIELD", f'"{path[-1]}" has no fields of its own', "correct the address")
            if node.get(step) is None:
                node[step] = {}
                self.positions[(*path, step)] = setting.line, setting.column
            path, node = (*path, step), node[step]
        last = steps[-1]
        if not isinstance(node, dict):
            raise _Wrong("FIELD", f'"{last}" is no field here', "name one figure of one entry")
        if setting.value is None:
            if last not in node:
                near = get_close_matches(last, node, n=1)
                raise _Wrong("FIELD", f'"{last}" is not stated here', f'did you mean "{near[0]}"?' if near else "")
            del node[last]
            self.keys[path] = setting.line, setting.column
        else:
            node[last] = copy.deepcopy(setting.value)
        self.positions[(*path, last)] = setting.line, setting.column

    def _limit(self, number: int, steps: list[str], setting: Setting) -> None:
        """Set, add or drop the bound of a limit, addressed by its name and where it holds."""
        key, scopes = steps[0], steps[1:]
        if key not in LIMITS:
            raise _Wrong("FIELD", f'unknown limit "{key[:60]}"{near_limit_name(key)}', "correct the name")
        wanted: dict[str, Any] = {"limit": key}
        for scope in scopes:
            wanted["position" if scope in ("front", "rear") else "terrain"] = scope
        if len(wanted) != len(scopes) + 1:
            raise _Wrong("FIELD", f"a limit holds on one terrain and at one end, found {'.'.join(scopes)}", "name one")
        limits = self.data["vehicles"][number].setdefault("limits", [])
        place = next(
            (
                n
                for n, stated in enumerate(limits)
                if all(stated.get(of) == wanted.get(of) for of in ("limit", "terrain", "position"))
            ),
            None,
        )
        at: KeyPath = ("vehicles", number, "limits", len(limits) if place is None else place)
        if setting.value is None:
            if place is None:
                raise _Wrong("FIELD", f"no limit {'.'.join(steps)} is stated that could be dropped", "remove it here")
            self.dropped.add((number, place))
            return
        if place is None:
            limits.append(wanted)
        # Of two settings of one limit, one of them by every_vehicle, the last one counts.
        self.dropped.discard((number, int(at[-1])))
        self.positions[at] = setting.line, setting.column
        bound = LIMITS[key].bound
        limits[at[-1]][bound] = setting.value
        self.positions[(*at, bound)] = setting.line, setting.column

    def drop_limits(self) -> None:
        """Take dropped limits out of their lists, last first; what follows moves up, and its place with it."""
        for number, index in sorted(self.dropped, reverse=True):
            at: KeyPath = ("vehicles", number, "limits")
            del self.data["vehicles"][number]["limits"][index]
            moved: dict[KeyPath, tuple[int, int]] = {}
            for path, place in self.positions.items():
                if path[:3] == at and len(path) > 3:
                    if int(path[3]) == index:
                        continue
                    path = (*at, int(path[3]) - (int(path[3]) > index), *path[4:])
                moved[path] = place
            self.positions = moved

    def _mix(self, number: int, setting: Setting) -> None:
        """Set shares of some terrains; the others keep their proportions, and all sum to 1."""
        terrains = self.data["vehicles"][number]["terrains"]
        if not isinstance(setting.value, dict) or not setting.value:
            raise _Wrong("TYPE", "terrain_mix names terrains with their shares", "write {gravel-track: 70 %}")
        stated = {}
        for name, share in setting.value.items():
            index = _member(terrains, name, "terrain")
            stated[index] = _share(name, share)
        given, others = sum(stated.values()), [n for n in range(len(terrains)) if n not in stated]
        rest = 1.0 - given
        if others and rest <= 0.0:
            names = ", ".join(str(terrains[n].get("name", n + 1)) for n in others)
            raise _Wrong("VALUE", f"the shares come to {given:.6g} and leave nothing for {names}", "lower the shares")
        if not others and abs(rest) > 1e-6:
            raise _Wrong("VALUE", f"the shares of all terrains sum to {given:.6g}; they must sum to 1", "correct them")
        before = {n: _share(str(terrains[n].get("name", n + 1)), terrains[n].get("share")) for n in others}
        total = sum(before.values())
        shares = {**stated, **{n: rest * share / total for n, share in before.items()}}
        for index, share in shares.items():
            terrains[index]["share"] = share
            self.positions["vehicles", number, "terrains", index, "share"] = setting.line, setting.column

    def _part(self, steps: list[str], setting: Setting) -> None:
        """Note what a setting says of a part."""
        kind, part = steps[0], steps[1]
        if part not in self.base.families:
            near = get_close_matches(part, self.base.families, n=1)
            fix = f'did you mean "{near[0]}"?' if near else "see configopt parts"
            raise _Wrong("REFERENCE", f'there is no part "{part[:60]}" in these catalogs', fix)
        surface = self.base.families[part] == "surfaces"
        if kind == PARTS:
            if len(steps) != 3 or steps[2] == "id":
                raise _Wrong("FIELD", "name one figure of the part", f"for example parts.{part}.mass")
            self.parts.setdefault(part, {})[steps[2]] = setting.value
            self.part_positions[part, steps[2]] = setting.line, setting.column
            return
        if len(steps) != 2 or surface:
            what = "a surface is not bought" if surface else "a part has no fields here"
            raise _Wrong("FIELD", what, f"write {kind}.PART")
        if kind == WITHDRAWN:
            if setting.value is not True:
                raise _Wrong("TYPE", "a part is withdrawn or not", "write true, or leave it out")
            self.withdrawn.add(part)
            return
        factor = setting.value
        if isinstance(factor, bool) or not isinstance(factor, int | float) or not 0.0 < factor <= 1000.0:
            raise _Wrong(
                "RANGE", f"found {factor!r}, allowed is a factor on the price above 0", "write 1.2 for 20 % more"
            )
        self.prices[part] = float(factor)

    def catalog(self, planned: Planned) -> Catalog:
        """The catalogs with the figures and prices that differ, without the parts that are gone."""
        base = self.base.case.catalog
        found = base
        for part, figures in self.parts.items():
            family = self.base.families[part]
            number = next(n for n, one in enumerate(found.family(family)) if one.id == part)
            entry = {**base.family(family)[number].model_dump(mode="json", exclude_unset=True, by_alias=True)}
            for figure, value in figures.items():
                if value is None:
                    entry.pop(figure, None)
                else:
                    entry[figure] = value
            places: dict[KeyPath, tuple[int, int]] = {(): (planned.line, planned.column)}
            places.update({(f,): self.part_positions[part, f] for f in figures})
            record = validate(Document(self.base.variants_path, entry, places), FAMILIES[family])
            found = found.with_parts({family: {number: record}})  # type: ignore[dict-item]
        found = repriced(found, self.prices)
        out: dict[str, set[str]] = {}
        for part in self.withdrawn:
            out.setdefault(self.base.families[part], set()).add(part)
        for family, gone in out.items():
            found = found.subset({family: [one.id for one in found.family(family) if one.id not in gone]})
        return found


def _member(entries: list[Any], name: str, what: str) -> int:
    """Number of the entry of a list with a name or id."""
    names = [str(entry.get("name", entry.get("id"))) if isinstance(entry, dict) else "" for entry in entries]
    if name not in names:
        near = get_close_matches(name, names, n=1)
        fix = f'did you mean "{near[0]}"?' if near else f"there are {', '.join(names)}" if any(names) else ""
        raise _Wrong("REFERENCE", f'there is no {what} "{name[:60]}"', fix)
    return names.index(name)


def _share(name: str, written: Any) -> float:
    try:
        share = float(quantity("ratio").read(written))
    except PydanticCustomError as error:
        raise _Wrong("QUANTITY", f"the share of {name} is no share: {error}", "write for example 40 %") from None
    if not (math.isfinite(share) and 0.0 < share <= 1.0):
        raise _Wrong("RANGE", f"the share of {name} is {share:.6g}, allowed is above 0 and at most 1", "correct it")
    return share


def _drop_baselines(data: dict[str, Any], gone: frozenset[str]) -> None:
    """Leave out today's packages of vehicles that use a part which is gone: they cannot be built any more."""
    for vehicle in data["vehicles"]:
        stated = vehicle.get("baseline")
        if isinstance(stated, dict):
            ends = [end for end in (stated.get("front"), stated.get("rear")) if isinstance(end, dict)]
            if any(str(end.get(part)) in gone for end in ends for part in PACKAGE_PARTS):
                del vehicle["baseline"]


@cache
def program() -> str:
    """Fingerprint of this program: its version, and every line of it."""
    root = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()
