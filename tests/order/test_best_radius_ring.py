"""The plane's best radius tried on the ring: what is said of bands that overlap or not, and the ring itself."""

from __future__ import annotations

import pytest

import femdrum as fd
from femdrum.assess import best_radius_ring
from femdrum.assess.best_radius import best_radius
from femdrum.assess.best_radius_edge import PlaneState
from femdrum.assess.best_radius_ring import RingRadius, confirm_on_ring, radii_around
from femdrum.errors import InputFault
from femdrum.quantity import Quantity, Verdict

STEEL = fd.steel("S355")
SPIN = fd.Rotation(speed_rpm=1000)


def ring(radius: float | str = 8, rows: str = "alternate", **cutout: object) -> fd.Ring:
    """An invented ring."""
    sizes = {"around_mm": 60, "axial_mm": 120, **cutout}
    return fd.Ring(
        outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=4, rows=rows,
        cutout=fd.Slot(**sizes, corner_radius_mm=radius),  # type: ignore[arg-type]
    )  # fmt: skip


class Said:
    """An answer with a peak that is given, in place of a solution."""

    def __init__(self, name: str, value: float, band: float) -> None:
        self.load = fd.Axial(stress_MPa=1, name=name)
        self.verdict = Verdict.SETTLED
        self.peak = Quantity(value, "MPa", band, Verdict.SETTLED)
        self.at = None


class Stub:
    """Stands for `solve_all`: peaks as a function of the radius."""

    def __init__(self, peaks: dict[float, list[tuple[str, float, float]]]) -> None:
        self.peaks = peaks

    def __call__(self, part: fd.Ring, *_: object, **__: object) -> Stub:
        self.answers = [Said(*p) for p in self.peaks[part.cutout.radius_mm]]  # type: ignore[union-attr]
        return self


@pytest.mark.parametrize(
    ("peaks", "best", "confirmed", "own", "words"),
    [
        ({20: (50, 1), 25: (45, 1), 30: (49, 1)}, 25, True, 25, ["own best among the radii solved is the same", "lower by 8.2 %"]),
        ({20: (44.5, 1), 25: (45, 1), 30: (49, 1)}, 25, True, 20, ["20 mm", "1.1 % lower; no difference proven"]),
        ({20: (50, 1), 25: (48, 1), 30: (49, 1)}, 25, None, 25, ["full round, 49.0 ± 1.0 MPa, settled: no difference proven"]),
        ({20: (40, 1), 25: (45, 1), 30: (49, 1)}, 25, False, 20, ["11 % lower; beyond the bands", "not confirmed"]),
        ({20: (50, 1), 25: (49, 1), 30: (46, 1)}, 25, False, 30, ["higher by 6.5 %", "not confirmed"]),
        ({20: (50, 1), 25: (47, 1), 30: (46, 1)}, 30, True, 30, ["the same"]),
        ({20: (47, 1), 25: (46.5, 1), 30: (46, 1)}, 30, None, 30, ["left open"]),
        ({20: (-47, 1), 25: (-41, 1), 30: (-46, 1)}, 30, False, 25, ["-41.0", "beyond the bands"]),
    ],
)  # fmt: skip
def test_what_is_said(peaks, best, confirmed, own, words, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    told = {float(r): [("spin", *p)] for r, p in peaks.items()}
    monkeypatch.setattr(best_radius_ring, "solve_all", Stub(told))
    check = confirm_on_ring(ring(), [SPIN], STEEL, best, radii_mm=[20, 25])
    assert [r.radius_mm for r in check.rows] == [20, 25, 30]
    assert check.confirmed is confirmed
    assert check.own_best.radius_mm == own
    assert check.plane_best.radius_mm == best
    for word in words:
        assert word in " ".join(check.text)


def test_the_band_covers_every_load_that_may_be_the_worst(monkeypatch) -> None:  # type: ignore[no-untyped-def]
    told = [("spin", 50.0, 0.5), ("pull", -49.0, 3.0), ("small", 1.0, 0.1)]
    monkeypatch.setattr(best_radius_ring, "solve_all", Stub({25.0: told, 30.0: told}))
    row = confirm_on_ring(ring(), [SPIN], STEEL, 25, radii_mm=[25]).plane_best
    assert (row.load, row.peak.value) == ("spin", 50)
    assert row.high_MPa == 52
    assert row.low_MPa <= 49.5
    assert dict(row.peaks)["pull"].value == -49


def test_bands_that_touch_prove_nothing() -> None:
    rows = [RingRadius(r, Quantity(v, "MPa", 1.0), "spin", None, ()) for r, v in ((20, 50.0), (25, 48.0), (30, 47.9))]
    assert rows[1].against(rows[0]) == "no difference proven"
    assert rows[2].against(rows[0]) == "lower"
    assert rows[0].against(rows[2]) == "higher"


def test_five_radii_with_the_best_and_the_full_round_among_them() -> None:
    for best in (5.0, 24.8, 30.0):
        radii = radii_around(best, 30.0)
        assert len(set(radii)) == 5
        assert list(radii) == sorted(radii)
        assert best in radii
        assert radii[-1] == 30.0


def test_refusals() -> None:
    circle = fd.Ring(
        outer_diameter_mm=760,
        wall_mm=40,
        pitch_mm=180,
        slots_around=4,
        rows="aligned",
        cutout=fd.Circle(diameter_mm=60),
    )
    with pytest.raises(InputFault, match="must be a slot"):
        confirm_on_ring(circle, [SPIN], STEEL, 20)
    with pytest.raises(InputFault, match="at most 30"):
        confirm_on_ring(ring(), [SPIN], STEEL, 31)
    with pytest.raises(InputFault, match="radii_mm"):
        confirm_on_ring(ring(), [SPIN], STEEL, 20, radii_mm=[0])
    plane = best_radius([PlaneState(name="hoop", stress_x_MPa=10)], size_x_mm=50, size_y_mm=120)
    with pytest.raises(InputFault, match="differs from the plane's slot"):
        confirm_on_ring(ring(), [SPIN], STEEL, plane)
    with pytest.raises(InputFault, match="at least one load"):
        confirm_on_ring(ring(), [], STEEL, 20)


@pytest.mark.slow
def test_the_ring_under_rotation_confirms_what_the_plane_says_of_hoop() -> None:
    """Rows that alternate hardly oval the ring, so that hoop pull governs as in the plane: less than the full round is better.

    Five radii solved as solids, each with its band; nothing from outside.
    """
    plane = best_radius([PlaneState(name="hoop", stress_x_MPa=10)], size_x_mm=60, size_y_mm=120)
    events: list[str] = []
    check = confirm_on_ring(ring(), [SPIN, fd.Axial(stress_MPa=2)], STEEL, plane, on_event=events.append)
    assert len(check.rows) == 5
    assert check.plane_best_mm == plane.best.radius_mm
    assert check.confirmed is True
    assert {r.load for r in check.rows} == {"rotation"}
    assert all(r.peak.verdict is Verdict.SETTLED for r in check.rows)
    assert check.plane_best.high_MPa < check.full_round.low_MPa
    assert sum("corner radius" in e for e in events) >= 5
    alone = fd.solve(ring("full"), SPIN, STEEL)
    assert float(check.full_round.peak) == pytest.approx(
        float(alone.peak), abs=alone.peak.band + check.full_round.peak.band
    )
