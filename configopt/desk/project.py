"""The project folder as the page sees it: its scenarios by name, read again when a file changes.

A name that somebody asks for is only ever looked up among the names that the folder has; it never becomes a path.
"""

from __future__ import annotations

import hashlib
import re
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from threading import Lock

from configopt.catalog.records import FAMILIES, Part
from configopt.decisions.decision_file import ENDING as DECISION
from configopt.decisions.decision_file import Decision, load_decision
from configopt.desk.movable import Movable, movable
from configopt.desk.state import State, settings
from configopt.errors import ConfigoptError, FindingsError
from configopt.files.yaml_source import load_yaml, parse_yaml
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord
from configopt.scenario.variants import ENDING as VARIANTS
from configopt.scenario.variants import Planned, Setting
from configopt.sweep.changing import Base, changed

#: Scenarios whose catalogs are kept in memory.
KEPT = 4
#: Characters of a file in which its title is looked for.
HEAD = 4_000
#: Scenarios that are listed.
MOST_LISTED = 500


@dataclass(frozen=True)
class Listed:
    """A scenario of the folder by its name."""

    name: str
    path: Path


@dataclass(frozen=True)
class Opened:
    """A scenario with its catalogs; ``stamp`` tells one reading of its files from another."""

    base: Base
    stamp: str

    @property
    def case(self) -> Case:
        """As its file has it."""
        return self.base.case

    @property
    def families(self) -> Mapping[str, str]:
        """Family of each part by its id."""
        return self.base.families

    @cached_property
    def parts(self) -> Mapping[str, Part]:
        """Parts by id."""
        found = {}
        for family in FAMILIES:
            if family != "surfaces":
                found.update({part.id: part for part in self.case.catalog.family(family)})
        return found

    @cached_property
    def vehicles(self) -> tuple[str, ...]:
        """Names of the vehicles."""
        return tuple(vehicle.name for vehicle in self.case.scenario.vehicles)

    @cached_property
    def _movable(self) -> dict[str, Movable]:
        return {}

    def movable(self, vehicle: str) -> Movable:
        """What can be moved of a vehicle; of the first one where there is none of that name."""
        name = vehicle if vehicle in self.vehicles else self.vehicles[0]
        if name not in self._movable:
            aims = self.case.scenario.aims
            one = next(of for of in self.case.scenario.vehicles if of.name == name)
            surfaces = {surface.id: surface for surface in self.case.catalog.surfaces}
            permits = {
                terrain.name: float(permitted)
                for terrain in one.terrains
                if (permitted := surfaces[terrain.surface].ground_pressure_limit) is not None
            }
            rates = {} if aims.in_order else aims.rates
            self._movable[name] = movable(one, rates, in_order=bool(aims.in_order), permits=permits)
        return self._movable[name]

    def alone(self, vehicle: str) -> Case:
        """The case with one of its vehicles."""
        return self.case.only(vehicle)

    def changed(self, state: State) -> Case:
        """The scenario as a state has it, with one vehicle; prices and what is left out are not in it.

        Raises
        ------
        FindingsError
            Where the scenario cannot be so.
        """
        planned = Planned("desk", settings=tuple(Setting(*row) for row in settings(state, self.movable(state.vehicle))))
        made = changed(self.base, planned).case
        return made.only(state.vehicle)

    def with_goods(self, state: State) -> Case:
        """The same with its prices, without the parts that are left out.

        Raises
        ------
        FindingsError
            Where the scenario cannot be so.
        """
        rows = [*settings(state, self.movable(state.vehicle))]
        rows += [(f"prices.{part}", percent / 100.0) for part, percent in state.prices]
        rows += [(f"withdrawn.{part}", True) for part in state.out]
        made = changed(self.base, Planned("desk", settings=tuple(Setting(*row) for row in rows))).case
        return made.only(state.vehicle)


class Project:
    """The folder that the page was started in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self.scenarios_folder = self.folder / "scenarios"
        self._opened: OrderedDict[str, Opened] = OrderedDict()
        self._lock = Lock()
        self._decisions: dict[Path, tuple[tuple[int, int], Decision | None]] = {}
        self._titles: dict[Path, tuple[tuple[int, int], str]] = {}

    def listed(self) -> dict[str, Listed]:
        """Scenarios by name, in order of name."""
        found = {}
        if self.scenarios_folder.is_dir():
            for path in sorted(self.scenarios_folder.glob("*.yaml"))[:MOST_LISTED]:
                if path.is_file() and sayable(path.stem) and not path.name.endswith((DECISION, VARIANTS)):
                    found[path.stem] = Listed(path.stem, path)
        return found

    def titles(self) -> list[tuple[str, str]]:
        """Names of the scenarios with their titles; no title where a file's beginning does not show one."""
        return [(name, self._title(one.path)) for name, one in self.listed().items()]

    def _title(self, path: Path) -> str:
        """Title in the beginning of a scenario's file, read again when the file changes."""
        try:
            seen = path.stat()
            stamp = seen.st_mtime_ns, seen.st_size
            kept = self._titles.get(path)
            if kept is None or kept[0] != stamp:
                with path.open("rb") as stream:
                    kept = stamp, title_in(stream.read(HEAD).decode("utf-8", errors="replace"))
                self._titles[path] = kept
        except OSError:
            return ""
        return kept[1]

    def stamp(self, name: str) -> str:
        """Stamp of a scenario's files as they are now; empty where the folder has none of that name.

        Raises
        ------
        FindingsError
            If its file cannot be read.
        """
        one = self.listed().get(name)
        return "" if one is None else _stamp_now(one.path)

    def open(self, name: str) -> Opened | None:
        """A scenario by its name, ``None`` where the folder has none of that name.

        Raises
        ------
        FindingsError
            If it, or its catalogs, are wrong.
        """
        one = self.listed().get(name)
        if one is None:
            return None
        with self._lock:
            kept = self._opened.get(name)
            if kept is not None and kept.stamp == stamp_of_case(kept.case):
                self._opened.move_to_end(name)
                return kept
        opened = read_scenario(one.path)
        with self._lock:
            self._opened[name] = opened
            while len(self._opened) > KEPT:
                self._opened.popitem(last=False)
        return opened

    def _decision(self, path: Path) -> Decision | None:
        """A recorded decision, read again when its file changes; ``None`` where it is wrong."""
        try:
            seen = path.stat()
        except OSError:
            return None
        stamp = seen.st_mtime_ns, seen.st_size
        kept = self._decisions.get(path)
        if kept is None or kept[0] != stamp:
            if len(self._decisions) > MOST_LISTED:
                self._decisions.clear()
            try:
                kept = stamp, load_decision(path)
            except (ConfigoptError, OSError):
                kept = stamp, None
            self._decisions[path] = kept
        return kept[1]

    def decisions(self, name: str, vehicle: str) -> dict[str, VehicleChoiceRecord]:
        """Recorded decisions of a scenario for a vehicle, by the name of their file."""
        found: dict[str, VehicleChoiceRecord] = {}
        for path in sorted(self.scenarios_folder.glob(f"*{DECISION}"))[:MOST_LISTED]:
            if not sayable(path.name):
                continue
            decision = self._decision(path)
            if decision is None or decision.choice.scenario != name:
                continue
            for one in decision.record.vehicles:
                if one.name == vehicle:
                    found[path.name.removesuffix(DECISION)] = one
        return found


def sayable(name: str) -> bool:
    """Whether a file's name is text, so that an address can hold it."""
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def title_in(text: str) -> str:
    """The title that the beginning of a scenario states on one line; empty where it does not.

    >>> title_in("# A note\\ntitle: 'Dunes: by night'\\ncurrency: EUR\\n"), title_in("title: >-\\n  folded\\n")
    ('Dunes: by night', '')
    """
    line = re.search(r"^title:.*$", text, re.MULTILINE)
    if line is None:
        return ""
    try:
        data = parse_yaml(line[0], "the title").data
    except FindingsError:
        return ""
    title = data.get("title") if isinstance(data, dict) else None
    return title[:200] if isinstance(title, str) else ""


def read_scenario(path: Path) -> Opened:
    """A scenario with its catalogs, and the stamp of the files that it was read from.

    The stamp is taken before the files are read.  Whatever changes while they are read makes another stamp, so that
    half of an old state and half of a new one is read again and never taken for the new one.

    Raises
    ------
    FindingsError
        If it, or its catalogs, are wrong.
    """
    stamp = _stamp_now(path)
    try:
        opened = Opened(Base.of(path, f"{path.stem} as moved on the page"), stamp)
    except FindingsError:
        # A file that is being written may be wrong for a moment.
        if stamp == _stamp_now(path):
            raise
    else:
        if stamp == stamp_of_case(opened.case):
            return opened
    stamp = _stamp_now(path)
    return Opened(Base.of(path, f"{path.stem} as moved on the page"), stamp)


def file_stamp(path: Path, catalogs: str, corrections: str | None = None) -> str:
    """Changes whenever the scenario's file, one of its catalogs or the corrections over them do.

    Parameters
    ----------
    path
        File of the scenario.
    catalogs, corrections
        Folder of its catalogs and file of its corrections, as the file names them.
    """
    files = [path, *sorted((path.parent / catalogs).glob("*.yaml"))]
    if corrections:
        files.append(path.parent / corrections)
    digest = hashlib.sha256()
    for file in files:
        try:
            seen = file.stat()
        except (OSError, ValueError):
            continue
        digest.update(f"{file.name} {seen.st_mtime_ns} {seen.st_ctime_ns} {seen.st_ino} {seen.st_size}\n".encode())
    return digest.hexdigest()[:16]


def stamp_of_case(case: Case) -> str:
    """Stamp of the files that a scenario was read from, as they are now."""
    return file_stamp(case.path, case.scenario.catalogs, case.scenario.corrections)


def _stamp_now(path: Path) -> str:
    """Stamp of a scenario's files, whether or not they were read."""
    data = load_yaml(path).data
    named = [data.get(key) if isinstance(data, dict) else None for key in ("catalogs", "corrections")]
    # Without a folder the scenario is wrong, and reading it says so.
    catalogs, corrections = (name if isinstance(name, str) else "" for name in named)
    return file_stamp(path, catalogs, corrections)


def words_of(error: FindingsError) -> list[str]:
    """What is wrong, in sentences without places in files that nobody sees.

    Parameters
    ----------
    error
        From applying a state.
    """
    return [f"{one.message}{f'; {one.fix}' if one.fix else ''}" for one in error.findings[:8]]
