"""Keeping a state as a file for review: a scenario, a variant or a decision.  Nothing is replaced without asking."""

from __future__ import annotations

import copy
import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from configopt.choice.result import Choice
from configopt.decisions.decision_file import ENDING as DECISION
from configopt.decisions.decision_file import decision_text
from configopt.decisions.records import DecisionRecord
from configopt.desk.project import Opened
from configopt.desk.state import State, settings
from configopt.errors import UsageError
from configopt.files.reading import read_start
from configopt.files.validation import validate
from configopt.files.writing import write_whole
from configopt.files.yaml_source import parse_yaml
from configopt.files.yaml_text import yaml_text
from configopt.scenario.case import reference_findings
from configopt.scenario.records import Scenario
from configopt.scenario.variants import ENDING as VARIANTS
from configopt.scenario.variants import read_variants

Kind = Literal["scenario", "variant", "decision"]
ENDINGS: Mapping[str, str] = {"scenario": ".yaml", "variant": VARIANTS, "decision": DECISION}
#: Longest name of a file without its ending, and longest file that is shown before it is replaced [bytes].
MOST_NAME, MOST_SHOWN = 60, 200_000


@dataclass(frozen=True)
class Target:
    """A file that is to be written; ``there`` is what it holds now, ``None`` where there is none."""

    path: Path
    there: str | None

    @property
    def stamp(self) -> str:
        """Changes with what the file holds; empty where there is none."""
        return "" if self.there is None else hashlib.sha256(self.there.encode()).hexdigest()[:24]


def file_name(text: str) -> str:
    """A name for a file from whatever was typed; empty where nothing is left.

    >>> file_name("Wet autumn, 2nd try"), file_name("../../etc/passwd"), file_name("…")
    ('wet-autumn-2nd-try', 'etc-passwd', '')
    """
    return re.sub(r"[^a-z0-9]+", "-", text[:400].lower()).strip("-")[:MOST_NAME].strip("-")


def target(folder: Path, kind: str, name: str) -> Target:
    """The file of a name in the folder of scenarios.

    Raises
    ------
    UsageError
        If the name is none, or what stands there is no plain file that may be replaced.
    """
    slug = file_name(name)
    if not slug:
        raise UsageError("give it a name of letters and digits, such as wet-autumn")
    if not folder.is_dir():
        raise UsageError("this project has no folder scenarios to write into")
    path = folder / f"{slug}{ENDINGS[kind]}"
    if path.is_symlink() or (path.exists() and not path.is_file()):
        raise UsageError(f"{path.name} is there and is no plain file; take another name")
    if not path.exists():
        return Target(path, None)
    content = read_start(path, MOST_SHOWN + 1)
    if len(content) > MOST_SHOWN:
        raise UsageError(f"{path.name} is there and too long to be shown before it is replaced; take another name")
    return Target(path, content.decode("utf-8", errors="replace"))


def write(to: Target, text: str, *, replace: str) -> None:
    """Write a file.

    Parameters
    ----------
    to
        Where.
    text
        What.
    replace
        Stamp of what may be replaced, as the form had it.

    Raises
    ------
    UsageError
        If a file is there and the form did not say that this very content may be replaced.
    """
    if to.there is not None and replace != to.stamp:
        raise UsageError(f"{to.path.name} is there already")
    write_whole(to.path, text)


def scenario_text(opened: Opened, state: State, title: str) -> str:
    """The scenario as a state has it, as a file.

    Raises
    ------
    UsageError
        Where a state holds what a scenario cannot say.
    """
    if state.prices or state.out or state.holds or state.pressures:
        raise UsageError(
            "a scenario cannot say that parts are left out or held, or that prices or pressures differ: let go of "
            "them, or keep a variant"
        )
    data = copy.deepcopy(opened.base.data)
    for address, value in settings(state, opened.movable(state.vehicle)):
        _set(data, address.split("."), value)
    if title.strip():
        data["title"] = " ".join(title.split())[:200]
    text = (
        f"# Made on the page of configopt from {opened.case.path.name}, whose comments are not in it.\n"
        f"{yaml_text(data)}"
    )
    document = parse_yaml(text, "the new scenario")
    scenario = validate(document, Scenario)
    if reference_findings(document, scenario, opened.case.catalog):
        raise UsageError("the scenario would not be sound")
    mine = next(one for one in scenario.vehicles if one.name == state.vehicle)
    if mine != opened.changed(state).vehicle:
        raise UsageError("the file would not say what the page shows; please report it")
    return text


def _set(data: dict[str, Any], steps: list[str], value: Any) -> None:
    """Set what :func:`configopt.desk.state.settings` sets, in a scenario's data."""
    if steps[0] == "aims":
        data["aims"][steps[1]] = value
        return
    vehicle = next(one for one in data["vehicles"] if one["name"] == steps[1])
    if steps[2] == "terrain_mix":
        for terrain in vehicle["terrains"]:
            terrain["share"] = value[terrain["name"]]
    elif steps[2] == "terrains":
        next(one for one in vehicle["terrains"] if one["name"] == steps[3])[steps[4]] = value
    else:
        _set_limit(vehicle, steps[3:], value)


def _set_limit(vehicle: dict[str, Any], steps: list[str], value: Any) -> None:
    from configopt.scenario.limits import LIMITS

    wanted: dict[str, Any] = {"limit": steps[0]}
    for scope in steps[1:]:
        wanted["position" if scope in ("front", "rear") else "terrain"] = scope
    limits = vehicle.setdefault("limits", [])
    found = next(
        (one for one in limits if all(one.get(key) == wanted.get(key) for key in ("limit", "terrain", "position"))),
        None,
    )
    if value is None:
        limits.remove(found)
    elif found is not None:
        found[LIMITS[steps[0]].bound] = value
    else:
        limits.append({**wanted, LIMITS[steps[0]].bound: value})


def variant_text(opened: Opened, state: State, name: str, why: str) -> str:
    """A file with the state as a variant of its scenario.

    Raises
    ------
    UsageError
        Where nothing differs, or a variant cannot say what does.
    """
    if state.holds or state.pressures:
        raise UsageError(
            "a variant cannot say that a part or a pressure is held: let go of it, or leave out the other parts"
        )
    if not state.changed:
        raise UsageError("nothing differs from the scenario, so there is no variant to keep")
    entry: dict[str, Any] = {"name": file_name(name)}
    if why.strip():
        entry["why"] = " ".join(why.split())[:200]
    changes = dict(settings(state, opened.movable(state.vehicle)))
    if changes:
        entry["set"] = changes
    if state.out:
        entry["withdrawn"] = list(state.out)
    if state.prices:
        entry["prices"] = {part: percent / 100.0 for part, percent in state.prices}
    text = (
        f"# Made on the page of configopt, for {opened.case.path.name}:\n"
        f"# configopt whatif {opened.case.path.name} {file_name(name)}{VARIANTS}\n"
        f"{yaml_text({'title': f'Kept from the page for {opened.case.name}', 'variants': [entry]})}"
    )
    read = read_variants(parse_yaml(text, "the new variant"))
    if read.findings:
        raise UsageError(f"the variant would not be sound: {read.findings[0].message}")
    return text


def decision_file_text(opened: Opened, choice: Choice, to: Path, *, by: str, on: str, why: str) -> str:
    """The choice of a scenario as its file has it, as a decision.

    Raises
    ------
    UsageError
        Where who, when or why is missing.
    FindingsError
        Where the file would not be sound.
    """
    if not (by.strip() and on.strip() and why.strip()):
        raise UsageError("a decision says who accepted it, on which day and why: fill in all three")
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", on.strip()):
        raise UsageError("write the day as 2026-03-02")
    acceptance = {"by": " ".join(by.split())[:200], "date": on.strip(), "why": " ".join(why.split())[:200]}
    text = decision_text(opened.case, choice, acceptance=acceptance, target=to)
    validate(parse_yaml(text, "the new decision"), DecisionRecord)
    return text
