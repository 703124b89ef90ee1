"""Keeping a state as a file for review: a scenario, a variant or a decision.  Nothing is replaced without asking."""

from __future__ import annotations

import copy
import hashlib
import os
import re
import stat
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any, BinaryIO, Literal

from configopt.choice.result import Choice
from configopt.decisions.decision_file import ENDING as DECISION
from configopt.decisions.decision_file import decision_text
from configopt.decisions.records import ChoiceFileRecord, DecisionRecord
from configopt.desk.answer import Shown
from configopt.desk.movable import POSITIONS
from configopt.desk.project import Opened
from configopt.desk.state import State, settings
from configopt.errors import UsageError
from configopt.files.validation import validate
from configopt.files.writing import WritingError
from configopt.files.yaml_source import parse_yaml
from configopt.files.yaml_text import yaml_text
from configopt.quantities import write_quantity
from configopt.scenario.case import reference_findings
from configopt.scenario.records import PackageRecord, Scenario
from configopt.scenario.variants import ENDING as VARIANTS
from configopt.scenario.variants import read_variants

Kind = Literal["scenario", "variant", "decision"]
ENDINGS: Mapping[str, str] = {"scenario": ".yaml", "variant": VARIANTS, "decision": DECISION}
#: Longest name of a file without its ending, and longest file that is shown before it is replaced [bytes].
MOST_NAME, MOST_SHOWN = 60, 200_000
#: Held from the look at what stands there until it is replaced: two forms of one name come one after the other.
_WRITING = Lock()


@dataclass(frozen=True)
class Target:
    """A file that is to be written; ``there`` is what it holds now, ``None`` where there is none."""

    path: Path
    there: str | None

    @property
    def stamp(self) -> str:
        """Changes with what the file holds; empty where there is none."""
        return "" if self.there is None else hashlib.sha256(self.there.encode()).hexdigest()[:24]


def seen_stamp(to: Target, text: str) -> str:
    """Changes with the name of a file that is to be written and with what it is to hold."""
    return hashlib.sha256(f"{to.path.name}\n{text}".encode()).hexdigest()[:24]


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
    return _looked_at(folder / f"{slug}{ENDINGS[kind]}")


def _looked_at(path: Path) -> Target:
    """A file with what it holds; a link is not followed."""
    not_plain = UsageError(f"what is called {path.name} there is no plain file; take another name")
    # Where the system cannot refuse links by itself, this look has to do.
    if path.is_symlink():
        raise not_plain
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        descriptor = os.open(path, flags)
    except FileNotFoundError:
        return Target(path, None)
    except OSError:
        raise not_plain from None
    with os.fdopen(descriptor, "rb") as stream:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise not_plain
        content = stream.read(MOST_SHOWN + 1)
    if len(content) > MOST_SHOWN:
        raise UsageError(f"there is a file {path.name}, too long to be shown before it is replaced; take another name")
    return Target(path, content.decode("utf-8", errors="replace"))


class Standing(UsageError):
    """Another content stands where a file was to be written; ``target`` is what stands there now."""

    def __init__(self, target: Target) -> None:
        super().__init__(f"there is a file {target.path.name} already. Look at it below before it is replaced.")
        self.target = target


def write(to: Target, text: str, *, replace: str) -> None:
    """Write a file, whole or not at all; what stands there is looked at once more before.

    Parameters
    ----------
    to
        Where; what it was seen to hold does not count, only what it holds now.
    text
        What.
    replace
        Stamp of what may be replaced, as the form had it.

    Raises
    ------
    Standing
        If a file is there and the form did not say that this very content may be replaced.
    UsageError
        If what is there is no plain file.
    WritingError
        If it cannot be written; then nothing has changed.
    """
    with _WRITING:
        now = _looked_at(to.path)
        if now.there is not None and replace != now.stamp:
            raise Standing(now)
        try:
            if now.there is None:
                _create(to.path, text.encode("utf-8"))
            else:
                _replace(to.path, text.encode("utf-8"))
        except FileExistsError:
            # Another program was quicker.
            raise Standing(_looked_at(to.path)) from None
        except OSError as error:
            raise WritingError(f"the file {to.path.name} cannot be written: {error.strerror or error}") from error


def _create(path: Path, content: bytes) -> None:
    """Write a file that is not there; fails where anything is, a link too."""
    with open(path, "xb") as stream:
        try:
            _put(stream, content)
        except BaseException:
            path.unlink(missing_ok=True)
            raise


def _replace(path: Path, content: bytes) -> None:
    """Put a file in the place of another; where that became a link by now, in the place of the link."""
    mode = stat.S_IMODE(path.lstat().st_mode)
    handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            _put(stream, content)
        os.chmod(beside, mode)
        os.replace(beside, path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _put(stream: BinaryIO, content: bytes) -> None:
    stream.write(content)
    stream.flush()
    os.fsync(stream.fileno())


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
            "them, keep a variant, or copy the choice alone"
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
            "a variant cannot say that a part or a pressure is held: let go of it, leave out the other parts, or copy "
            "the choice alone"
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


def choice_text(opened: Opened, state: State, shown: Shown) -> str:
    """The choice of a state as a choice file has it.

    Raises
    ------
    UsageError
        Where the file would not say what the page shows.
    """
    record = shown.record
    assert record is not None
    entry: dict[str, Any] = {"name": state.vehicle, "final_drive": record.final_drive}
    for position in POSITIONS:
        package = getattr(record, position)
        stated = {name: getattr(package, name) for name in PackageRecord.model_fields}
        stated["pressure"] = write_quantity(float(package.pressure), "pressure", unit="kPa")
        if not package.rim_locks:
            del stated["rim_locks"]
        entry[position] = {name: value for name, value in stated.items() if value is not None}
    text = (
        f"# Made on the page of configopt for {opened.case.path.name}"
        f"{'' if shown.proven else '; the search was ended, a better choice may exist'}.\n"
        f"{yaml_text({'scenario': opened.case.name, 'vehicles': [entry]})}"
    )
    (read,) = validate(parse_yaml(text, "the new choice"), ChoiceFileRecord).vehicles
    if any(getattr(read, key) != getattr(record, key) for key in ("final_drive", *POSITIONS)):
        raise UsageError("the text would not say what the page shows; please report it")
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
