"""Life when sizes, roughness, loads and strength scatter, over the variants that a study computed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.finish import Finish
from ..model.material import Material
from ..model.scatter_input import ScatterInput
from ..strength.response_surface import ResponseSurface
from ..strength.sampling import extremes
from ..strength.scatter import ScatterResult, scatter
from ..strength.surface import roughness_factor
from .life_result import Input, ScatterLife, VariantLife

__all__ = ["scatter_lives", "sizes_of"]

Array = NDArray[np.float64]

SIZES = ("corner_radius_mm", "wall_mm")
_DEVIATION = {"corner_radius_mm": "corner_radius_deviation_mm", "wall_mm": "wall_deviation_mm"}
_ENDLESS = 1e12


def sizes_of(part: Any) -> tuple[float, float]:
    """Corner radius and wall of a part, mm."""
    wall = getattr(part, "wall_mm", None) or part.thickness_mm
    return float(part.cutout.least_radius_mm), float(wall)


def scatter_lives(
    lives: Sequence[VariantLife], sizes: Sequence[tuple[float, float]], materials: Sequence[Material], finish: Finish,
    wanted: ScatterInput, alike: Sequence[Any],
) -> tuple[ScatterLife, ...]:  # fmt: skip
    """The scatter of each variant's life; sizes: corner radius and wall of each.

    alike [variant]: what else tells variants apart: only those with equal values, which differ by radius and wall alone, share a
    response surface of the stress that does the damage.
    """
    out = []
    for i, life in enumerate(lives):
        if life.damage_stress_MPa <= 0.0:
            continue
        some = [k for k in range(len(lives)) if alike[k] == alike[i] and lives[k].damage_stress_MPa > 0.0]
        surface, stated = _surface([lives[k] for k in some], [sizes[k] for k in some], sizes[i], life, wanted)
        doubt = _doubt(surface, sizes[i], wanted)
        # what the surface does not know counts as scatter of the peak
        own = replace(wanted, peak_share=math.hypot(wanted.peak_share, doubt))
        found = scatter(_life_of(life, surface, sizes[i], materials[i], finish), own, life.target_h)
        out.append(_said(life.key, found, stated, surface, doubt))
    return tuple(out)


def _surface(
    lives: Sequence[VariantLife], sizes: Sequence[tuple[float, float]], here: tuple[float, float], life: VariantLife,
    wanted: ScatterInput,
) -> tuple[ResponseSurface, str]:  # fmt: skip
    """Through all variants where it reaches as far as the sizes scatter; else by scaling laws from the variant itself."""
    reach = extremes(wanted)
    through = ResponseSurface.fit(np.array(sizes), np.array([v.damage_stress_MPa for v in lives]), SIZES)
    inside = all(
        low <= at + reach[_DEVIATION[name]][0] and at + reach[_DEVIATION[name]][1] <= high
        for name, at, (low, high) in zip(SIZES, here, through.range, strict=True)
    )
    if inside:
        return through, f"through {len(lives)} variants"
    own = ResponseSurface.fit(np.array([here]), np.array([life.damage_stress_MPa]), SIZES)
    return own, "by scaling laws from this variant: the study has none beyond it"


def _doubt(surface: ResponseSurface, here: tuple[float, float], wanted: ScatterInput) -> float:
    """Relative error of the surface where the sizes usually lie: one standard deviation to either side."""
    reach = extremes(wanted)
    usual = np.array([reach[_DEVIATION[name]][1] for name in SIZES]) / math.sqrt(3.0)
    lows, highs = np.array(surface.range).T
    at = np.stack([np.clip(np.array(here) + sign * usual, lows, highs) for sign in (-1.0, 1.0)])
    return float(np.mean(surface.error_at(at)))


def _life_of(
    life: VariantLife, surface: ResponseSurface, here: tuple[float, float], material: Material, finish: Finish
) -> Any:
    """log10 of the median life from samples: by the factor on all stresses, and by the factor on the strength."""
    scale = np.log(np.array(life.scale))
    hours = np.log10(np.array([_ENDLESS if h is None else min(h, _ENDLESS) for h in life.median_life_h]))
    base = float(surface.value(np.array(here)))
    ultimate = float(material.ultimate_MPa or 0.0)
    rough = float(roughness_factor(ultimate, finish.rz_um))
    lows, highs = np.array(surface.range).T

    def log10_life(samples: Mapping[str, Array]) -> Array:
        sizes = np.stack([at + samples[_DEVIATION[name]] for name, at in zip(SIZES, here, strict=True)], -1)
        stress = surface.value(np.clip(sizes, lows, highs)) / base * samples["load_factor"] * samples["peak_factor"]
        strength = samples["strength_factor"]
        own = roughness_factor(ultimate * strength, np.clip(finish.rz_um * samples["roughness_factor"], 1.0, None))
        return np.asarray(np.interp(np.log(stress / (strength * own / rough)), scale, hours))

    return log10_life


def _said(key: str, found: ScatterResult, stated: str, surface: ResponseSurface, doubt: float) -> ScatterLife:
    inputs: list[Input] = []
    if found.sensitivity is not None:
        swings = {s.name: s for s in found.sensitivity.tornado}
        shares = found.sensitivity.indices
        for i in shares.order:
            name = shares.names[i]
            swing = swings[name]
            inputs.append(
                Input(
                    name, float(shares.first[i]), float(shares.total[i]), _finite(swing.at_p10), _finite(swing.at_p90)
                )
            )
    return ScatterLife(
        key=key,
        p10_h=_finite(found.p10_life_h),
        p50_h=_finite(found.p50_life_h),
        p90_h=_finite(found.p90_life_h),
        shares=tuple(float(s) for s in found.shares),
        life_h=tuple(_finite(float(h)) for h in found.life_h),
        failure=found.failure.value,
        failure_error=found.failure.standard_error,
        inputs=tuple(inputs),
        surface=stated,
        surface_error_pct=100 * doubt,
        figures=(*surface.figures, *found.figures),
        notes=(*surface.notes, *found.notes, "strength moves the S-N curve up and down; that mean stress counts a little more in "
               "stronger steel is left out"),
    )  # fmt: skip


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
