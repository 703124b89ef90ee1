"""From a scenario to the contents of its sheet: which searches run, for how long, and what is left out."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from configopt.appraisal.appraise import appraise
from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.choice.result import choose
from configopt.choice.shortlist import shortlist
from configopt.choice.tradeoff import tradeoff
from configopt.decisions.choice_file import ChoiceFile, load_choice, records_for
from configopt.decisions.json_source import load_json
from configopt.errors import ConfigoptError, ExitCode, UsageError
from configopt.learning.verdicts import verdicts_of
from configopt.reasons.explain import explain
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord
from configopt.sheet.contents import Contents, contents
from configopt.sheet.given import Given, results_of, same_packages
from configopt.sheet.holding import recorded_words, require_same
from configopt.sheet.words import joined

#: Seconds that a further search may take where nobody states a time.
EACH = 120.0
#: A search that ends unfinished before this share of its time was stopped by somebody.
_OWN_TIME = 0.95
#: What can stand on a sheet beside the decision, by the schema of its results.
FURTHER = {
    "configopt/tradeoff/1": "tradeoff",
    "configopt/shortlist/1": "shortlist",
    "configopt/explanation/1": "explanation",
}
WORDS = {"tradeoff": "trade-off", "shortlist": "short list", "explanation": "reasons"}
_HOW = {"tradeoff": "--tradeoff", "shortlist": "--shortlist", "explanation": "--reasons"}
#: The reasons are many.
_WAS = {"tradeoff": "was", "shortlist": "was", "explanation": "were"}
_NOTHING_FOUND = "stopped before anything was found."
_DONE = ("complete", "optimal", "infeasible")
#: What reading an edited result can end in.
_MALFORMED = (KeyError, IndexError, TypeError, ValueError, AttributeError)
Payload = Mapping[str, Any]
Say = Callable[[str], None]


@dataclass(frozen=True)
class Order:
    """What is wanted of a sheet.

    ``packages`` is a choice file; without one the best choice is searched.  ``results`` are files of results made
    before.  ``further`` says of each further search whether it runs.
    """

    packages: Path | None = None
    results: tuple[Path, ...] = ()
    further: Mapping[str, bool] = field(default_factory=dict)
    time_limit: float | None = None
    threads: int = 1
    vehicle: str | None = None
    """The vehicle that the case was narrowed to, where it is one of several."""


@dataclass(frozen=True)
class Made:
    """A sheet's contents; ``None`` where nothing meets the limits or nothing was found, with the reason."""

    contents: Contents | None
    exit_code: ExitCode
    why_not: str = ""


def make_contents(case: Case, order: Order, say: Say | None = None) -> Made:
    """Search, appraise and gather what a sheet says.

    Parameters
    ----------
    case : scenario and catalogs
    order : what is wanted
    say : called with a line of progress now and then

    Raises
    ------
    UsageError
        Results of another scenario or of other catalogs.
    FindingsError
        A choice file or a file of results that cannot be read.
    """
    began = time.monotonic()
    given = _read_results(case, order.results)
    verdicts = verdicts_of(case)
    files = {f"scenario {case.path.name}": case.path}
    if verdicts is not None:
        files[f"ride verdicts {verdicts.name}"] = Path(verdicts.path)
    code, stopped = ExitCode.DONE, False
    recorded, searched = "", order.packages is None
    if order.packages is not None:
        file = load_choice(order.packages)
        records: Sequence[VehicleChoiceRecord] = records_for(file, case, order.vehicle)
        payload: Payload = appraise(case, records).to_json()
        files[f"choice {order.packages.name}"] = order.packages
        recorded = _recorded(case, file, order.packages, payload)
    else:
        choice = choose(case, time_limit=order.time_limit, threads=order.threads, progress=say)
        payload, records, code = choice.to_json(), choice.records, choice.exit_code
        stopped = choice.stopped and not _out_of_time(order, began)
        if not choice.vehicles:
            return Made(None, code, _nothing(payload))
    left_out: list[str] = []
    if order.vehicle is not None:
        left_out.append(
            f"{order.vehicle} is looked at for itself, as if bought alone: together with the other vehicles of the "
            "scenario another choice can be the best."
        )
    further: dict[str, Payload | None] = {name: data for name, (_, data) in given.items()}
    for name, (path, data) in given.items():
        left_out.append(_made_before(name, path))
        if not _finished(data):
            left_out.append(_cut_short(name))
            code = code or ExitCode.STOPPED_EARLY
    for name in WORDS:
        if name in further:
            continue
        here, allowed = time.monotonic(), _allowed(order, began)
        found, why = _search(case, name, order, allowed, say, stopped=stopped)
        further[name] = found
        if why:
            left_out.append(why)
        if (found is not None and not _finished(found)) or why.endswith(_NOTHING_FOUND):
            code = code or ExitCode.STOPPED_EARLY
            # Somebody who stops one search wants the sheet now; one that used up its own time stops no other.
            stopped = stopped or time.monotonic() - here < _OWN_TIME * allowed
    appraised = tuple(
        appraise_record(VehicleModel(vehicle, case.catalog), record)
        for vehicle, record in zip(case.scenario.vehicles, records, strict=True)
    )
    if say is not None:
        say("laying out the sheet")
    files |= {f"{WORDS[name]} {path.name}": path for name, (path, _) in given.items()}
    hashes = {name: hashlib.sha256(path.read_bytes()).hexdigest() for name, path in files.items()}
    results = results_of(payload, appraised, further)
    before = {name: path.name for name, (path, _) in given.items()}
    try:
        left_out += _other_choice(payload, further)
        made = Given(
            case, appraised, results, searched, tuple(left_out), recorded, hashes, order.vehicle, before, verdicts
        )
        return Made(contents(made), code)
    except _MALFORMED as error:
        if not given:
            raise
        # Results of this program lay out; what somebody edited may lack anything.
        named = joined([str(path) for path, _ in given.values()])
        raise UsageError(f"{named}: not as its command writes it ({error!r}); make it again") from error


def _made_before(name: str, path: Path) -> str:
    """What is known of a result that was not made just now."""
    return (
        f"The {WORDS[name]} {_WAS[name]} made before ({path.name}), for the same scenario and catalogs. The figures "
        "were computed again and are the same; what is said of the proof is of then."
    )


def _cut_short(name: str) -> str:
    what = "they hold" if _WAS[name] == "were" else "it holds"
    return f"The {WORDS[name]} {_WAS[name]} stopped before the end: {what} what was found until then."


def _allowed(order: Order, began: float) -> float:
    """Time for the next further search [s]."""
    return EACH if order.time_limit is None else order.time_limit - (time.monotonic() - began)


def _search(
    case: Case, name: str, order: Order, time_limit: float, say: Say | None, *, stopped: bool
) -> tuple[Payload | None, str]:
    """One further search: its result, and a sentence where there is none or it did not come to its end."""
    words = WORDS[name]
    if case.together:
        return None, f"No {words}: it looks at one vehicle for itself; a sheet made with --vehicle holds it."
    if not order.further.get(name, False):
        return None, f"No {words}: not asked for ({_HOW[name]} adds it)."
    if stopped:
        return None, f"No {words}: the sheet was stopped before."
    if time_limit <= 0.0:
        return None, f"No {words}: the time was over."
    if say is not None:
        say(f"{words}: at most {time_limit:.0f} s")
    search: dict[str, Callable[..., Any]] = {"tradeoff": tradeoff, "shortlist": shortlist, "explanation": explain}
    try:
        found = search[name](case, time_limit=time_limit, threads=order.threads, progress=say).to_json()
    except UsageError as error:
        # The sheet goes to other people: where the scenario lies here is nothing to them.
        return None, f"No {words}: {str(error).removeprefix(f'{case.path}: ')}."
    if not _finished(found) and name != "explanation" and not found.get("points", found.get("candidates")):
        return None, f"No {words}: {_NOTHING_FOUND}"
    if not _finished(found):
        return found, _cut_short(name)
    return found, ""


def _finished(found: Payload) -> bool:
    return found["status"] in _DONE and not found.get("not_reached")


def _out_of_time(order: Order, began: float) -> bool:
    limit = order.time_limit
    return limit is not None and time.monotonic() - began >= limit


def _nothing(payload: Payload) -> str:
    if payload["status"] == "unknown":
        return "stopped before any choice was found: there is no decision for a sheet"
    nearest = "; ".join(row["text"] for row in payload["closest"][:3])
    told = f"; nearest: {nearest}" if nearest else ""
    return f"nothing in these catalogs meets every limit: there is no decision for a sheet{told}"


def _read_results(case: Case, paths: Sequence[Path]) -> dict[str, tuple[Path, Payload]]:
    """Results made before, with their files by name; those of another question are refused."""
    found: dict[str, tuple[Path, Payload]] = {}
    for path in paths:
        data = load_json(path).data
        schema = data.get("schema") if isinstance(data, dict) else None
        name = FURTHER.get(schema) if isinstance(schema, str) else None
        if name is None:
            kinds = ", ".join(WORDS.values())
            raise UsageError(f"{path} holds none of these: {kinds}; write one with its command and --format json")
        if data.get("scenario") != case.name:
            raise UsageError(f"{path} is of the scenario {data.get('scenario')}, this one is {case.name}")
        if len(case.scenario.vehicles) > 1:
            raise UsageError(f"{path} looks at one vehicle, the scenario has several: name one with --vehicle")
        if name in found:
            raise UsageError(f"{path} is a second {WORDS[name]}; name one")
        require_same(case, data, path)
        if data.get("status") not in (*_DONE, "feasible", "partial", "unknown"):
            raise UsageError(f"{path} does not say how its search ended: make it again")
        found[name] = path, data
    return found


def _recorded(case: Case, file: ChoiceFile, path: Path, payload: Payload) -> str:
    """What a choice file says of how it came about, and whether that still stands."""
    told = f"The packages are those of {path.name}."
    if file.scenario is not None and file.scenario != case.name:
        told += f" They were chosen for the scenario {file.scenario}, not for this one."
    accepted = file.document.data.get("decision") if isinstance(file.document.data, Mapping) else None
    if isinstance(accepted, Mapping):
        told += f" The decision was accepted by {accepted['by']} on {accepted['date']}: {accepted['why'].rstrip('.')}."
        told += " configopt check decides again and says whether it still holds."
    proof = recorded_words(case, _json_of(path), payload)
    return " ".join(filter(None, (told, proof, "Nothing was searched for this sheet.")))


def _json_of(path: Path) -> Payload:
    try:
        data = load_json(path).data
    except ConfigoptError:
        return {}
    return data if isinstance(data, Mapping) else {}


def _other_choice(payload: Payload, further: Mapping[str, Payload | None]) -> list[str]:
    """Where further results are about other packages than the sheet."""
    mine = payload["vehicles"][0]
    found = []
    listed, told, traded = further.get("shortlist"), further.get("explanation"), further.get("tradeoff")
    if traded is not None and traded["points"]:
        if not any(same_packages(mine, point["vehicles"][0]["packages"]) for point in traded["points"]):
            found.append("None of the points of the trade-off is these packages.")
        best = [point for point in traded["points"] if point["best_by_rates"]]
        if best and not any(same_packages(mine, point["vehicles"][0]["packages"]) for point in best):
            found.append("The best point of the trade-off by the exchange rates is another choice than these packages.")
    if (
        listed is not None
        and listed["candidates"]
        and not same_packages(mine, listed["candidates"][0]["vehicles"][0]["packages"])
    ):
        found.append("The short list was made around another choice than these packages: its first candidate.")
    if told is not None and told["choice"] is not None:
        theirs = [{"position": p, **told["choice"]["choice"][p]} for p in ("front", "rear")]
        if not same_packages(mine, theirs):
            found.append("The reasons are those of the best choice, which is not these packages.")
    return found
