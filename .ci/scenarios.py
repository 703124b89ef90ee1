"""Choose for every scenario in scenarios/ and look at the JSON: proven and fast where it can be met, else a reason.

Scenarios that cannot be met say so in their file name: they end in ``-overloaded``.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

#: Largest gap between value and bound that counts as proven.
GAP = 1e-6
#: Seconds the choice of one vehicle may take on two idle cores, and those of vehicles chosen together, each.
SECONDS, SECONDS_TOGETHER = 20.0, 75.0
#: Times that at which a choice counts as broken, however busy the machine is.
BROKEN = 3.0


def allowed(result: dict[str, Any]) -> float:
    """Seconds a choice may take on two idle cores."""
    count = len(result["vehicles"])
    return SECONDS if count < 2 else SECONDS_TOGETHER * count


def problems(result: dict[str, Any]) -> list[str]:
    """What is wrong with the result of a scenario that can be met."""
    found = []
    if result["status"] != "optimal":
        return [f"status {result['status']}"]
    if result["aim"]["gap"] > GAP:
        found.append(f"gap {result['aim']['gap']:.3g} above {GAP:g}")
    if result["audit"]["agrees"] is not True:
        found.append(f"audit disagrees by {result['audit']['largest_difference']:.3g}")
    if result["made_with"]["seconds"] > BROKEN * allowed(result):
        found.append(f"slower than {BROKEN * allowed(result):g} s")
    found += [
        f"limit {margin['limit']} not met"
        for vehicle in result["vehicles"]
        for margin in vehicle["margins"]
        if not margin["met"]
    ]
    return found


def main() -> int:
    """Run every scenario; 0 where all are as they should be."""
    paths = sorted(path for path in Path("scenarios").glob("*.yaml") if len(path.suffixes) == 1)
    if not paths:
        print("no scenarios", file=sys.stderr)
        return 1
    bad = 0
    for path in paths:
        command = ["configopt", "choose", str(path), "--quiet", "--format", "json"]
        ended = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True, check=False)
        can_be_met = not path.stem.endswith("-overloaded")
        if ended.returncode != (0 if can_be_met else 3):
            print(f"{path}: FAIL exit code {ended.returncode}")
            bad += 1
            continue
        result = json.loads(ended.stdout)
        if can_be_met:
            found = problems(result)
        else:
            found = [] if result["status"] == "infeasible" and result["closest"] else ["no reason given"]
        verdict = f"FAIL {'; '.join(found)}" if found else result["status"]
        seconds = result["made_with"]["seconds"]
        most = allowed(result)
        slow = f", slower than the {most:g} s it should take" if can_be_met and seconds > most else ""
        print(f"{path}: {verdict}, {seconds:.1f} s{slow}")
        bad += bool(found)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
