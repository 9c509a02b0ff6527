"""What must be said wherever results are shown: whom they serve, what they do not release, what was not looked at."""

from __future__ import annotations

__all__ = ["CAUTIONS", "NOT_CHECKED", "NOT_CHECKED_WITH_LIFE", "ONE_LINE", "SHORT", "not_checked"]

ONE_LINE = "These numbers support a qualified engineer and release nothing for manufacture or operation."

SHORT = (
    f"{ONE_LINE} A drum stores megajoules and can throw parts: verify by test and inspection, follow local law and "
    "the machine's standards, lock out and prove zero speed."
)

# (heading, text): the full version, for every report
CAUTIONS: tuple[tuple[str, str], ...] = (
    (
        "No release",
        "This result supports the judgement of a qualified engineer. It is not a release for manufacture, repair or "
        "operation, and it does not replace licensed practice where the law asks for it.",
    ),
    (
        "Stored energy",
        "A turning drum carries megajoules. A part that comes loose leaves the machine at tens of metres a second. "
        "The strength of guards and screens is outside this calculation.",
    ),
    (
        "Verify on the machine",
        "Prove the first unit by strain gauges, an overspeed run and non-destructive testing of the slot corners. "
        "Loads are estimates unless somebody has measured them.",
    ),
    (
        "Before opening",
        "Lock out every energy source and prove zero speed before a guard is opened: running down takes minutes, "
        "and a wedged hammer still holds the energy of its clamp.",
    ),
    (
        "Law and standards",
        "Local law and the standards for machines decide: guarding, isolation, unexpected start-up (for example "
        "ISO 12100, ISO 13857, ISO 14118, ISO 14119, ISO 14120; in the USA 29 CFR 1910.147 and 1910.212). EN 13525 "
        "is for hand-fed chippers and leaves out machines that are loaded mechanically: do not cite it as cover.",
    ),
    (
        "After an event",
        "A jam, tramp metal, a crack indication or a step in vibration voids every statement about remaining life "
        "until the drum has been inspected.",
    ),
    (
        "Welding",
        "Never repair a slot corner, a shaft stub or a hammer by welding without a qualified procedure; afterwards "
        "the place has to be assessed again, as a weld.",
    ),
    (
        "Hammers",
        "Change hammers in opposite pairs of equal, weighed mass; tighten both wedges to the stated torque and mark them.",
    ),
    (
        "Cold",
        "Starting below the temperature for which the steel's notch toughness is proven is not covered.",
    ),
)

NOT_CHECKED: tuple[str, ...] = (
    "fatigue life, crack growth and fracture",
    "welds, heat-affected zones and thermally cut edges",
    "contact of hammers, wedges and bolts with the slot, and how they are retained",
    "end discs, shaft stubs, bearings, and how the drum's ends restrain the shell",
    "residual stress from rolling, welding, cutting or straightening",
    "deviations of shape and size, wear, corrosion, notches from handling",
    "loads that the study does not list, be it cutting, jamming, tramp metal, bending, torsion, temperature or vibration",
    "balance, critical speed, burst, guards and screens",
    "stability and large deformation",
)

_OF_LIFE = {
    "fatigue life, crack growth and fracture": "fatigue life of other places than the slot; crack growth and fracture, unless a crack "
    "was asked for and stands in the chapter on life",
    "welds, heat-affected zones and thermally cut edges": "welds and heat-affected zones, unless the chapter on life names them; the "
    "slot's edge is taken as it was declared, not as it was measured",
    "residual stress from rolling, welding, cutting or straightening": "residual stress, but for what was declared of the slot's edge",
    "deviations of shape and size, wear, corrosion, notches from handling": "deviations of shape and size, but for those that the "
    "scatter of life states; wear, corrosion, notches from handling",
}

NOT_CHECKED_WITH_LIFE: tuple[str, ...] = tuple(_OF_LIFE.get(item, item) for item in NOT_CHECKED)


def not_checked(with_life: bool) -> tuple[str, ...]:
    """What a report has to list as not looked at."""
    return NOT_CHECKED_WITH_LIFE if with_life else NOT_CHECKED
