"""What is known about one model: its formula, its sources, how far it holds, and what checks it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from configopt.references import cite

Subject = Literal["loads and tire", "ground", "torque and brakes", "wheel", "vehicle", "energy", "cost"]


@dataclass(frozen=True, slots=True)
class Cited:
    """A source of a model: the work, and where in it the formula stands; ``key`` is ``None`` for an own derivation."""

    key: str | None
    where: str = ""

    @property
    def text(self) -> str:
        """The citation in full.

        >>> Cited("bradley_1996", "Rolling resistance of motorcycle tires.").text[:45]
        'J. Bradley, The Racing Motorcycle: A Technica'
        """
        return self.where if self.key is None else f"{cite(self.key)} {self.where}".rstrip()


@dataclass(frozen=True, slots=True)
class Model:
    """One model of the appraisal."""

    key: str
    subject: Subject
    quantity: str
    """What it gives, in trade terms."""
    formula: str
    """One line of plain text, with its symbols explained."""
    sources: tuple[Cited, ...]
    validity: str
    assumed: tuple[str, ...] = ()
    """Assumed figures it rests on, itself or through what it takes in; fields of ``Assumed``."""
    estimates: str = ""
    """What in it is an estimate or an own convention."""
    not_modelled: str = ""
    functions: tuple[str, ...] = ()
    """The code behind it, and limit cases of it that sources print, as module and function below ``configopt``."""
    checks: tuple[str, ...] = ()
    """Tests against published values, one per source document; empty where none was found."""
