"""Checks of single fields. Each adds a fault and goes on, so that all faults are reported at once."""

from __future__ import annotations

import math
from collections.abc import Iterable

from ..errors import MISSING, Fault, InputFault, nearest

__all__ = ["Checks"]


class Checks:
    """Collects the faults of one object; `done()` raises them together."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def add(self, field: str, value: object, allowed: str, way_out: str = "") -> None:
        """Note one fault."""
        self.faults.append(Fault(field, value, allowed, way_out))

    def number(
        self,
        field: str,
        value: object,
        *,
        above: float | None = None,
        least: float | None = None,
        below: float | None = None,
        most: float | None = None,
        way_out: str = "",
    ) -> bool:
        """A finite number inside the limits; True if it is."""
        limits = [
            text
            for text, limit in (
                (f"above {above:g}" if above is not None else "", above),
                (f"at least {least:g}" if least is not None else "", least),
                (f"below {below:g}" if below is not None else "", below),
                (f"at most {most:g}" if most is not None else "", most),
            )
            if limit is not None
        ]
        allowed = "must be a finite number" + (" " + " and ".join(limits) if limits else "")
        if value is MISSING or value is None:
            self.add(field, MISSING, f"is missing; {allowed}", way_out)
            return False
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.add(field, value, allowed, way_out or "give a number without quotes or unit")
            return False
        good = (
            math.isfinite(value)
            and (above is None or value > above)
            and (least is None or value >= least)
            and (below is None or value < below)
            and (most is None or value <= most)
        )
        if not good:
            self.add(field, value, allowed, way_out)
        return good

    def positive(self, field: str, value: object, way_out: str = "") -> bool:
        """A finite number above zero."""
        return self.number(field, value, above=0.0, way_out=way_out)

    def whole(self, field: str, value: object, least: int, most: int, way_out: str = "") -> bool:
        """A whole number from `least` to `most`."""
        good = isinstance(value, int) and not isinstance(value, bool) and least <= value <= most
        if not good:
            self.add(field, value, f"must be a whole number from {least} to {most}", way_out)
        return good

    def nonzero(self, field: str, value: object, way_out: str = "leave the load out") -> bool:
        """A finite number that is not zero."""
        good = self.number(field, value)
        if good and value == 0:
            self.add(field, value, "must not be zero", way_out)
        return good and value != 0

    def optional(self, field: str, value: object, way_out: str = "") -> bool:
        """Nothing, or a finite number above zero."""
        return value is None or self.positive(field, value, way_out)

    def text(self, field: str, value: object) -> bool:
        """A name that fits into a table."""
        good = isinstance(value, str) and bool(value.strip()) and len(value) <= 80
        if not good:
            missing = value is MISSING or value is None
            self.add(field, MISSING if missing else value, "must be a text of 1 to 80 characters")
        return good

    def truth(self, field: str, value: object) -> bool:
        """True or false."""
        good = isinstance(value, bool)
        if not good:
            self.add(field, value, "must be true or false, without quotes")
        return good

    def one_of(self, field: str, value: object, known: Iterable[str], way_out: str = "") -> bool:
        """One of the known names."""
        names = list(known)
        if isinstance(value, str) and value in names:
            return True
        shown = ", ".join(repr(n) for n in names)
        missing = value is MISSING or value is None
        self.add(
            field,
            MISSING if missing else value,
            f"{'is missing; ' if missing else ''}must be one of {shown}",
            way_out or ("" if missing else nearest(value, names)),
        )
        return False

    def done(self) -> None:
        """Raise InputFault with all that was found, or return."""
        if self.faults:
            raise InputFault(self.faults)
