"""What a tightened bolt pulls: from torque or from yield, with scatter, embedding, and the share of a working load.

Torque and preload belong together only by friction in thread and under the head: without the lubrication a torque says
nothing. N, mm, N m for torques.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from ..errors import MISSING
from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..model.clamp import Bolt
from ..provenance import common_practice, computed, memory, standard
from .bolt_table import EMBEDDING, FRICTION, HEADS, SCATTER, Thread, embedding_um, proof_yield_MPa, thread
from .given import need

__all__ = [
    "PreloadWindow",
    "assembly_preload_N",
    "bolt_compliance_mm_N",
    "bolt_friction",
    "bolt_thread",
    "embedding_loss_N",
    "embedding_of",
    "load_share",
    "parts_compliance_mm_N",
    "preload_window",
    "residual_clamp_N",
    "scatter_factor",
    "tightening_torque_Nm",
    "torque_arm_mm",
]

FORMS = standard(
    "VDI 2230-1:2003, assembly preload and tightening torque", "forms and table values seen in secondary reproductions"
)
EMBED = memory("VDI 2230-1, loss of preload by embedding")
WORKING = memory("VDI 2230-1, joint with bolt and clamped parts as springs; checked by the balance of both springs")
LENGTHS = memory(
    "VDI 2230-1, substitute lengths of head (0.5 d), engaged thread (0.5 d core) and tapped part or nut (0.33 d, 0.4 d)"
)
CONE = computed("elastic cones of 30 degrees under head and opposite face, integrated; not wider than the parts given")
SCATTERED = computed("bounds of friction, and the tightening factor, whichever leaves less")
DECLARED = common_practice("declared by the user")
# share of the yield strength that tightening may use, pull and twist together
UTILISATION = 0.9
CONE_TANGENT = math.tan(math.radians(30.0))


def bolt_thread(bolt: Bolt) -> Thread:
    """Thread of a bolt, with its own head bearing and hole diameters where given. Raises InputFault."""
    found = thread(bolt.size)
    made = replace(
        found,
        head_bearing_mm=found.head_bearing_mm if bolt.head_bearing_mm is None else bolt.head_bearing_mm,
        hole_mm=found.hole_mm if bolt.hole_mm is None else bolt.hole_mm,
    )
    checks = Checks()
    checks.number("head_bearing_mm", made.head_bearing_mm, above=made.hole_mm, way_out="the head must cover its hole")
    checks.done()
    return made


def bolt_friction(bolt: Bolt) -> tuple[float, float]:
    """Bounds of the coefficient in thread and under the head: as measured, else by lubrication."""
    if bolt.friction_low is not None and bolt.friction_high is not None:
        return bolt.friction_low, bolt.friction_high
    checks = Checks()
    checks.one_of(
        "lubrication", bolt.lubrication, FRICTION, "a torque without the lubrication says nothing of the preload"
    )
    checks.done()
    found = FRICTION[str(bolt.lubrication)]
    return found.low, found.high


def scatter_factor(bolt: Bolt) -> float:
    """Largest over least preload: as declared, else by the way of tightening."""
    return SCATTER[bolt.tightening].factor if bolt.tightening_factor is None else bolt.tightening_factor


@stated(
    "preload at 90 % of yield", "kN", "FM = 0.9 Rp0.2 As / sqrt(1 + 3 (1.5 d2/d0 (P/(pi d2) + 1.155 mu))²)", FORMS, 1e-3
)
def assembly_preload_N(bolt: Bolt, *, friction: float, utilisation: float = UTILISATION) -> float:
    """Preload at which pull and twist of tightening reach a share of the yield strength, N. Raises InputFault."""
    need(friction={"friction": friction}, share={"utilisation": utilisation})
    t = bolt_thread(bolt)
    twist = 1.5 * t.pitch_diameter_mm / t.stress_diameter_mm
    twist *= t.pitch_mm / (math.pi * t.pitch_diameter_mm) + 1.155 * friction
    yield_MPa = proof_yield_MPa(bolt.property_class, t.diameter_mm)
    return utilisation * yield_MPa * t.stress_area_mm2 / math.sqrt(1 + 3 * twist**2)


def torque_arm_mm(bolt: Bolt, *, friction: float, head_friction: float | None = None) -> float:
    """Torque over preload, mm: 0.16 P + 0.58 d2 mu + D_Km mu / 2, D_Km the mean of head bearing and hole. Raises InputFault."""
    head = friction if head_friction is None else head_friction
    need(friction={"friction": friction, "head_friction": head})
    t = bolt_thread(bolt)
    ring = 0.5 * (t.head_bearing_mm + t.hole_mm)
    return 0.16 * t.pitch_mm + 0.58 * t.pitch_diameter_mm * friction + 0.5 * ring * head


@stated("tightening torque", "N·m", "MA = FM (0.16 P + 0.58 d2 mu + D_Km mu / 2)", FORMS)
def tightening_torque_Nm(
    bolt: Bolt, *, preload_N: float, friction: float | None, head_friction: float | None = None
) -> float:
    """Torque that gives a preload, N m. Raises InputFault, also without a coefficient of friction."""
    checks = Checks()
    if friction is None:
        checks.add("friction", MISSING, "is missing: torque and preload belong together only by friction", "say the lubrication of thread and head")  # fmt: skip
    checks.number("preload_N", preload_N, least=0.0, way_out="pull of the bolt in N")
    checks.done()
    assert friction is not None
    return 1e-3 * preload_N * torque_arm_mm(bolt, friction=friction, head_friction=head_friction)


@dataclass(frozen=True)
class PreloadWindow:
    """Least and most preload of a bolt, N, and how it came about. For a window to be met: from least to most."""

    min: float
    max: float
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def open(self) -> bool:
        """Whether there is anything between least and most."""
        return self.min <= self.max

    @property
    def ratio(self) -> float:
        """Most over least."""
        return self.max / self.min if self.min > 0 else math.inf


def preload_window(bolt: Bolt, *, torque_Nm: float | None = None, preload_N: float | None = None) -> PreloadWindow:
    """Least and most preload after tightening, before any loss, N.

    By torque: most at the low friction, least at the high one or at most / tightening factor, whichever is less. Hydraulic: most is
    the pull set, least that over the factor. Yield and angle controlled: least at full use of the yield strength at the
    high friction, most that times the factor. torque_Nm, preload_N: instead of the bolt's own. Raises InputFault.
    """
    scatter = SCATTER[bolt.tightening]
    alpha = scatter_factor(bolt)
    alpha_from = scatter.provenance if bolt.tightening_factor is None else DECLARED
    low, high = bolt_friction(bolt)
    named = bolt.friction_low is None
    friction_from = FRICTION[str(bolt.lubrication)].provenance if named else DECLARED
    allowed = assembly_preload_N(bolt, friction=low)
    torque = torque_Nm if torque_Nm is not None else bolt.torque_Nm
    pull = preload_N if preload_N is not None else (None if bolt.preload_kN is None else 1e3 * bolt.preload_kN)
    checks, made = Checks(), []
    if scatter.by_torque:
        checks.positive(
            "torque_Nm", MISSING if torque is None else torque, f"'{bolt.tightening}' is set by a torque: say which"
        )
        checks.done()
        assert torque is not None
        most = 1e3 * torque / torque_arm_mm(bolt, friction=low)
        straight = 1e3 * torque / torque_arm_mm(bolt, friction=high)
        least = min(straight, most / alpha)
        made = [
            Figure("tightening torque", torque, "N·m", "declared", DECLARED),
            Figure(
                "preload at the high friction",
                1e-3 * straight,
                "kN",
                "F = MA / (0.16 P + 0.58 d2 mu + D_Km mu / 2)",
                FORMS,
            ),
        ]
    elif bolt.tightening == "hydraulic":
        checks.positive(
            "preload_N", MISSING if pull is None else pull, "a hydraulic tensioner is set by its pull: say which"
        )
        checks.done()
        assert pull is not None
        most, least = pull, pull / alpha
    else:
        least = assembly_preload_N(bolt, friction=high, utilisation=1.0)
        most = alpha * least
    figures = (
        *made,
        Figure("friction of the bolt, low", low, "-", "thread and head", friction_from),
        Figure("friction of the bolt, high", high, "-", "thread and head", friction_from),
        Figure("tightening factor", alpha, "-", "largest over least preload", alpha_from),
        Figure("most preload", 1e-3 * most, "kN", "at the low friction, or as set", SCATTERED),
        Figure("least preload, before losses", 1e-3 * least, "kN", "at the high friction, or most / factor", SCATTERED),
        figure(assembly_preload_N, allowed, "preload allowed at the low friction"),
        Figure("head bearing diameter", bolt_thread(bolt).head_bearing_mm, "mm", "by size, or declared", HEADS if bolt.head_bearing_mm is None else DECLARED),
    )  # fmt: skip
    warnings = []
    if scatter.by_torque and most > 1.0001 * allowed:
        torque_allowed = tightening_torque_Nm(bolt, preload_N=allowed, friction=low)
        warnings.append(
            f"at the low friction the torque of {torque:.4g} N·m pulls {1e-3 * most:.4g} kN, above the {1e-3 * allowed:.4g} kN that the bolt may carry while it is tightened; at most {torque_allowed:.4g} N·m"
        )
    if bolt.tightening == "hydraulic" and most > allowed:
        warnings.append(
            f"the pull of {1e-3 * most:.4g} kN is above the {1e-3 * allowed:.4g} kN that the bolt may carry"
        )
    if bolt.tightening == "impact driver":
        warnings.append("an impact driver leaves the preload open by a factor of up to 4: use a torque wrench at least")
    return PreloadWindow(least, most, figures, tuple(warnings))


@stated("preload lost by embedding", "kN", "F_Z = f_Z / (delta_S + delta_P)", EMBED, 1e-3)
def embedding_loss_N(*, embedding_um: float, bolt_compliance_mm_N: float, parts_compliance_mm_N: float) -> float:
    """Preload lost when all faces flatten by embedding_um, N: short stiff bolts lose most. Raises InputFault."""
    need(
        not_negative={"embedding_um": embedding_um, "parts_compliance_mm_N": parts_compliance_mm_N},
        positive={"bolt_compliance_mm_N": bolt_compliance_mm_N},
    )
    return 1e-3 * embedding_um / (bolt_compliance_mm_N + parts_compliance_mm_N)


def bolt_compliance_mm_N(bolt: Bolt) -> float:
    """Stretch of a bolt under 1 N, mm: head, shank, free and engaged thread, tapped part or nut, each as a bar: LENGTHS."""
    if bolt.bolt_compliance_mm_N is not None:
        return bolt.bolt_compliance_mm_N
    t = bolt_thread(bolt)
    d = t.diameter_mm
    shank = bolt.shank_mm + d * (0.5 + (0.33 if bolt.tapped else 0.4))
    core = bolt.clamp_length_mm - bolt.shank_mm + 0.5 * d
    return (shank / t.shank_area_mm2 + core / t.core_area_mm2) / bolt.youngs_modulus_MPa


def _cone(length: float, head: float, hole: float, outer: float) -> float:
    """Integral of dz / area over a cone that widens from the head, then a tube once it is as wide as the parts."""
    reach = min(length, max(0.0, (outer - head) / (2 * CONE_TANGENT)))
    wide = head + 2 * CONE_TANGENT * reach
    # integral of 4 / pi dz / ((D + 2 z tan)² - hole²)
    part = math.log((wide - hole) * (head + hole) / ((wide + hole) * (head - hole))) / (math.pi * hole * CONE_TANGENT)
    return part + (length - reach) / (0.25 * math.pi * (wide**2 - hole**2))


def parts_compliance_mm_N(bolt: Bolt) -> float:
    """Shortening of the clamped parts under 1 N, mm: cones from the head (and the nut), no wider than outer_mm: CONE.

    Raises InputFault where the head does not cover the hole, or the sleeve not reach beyond it.
    """
    if bolt.parts_compliance_mm_N is not None:
        return bolt.parts_compliance_mm_N
    t = bolt_thread(bolt)
    checks = Checks()
    outer = math.inf if bolt.outer_mm is None else bolt.outer_mm
    if outer <= t.hole_mm:
        checks.add(
            "outer_mm", outer, f"must be above the hole of {t.hole_mm:g} mm", "outer diameter of the clamped parts"
        )
    checks.done()
    head = min(t.head_bearing_mm, outer)
    # a tapped part takes the cone's wide end; a nut mirrors it at mid length
    if bolt.tapped:
        return _cone(bolt.clamp_length_mm, head, t.hole_mm, outer) / bolt.youngs_modulus_MPa
    return 2 * _cone(0.5 * bolt.clamp_length_mm, head, t.hole_mm, outer) / bolt.youngs_modulus_MPa


@stated("share of a working load that the bolt feels", "-", "Phi = delta_P / (delta_S + delta_P)", WORKING)
def load_share(*, bolt_compliance_mm_N: float, parts_compliance_mm_N: float) -> float:
    """Part of a working load that adds to the bolt; the rest takes clamp off the joint. Raises InputFault."""
    need(
        positive={"bolt_compliance_mm_N": bolt_compliance_mm_N},
        not_negative={"parts_compliance_mm_N": parts_compliance_mm_N},
    )
    return parts_compliance_mm_N / (bolt_compliance_mm_N + parts_compliance_mm_N)


@stated("clamp left under the working load", "kN", "F_KR = F_Mmin - F_Z - (1 - Phi) F_A", WORKING, 1e-3)
def residual_clamp_N(*, preload_least_N: float, embedding_N: float, share: float, working_N: float) -> float:
    """Clamp left in a joint, N; working_N pulls it apart, negative presses it. Below 0: the joint opens. Raises InputFault."""
    need(
        finite={"preload_least_N": preload_least_N, "working_N": working_N},
        not_negative={"embedding_N": embedding_N}, share={"share": share},
    )  # fmt: skip
    return preload_least_N - embedding_N - (1 - share) * working_N


def embedding_of(bolt: Bolt) -> tuple[float, Figure]:
    """Preload lost by embedding, N, and its amount as a figure."""
    if bolt.embedding_um is not None:
        amount, source = bolt.embedding_um, DECLARED
    else:
        amount = embedding_um(interfaces=bolt.interfaces, roughness_Rz_um=bolt.roughness_Rz_um, tapped=bolt.tapped)
        source = EMBEDDING
    loss = embedding_loss_N(
        embedding_um=amount, bolt_compliance_mm_N=bolt_compliance_mm_N(bolt), parts_compliance_mm_N=parts_compliance_mm_N(bolt)
    )  # fmt: skip
    return loss, Figure("embedding of the bolt's faces", amount, "µm", "thread, head and clamped faces", source)
