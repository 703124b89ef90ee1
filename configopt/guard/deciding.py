"""What a check says of a recorded decision, at the line that made the difference."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from configopt.appraisal.appraise import version_of
from configopt.decisions.choice_file import records_for
from configopt.decisions.decision_file import Decision
from configopt.decisions.reach import reach
from configopt.errors import ConfigoptError, Finding, FindingsError
from configopt.guard import decision_rules as rules
from configopt.guard.causes import Files, Line, changed_lines, other_lines
from configopt.guard.rule import Rule
from configopt.guard.verdict import SAME, Verdict, judge
from configopt.scenario.case import PACKAGE_PARTS, Case
from configopt.sweep.answers import parts_of

#: Called with a case, the records of a decision and the loss it accepts.
Judge = Callable[..., Verdict]
#: Recorded figures, in words and with their units.
_FIGURES = {
    "mass_kg": ("mass", "kg"),
    "cost": ("cost", ""),
    "rolling_loss_wh_per_km": ("rolling loss", "Wh/km"),
    "energy_wh_per_km": ("energy", "Wh/km"),
    "range_km": ("range", "km"),
}
#: Lines that are named beside the first.
_MOST_LINES = 3


def case_of(decision: Decision, case: Case) -> Case:
    """The case a decision is about: one that names a single vehicle of several was made for this one alone."""
    names = [vehicle.name for vehicle in case.scenario.vehicles]
    if len(decision.choice.names) == 1 < len(names) and decision.choice.names[0] in names:
        return case.only(decision.choice.names[0])
    return case


def decision_findings(decision: Decision, case: Case, files: Files, *, judged: Judge = judge) -> list[Finding]:
    """Decide a recorded decision again.

    Parameters
    ----------
    decision
        The decision.
    case, files
        Its scenario and catalogs as they are now, all sound, and their files.
    judged
        Decides; :func:`configopt.guard.verdict.judge` or one that runs it elsewhere.

    Returns
    -------
    list of Finding
        Empty where it stands as it was recorded.
    """
    case = case_of(decision, case)
    try:
        records = tuple(records_for(decision.choice, case))
    except FindingsError as error:
        return error.findings
    gone = _gone(decision, case)
    if gone:
        return gone
    try:
        verdict = judged(case, records, accepted_loss=decision.record.decision.accepted_loss)
    except ConfigoptError as error:
        # Figures that no model takes, though each is sound for itself.
        verdict = Verdict("unproven", reason=str(error))
    finding = _finding(decision, case, files, verdict)
    return [] if finding is None else [finding]


def _gone(decision: Decision, case: Case) -> list[Finding]:
    """Parts of the decision that the catalogs still list but that cannot be had."""
    findings = []
    status = {part.id: part.status for part in _parts(case) if part.status in ("withdrawn", "concept")}
    for index, vehicle in enumerate(decision.record.vehicles):
        for position in ("front", "rear"):
            for field, identifier in getattr(vehicle, position):
                if identifier in status and field != "pressure":
                    what = "withdrawn" if status[identifier] == "withdrawn" else "only a concept"
                    findings.append(
                        decision.document.finding(
                            ("vehicles", index, position, field),
                            rules.WITHDRAWN.id,
                            f"{identifier} is {what}",
                            "choose again and record the new choice",
                        )
                    )
    return findings


def _parts(case: Case) -> list[Any]:
    return [part for family in PACKAGE_PARTS.values() for part in case.catalog.family(family)]


def _finding(decision: Decision, case: Case, files: Files, verdict: Verdict) -> Finding | None:
    name = decision.path.name
    mine = sorted(parts_of(decision.records))
    if verdict.status == "broken":
        what = "; ".join(_miss(miss) for miss in verdict.misses[:_MOST_LINES])
        more = len(verdict.misses) - _MOST_LINES
        text = f"{name} no longer holds: {what}" + (f"; and {more} more" if more > 0 else "")
        lines = _likely(changed_lines(decision, case, files, mine), verdict)
        return _at(decision, rules.BROKEN, text, "correct the line, or choose again and record it", lines)
    if verdict.status == "beaten":
        better = [str(row["second"]) for row in verdict.instead if row["second"] is not None]
        lines = changed_lines(decision, case, files, [*better, *mine])
        lines += other_lines(decision, files, reach(case), lines)
        parts = "; ".join(_swap(row, len(case.scenario.vehicles) > 1) for row in verdict.instead)
        text = (
            f"{name} is beaten by {verdict.loss:.3%} of the aim ({verdict.aim:.6g} against {verdict.best:.6g}): {parts}"
        )
        return _at(decision, rules.BEATEN, text, "compare both, then record one of them: --accept", lines)
    if verdict.status == "unproven":
        gap = ""
        if verdict.aim is not None and verdict.bound is not None and verdict.bound > 0:
            gap = f"; it could be beaten by up to {(verdict.aim - verdict.bound) / verdict.bound:.2%} of the aim"
        text = f"{name} meets every limit, but whether it is still the best is not known{gap}"
        text += f" ({verdict.reason})" if verdict.reason else ""
        return _at(decision, rules.UNPROVEN, text, "give it more time: --time-limit", [])
    if verdict.status == "without alternates":
        text = f"{name} no longer has an alternate within the stated loss for each of its parts"
        lines = changed_lines(decision, case, files, mine)
        lines += other_lines(decision, files, reach(case), lines)
        return _at(decision, rules.BROKEN, text, "choose again and record it", lines)
    if verdict.status == "contradiction":
        text = f"{name}: {verdict.reason}"
        return _at(decision, rules.CONTRADICTION, text, "report it with the files", [])
    moved = _moved(decision, verdict)
    if moved:
        text = f"{name} is still the best, with other figures than it was recorded with: {'; '.join(moved)}"
        return _at(decision, rules.MOVED, text, "record it anew to keep its figures up to date: --accept", [])
    return None


def _likely(lines: list[Line], verdict: Verdict) -> list[Line]:
    """Where only cost is missed, prices first; where it is not missed, prices last."""
    costs = {"cost" in str(miss.get("limit", "")) for miss in verdict.misses}
    if len(costs) != 1:
        return lines
    wanted = costs.pop()

    def priced(line: Line) -> bool:
        return any(word in str(step) for step in line.at for word in ("price", "cost"))

    return sorted(lines, key=lambda line: priced(line) != wanted)


def _moved(decision: Decision, verdict: Verdict) -> list[str]:
    """Recorded figures that are other ones now."""
    found = []
    was = decision.record.figures.aim
    if verdict.aim is not None and _differ(was, verdict.aim):
        found.append(f"aim {was:.6g}, now {verdict.aim:.6g}")
    recorded = decision.record.figures
    for vehicle, figures in zip(recorded.vehicles, verdict.figures, strict=True):
        where = f"{vehicle.name} " if len(recorded.vehicles) > 1 else ""
        for key, (words, unit) in _FIGURES.items():
            old, new = float(getattr(vehicle, key)), figures[key]
            if _differ(old, new):
                unit = recorded.currency if key == "cost" else unit
                found.append(f"{where}{words} {old:.6g} {unit}, now {new:.6g} {unit}")
    return found


def _differ(old: float, new: float) -> bool:
    return abs(new - old) > SAME * max(abs(old), 1e-9)


def _at(decision: Decision, rule: Rule, text: str, fix: str, lines: list[Line]) -> Finding:
    """The finding at the first line that changed, or at the decision where none did."""
    if not lines:
        if rule in (rules.BEATEN, rules.BROKEN, rules.MOVED):
            made, running = decision.record.depends_on.configopt, version_of("configopt")
            text += f"; it was recorded by configopt {made}, this is {running}" if made != running else ""
        at = ("figures", "aim") if rule is rules.MOVED else ("decision",)
        return decision.document.finding(at, rule.id, text, fix, severity=rule.severity, at_key=True)
    first, *others = lines
    text += f"; changed since {decision.record.decision.date}: {first.what}"
    named = []
    for line in others[:_MOST_LINES]:
        row, _ = line.document.position(line.at)
        named.append(f"{line.what} ({_short(line.document.path)}:{row})")
    if len(others) > _MOST_LINES:
        named.append(f"{len(others) - _MOST_LINES} more")
    text += f"; also {', '.join(named)}" if named else ""
    return replace(first.document.finding(first.at, rule.id, text, fix), severity=rule.severity)


def _short(path: str) -> str:
    return "/".join(re.split(r"[/\\]", path)[-2:])


def _miss(miss: Mapping[str, Any]) -> str:
    if "text" in miss:
        return str(miss["text"])
    where = " ".join(str(miss[key]) for key in ("terrain", "position", "condition") if miss.get(key))
    place = f" on {where}" if miss.get("terrain") else f" {where}" if where else ""
    unit = f" {miss['unit']}" if miss["unit"] not in ("", "1") else ""
    return f"{miss['limit']}{place} is {miss['value']:.4g}{unit}, asked is {miss['required']:.4g}{unit}"


def _swap(row: Mapping[str, Any], several: bool) -> str:
    where = " ".join(str(row[key]) for key in ("vehicle", "position") if row.get(key) and (key != "vehicle" or several))
    part = {"pressure_kpa": "pressure"}.get(str(row["part"]), str(row["part"]).replace("_", " "))
    unit = " kPa" if row["part"] == "pressure_kpa" else ""
    old, new = (_value(row[key], unit) for key in ("first", "second"))
    return f"{where} {part} {new} instead of {old}".strip()


def _value(value: Any, unit: str) -> str:
    if value is None:
        return "none"
    return f"{value:g}{unit}" if isinstance(value, float) else str(value)
