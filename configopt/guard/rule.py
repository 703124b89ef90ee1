"""What a rule of the check is: its id, how much it weighs, and how it is explained."""

from __future__ import annotations

from dataclasses import dataclass

from configopt.errors import Severity


@dataclass(frozen=True, slots=True)
class Example:
    """What fails and what passes.

    ``of`` says what the two texts are: the name of a family, or of ``sources``, whose keys they lay over its first
    entry (``null`` takes a key away), or family and id of another entry, such as ``tires:adder-57-507``; ``vehicle``
    for keys laid over the first vehicle of a scenario; ``yaml`` for the text of a whole file.
    """

    of: str
    fails: str
    passes: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule; ids are stable: scripts, waivers and records of CI name them."""

    id: str
    severity: Severity
    title: str
    """One line."""
    about: str
    """What is found, why it matters, what to do."""
    example: Example | None = None
    waivable: bool = False
    """Whether an entry may state that it is right as it is."""
