"""A wedge clamp whose pressure is solved as contact: as the file says it, as unit cases of the ring, and through to the stored peak."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from texts import RING

import femdrum as fd
from femdrum.assess.clamp_contact import LEAST, flank_pressures, load_factors
from femdrum.assess.clamp_contact_band import doubt_rows, scale_warnings, with_doubts
from femdrum.assess.contact import clamp_patches, solve_wedge_pack
from femdrum.assess.solve import solve_all
from femdrum.assess.states import States
from femdrum.errors import InputFault
from femdrum.fem.cell import Fineness
from femdrum.fem.contact_pack import LEVELS, solve_pack
from femdrum.fem.ring_mesh import ring_mesh
from femdrum.fem.unit_cases import ring_cases
from femdrum.loads.factors import factors
from femdrum.model.clamp_contact import ClampContact
from femdrum.model.flank import Patch, default_patch, flank_height_mm, flank_length_mm
from femdrum.quantity import Verdict
from femdrum.study import study_from_text
from femdrum.study.cost import cost
from femdrum.study.study import inputs_of
from femdrum.study.work import solve_and_store

STEEL = fd.Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3, yield_MPa=355.0)
WEDGED = fd.Ring(
    outer_diameter_mm=400, wall_mm=40, pitch_mm=160, slots_around=1, rows="aligned",
    cutout=fd.Slot(around_mm=50, axial_mm=100, corner_radius_mm=20),
)  # fmt: skip
SQUARE = {"hammer_mm": 30.0, "wedge_height_mm": 45.0, "driven": "along"}
RUBS = {
    "driven": "inward",
    "taper_deg": 6.0,
    "friction": 0.15,
    "hammer_inside_mm": 50.0,
    "hammer_mm": 30.0,
    "wedge_height_mm": 40.0,
}

CONTACT = """
[[load]]
kind = "wedge_clamp"
name = "clamp"
force_kN = 150
[load.contact]
hammer_mm = 35
wedge_height_mm = 45
driven = "along"
"""


def clamp(name="clamp", force_kN=100.0, **contact):
    return fd.WedgeClamp(force_kN=force_kN, name=name, contact=ClampContact(**(SQUARE | contact)))


def lines_of(text):
    with pytest.raises(InputFault) as caught:
        study_from_text(text)
    return caught.value.faults


# what the file says


def test_a_table_below_the_load_is_its_contact():
    (variant,) = study_from_text(RING + CONTACT).variants
    load = variant.loads[1]
    assert load.contact == ClampContact(hammer_mm=35, wedge_height_mm=45, driven="along")
    assert load.contact.proportional
    assert variant.inputs["load"][1]["contact"]["hammer_mm"] == 35


def test_stored_inputs_give_the_load_again():
    (variant,) = study_from_text(RING + CONTACT).variants
    fields = {k: v for k, v in variant.inputs["load"][1].items() if k != "kind"}
    assert fd.WedgeClamp(**fields) == variant.loads[1]
    with pytest.raises(InputFault) as caught:
        fd.WedgeClamp(**{**fields, "contact": {**fields["contact"], "hammer_mm": -1}})
    assert [f.field for f in caught.value.faults] == ["contact.hammer_mm"]
    with pytest.raises(InputFault, match="not known"):
        fd.WedgeClamp(**{**fields, "contact": {"hammer": 3}})


def test_its_values_vary_and_are_part_of_the_key():
    study = study_from_text(RING + CONTACT + "angle_error_mrad = [0.0, 0.5]\n")
    assert [a.key for a in study.axes] == ["load.clamp.contact.angle_error_mrad"]
    one, two = study.variants
    assert (one.loads[1].contact.angle_error_mrad, two.loads[1].contact.angle_error_mrad) == (0.0, 0.5)
    assert one.key != two.key
    # a plain clamp is what it was before there was a contact
    plain = study_from_text(RING + CONTACT.split("[load.contact]")[0]).variants[0]
    assert "contact" not in inputs_of(plain.loads[1])
    assert plain.key not in (one.key, two.key)
    # two unlike flanks need more than a quarter of the cell
    assert cost(one) > 2 * cost(plain)


def test_all_faults_at_once_with_their_lines():
    text = RING + CONTACT.replace("hammer_mm = 35", "hammer_mm = -35\nfriction = 15\nwidth = 3").replace(
        "= 150", "= -1"
    )
    found = {f.field: f for f in lines_of(text)}
    assert set(found) == {
        "load.clamp.force_kN",
        "load.clamp.contact.hammer_mm",
        "load.clamp.contact.friction",
        "load.clamp.contact.width",
    }
    rows = text.split("\n")
    assert found["load.clamp.contact.hammer_mm"].line == rows.index("hammer_mm = -35") + 1
    assert found["load.clamp.contact.friction"].line == rows.index("friction = 15") + 1
    assert "coefficient" in found["load.clamp.contact.friction"].way_out
    assert "hammer_mm" in found["load.clamp.contact.width"].allowed


@pytest.mark.parametrize(("change", "field", "words"), [
    (("hammer_mm = 35", "hammer_mm = 60"), "hammer_mm", "leaves no room for a wedge"),
    (("hammer_mm = 35", "hammer_mm = 35\nlength_mm = 130"), "length_mm", "must be"),
    (("hammer_mm = 35\n", ""), "hammer_mm", "is missing"),
    (('driven = "along"', 'driven = "along"\ntaper_deg = 6'), "taper_deg", "must be 0 in this section"),
    (('driven = "along"', 'driven = "inwards"'), "driven", "must be one of"),
    (('driven = "along"', 'driven = "inward"'), "taper_deg", "is missing"),
])  # fmt: skip
def test_what_does_not_go_with_the_slot_is_told_at_its_line(change, field, words):
    text = RING + CONTACT.replace(*change)
    (fault,) = lines_of(text)
    assert fault.field == f"load.clamp.contact.{field}"
    assert words in fault.allowed
    line = next((n for n, row in enumerate(text.split("\n"), 1) if row.startswith(f"{field} =") and n > 20), None)
    assert fault.line == (line or text.split("\n").index("[load.contact]") + 1)


def test_slots_that_are_too_narrow_may_be_left_out():
    text = (
        RING.replace("around_mm = 60", "around_mm = [30, 60]") + CONTACT + "[variants]\nleave_out_impossible = true\n"
    )
    study = study_from_text(text)
    assert [v.part.cutout.around_mm for v in study.variants] == [60]
    assert study.left_out == 1


def test_only_a_wedge_clamp_takes_it():
    (fault,) = lines_of(RING + CONTACT.replace('kind = "wedge_clamp"\nname = "clamp"\nforce_kN = 150', 'kind = "axial"\nname = "clamp"\nforce_kN = 1'))  # fmt: skip
    assert fault.field == "load.clamp.contact"
    (fault,) = lines_of(RING + CONTACT.split("[load.contact]")[0] + "contact = 3\n")
    assert "[load.contact]" in fault.allowed
    with pytest.raises(InputFault, match="ClampContact"):
        fd.WedgeClamp(force_kN=1.0, contact="hammer")


def test_a_circle_has_nothing_to_wedge():
    ring = replace(WEDGED, cutout=fd.Circle(diameter_mm=50))
    with pytest.raises(InputFault, match="flat"):
        factors(ring, clamp())


# as unit cases


@pytest.mark.parametrize("contact", [{}, {"angle_error_mrad": 0.5}, {"length_mm": 40.0, "angle_error_mrad": -0.5}, RUBS], ids=["square", "tilted", "short", "rubbing"])  # fmt: skip
def test_nodal_forces_are_the_clamp_force_and_its_couple(contact):
    """Every flank gets the whole clamp force; couple and friction force are those of the contact solution."""
    load = clamp(**contact)
    made = load_factors(WEDGED, load, None, STEEL)
    mesh = ring_mesh(WEDGED, Fineness(order=4))
    result = solve_wedge_pack(load.contact.pack(WEDGED, 100e3), STEEL, most_meshes=2)
    side = WEDGED.cutout.half_x_mm
    middle = 0.5 * (math.sqrt(200**2 - side**2) + math.sqrt(160**2 - side**2))
    by = {"leading": np.zeros(3), "trailing": np.zeros(3)}
    for case, term in zip(ring_cases(WEDGED, mesh, STEEL, made.cases), made.terms, strict=True):
        (piece,) = case.pieces
        # the quarter cell holds half of a flank
        force, couple, rub = (
            2 * piece.force[:, 1].sum(),
            2 * (piece.force[:, 1] * (mesh.nodes[:, 0] - middle)).sum(),
            2 * piece.force[:, 0].sum(),
        )
        for flank in by if term.case == "clamp" else (term.case.split(":")[2],):
            by[flank] += term.factor * np.array([force, couple, rub])
    for flank, (force, couple, rub) in by.items():
        face = result.face(flank)
        # a taper that ends inside a cell is integrated to 1e-4
        assert force == pytest.approx(100e3, rel=2e-4 if "length_mm" in contact else 1e-5)
        assert couple == pytest.approx(float(face.couple), rel=3e-4, abs=100e3 * 1e-3)
        assert rub == pytest.approx(face.shear_N, rel=2e-3, abs=1e-6)


def test_a_quadratic_pressure_carries_neither_force_nor_couple():
    mesh = ring_mesh(WEDGED, Fineness(order=5))
    patch = default_patch(WEDGED, None, "leading", "pressure", "quadratic")
    assert Patch.from_name(patch.name) == patch
    assert patch.force_N(WEDGED) == patch.moment_Nmm(WEDGED) == 0.0
    assert patch.through(np.array([-1.0, 0.0, 1.0])) == pytest.approx([1.0, -0.5, 1.0])
    (case,) = ring_cases(WEDGED, mesh, STEEL, [patch.name])
    force, x = 2 * case.pieces[0].force[:, 1], mesh.nodes[:, 0]
    height, long = flank_height_mm(WEDGED, "leading"), patch.extent_mm - patch.taper_mm
    middle = 0.5 * (math.sqrt(200**2 - 25**2) + math.sqrt(160**2 - 25**2))
    scale = height * long
    assert force.sum() == pytest.approx(0, abs=1e-6 * scale)
    assert (force * (x - middle)).sum() == pytest.approx(0, abs=1e-6 * scale * height)
    # second moment of (3 s² - 1) / 2 over the height h: h³ / 4 * 2 / 15
    assert (force * (x - middle) ** 2).sum() == pytest.approx(long * height**3 / 30, rel=1e-4)
    with pytest.raises(InputFault, match="profile"):
        default_patch(WEDGED, None, "leading", "shear_wall", "quadratic")


def test_parts_of_a_known_pressure():
    """A square pack presses alike at both rims; the mirror image of an error mirrors the linear part; all parts are over the mean."""
    square, out, inn = (
        {
            f.flank: f
            for f in flank_pressures(
                solve_wedge_pack(clamp(angle_error_mrad=e).contact.pack(WEDGED, 100e3), STEEL, most_meshes=2)
            )
        }
        for e in (0.0, 0.4, -0.4)
    )
    for flank in ("leading", "trailing"):
        assert square[flank].parts["uniform"] == 1.0
        assert abs(square[flank].parts["linear"]) < 1e-9
        assert out[flank].parts["linear"] == pytest.approx(-inn[flank].parts["linear"], rel=1e-6)
        assert out[flank].parts["linear"] < -0.1  # open at the outer rim
        assert out[flank].parts["quadratic"] == pytest.approx(inn[flank].parts["quadratic"], rel=1e-6)
    # a hammer longer than the wall bears most at the rims
    assert square["leading"].parts["quadratic"] > 0.1


def test_nothing_but_the_flanks_holds_a_plain_pack():
    """So both get the same couple to the last digit, and the ring is in balance; with friction they differ."""
    one, other = flank_pressures(
        solve_wedge_pack(clamp(angle_error_mrad=0.4).contact.pack(WEDGED, 100e3), STEEL, most_meshes=2)
    )
    assert one.parts["linear"] == other.parts["linear"] < 0
    one, other = flank_pressures(solve_wedge_pack(clamp(**RUBS).contact.pack(WEDGED, 100e3), STEEL, most_meshes=2))
    assert abs(one.parts["linear"] - other.parts["linear"]) > 0.1


def test_a_square_pack_asks_for_no_linear_part():
    made = load_factors(WEDGED, clamp(), None, STEEL)
    assert made.steady["clamp"] == 100e3
    assert not any(":linear:" in case for case in made.cases)
    assert any(":quadratic:" in case for case in made.cases)
    assert set(LEAST) == {"linear", "quadratic"}
    text = " ".join(made.notes)
    for words in ("solved as contact", "grows as the clamp", "femdrum contact", "stand still, as of a stiff shell"):
        assert words in text
    assert all(f.provenance.kind.value == "computed" and math.isfinite(f.value) for f in made.figures)
    tilted = load_factors(WEDGED, clamp(angle_error_mrad=0.5), None, STEEL)
    assert "another force is another load" in " ".join(tilted.notes)
    # the even part alone, where nothing is solved: a look at the file
    assert factors(WEDGED, clamp(angle_error_mrad=0.5)).steady == {"clamp": 100e3}


def test_flat_faces_bear_in_proportion_and_crowned_ones_do_not():
    """Receding contact: all pressures grow as the force. A crown spreads, so the shape changes."""

    def shape(force_kN, **contact):
        made = load_factors(WEDGED, clamp(force_kN=force_kN, **contact), None, STEEL)
        return {case: f / (1e3 * force_kN) for case, f in made.steady.items()}

    flat = {"wedge_height_mm": 25.0, "wedge_middle_mm": 6.0}
    assert shape(50.0, **flat) == pytest.approx(shape(200.0, **flat), rel=1e-7)
    one, other = (shape(f, crown_radius_mm=4000.0) for f in (50.0, 200.0))
    quadratic = next(c for c in one if ":leading:" in c and ":quadratic:" in c)
    assert abs(one[quadratic]) > 1.02 * abs(other[quadratic])


@pytest.mark.parametrize(
    "contact",
    [{"angle_error_mrad": 0.5}, RUBS, {"wedge_height_mm": 25.0, "wedge_middle_mm": 6.0}],
    ids=["tilted", "rubbing", "short"],
)
def test_bands_of_the_parts_hold_against_a_finer_mesh(contact):
    pack = clamp(**contact).contact.pack(WEDGED, 100e3)
    result = solve_wedge_pack(pack, STEEL, most_meshes=2)
    finer = replace(result, solutions=(result.solutions[-1], solve_pack(pack, STEEL, LEVELS[2])))
    for told, true in zip(flank_pressures(result), flank_pressures(finer), strict=True):
        for part in ("linear", "quadratic"):
            assert abs(told.parts[part] - true.parts[part]) < told.bands[part], (told.flank, part)
        assert told.bands["linear"] < 0.02


# through to the peak


@pytest.fixture(scope="module")
def solved():
    """Even, square and tilted clamps, the tilted one as patches too, and two states, on one ring; the rest is read from it."""
    tilted = clamp("tilted", angle_error_mrad=0.5)
    patches = clamp_patches(solve_wedge_pack(tilted.contact.pack(WEDGED, 100e3), STEEL, most_meshes=2), WEDGED)
    loads = [fd.WedgeClamp(force_kN=100.0, name="even"), clamp("square"), tilted, *patches]
    states = [
        fd.Condition(name="patches", loads={p.name: 1.0 for p in patches}),
        fd.Condition(name="loosened", loads={"tilted": 0.8, "square": 0.5}),
    ]
    return solve_all(WEDGED, loads, STEEL, error=0.05, conditions=states)


def test_equal_resultants_give_nearly_equal_stress_at_the_corners(solved):
    """Saint-Venant: a square pack presses unevenly, with the force of an even clamp; corners hardly feel it, the flank does."""
    even, square = solved["even"], solved["square"]
    assert square.peak.value == pytest.approx(even.peak.value, rel=3e-3)
    corner = np.abs(solved.edge.place_mm[..., 1]) > 40.0
    high = [solved.edge.combine(a.factors).principal()[0][0, 0] for a in (even, square)]
    assert np.abs(high[0] - high[1])[corner].max() < 0.02 * even.peak.value
    # at the pressed flank the rims take more
    assert square.peaks.compression.value < 1.08 * even.peaks.compression.value < 0
    rim = solved.edge.pressure.shape
    pressed = [np.tensordot(a.factors, solved.edge.pressure, 1).reshape(rim[1:]).max() for a in (even, square)]
    assert pressed[1] > 1.1 * pressed[0]


def test_an_angle_moves_the_force_and_that_reaches_the_corners(solved):
    """By force and couple: as the same pressure put on as uniform and linear patches, and unlike an even clamp."""
    tilted, patches = solved["tilted"], solved["patches"]
    assert tilted.peak.value == pytest.approx(patches.peak.value, rel=4e-3)
    assert abs(tilted.peak.value / solved["even"].peak.value - 1) > 0.05


def test_the_contact_s_own_error_is_in_the_band(solved):
    tilted = solved["tilted"]
    without = tilted.surface.peaks(0, 0.05)
    assert tilted.peak.value == pytest.approx(without.peak.value, rel=1e-12)
    assert without.peak.band < tilted.peak.band < 1.5 * without.peak.band
    # so much as a clamp with its lever at the end of the band would bring
    more = tilted.peak.band - without.peak.band
    made = load_factors(WEDGED, tilted.load, None, STEEL)
    names = [c.name for c in solved.edge.cases]
    at = tilted.peaks.at
    for sign in (1.0, -1.0):
        moved = np.array(tilted.factors)
        for doubt in made.doubts:
            moved[names.index(doubt.case)] += sign * doubt.factor
        there = solved.edge.combine(moved).principal()[0][0, at.slot, at.s_index, at.d_index]
        assert abs(there - without.peak.value) < 1.05 * more + 1e-3 * without.peak.value
    assert solved["even"].peak.band == solved["even"].surface.peaks(0, 0.05).peak.band


def test_a_clamp_is_in_balance_by_itself(solved):
    assert solved["even"].unbalanced == solved["square"].unbalanced == solved["tilted"].unbalanced == ""


def test_a_wide_band_of_the_contact_unsettles_the_peak(solved):
    peaks = solved["even"].surface.peaks(0, 0.05)
    rows = 0.2 * np.array([solved["even"].factors])
    wide = with_doubts(peaks, solved.edge, rows, 0.05)
    assert wide.peak.band == pytest.approx(peaks.peak.band + 0.2 * peaks.peak.value, rel=1e-3)
    assert peaks.peak.verdict is Verdict.SETTLED
    assert wide.peak.verdict is Verdict.NOT_SETTLED
    assert with_doubts(peaks, solved.edge, rows[:0], 0.05) is peaks


def test_a_state_that_scales_an_unproportional_clamp_is_told(solved):
    said = [w for w in solved["loosened"].warnings if "0.8 times" in w]
    assert len(said) == 1
    assert "'tilted'" in said[0]
    assert not any("times" in w for w in solved["loosened"].warnings if "square" in w)
    assert scale_warnings([clamp(angle_error_mrad=0.5)], {0: 1.0}) == ()


def test_doubts_follow_the_shares(solved):
    loads = [clamp("a", angle_error_mrad=0.5)]
    made = [load_factors(WEDGED, load, None, STEEL) for load in loads]
    states = States.of(made, ["a"], [fd.Condition(name="half", loads={"a": 0.5})])
    whole, half = doubt_rows(states, 0), doubt_rows(states, 1)
    assert len(whole) == len(made[0].doubts) > 0
    assert half == pytest.approx(0.5 * whole)
    assert (whole >= 0).all()


def test_the_length_that_bears_is_the_flat_flank_unless_given():
    pack = clamp().contact.pack(WEDGED, 100e3)
    assert pack.length_mm == pytest.approx(flank_length_mm(WEDGED, "leading"))
    assert pack.slot_mm == 50
    assert pack.wall_mm == pytest.approx(flank_height_mm(WEDGED, "leading"))
    assert clamp(length_mm=40.0).contact.pack(WEDGED, 100e3).length_mm == 40.0


@pytest.mark.slow
def test_a_study_stores_it_with_numbers_and_words(tmp_path):
    """The ordinary path: read, solved, stored."""
    text = (
        RING.replace("slots_around = 2", "slots_around = 1")
        .replace('"alternate"', '"aligned"')
        .replace("radius_mm = 8", "radius_mm = 20")
    )
    text += CONTACT + "angle_error_mrad = 0.5\n[accuracy]\nerror = 0.05\n"
    (variant,) = study_from_text(text).variants
    outcome = solve_and_store(variant, str(tmp_path))
    assert outcome.failure == ""
    record = json.loads((tmp_path / "variants" / variant.key / "variant.json").read_text())
    stored = record["answers"][1]
    assert stored["peak"]["value"] > 0
    assert any("solved as contact" in note for note in stored["notes"])
    lever = next(f for f in stored["figures"] if f["what"].startswith("lever of the clamp force, hammer"))
    assert lever["value"] < -1.0
    assert lever["provenance"]["kind"] == "computed"
    assert record["inputs"]["load"][1]["contact"]["angle_error_mrad"] == 0.5
