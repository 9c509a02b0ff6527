"""A mesh that the memory does not hold ends the ladder, not the answer."""

from __future__ import annotations

import numpy as np
import pytest

import femdrum as fd
from femdrum.errors import OverBudget
from femdrum.fem import memory
from femdrum.fem.cell import Fineness
from femdrum.fem.ladder import UnitSolution, climb, flight
from femdrum.fem.level import Level, plate_level


@pytest.mark.parametrize("at", ["foreseen", "found"])
def test_the_ladder_keeps_what_it_has_when_the_next_mesh_does_not_fit(at: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plate = fd.Plate(length_mm=400, width_mm=100, thickness_mm=10, cutout=fd.Circle(diameter_mm=40))
    steel = fd.steel("S355")
    monkeypatch.setattr(memory, "available_bytes", lambda: 1e9)

    def solve(fineness: Fineness) -> Level:
        if at == "found" and fineness.order >= 5:
            memory.require(50_000, 2e9, "the factor of a system")
        return plate_level(plate, steel, ["tension_x"], fineness)

    def foresee(fineness: Fineness) -> int:
        return 400_000 if at == "foreseen" and fineness.order >= 5 else 1_000

    def up(orders: tuple[int, ...]) -> UnitSolution:
        return climb(solve, [flight(Fineness(), orders)], np.eye(1), fd.Accuracy(error=1e-5), foresee)

    kept = up((3, 4, 5, 6))
    assert not kept.settled
    assert len(kept.ladder) == 2
    assert "GB are free" in kept.reason
    with pytest.raises(OverBudget, match="GB are free"):
        up((4, 5))
