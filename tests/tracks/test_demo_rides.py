"""The shipped demo rides: made from a seed, invented and said to be, and good for what the README shows."""

from __future__ import annotations

import pytest
from demo_rides import FOLDER, PEAT, ROCK, fell_round, texts

from configopt.tracks.area_map import load_map
from configopt.tracks.ground import Ground
from configopt.tracks.settings import Settings
from configopt.tracks.terrain import load_ride


@pytest.mark.parametrize("name", sorted(texts()))
def test_the_shipped_files_are_those_that_the_seed_gives(name: str) -> None:
    assert (FOLDER / name).read_text(encoding="utf-8") == texts()[name]
    assert "nvented" in texts()[name]


def test_nothing_else_lies_in_the_folder() -> None:
    assert {path.name for path in FOLDER.iterdir()} == set(texts())


def test_what_was_put_into_the_round_is_found_and_its_ground_lies_where_the_map_has_it() -> None:
    ride = load_ride(FOLDER / "fell-round.gpx", 1.0, Settings())
    notes = {note.what: note.count for note in ride.notes}
    assert (notes["position_spikes"], notes["elevation_spikes"], len(ride.made.stops)) == (1, 1, 3)
    # 6 m of drift were put in, and a wandering error of 0.5 m.
    assert notes["drift"] == pytest.approx(6.0, abs=1.5)
    names, which = Ground((), load_map(FOLDER / "areas.geojson"), "loose-gravel").along(ride.made, 1)
    # The round is stretched against its own parameter, so compare shares of points, not metres.
    s = fell_round().s
    for name, (begin, end) in (("wet-peat", PEAT), ("rock-steps", ROCK)):
        time = float(ride.made.duration[which == names.index(name)].sum())
        moving = ((s > begin) & (s < end) & (s != 4300.0)).sum() * 3.0
        assert time == pytest.approx(moving, rel=0.05)
