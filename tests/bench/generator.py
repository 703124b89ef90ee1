"""Seeded catalogs of four sizes in the schema of the shipped ones, to see how the search grows with the parts.

Run as ``python tests/bench/generator.py --size M --seed 1 -o FOLDER``.  Sizes are standard designations; makers and ids
are neutral, figures follow the trends with seeded noise that the docstrings of the family modules state: a better
figure costs money or another figure, so that no part beats all others.  Surfaces and sources are the shipped ones.

======  ======  =====  =====  =======  ============================================================
size    tires   rims   hubs   rotors   spokes, disc wheels, calipers, pads, inners, rim locks
======  ======  =====  =====  =======  ============================================================
S       20      20     20     20       6, 8, 8, 8, 8, 3
M       200     60     40     40       12, 20, 8, 12, 12, 4
L       2,000   500    300    300      18, 80, 16, 16, 14, 6
XL      10,000  2,000  1,000  1,000    24, 200, 24, 24, 20, 8
======  ======  =====  =====  =======  ============================================================

The small families grow slowly because every part of them multiplies what fits.  About 60 % of the tires suit
motorcycle rims, a fifth quads, a sixth bicycle rims; hubs go to one front and two rear classes of two-wheelers and to
both ends of a quad in the ratio 7 : 7 : 4 : 2 : 2.
"""

from __future__ import annotations

import argparse
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from generator_brakes import calipers, pads, rotors
from generator_tires import inners, rim_locks, tires
from generator_wheels import disc_wheels, hubs, rims, spokes

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.catalog.records import FAMILIES, Record
from configopt.files.writing import write_whole

SHIPPED = Path(__file__).parents[2] / "catalogs"
#: Makers of the families in a fixed order: each draws from a stream of its own.
MAKERS: dict[str, Callable[[int, np.random.Generator], tuple[Any, ...]]] = {
    "tires": tires,
    "rims": rims,
    "hubs": hubs,
    "rotors": rotors,
    "spokes": spokes,
    "disc_wheels": disc_wheels,
    "calipers": calipers,
    "pads": pads,
    "inners": inners,
    "rim_locks": rim_locks,
}
#: Parts by size, in the order of :data:`MAKERS`.
SIZES: dict[str, tuple[int, ...]] = {
    "S": (20, 20, 20, 20, 6, 8, 8, 8, 8, 3),
    "M": (200, 60, 40, 40, 12, 20, 8, 12, 12, 4),
    "L": (2_000, 500, 300, 300, 18, 80, 16, 16, 14, 6),
    "XL": (10_000, 2_000, 1_000, 1_000, 24, 200, 24, 24, 20, 8),
}
#: Sizes whose files the catalog reader takes: it refuses more than 500,000 values a file.
WRITABLE = ("S", "M", "L")
HEAD = """\
# Generated data for benchmarks (size {size}, seed {seed}): makers, ids and figures are invented and belong to no real
# product; sizes are standard designations. Not for building real vehicles.
"""


@cache
def shipped() -> Catalog:
    """The shipped catalog, for its surfaces and sources."""
    return load_catalog(SHIPPED)


def generate(size: str, seed: int) -> Catalog:
    """A catalog of one size.

    Parameters
    ----------
    size
        A key of :data:`SIZES`.
    seed
        Same seed, same catalog, on every platform with the same NumPy streams.

    Returns
    -------
    Catalog
        Its parts in memory; every record has passed its own validation.
    """
    made: dict[str, Any] = {}
    for number, (family, count) in enumerate(zip(MAKERS, SIZES[size], strict=True)):
        made[family] = MAKERS[family](count, np.random.default_rng([seed, number, count]))
    base = shipped()
    digest = hashlib.sha256(f"generated {size} {seed}".encode()).hexdigest()
    folder = Path(f"generated-{size.lower()}-{seed}")
    return Catalog(folder, base.currency, base.sources, surfaces=base.surfaces, sha256=digest, **made)


def written(record: Record) -> dict[str, Any]:
    """What a catalog file holds for a record: quantities with their units, defaults left out."""
    return record.model_dump(mode="json", exclude_defaults=True)


def write(catalog: Catalog, folder: Path, *, head: str = "") -> None:
    """Write a catalog as the shipped ones are written: a YAML file a family, block style.

    Parameters
    ----------
    catalog
        What to write.
    folder
        Where to; made if it does not exist.
    head
        Comment lines to begin every file with.

    Notes
    -----
    :func:`configopt.catalog.catalog.load_catalog` reads the same parts back.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for family in ("sources", *FAMILIES):
        data: dict[str, Any] = {"family": family}
        if family not in ("sources", "surfaces"):
            data["currency"] = catalog.currency
        data["parts"] = [written(part) for part in catalog.family(family)]
        dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
        text = yaml.dump(data, Dumper=dumper, sort_keys=False, default_flow_style=False, allow_unicode=True, width=4096)
        write_whole(folder / f"{family}.yaml", head + text)


def same_parts(one: Catalog, other: Catalog) -> bool:
    """Whether two catalogs hold equal parts, wherever they were read from."""
    bare = {"folder": Path(), "sha256": "", "places": {}}
    return replace(one, **bare) == replace(other, **bare)  # type: ignore[arg-type]


def main(arguments: Sequence[str] | None = None) -> None:
    """Generate and write."""
    parser = argparse.ArgumentParser(description="Generate a catalog of a size and write it to a folder.")
    parser.add_argument("--size", choices=WRITABLE, default="M", help="number of parts (default M)")
    parser.add_argument("--seed", type=int, default=1, help="same seed, same catalog (default 1)")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="FOLDER")
    options = parser.parse_args(arguments)
    if options.seed < 0:
        parser.error("--seed must be at least 0")
    write(generate(options.size, options.seed), options.output, head=HEAD.format(size=options.size, seed=options.seed))


if __name__ == "__main__":
    main()
