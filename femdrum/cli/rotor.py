"""`femdrum rotor`: the whole drum of a file: rows, masses, bearings, stubs, critical speeds, and a page of it all."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .common import CAUTION, DONE, Command, say, width, write_json, write_lines

if TYPE_CHECKING:
    from ..assess.whole_drum_result import StateAnswer, WholeDrum
    from ..study.drum_sheet import DrumSheet

__all__ = ["add"]


def add(command: Command) -> None:
    """Enter the command."""
    rotor = command("rotor", _rotor, "the whole drum: what rows and bearings carry, critical speeds, overspeed, energy")
    rotor.add_argument("file", metavar="FILE", help="file of a whole drum (TOML)")
    rotor.add_argument("--out", metavar="DIR", help="folder for what is written (default: FILE's name with .rotor)")
    rotor.add_argument("--no-pictures", action="store_true", help="write the tables and the page without figures")


def _rotor(args: argparse.Namespace) -> int:
    from ..study.drum_sheet import read_drum_sheet
    from ..study.drum_write import drum_record, write_drum

    sheet = read_drum_sheet(args.file)
    if not args.json:
        say(f"{sheet.drum.rows_total} rows, {len(sheet.running)} running states; some seconds")
    got = sheet.answer()
    folder = Path(f"{Path(args.file).stem}.rotor") if args.out is None else Path(args.out)
    written = write_drum(sheet, got, folder, caution=CAUTION)
    page, lost = _page(sheet, got, folder, args)
    if page is not None:
        written.append(page)
    if args.json:
        record: dict[str, Any] = drum_record(sheet, got, caution=CAUTION)
        write_json({**record, "folder": str(folder), "written": [str(p) for p in written], "pictures_lost": lost})
    else:
        write_lines(_lines(sheet, got, written, lost))
    return DONE


def _page(sheet: DrumSheet, got: WholeDrum, folder: Path, args: argparse.Namespace) -> tuple[Path | None, list[str]]:
    """The page; where it cannot be made the numbers still stand."""
    try:
        from ..report.rotor_page import write_rotor_page

        return write_rotor_page(sheet, got, folder, pictures=not args.no_pictures)
    except Exception as error:
        if args.debug:
            raise
        say(f"the page could not be made: {error}")
        say("`femdrum doctor` tells whether something is missing")
        return None, [str(error)]


def _lines(sheet: DrumSheet, got: WholeDrum, written: list[Path], lost: list[str]) -> list[str]:
    from ..assess.whole_drum_words import answer_sentences
    from ..study.text import grid, wrapped

    columns = width()
    lines = [sheet.title, ""]
    for sentence in answer_sentences(got):
        lines += wrapped(sentence, columns)
    for state in got.states:
        lines += ["", *_state(state, got.drum.hammer is not None)]
    if got.criticals or got.crossings:
        lines += ["", "critical speeds, by what meets them", *_criticals(got)]
    lines += ["", *_drum(got)]
    lines += ["", *(line for w in got.warnings for line in wrapped(f"warning: {w}", columns))]
    lines += [line for item in got.left_out for line in wrapped(f"not computed: {item.what}: {item.why}", columns)]
    lines += [line for note in got.notes for line in wrapped(f"- {note}", columns)]
    lines += [line for text in lost for line in wrapped(f"no picture: {text}", columns)]
    lines += ["", *grid(("written", ""), [(p.name, str(p)) for p in written])]
    return [*lines, "", *wrapped(CAUTION, columns, indent="")]


def _state(state: StateAnswer, hit: bool) -> list[str]:
    from ..study.text import grid

    share = "" if state.time_share is None else f", {100 * state.time_share:g} % of the time"
    lines = [f"{state.name}: {state.running.speed_rpm:g} rpm, {state.running.power_kW:g} kW{share}"]
    head = ("row", "z (mm)", "largest moment (kN·m)", "reversed (kN·m)", "shear (kN)", "torque (kN·m)", "hit (kN)",
            "pull (kN)", "to disc (mm)")  # fmt: skip
    rows = [
        (str(r.row + 1), f"{r.z_mm:.0f}", f"{1e-6 * r.largest_moment_Nmm:.4g}", f"{1e-6 * r.rotating_amplitude_Nmm:.4g}",
         f"{1e-3 * r.shear_N:.4g}", f"{1e-6 * r.torque_Nmm:.4g}", f"{1e-3 * r.hammer_force_N:.4g}",
         f"{1e-3 * r.hammer_pull_N:.4g}", f"{r.to_disc_mm:.0f}")
        for r in state.rows
    ]  # fmt: skip
    lines += grid(head, rows)
    lives = {} if state.life is None else {b.side: b for b in state.life.bearings}
    told = []
    for load in state.bearings:
        life = lives.get(load.side)
        safety = "-" if life is None or life.static_safety is None else f"{life.static_safety:.3g}"
        told.append(
            (load.side, f"{1e-3 * load.standing_N:.3g}", f"{1e-3 * load.turning_N:.3g}", f"{1e-3 * load.largest_N:.3g}",
             "-" if life is None else f"{float(f'{life.life_h:.3g}'):.0f}", safety)
        )  # fmt: skip
    lines += [
        "",
        *grid(("bearing", "standing (kN)", "turning (kN)", "largest (kN)", "L10h (h)", "static safety"), told),
    ]
    if state.stubs:
        sections = [
            (
                s.name,
                f"{s.z_mm:.0f}",
                f"{s.bending_amplitude_MPa:.3g}",
                f"{s.least_safety:.3g}",
                f"{s.yield_safety:.3g}",
            )
            for s in state.stubs
        ]
        titles = ("stub section", "z (mm)", "bending amplitude (MPa)", "safety, fatigue", "safety, yield")
        lines += ["", *grid(titles, sections)]
    modes = [
        (str(m.waves), f"{m.ring_Hz:.0f}", f"{m.disc_Hz:.0f}", str(m.meets_order), f"{m.meets_Hz:.0f}", m.verdict)
        for m in (state.shell.modes if hit else ())
    ]
    shown = ("shell, waves", "no discs (Hz)", "discs (Hz)", "nearest order of hits", "its Hz", "verdict")
    return [*lines, "", *grid(shown, modes)] if modes else lines


def _criticals(got: WholeDrum) -> list[str]:
    from ..study.drum_write import drum_tables
    from ..study.text import grid

    rows = [
        (
            str(r[0]),
            str(r[2]) or "beyond the plot",
            f"{r[5]:.0f}",
            f"{r[6]:.1f}",
            "yes" if r[4] else "no",
            f"{r[8]:+.0f}",
            str(r[7]),
        )
        for r in drum_tables(got)["critical_speeds"]
    ]
    return grid(("what meets it", "mode", "rpm", "Hz", "excited", "from speed (%)", "of the nearest state"), rows)


def _drum(got: WholeDrum) -> list[str]:
    from ..assess.life_words import hours

    m, over, lost = got.masses, got.overspeed, got.lost
    lines = [
        f"rotor {m.mass_kg:,.0f} kg, {m.polar_kg_m2:.4g} kg·m² about its axis, centre {m.centre_mm[2]:.1f} mm from the drive bearing",
        f"unbalance of the drawing {m.unbalance_size_g_mm:,.0f} g·mm; G{got.wanted.grade_mm_s:g} permits {got.permissible_g_mm:,.0f} g·mm",
    ]
    if got.life_h is not None:
        lines.append(f"both bearings over all states {hours(got.life_h)}, wanted {hours(got.wanted.target_h)}")
    if over is not None:
        lines.append(
            f"average hoop stress {over.average_MPa:.3g} MPa, at {100 * over.ratio:g} % speed {over.overspeed_MPa:.3g} MPa; burst by it at "
            f"{over.burst_rpm:,.0f} rpm, {over.safety:.3g} times that overspeed"
        )
    if lost is not None:
        lines.append(
            f"hammer of slot {lost.slot + 1} lost: {lost.mass_kg:.3g} kg at {lost.speed_m_s:.3g} m/s, {1e-3 * lost.energy_J:.3g} kJ; leaves "
            f"{1e-3 * lost.force_N:.3g} kN turning"
        )
    if got.coast_down_s is not None:
        lines.append(f"runs down in {got.coast_down_s:.0f} s without a brake")
    return lines
