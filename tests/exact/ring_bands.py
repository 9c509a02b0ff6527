"""The ladder's bands on random rings against their over-refined peaks: coverage, sharpness, and a picture of both.

    python tests/exact/ring_bands.py even|odd [PICTURE.svg]

Factors in femdrum/fem/ladder.py are fixed on the even numbers; what counts is the odd ones.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import ring_cases

import femdrum as fd
from femdrum.fem.unit import unit_solution
from femdrum.model.accuracy import Accuracy

__all__ = ["Judged", "judge", "numbers", "summary"]

# a reference counts where its own error is below this share of the band it judges; its error is this share of its
# change from order 4 to 5 at most, as nine of ten cases of order 5 show
SHARP = 0.2
LEFT = 0.5


@dataclass(frozen=True)
class Judged:
    """A peak at 1 % asked: its true error and band over the true peak, whether it settled, on how many unknowns.

    order: of the mesh; worth: the reference is sharp enough to judge it.
    """

    number: int
    case: str
    error: float
    band: float
    settled: bool
    unknowns: int
    order: int
    worth: bool


def numbers(odd: bool) -> list[int]:
    """The rings of one half."""
    return sorted({r.number for r in ring_cases.references() if r.number % 2 == odd})


def judge(number: int) -> list[Judged]:
    """Solve a ring as a user would, for all its unit cases at once, and lay the bands against the reference."""
    part = ring_cases.ring(number)
    assert part is not None
    asked = Accuracy(error=0.01, most_unknowns=60_000)
    unit = unit_solution(part, ring_cases.STEEL, ring_cases.CASES, asked)
    surface = unit.edge.combine(np.eye(len(ring_cases.CASES)))
    out = []
    for reference in ring_cases.references():
        if reference.number != number:
            continue
        peak = surface.peaks(ring_cases.CASES.index(reference.case), asked.error, mesh_only=True).peak
        assert peak.value is not None
        assert peak.band is not None
        true = reference.tension if peak.value > 0 else reference.compression
        out.append(
            Judged(
                number,
                reference.case,
                abs(peak.value - true) / abs(true),
                peak.band / abs(true),
                peak.verdict is fd.Verdict.SETTLED,
                unit.level.unknowns,
                unit.level.mesh.order,
                LEFT * reference.own_error <= SHARP * peak.band,
            )
        )
    return out


def summary(judged: Iterable[Judged]) -> dict[str, float]:
    """Coverage, median of band over error, median band, share settled; of cases with a sharp reference."""
    some = [j for j in judged if j.worth]
    error, band = np.array([j.error for j in some]), np.array([j.band for j in some])
    return {
        "cases": len(some),
        "coverage": float(np.mean(error <= band)),
        "median_band_over_error": float(np.median(band / np.maximum(error, 1e-9))),
        "median_band": float(np.median(band)),
        "median_error": float(np.median(error)),
        "settled": float(np.mean([j.settled for j in some])),
    }


def draw(judged: Iterable[Judged], path: str) -> None:
    """Error over band of every case: below the line the band held."""
    import matplotlib

    matplotlib.use("agg")
    from matplotlib import pyplot

    some = [j for j in judged if j.worth]
    figure, axes = pyplot.subplots(figsize=(5.5, 5.0), layout="constrained")
    for case, marker in zip(ring_cases.CASES, "osD^", strict=True):
        own = [j for j in some if j.case == case]
        axes.loglog(
            [100 * j.band for j in own],
            [100 * max(j.error, 1e-5) for j in own],
            marker,
            markersize=4,
            alpha=0.7,
            label=case.replace("_", " "),
        )
    ends = np.array([0.03, 5.0])
    axes.loglog(ends, ends, "k-", linewidth=1)
    axes.annotate("error = band", (0.045, 0.05), rotation=45, fontsize=8)
    axes.loglog(ends, ends / 5, "k:", linewidth=1)
    axes.annotate("band = 5 x error", (0.045, 0.0105), rotation=45, fontsize=8)
    axes.set(xlabel="stated band, % of the peak", ylabel="true error, % of the peak", xlim=ends, ylim=(1e-3, 5.0))
    told = summary(some)
    axes.set_title(f"{told['cases']} peaks of random rings, 1 % asked: {told['coverage']:.1%} within the band")
    axes.title.set_fontsize(9)
    axes.legend(fontsize=8, loc="lower right")
    figure.savefig(path)


def main() -> None:
    """Judge one half and print what came out."""
    odd = sys.argv[1] == "odd"
    judged = []
    for number in numbers(odd):
        found = judge(number)
        judged += found
        for j in found:
            flag = " " if j.error <= j.band else ("OUT" if j.worth else "out, reference not sharp")
            print(
                f"{j.number:4d} {j.case:18s} order {j.order} {j.unknowns:6d} error {j.error:8.4%} band {j.band:8.4%} "
                f"ratio {j.error / j.band:5.2f} {'settled' if j.settled else '-':8s}{flag}",
                flush=True,
            )
    print(summary(judged))
    for order in sorted({j.order for j in judged}):
        print("order", order, summary(j for j in judged if j.order == order))
    if len(sys.argv) > 2:
        draw(judged, sys.argv[2])


if __name__ == "__main__":
    main()
