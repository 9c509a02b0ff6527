"""The page of a whole drum's rotor: one HTML file with everything inside, readable without a network and without scripts."""

from __future__ import annotations

import base64
import datetime
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

from ..assess.life_words import hours
from ..assess.whole_drum_result import StateAnswer, WholeDrum
from ..assess.whole_drum_words import NOT_CHECKED, answer_sentences
from ..errors import MissingPart
from ..figure import Figure
from ..provenance import Kind
from ..study.drum_sheet import DrumSheet
from ..study.drum_write import drum_tables
from ..study.work import versions
from .cautions import CAUTIONS, SHORT
from .page import Shown
from .picture import NoData, Picture
from .words import signed

__all__ = ["rotor_content", "rotor_pictures", "write_rotor_page"]

NO_PICTURES = "Figures were not asked for"


def rotor_pictures(got: WholeDrum) -> Iterator[Picture]:
    """The figures of the page, in its order; those for which the drum lacks something are left out."""
    from .rotor_along import AlongPicture
    from .rotor_campbell import CampbellPicture
    from .rotor_pattern import UnrolledPicture
    from .rotor_shell import ShellModesPicture
    from .rotor_view import DrumPicture

    kinds: tuple[Callable[[WholeDrum], Picture], ...] = (
        DrumPicture, UnrolledPicture, AlongPicture, CampbellPicture, ShellModesPicture,
    )  # fmt: skip
    for kind in kinds:
        try:
            yield kind(got)
        except NoData:
            continue


def write_rotor_page(
    sheet: DrumSheet, got: WholeDrum, folder: Path, *, pictures: bool = True
) -> tuple[Path, list[str]]:
    """Draw the figures into `figures/` and write `rotor.html`; its path, and what could not be drawn, in sentences."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    home = files(__package__)
    maker = Environment(
        loader=FunctionLoader(lambda name: home.joinpath(name).read_text(encoding="utf-8")), autoescape=True,
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    shown = _shown(got, folder / "figures") if pictures else []
    page = maker.get_template("rotor.html")
    css = home.joinpath("report.css").read_text(encoding="utf-8")
    text = page.render(css=css, shown=shown, no_pictures="" if pictures else NO_PICTURES, **rotor_content(sheet, got))
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "rotor.html"
    part = path.with_suffix(".part")
    part.write_text(text, encoding="utf-8")
    part.replace(path)
    return path, [figure.sentence for figure in shown if figure.sentence]


def _shown(got: WholeDrum, folder: Path) -> list[Shown]:
    folder.mkdir(parents=True, exist_ok=True)
    out = []
    for number, picture in enumerate(rotor_pictures(got), 1):
        try:
            png, svg, _ = picture.write(folder)
        except MissingPart as reason:
            out.append(Shown(number, picture.name, picture.caption, "", str(reason)))
            continue
        # an SVG of a rendered view only wraps the same pixels
        path, kind = (png, "image/png") if picture.name == "drum-in-space" else (svg, "image/svg+xml")
        data = f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"
        out.append(Shown(number, picture.name, picture.caption, data, ""))
    return out


def rotor_content(sheet: DrumSheet, got: WholeDrum) -> dict[str, Any]:
    """What rotor.html and the chapter of a study's report show."""
    return {
        "sheet": sheet,
        "got": got,
        "made": datetime.datetime.now().astimezone().strftime("%d %B %Y, %H:%M %Z"),
        "short": SHORT,
        "sentences": answer_sentences(got),
        "states": [_state(state, got) for state in got.states],
        "masses": [_mass(row) for row in drum_tables(got)["masses"]],
        "centre": [_number(float(v), 5) for v in got.masses.centre_mm],
        "inertia": [[_number(float(v), 5) for v in row] for row in got.masses.inertia_kg_m2],
        "criticals": [_critical(row) for row in drum_tables(got)["critical_speeds"]],
        "facts": _facts(got),
        "figures": [("the drum", [_figure(f) for f in got.figures])]
        + [(f"state \u201c{s.name}\u201d", [_figure(f) for f in s.figures]) for s in got.states],
        "not_checked": NOT_CHECKED,
        "cautions": CAUTIONS,
        "versions": versions(),
    }


def _number(value: float | None, digits: int = 4) -> str:
    """A value for a table: no exponent where a plain number can be read."""
    if value is None:
        return "-"
    if value != 0 and abs(value) < 10.0**-4:
        return signed(f"{value:.2g}") if abs(value) > 1e-9 else "0"
    text = f"{float(f'{value:.{digits}g}'):,.10f}".rstrip("0").rstrip(".")
    return signed(text)


def _state(state: StateAnswer, got: WholeDrum) -> dict[str, Any]:
    running = state.running
    rows = [
        {
            "row": str(r.row + 1), "worst": r is state.worst_row, "slots": ", ".join(str(n + 1) for n in r.slots),
            "values": [
                _number(r.z_mm), _number(1e-6 * r.largest_moment_Nmm), _number(1e-6 * r.rotating_amplitude_Nmm),
                _number(1e-3 * r.shear_N), _number(1e-6 * r.torque_Nmm), _number(1e-3 * r.hammer_force_N),
                _number(1e-3 * r.hammer_pull_N), _number(r.to_disc_mm),
            ],
        }
        for r in state.rows
    ]  # fmt: skip
    lives = {} if state.life is None else {b.side: b for b in state.life.bearings}
    bearings = []
    for load in state.bearings:
        life = lives.get(load.side)
        forces = (load.standing_N, load.turning_N, load.equivalent_N, load.largest_N)
        safety = None if life is None else life.static_safety
        bearings.append(
            [load.side, *(_number(1e-3 * f, 3) for f in forces), "-" if life is None else hours(life.life_h).removesuffix(" h"),
             _number(safety, 3)]
        )  # fmt: skip
    stubs = [
        [s.name, _number(s.z_mm), _number(s.diameter_mm), _number(1e-6 * s.duty.bending_amplitude_Nmm, 3), _number(s.kt_bending, 3),
         _number(s.bending_amplitude_MPa, 3), _number(s.torsion_mean_MPa, 3), _number(s.least_safety, 3), _number(s.yield_safety, 3)]
        for s in state.stubs
    ]  # fmt: skip
    modes = [
        [str(m.waves), _number(m.ring_Hz, 3), _number(m.disc_Hz, 3), str(m.meets_order), _number(m.meets_Hz, 3), m.verdict,
         _number(m.build_up, 2)]
        for m in (state.shell.modes if got.drum.hammer is not None else ())
    ]  # fmt: skip
    share = "" if state.time_share is None else f", {100 * state.time_share:g} % of the time"
    tip = "" if state.tip_speed_m_s is None else f"; tips at {state.tip_speed_m_s:.3g} m/s"
    return {
        "name": state.name, "rows": rows, "bearings": bearings, "stubs": stubs, "modes": modes,
        "line": f"{running.speed_rpm:g} rpm, {running.power_kW:g} kW{share}{tip}; {state.energy_J * 1e-6:.3g} MJ stored.",
        "both": "" if state.life is None else hours(state.life.system_h),
    }  # fmt: skip


def _mass(row: list[Any]) -> list[str]:
    name, count, mass, x, y, z, inertia = row
    return [
        name,
        str(count),
        _number(mass),
        *(_number(v if abs(v) > 1e-6 else 0.0) for v in (x, y, z)),
        _number(inertia),
    ]


def _critical(row: list[Any]) -> list[str]:
    what, order, mode, direction, excited, speed, frequency, state, away = row
    way = "forward" if direction > 0.999 else "backward" if direction < -0.999 else "ellipse"
    return [
        what, _number(order), mode or "beyond the plot", way, "yes" if excited else "no", _number(speed), _number(frequency, 3),
        state, _number(away, 2),
    ]  # fmt: skip


def _facts(got: WholeDrum) -> list[str]:
    """Mass, unbalance, overspeed, energy, a lost hammer, in sentences."""
    m, over, lost = got.masses, got.overspeed, got.lost
    out = [
        f"Unbalance of the drawing: {m.unbalance_size_g_mm:,.0f} g·mm. G{got.wanted.grade_mm_s:g} permits "
        f"{got.permissible_g_mm:,.0f} g·mm at {got.fastest.running.speed_rpm:g} rpm; {got.left_g_mm:,.0f} g·mm are taken as left "
        "in states that list none of their own."
    ]
    if got.life_h is not None:
        out.append(
            f"Both bearings together, over all states by their shares of time: {hours(got.life_h)}; {hours(got.wanted.target_h)} are wanted."
        )
    if over is not None:
        out.append(
            f"Average hoop stress of the slotted shell: {over.average_MPa:.3g} MPa at {over.speed_rpm:g} rpm, {over.overspeed_MPa:.3g} MPa at "
            f"{100 * over.ratio:g} %; by this average it would burst at {over.burst_rpm:,.0f} rpm, {over.safety:.3g} times that overspeed."
        )
    if lost is not None:
        out.append(
            f"If the hammer of slot {lost.slot + 1} is lost, {lost.mass_kg:.3g} kg leave at {lost.speed_m_s:.3g} m/s with "
            f"{1e-3 * lost.energy_J:.3g} kJ; the unbalance left behind turns with {1e-3 * lost.force_N:.3g} kN, of it "
            f"{1e-3 * lost.drive_bearing_N:.3g} kN on the drive and {1e-3 * lost.free_bearing_N:.3g} kN on the free bearing."
        )
    if got.coast_down_s is not None:
        out.append(
            f"Without a brake the drum runs down in {got.coast_down_s:.0f} s from {got.fastest.running.speed_rpm:g} rpm."
        )
    return out


def _figure(f: Figure) -> dict[str, Any]:
    return {
        "what": f.what, "value": _number(f.value), "unit": f.unit, "formula": f.formula, "source": str(f.provenance),
        "recalled": f.provenance.kind is Kind.MEMORY,
    }  # fmt: skip
