"""Rules about recorded decisions."""

from __future__ import annotations

from configopt.guard.rule import Rule

BROKEN = Rule(
    "DECISION-BROKEN",
    "error",
    "a recorded decision that misses a limit now",
    "The packages of a decision no longer meet every limit of its scenario, or its parts no longer fit each other. The "
    "finding stands at the line that changed since the decision was recorded, where one did. Correct the line, or "
    "choose again and record the new choice.",
)
BEATEN = Rule(
    "DECISION-BEATEN",
    "warning",
    "a recorded decision that another choice beats now",
    "The decision still meets every limit, but it is not the best any more. The finding says by what it is beaten, by "
    "how much, and at which line the catalogs or the scenario changed since. Look at both with configopt compare; then "
    "record the best one, or the old one with the loss that you accept: configopt check --accept.",
)
MOVED = Rule(
    "DECISION-MOVED",
    "note",
    "a recorded decision that is still best, with other figures",
    "Nothing has to be done. The decision still stands; figures it was recorded with have changed. Record it anew to "
    "bring them up to date: configopt check --accept.",
)
WITHDRAWN = Rule(
    "DECISION-WITHDRAWN",
    "error",
    "a recorded decision with a part that cannot be had",
    "A part of the decision is withdrawn, or only a concept. Choose again and record the new choice.",
)
UNPROVEN = Rule(
    "DECISION-UNPROVEN",
    "error",
    "a recorded decision that could not be decided again in time",
    "The decision meets every limit; whether it is still the best was not known when the time or memory of the check "
    "was used up, so it is not taken for sound. Give it more: --time-limit.",
)
UNCHECKED = Rule(
    "DECISION-UNCHECKED",
    "error",
    "a recorded decision that cannot be decided again",
    "Its scenario or catalogs are wrong, which their own findings say. Correct them first.",
)
CONTRADICTION = Rule(
    "DECISION-CONTRADICTION",
    "error",
    "a search that the full model contradicts",
    "This is a bug in the program, not in the files. Please report it with the files.",
)
RULES = (BROKEN, BEATEN, MOVED, WITHDRAWN, UNPROVEN, UNCHECKED, CONTRADICTION)
