"""Cases of `femdrum verify` on life, retention, contact, balance and rotor: all agree here, and each says whose number it is."""

from __future__ import annotations

import time

import pytest

from femdrum import verify, verify_rest

KINDS = ("published", "standard", "closed form", "computed", "memory")


@pytest.mark.parametrize("case", verify.REST, ids=lambda c: c.__name__)
def test_case(case: object) -> None:
    checked = case()  # type: ignore[operator]
    assert checked.good, f"{checked.name}: ours {checked.ours}, theirs {checked.theirs} ({checked.source})"
    assert abs(checked.ours / checked.theirs - 1) <= checked.allowed <= 0.01
    kind, _, whose = checked.source.partition(":")
    assert kind in KINDS
    assert len(whose) > 10


def test_each_part_of_the_drum_has_some() -> None:
    parts = (verify_rest.LIFE, verify_rest.RETENTION, verify_rest.CONTACT, verify_rest.BALANCE, verify_rest.ROTOR)
    assert all(len(part) >= 2 for part in parts)
    assert sum(map(len, parts)) == len(verify_rest.CASES) == len(verify.REST)
    assert len({case()[:2] for case in verify_rest.CASES}) == len(verify_rest.CASES)


def test_what_is_from_memory_says_so() -> None:
    assert verify_rest.permissible_unbalance()[-1].startswith("memory")
    outside = [case()[-1] for case in verify_rest.CASES]
    assert sum(text.startswith("memory") for text in outside) == 1


def test_a_wrong_value_would_be_noticed() -> None:
    """Each case with the other side's number moved by three times what is allowed."""
    for case in verify_rest.CASES:
        name, quantity, ours, theirs, allowed, source = case()
        assert not verify._checked(name, quantity, ours, theirs * (1 + 3 * allowed), allowed, source).good


def test_they_are_quick() -> None:
    begun = time.process_time()
    for case in verify_rest.CASES:
        case()
    assert time.process_time() - begun < 10
