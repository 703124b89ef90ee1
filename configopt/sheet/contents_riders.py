"""What riders said of the tires of the decision, of the candidates, and of today's vehicle."""

from __future__ import annotations

from configopt.learning.ride_beside import beside, in_shortlist, in_vehicle, today
from configopt.learning.ride_words import said
from configopt.sheet.given import Given


def riders_said(given: Given) -> tuple[str, ...]:
    """A sentence or two on each tire, the decision's first; empty where the scenario names no table.

    Parameters
    ----------
    given : results, and what riders said
    """
    if given.verdicts is None:
        return ()
    aim = given.choice.get("aim") if len(given.appraised) == 1 else None
    value = None if aim is None else float(aim["value"])
    listed = [tire for one in given.choice["vehicles"] for tire in in_vehicle(one, "the decision", value)]
    payload = given.result("shortlist")
    if payload is not None:
        listed += in_shortlist(payload)
    listed += [tire for one in given.appraised for tire in today(one.model.vehicle)]
    return tuple(said(beside(given.verdicts, listed)))
