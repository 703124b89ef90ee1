"""Surfaces of a catalog, and whether those that are named are among them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

from configopt.catalog.records import Surface
from configopt.errors import Finding, FindingsError, UsageError
from configopt.files.validation import collect_items
from configopt.files.yaml_source import load_yaml
from configopt.tracks.ground import Ground

#: Ids as catalogs have them.
_FORM, _LONGEST = re.compile("[a-z0-9]+(-[a-z0-9]+)*"), 60


def known_surfaces(folder: Path) -> list[str]:
    """Ids of the surfaces of a catalog; the rest of it is not read.

    Raises
    ------
    FindingsError
        If its file of surfaces is not there or wrong.
    """
    document = load_yaml(folder / "surfaces.yaml")
    records, findings = collect_items(document, "parts", Surface)
    if findings:
        raise FindingsError(findings)
    return [record.id for record in records.values()]


def require_surfaces(ground: Ground, known: Sequence[str] | None) -> None:
    """Refuse surfaces that a catalog does not have.

    Parameters
    ----------
    ground
        What names them.
    known
        Ids of the catalog; None where there is none, then only their form is looked at.

    Raises
    ------
    FindingsError
        If a map names one, with every one at its place.
    UsageError
        If an option names one, with every one.
    """
    options = [(f'--ground "{span.text}"', span.surface) for span in ground.spans]
    options += [("--rest", ground.rest)] if ground.rest is not None else []
    wrong = [f"{place}: {told[0]}; {told[1]}" for place, name in options if (told := _wrong(name, known)) is not None]
    if wrong:
        raise UsageError("\n  ".join(wrong))
    findings = [
        Finding(area.path, area.line, area.column, "REFERENCE", "error", *told)
        for area in ground.areas
        if (told := _wrong(area.surface, known)) is not None
    ]
    if findings:
        raise FindingsError(findings)


def _wrong(name: str, known: Sequence[str] | None) -> tuple[str, str] | None:
    """What is wrong with the name of a surface, and what to do; None if nothing is."""
    if known is None:
        sound = len(name) <= _LONGEST and _FORM.fullmatch(name)
        message = f'"{name[:60]}" cannot be the id of a surface'
        return None if sound else (message, f"small letters, digits and single dashes, at most {_LONGEST}")
    if name in known:
        return None
    near = get_close_matches(name[:100], known, n=1)
    return (
        f'there is no surface "{name[:60]}"',
        f'did you mean "{near[0]}"?' if near else "see configopt parts surfaces",
    )
