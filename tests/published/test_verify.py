"""`femdrum verify` solves its cases here and all agree within what each allows."""

from __future__ import annotations

import pytest

from femdrum import verify


@pytest.mark.parametrize("case", [*verify.CLOSED, *verify.FINITE_ELEMENTS], ids=lambda c: c.__qualname__)
def test_case(case: object) -> None:
    checked = case()  # type: ignore[operator]
    assert checked.good, f"{checked.name}: ours {checked.ours}, theirs {checked.theirs} ({checked.source})"
    assert abs(checked.ours / checked.theirs - 1) <= checked.allowed <= 0.03
    assert checked.source.split(":")[0] in ("closed form", "published", "computed")


def test_a_wrong_value_would_be_noticed() -> None:
    assert not verify._checked("x", "Kt", 3.1, 3.0, 5e-3, "closed form: none").good
