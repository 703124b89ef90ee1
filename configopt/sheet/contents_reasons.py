"""What limits the choice, what would change it, and which alternatives were rejected for which reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from configopt.sheet.figures import NOT_HERE, figure_text
from configopt.sheet.given import Given
from configopt.sheet.holding import missed_by
from configopt.sheet.tables import Beside, Row, Table, columns
from configopt.sheet.words import (
    RISKY,
    asked_words,
    chance_words,
    change_words,
    differing_words,
    joined,
    limit_words,
    part_change_words,
)

_SECTIONS = {
    "limits": "which limits keep the choice from being better",
    "runners_up": "choices that differ in one part",
    "losing": "what losing a part would cost",
    "flips": "which uncertain figure could flip the choice",
}
#: Aims that differ by less than this share are told as equal: it is a border that is described.
_EQUAL = 1e-4
#: Runners-up per kind of part that are shown.
_SHOWN = 2


@dataclass(frozen=True)
class Reasons:
    """What is known about why the choice is this one."""

    limiting: tuple[str, ...]
    """Limits that are used up or at risk, in words; known without any search."""
    nothing_limits: str
    """What is said where there are none."""
    limits: Table | None
    runners_up: Table | None
    losing: Table | None
    flips: Table | None
    flips_note: str
    not_reached: tuple[str, ...]
    rejected: tuple[str, ...]
    """Alternatives and why they are not the choice."""


def reasons(given: Given) -> Reasons:
    """Reasons from an explanation where there is one, and from the margins in any case."""
    told = given.result("explanation")
    limits, runners, losing, flips = (None if told is None else told[name] for name in _SECTIONS)
    return Reasons(
        limiting=_limiting(given),
        nothing_limits=f"No limit is used up, and none is missed in {chance_words(RISKY)} of the draws or more.",
        limits=None if limits is None else _limits(given, limits),
        runners_up=None if runners is None else _runners_up(given, runners),
        losing=None if losing is None else _losing(given, losing),
        flips=None if flips is None else _flips(given, flips),
        flips_note="" if flips is None else _flips_note(flips),
        not_reached=() if told is None else tuple(_SECTIONS.get(name, name) for name in told["not_reached"]),
        rejected=_rejected(given),
    )


def _limiting(given: Given) -> tuple[str, ...]:
    """Limits that are missed, used up or at risk, the most urgent first."""
    found = []
    several = len(given.choice["vehicles"]) > 1
    for entry in given.choice["vehicles"]:
        for margin in entry["margins"]:
            used_up = margin["binding"] and margin["met"]
            chance = margin.get("chance_missed") or 0.0
            if not (used_up or chance >= RISKY or not margin["met"]):
                continue
            words = limit_words(margin)
            why = "is missed" if not margin["met"] else "is used up" if used_up else "is met"
            risk = f", missed in {chance_words(chance)} of the draws" if chance > 0.0 else ""
            where = f"{entry['name']}: {words}" if several else f"{words[0].upper()}{words[1:]}"
            reached = figure_text(margin["value"], margin["unit"])
            order = (margin["met"], not used_up, -chance)
            found.append((order, f"{where} {why}: {reached} ({asked_words(margin)}){risk}."))
    return tuple(text for _, text in sorted(found))


def _limits(given: Given, rows: list[Mapping[str, Any]]) -> Table:
    currency, made = given.case.scenario.currency, []
    for at, row in enumerate(rows):
        step, without = row["step"], row["without"]
        asked = f"{'at least' if row['at_least'] else 'at most'} {figure_text(row['required'], row['unit'])}"
        if step is None:
            little = "no step is possible"
        else:
            bound = figure_text(step["required"], row["unit"])
            little = f"at {bound} nothing yet"
            if step["gain"] > 1e-9:
                little = f"at {bound}: {change_words(step['change'], currency)}; {differing_words(step['parts'])}"
        made.append(
            Row(
                (
                    limit_words(row, joined(row["positions"]) if row["positions"] else None),
                    asked,
                    given.results.figure(f"explanation/limits/{at}/value", row["unit"]),
                    little,
                    f"{change_words(without['change'], currency)}; {differing_words(without['parts'])}",
                )
            )
        )
    heads = columns("limit", "asked", "#the choice has", "a step of it would change", "without it")
    note = "Every other limit that may be relaxed costs nothing: without it this choice would still be the best."
    return Table("Limits that keep the choice from being better", heads, tuple(made), note)


def _runners_up(given: Given, rows: list[Mapping[str, Any]]) -> Table:
    currency, made = given.case.scenario.currency, []
    for kind, row in enumerate(rows):
        where = f"{row['position']} {row['what']}" if row["position"] else row["what"]
        if not row["best"]:
            made.append(Row((where, "none meets every limit", NOT_HERE, "no other of the kind")))
        for at, best in enumerate(row["best"][:_SHOWN]):
            made.append(
                Row(
                    (
                        where,
                        ", ".join(part_change_words(part) for part in best["parts"]),
                        given.results.figure(f"explanation/runners_up/{kind}/best/{at}/loss", "1", sign=True),
                        change_words(best["change"], currency),
                    )
                )
            )
    heads = columns("instead of", "it would be", "#change of the aim", "which changes")
    return Table("Choices that differ in one part", heads, tuple(made), _aim_note(given))


def _losing(given: Given, rows: list[Mapping[str, Any]]) -> Table:
    currency, made = given.case.scenario.currency, []
    for at, row in enumerate(rows):
        best = row["instead"]
        if best is None:
            cells: tuple[Any, ...] = (NOT_HERE, "nothing would meet every limit", "no choice is left")
        else:
            loss = given.results.figure(f"explanation/losing/{at}/instead/loss", "1", sign=True)
            cells = (loss, change_words(best["change"], currency), differing_words(best["parts"]))
        made.append(Row((f"{row['part']} ({joined(row['positions'])})", *cells)))
    heads = columns("without", "#change of the aim", "which changes", "the best that is left")
    return Table("If a part could not be had", heads, tuple(made), _aim_note(given))


def _aim_note(given: Given) -> str:
    """What the aim comes to, so that its changes can be judged."""
    told = given.result("explanation")
    if told is None or told["choice"] is None:
        return ""
    return f"The aim of the choice is {figure_text(told['choice']['aim'], '1')}; it has no unit, and less is better."


def _flips(given: Given, flips: Mapping[str, Any]) -> Table:
    made = []
    for at, row in enumerate(flips["rows"]):
        path = f"explanation/flips/rows/{at}"
        unit = row["unit"]
        if row["no_longer_fits"]:
            then = "the choice no longer fits"
        elif row["misses"]:
            then = f"the choice misses {joined(sorted({limit_words(one) for one in row['misses']}))}"
        else:
            then = "another is better"
        other = row["instead"]
        best = "nothing meets every limit" if other is None else differing_words(other["parts"])
        if (
            other is not None
            and other["loss"] is not None
            and abs(other["loss"]) > _EQUAL * max(abs(other["aim"]), 1.0)
        ):
            best = f"{best} (aim {figure_text(other['loss'], '1', sign=True)})"
        used = Beside(
            given.results.figure(f"{path}/today", unit),
            f"{figure_text(row['low'], unit)} to {figure_text(row['high'], unit)}",
        )
        border = Beside(given.results.figure(f"{path}/flips_at", unit), f"{row['direction']} that")
        made.append(Row((row["figure"], used, border, then, best)))
    heads = columns("figure", "#used, in its 90 % interval", "#flips at", "then", "best then")
    return Table("Uncertain figures that could flip the choice, the nearest first", heads, tuple(made))


def _flips_note(flips: Mapping[str, Any]) -> str:
    looked = f"{flips['figures']} figures were moved one at a time."
    if any(not row["exact"] for row in flips["rows"]):
        looked += f" Of some only the {flips['near_choices']} choices nearest to the best were looked at."
    return looked


def _rejected(given: Given) -> tuple[str, ...]:
    """Today's packages and the other candidates, each with what speaks against it."""
    found = []
    several = len(given.choice["vehicles"]) > 1
    currency = given.case.scenario.currency
    for entry, before in zip(given.choice["vehicles"], given.results.documents["today"]["vehicles"], strict=True):
        compared = entry["against_baseline"]
        if compared is None:
            continue
        fails = [f"they miss {text}" for text in missed_by(before)]
        fails += [f"they do not fit, {text}" for text in compared["baseline"]["misfits"]]
        whose = f"Today's packages of {entry['name']}" if several else "Today's packages"
        against = "; ".join(fails) or "they meet every limit"
        found.append(f"{whose}: {against}. The choice changes {change_words(compared, currency)}.")
    listed = given.result("shortlist")
    for one in () if listed is None else listed["candidates"]:
        if one["loss_percent"] == 0.0:
            continue
        mine, theirs = given.choice["vehicles"][0], one["vehicles"][0]
        change = {
            key: theirs[key] - mine[key] for key in ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "cost")
        }
        tires = joined([f"{row['names']['tire']} {row['position']}" for row in theirs["packages"]])
        loss = figure_text(one["loss_percent"], "%")
        found.append(
            f"Candidate {one['number']} ({tires}): {loss} worse by the aim; against the choice "
            f"{change_words(change, currency)}."
        )
    return tuple(found)
