"""The slotted ring against an independent finite element library: live on three geometries, stored on all.

Tolerance: 1 % is the error asked for; the reference's own error (two meshes, two orders) must be small beside the band.
"""

import math

import pytest
import ring_reference as peer

import femdrum as fd

# Held growth is no load of femdrum's; a row whose own error is above 0.2 % (axial pull at the tightest corner) judges nothing.
STORED = [row for row in peer.read() if row["load"] != "rotation_held" and float(row["est_rel_err"]) <= 0.002]
ASKED = 0.01


def ring(g: peer.Geometry) -> fd.Ring:
    return fd.Ring(
        outer_diameter_mm=2 * g.outer_radius,
        wall_mm=g.wall,
        pitch_mm=g.pitch,
        slots_around=g.slots,
        rows=g.rows,
        cutout=fd.Slot(around_mm=g.around, axial_mm=g.axial, corner_radius_mm=g.radius),
    )


def solve(g: peer.Geometry, load: str) -> fd.Answer:
    loads = {"rotation": fd.Rotation(speed_rpm=peer.RPM), "axial": fd.Axial(stress_MPa=1.0)}
    return fd.solve(ring(g), loads[load], fd.steel("S355"), error=ASKED)


def stored(name: str, load: str) -> dict[str, str]:
    return next(row for row in STORED if (row["name"], row["load"]) == (name, load))


def extremes(row: dict[str, str]) -> tuple[float, float, float]:
    """Largest tension and compression on the slot's wall and the surfaces near it, and the larger one's error."""
    number = {key: float(row[key]) for key in row if key.endswith("_MPa")}
    high = max("tension_", "bore_outer_tension_", key=lambda k: number[k + "MPa"])
    low = min("compression_", "bore_outer_compression_", key=lambda k: number[k + "MPa"])
    peak = max(high, low, key=lambda k: abs(number[k + "MPa"]))
    return number[high + "MPa"], number[low + "MPa"], number[peak + "err_MPa"]


@pytest.mark.slow
@pytest.mark.parametrize("row", STORED, ids=[f"{row['name']}, {row['load']}" for row in STORED])
def test_against_stored_reference(row):
    tension, compression, error = extremes(row)
    peak = max(tension, compression, key=abs)
    answer = solve(peer.GEOMETRIES[row["name"]], row["load"])
    assert answer.peak.value == pytest.approx(peak, rel=ASKED)
    assert abs(answer.peak.value - peak) <= answer.peak.band + error
    # the lesser extreme is not what the accuracy was asked for: 1 % of the peak. How far from the rim the near
    # surfaces reach is each program's own choice: between the slot's wall alone and one corner radius beyond.
    allowed = ASKED * abs(peak)
    assert float(row["tension_MPa"]) - allowed <= answer.tension.value <= tension + allowed
    assert compression - allowed <= answer.compression.value <= float(row["compression_MPa"]) + allowed
    # the peak lies at the same corner: within a quarter of its arc's radius
    g = peer.GEOMETRIES[row["name"]]
    x = math.radians(float(row["tension_theta_deg"])) * (g.outer_radius - 0.5 * g.wall)
    away = math.hypot(abs(answer.at.x_mm) - x, abs(answer.at.y_mm) - float(row["tension_z_mm"]))
    assert away < 0.25 * g.r


@pytest.mark.peers
@pytest.mark.parametrize("name", ["B aligned", "C aligned", "C alternate"])
def test_against_live_reference(name):
    import ngsolve

    ngsolve.SetNumThreads(2)
    g = peer.GEOMETRIES[name]
    live = peer.reference(g, disc=peer.ladder(g)[0])
    for load in ("rotation", "axial"):
        row = stored(name, load)
        tension, compression, stored_error = extremes(row)
        result = live.results[load]
        high = max(result.tension.value, result.bore_outer_tension.value)
        low = min(result.compression.value, result.bore_outer_compression.value)
        reference = max(high, low, key=abs)
        error = abs(reference - max(tension, compression, key=abs)) + stored_error
        assert error <= 0.002 * abs(reference), "the stored values do not come from this script"
        answer = solve(g, load)
        assert answer.peak.value == pytest.approx(reference, rel=ASKED)
        assert error < answer.peak.band / 5, "the reference is too coarse to judge this band"
        assert abs(answer.peak.value - reference) <= answer.peak.band


@pytest.mark.parametrize(
    ("name", "published"), [("D r2", 193.1), ("D r6", 124.85), ("B aligned", 90.56), ("D r30", 82.27)]
)
def test_stored_reference_meets_earlier_peaks(name, published):
    """Provenance: computed earlier by two other methods that agreed to 0.2 %, axial growth held."""
    row = next(r for r in peer.read() if (r["name"], r["load"]) == (name, "rotation_held"))
    assert float(row["tension_MPa"]) == pytest.approx(published, rel=0.003)
