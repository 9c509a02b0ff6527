"""Refusals of the clamp's formulas: all faults of one call at once, each with its way out."""

from __future__ import annotations

from collections.abc import Mapping

from ..model.check import Checks

__all__ = ["FRICTION_LEAST", "FRICTION_MOST", "need"]

# outside of these a coefficient of friction is a slip of the pen
FRICTION_LEAST, FRICTION_MOST = 0.01, 1.0
WORDS = {
    "force_N": "the force in N",
    "normal_N": "the normal force in N",
    "taper_deg": "angle between the wedge's two faces in degrees, above 0 and below 45",
    "speed_rpm": "revolutions a minute",
}


def _way(name: str, ways: Mapping[str, str] | None) -> str:
    return (ways or {}).get(name) or f"give {WORDS.get(name, name.replace('_', ' '))}"


def need(
    *,
    positive: Mapping[str, object] | None = None,
    not_negative: Mapping[str, object] | None = None,
    finite: Mapping[str, object] | None = None,
    friction: Mapping[str, object] | None = None,
    share: Mapping[str, object] | None = None,
    taper_deg: object = 5.0,
    way_out: Mapping[str, str] | None = None,
    checks: Checks | None = None,
) -> None:
    """Refuse by InputFault what makes no sense; `share`: from 0 to 1; `friction`: a coefficient, 0.01 to 1."""
    checks = checks or Checks()
    for name, value in (positive or {}).items():
        checks.positive(name, value, _way(name, way_out))
    for name, value in (not_negative or {}).items():
        checks.number(name, value, least=0.0, way_out=_way(name, way_out))
    for name, value in (finite or {}).items():
        checks.number(name, value, way_out=_way(name, way_out))
    for name, value in (friction or {}).items():
        checks.number(
            name, value, least=FRICTION_LEAST, most=FRICTION_MOST,
            way_out=(way_out or {}).get(name) or "a coefficient, not an angle or per cent; steel on steel 0.05 to 0.3",
        )  # fmt: skip
    for name, value in (share or {}).items():
        checks.number(name, value, least=0.0, most=1.0, way_out=_way(name, way_out))
    checks.number("taper_deg", taper_deg, above=0.0, below=45.0, way_out=_way("taper_deg", way_out))
    checks.done()
