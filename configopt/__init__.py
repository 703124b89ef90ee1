"""Chooses the tire, wheel and rotor packages of light electric off-road vehicles, with proof.

The public names are loaded on first use, so that ``import configopt`` costs nothing:

>>> import configopt
>>> sorted(name for name in configopt.__all__ if name[0].islower())
['appraise', 'choose', 'every_choice', 'every_package', 'explain', 'learn', 'load', 'shortlist', 'tradeoff']
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from configopt.appraisal.appraise import Appraisal, appraise
    from configopt.choice.every import every_choice, every_package
    from configopt.choice.result import Choice, choose
    from configopt.choice.shortlist import Shortlist, shortlist
    from configopt.choice.tradeoff import Tradeoff, tradeoff
    from configopt.learning.learn import Lesson, learn
    from configopt.reasons.explain import Explanation, explain
    from configopt.scenario.case import Case, load

__all__ = [
    "Appraisal",
    "Case",
    "Choice",
    "Explanation",
    "Lesson",
    "Shortlist",
    "Tradeoff",
    "appraise",
    "choose",
    "every_choice",
    "every_package",
    "explain",
    "learn",
    "load",
    "shortlist",
    "tradeoff",
]

_HOMES = {
    "Appraisal": "configopt.appraisal.appraise",
    "Case": "configopt.scenario.case",
    "Choice": "configopt.choice.result",
    "Explanation": "configopt.reasons.explain",
    "Lesson": "configopt.learning.learn",
    "Shortlist": "configopt.choice.shortlist",
    "Tradeoff": "configopt.choice.tradeoff",
    "appraise": "configopt.appraisal.appraise",
    "choose": "configopt.choice.result",
    "every_choice": "configopt.choice.every",
    "every_package": "configopt.choice.every",
    "explain": "configopt.reasons.explain",
    "learn": "configopt.learning.learn",
    "load": "configopt.scenario.case",
    "shortlist": "configopt.choice.shortlist",
    "tradeoff": "configopt.choice.tradeoff",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'configopt' has no attribute '{name}'")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
