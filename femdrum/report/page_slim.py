"""A chart's SVG in fewer letters: the same drawing to a hundredth of a point, with the same words."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

__all__ = ["slim"]

NEEDLESS = re.compile(r"<\?xml[\s\S]*?\?>|<!DOCTYPE[\s\S]*?>|<!--[\s\S]*?-->|<metadata>[\s\S]*?</metadata>")
NO_TURN = re.compile(r' transform="rotate\(-?0 [^"]*\)"')
TAG = re.compile(r"<[^>]*>")
NUMBER = re.compile(r"-?\d*\.\d{3,}")
PATH = re.compile(r' d="([^"]*)"')
STYLE = re.compile(r' style="([^"]*)"')
NAME = re.compile(r' id="([^"]*)"')
FAMILY = re.compile(r"'DejaVu Sans', '[^;\"]*sans-serif")
STEP = re.compile(r"([A-Za-z])([^A-Za-z]*)")
COORDINATES = {"M": 2, "L": 2, "C": 6, "Q": 4, "Z": 0, "z": 0}  # numbers that a command takes at a time
CIRCLE = "MCCCCCCCCz"  # as the plotting library draws one

Step = tuple[str, list[int]]


def slim(svg: str) -> str:
    """The same drawing without prolog, comments, line breaks and names that nothing refers to; its words stay as they are."""
    svg = NO_TURN.sub("", re.sub(r">\s+<", "><", NEEDLESS.sub("", svg)))
    asked = set(re.findall(r"#([\w-]+)", svg))
    return TAG.sub(lambda tag: _tag(tag[0], asked), svg).strip()


def _tag(tag: str, asked: set[str]) -> str:
    tag = re.sub(r"\s+", " ", tag)
    if tag.startswith("<image"):
        return tag
    tag = PATH.sub(lambda path: f' d="{_path(path[1])}"', tag)
    tag = NAME.sub(lambda name: name[0] if name[1] in asked else "", tag)
    tag = FAMILY.sub("DejaVu Sans,sans-serif", NUMBER.sub(_two_decimals, tag))
    tag = STYLE.sub(lambda style: style[0].replace(": ", ":").replace("; ", ";"), tag)
    return tag if "'" in tag else tag.replace('"', "'")


def _two_decimals(found: re.Match[str]) -> str:
    text = f"{float(found[0]):.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _path(path: str) -> str:
    """A path in steps from point to point, in hundredths that add up without drift: `M 1 2 L 3.5 4` as `M1 2l2.5 2`.

    Paths with other commands than moves, lines and curves in absolute places are left as they are.
    """
    steps: list[Step] = []
    for command, told in STEP.findall(path):
        numbers = [round(100 * float(n)) for n in told.split()]
        size = COORDINATES.get(command)
        if size is None or (numbers and not size) or (size and len(numbers) % size):
            return path
        blocks = [numbers[k : k + size] for k in range(0, len(numbers), size)] if size else [[]]
        steps += [("z" if command == "Z" else command, block) for block in blocks]
    out, at, begun, n = [], [0, 0], [0, 0], 0
    while n < len(steps):
        command, block = steps[n]
        if command == "z":
            out.append("z")
            at = begun
            n += 1
            continue
        if command == "M":
            out.append(f"m{_joined(v - a for v, a in zip(block, at, strict=True))}" if out else f"M{_joined(block)}")
            begun = block
            if arcs := _circle(steps[n : n + len(CIRCLE)]):
                out.append(arcs)
                at = begun
                n += len(CIRCLE)
                continue
        else:
            out.append(command.lower() + _joined(value - at[k % 2] for k, value in enumerate(block)))
        at = block[-2:]
        n += 1
    return "".join(out)


def _circle(steps: list[Step]) -> str:
    """A whole circle of eight curves as two arcs; empty where it is none."""
    if "".join(command for command, _ in steps) != CIRCLE:
        return ""
    places = [block[-2:] for _, block in steps[1:-1]]
    x, y = (sum(p[k] for p in places) / len(places) for k in (0, 1))
    radii = [math.hypot(p[0] - x, p[1] - y) for p in places]
    radius = sum(radii) / len(radii)
    start = steps[0][1]
    if places[-1] != start or max(abs(r - radius) for r in radii) > 1.5:
        return ""
    across = [2 * (x - start[0]), 2 * (y - start[1])]
    r, there, back = (
        " ".join(_number(v) for v in values) for values in ((radius, radius), across, (-across[0], -across[1]))
    )
    return f"a{r} 0 1 1 {there}a{r} 0 1 1 {back}z"


def _number(hundredths: float) -> str:
    text = f"{hundredths / 100:.2f}".rstrip("0").rstrip(".")
    text = text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
    return "0" if text in ("-0", "") else text


def _joined(hundredths: Iterable[int]) -> str:
    """Numbers beside each other; a minus sign parts them as well as a blank."""
    text = ""
    for value in hundredths:
        one = _number(value)
        text += one if not text or one.startswith("-") else f" {one}"
    return text
