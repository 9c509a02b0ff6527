"""Every kind of bad input: a message that names field, value and range, exit code 2, and an untouched disk."""

import json

import pytest
from texts import PLATE, RING, with_

from femdrum.cli import main

# what is wrong, the study, and what the message must say
CATALOGUE = {
    "negative": (with_(RING, wall_mm="-40"), ["part.wall_mm = -40", "above 0 and below 380"]),
    "zero": (with_(RING, pitch_mm="0"), ["part.pitch_mm = 0", "above 0"]),
    "nan": (with_(RING, around_mm="nan"), ["part.cutout.around_mm = nan", "finite number above 0"]),
    "infinite": (with_(RING, axial_mm="inf"), ["part.cutout.axial_mm = inf", "finite number above 0"]),
    "text": (with_(RING, outer_diameter_mm='"760"'), ["part.outer_diameter_mm = '760'", "finite number", "without quotes"]),
    "missing": (with_(RING, wall_mm=None), ["part.wall_mm: is missing", "above 0"]),
    "true": (with_(RING, wall_mm="true"), ["part.wall_mm = True", "finite number"]),
    "table": (with_(RING, wall_mm="{a = 1}"), ["part.wall_mm = {'a': 1}", "finite number"]),
    "date": (with_(RING, wall_mm="1979-05-27"), ["part.wall_mm = datetime.date", "finite number"]),
    "huge": (with_(RING, wall_mm="1" + "0" * 400), ["part.wall_mm", "ordinary size"]),
    "slot wider than plate": (with_(PLATE, diameter_mm="250"), ["part.width_mm = 200", "250 mm"]),
    "slot longer than pitch": (with_(RING, axial_mm="180"), ["part.pitch_mm = 180", "180 mm", "overlap along the drum"]),
    "slots overlap around": (with_(RING, slots_around="24", around_mm="100"), ["part.cutout.around_mm = 100", "overlap around the drum", "below 88.7"]),
    "cell too short": (
        with_(PLATE, kind='"plate_row"', length_mm=None, width_mm="200\npitch_mm = 40").replace('"plate_row"\nstress', '"tension"\nstress'),
        ["part.pitch_mm = 40", "40 mm"],
    ),
    "radius over half the short side": (with_(RING, corner_radius_mm="31"), ["part.cutout.corner_radius_mm = 31", "at most 30", '"full"']),
    "wall thicker than radius": (with_(RING, wall_mm="380"), ["part.wall_mm = 380", "below 380"]),
    "flanks miss the bore": (with_(RING, around_mm="690", pitch_mm="180"), ["part.cutout.around_mm = 690", "flanks miss the bore", "680 mm"]),
    "poisson": (with_(PLATE, grade=None) .replace("[material]", "[material]\nyoungs_modulus_MPa = 2e5\npoissons_ratio = 0.5"),
                ["material.poissons_ratio = 0.5", "above 0 and below 0.5"]),
    "own material incomplete": (with_(PLATE, grade=None).replace("[material]", "[material]\npoissons_ratio = 0.3"),
                                ["material.youngs_modulus_MPa: is missing"]),
    "unknown key": (with_(RING, wall_mm="40\nwal_mm = 3"), ["part.wal_mm = 3", "did you mean 'wall_mm'?"]),
    "unknown section": (RING + "[acuracy]\nerror = 0.1\n", ["acuracy", "did you mean 'accuracy'?"]),
    "unknown shape": (with_(RING, shape='"slott"'), ["part.cutout.shape = 'slott'", "slot, obround, circle, ellipse", "did you mean 'slot'?"]),
    "unknown kind": (with_(PLATE, length_mm="800").replace('"plate"', '"plat"'), ["part.kind = 'plat'", "did you mean 'plate'?"]),
    "unknown grade": (with_(RING, grade='"S356"'), ["material.grade = 'S356'", "S235", "did you mean 'S355'?"]),
    "unknown load": (RING.replace('"rotation"', '"rotaton"'), ["load.running.kind = 'rotaton'", "did you mean 'rotation'?"]),
    "no row pattern": (with_(RING, rows=None), ["part.rows: is missing", "'aligned', 'alternate'", "no default"]),
    "slots_around": (with_(RING, slots_around="25"), ["part.slots_around = 25", "from 1 to 24"]),
    "slots_around missing": (with_(RING, slots_around=None), ["part.slots_around: is missing", "from 1 to 24"]),
    "empty axis": (with_(RING, corner_radius_mm="[]"), ["part.cutout.corner_radius_mm = []", "must not be empty"]),
    "too many variants": (with_(RING, around_mm=str(list(range(20, 221))), axial_mm=str(list(range(20, 170))), speed_rpm="[1, 2, 3, 4]"),
                          ["120,600 variants (201 x 150 x 4)", "more than 100,000"]),
    "no cutout": (PLATE.replace('[part.cutout]\nshape = "circle"\ndiameter_mm = 40\n', ""), ["part.cutout: is missing", "[part.cutout]"]),
    "no load": (PLATE.split("[[load]]")[0], ["load: is missing", "[[load]]"]),
    "load in single brackets": (PLATE.replace("[[load]]", "[load]"), ["load", "[[load]]", "two brackets"]),
    "cutouts in double brackets": (PLATE.replace("[part.cutout]", "[[part.cutout]]"), ["part.cutout", "one table, [part.cutout]"]),
    "hung mass without radius": (with_(RING, speed_rpm="900\nhung_mass_kg = 5"), ["load.running.hung_radius_mm: is missing", "above 0"]),
    "zero load": (with_(PLATE, stress_MPa="0"), ["load[1].stress_MPa = 0", "must not be zero"]),
    "accuracy": (PLATE + "[accuracy]\nerror = 5\n", ["accuracy.error = 5", "at least 1e-05 and at most 0.2", "0.01 is 1 %"]),
    "combine": (PLATE + '[variants]\ncombine = "sip"\n', ["variants.combine = 'sip'", "did you mean 'zip'?"]),
    "leave_out": (PLATE + '[variants]\nleave_out_impossible = "yes"\n', ["variants.leave_out_impossible = 'yes'", "true or false"]),
    "title": (with_(PLATE, title="3"), ["title = 3", "must be a text"]),
    "scalar for table": ("part = 3\n" + PLATE.split("[material]")[1].join(["[material]", ""]), ["part = 3", "one table, [part]"]),
    "bar without a path": (
        RING + "[machine.bar]\nmass_kg = 8\nlength_mm = 1000\nwidth_mm = 90\ndepth_mm = 59\n",
        ["machine.bar.path: is missing", "'both', 'one', 'halves'", "no default"],
    ),
    "unknown load in a condition": (
        RING + '[[condition]]\nname = "all"\nloads = { runing = 1.0 }\n',
        ["condition.all.loads.runing = 1.0", "names no load of this study, which has running", "did you mean 'running'?"],
    ),
    "condition called like a load": (
        RING + '[[condition]]\nname = "running"\nloads = { running = 1.0 }\n',
        ["condition.running.name = 'running'", "is the name of the load at line 20 too"],
    ),
    "share of zero": (RING + '[[condition]]\nname = "all"\nloads = { running = 0 }\n', ["condition.all.loads.running = 0", "must not be zero"]),
    "machine data missing": (
        RING + '[[load]]\nname = "stop"\nkind = "jam"\nstop_angle_deg = 90\n[machine]\nspeed_rpm = 1000\n',
        ["machine.inertia_kg_m2: is missing", "load 'stop' (jam) needs it", "machine.tip_diameter_mm: is missing"],
    ),
    "dynamic factor without frequency": (
        RING + '[[load]]\nkind = "impact"\nmethod = "spring"\nmass_kg = 1\nstiffness_kN_mm = 50\nwalls = "two"\ndynamic_factor = true\n',
        ["load[2].first_frequency_Hz: is missing", "would be a guess"],
    ),
    "method's fields": (
        RING + '[[load]]\nkind = "cutting"\nmethod = "power"\nwalls = "two"\ncontact_path_mm = 50\nduration_s = 1\n',
        ["load[2].cutting_share: is missing", "load[2].duration_s = 1", "it belongs to 'impulse'"],
    ),
    "no walls": (RING + '[[load]]\nkind = "tip_force"\nforce_kN = 5\noverhang_mm = 9\n', ["load[2].walls: is missing", "'two', 'near'", "no default"]),
    "beyond the flank": (
        RING + '[[load]]\nkind = "flank_pressure"\nslot = "all"\nflank = "leading"\npressure_MPa = 5\nextent_mm = 110\n',
        ["load[2].extent_mm = 110", "at most 104", "must not leave the flat flank"],
    ),
    "no flat flank": (
        with_(RING, corner_radius_mm='"full"') + '[[load]]\nkind = "flank_shear"\nslot = 0\nflank = "free_end"\ndirection = "edge"\nshear_MPa = 5\n',
        ["load[2].flank = 'free_end'", "no flat free end", "corner radius leaves a flat flank"],
    ),
    "shear that stops short": (
        RING + '[[load]]\nkind = "flank_shear"\nslot = 0\nflank = "leading"\ndirection = "wall"\nshear_MPa = 5\ntaper_mm = 0\n',
        ["load[2].taper_mm = 0", "no finite peak"],
    ),
    "opposed pull on three slots": (
        with_(RING, slots_around="3") + '[[load]]\nkind = "opposed_pull"\nforce_kN = 5\n',
        ["load[2].slot = 0", "needs a slot opposite", "slots_around = 3", "even number"],
    ),
    "no such slot": (
        RING + '[[load]]\nkind = "flank_pressure"\nslot = 2\nflank = "leading"\npressure_MPa = 5\n',
        ["load[2].slot = 2", "must be below slots_around = 2"],
    ),
    "direction of bending": (RING + '[[load]]\nkind = "bending"\nmoment_Nm = 5\n', ["load[2].direction_deg: is missing", "rotating = true"]),
    "ring load on a plate": (PLATE + '[[load]]\nkind = "torsion"\ntorque_Nm = 5\n', ["load[2].kind = 'torsion'", "cannot act on a plate, only on a ring", "a plate takes tension, biaxial, shear"]),
    "limit without what it carries": (RING + '[[machine.limit]]\nname = "pin"\ntorque_Nm = 5\n', ["machine.limit.pin.carries: is missing", "'all', 'drive'"]),
    "not TOML": ("[part\nkind = 3\n", ["line 1", "not valid TOML"]),
    "decimal comma": (with_(PLATE, width_mm="200,5"), ["not valid TOML", "decimal point"]),
    "twice the same key": (with_(PLATE, width_mm="200\nwidth_mm = 3"), ["not valid TOML", "line 7"]),
}  # fmt: skip


def said(capsys):
    return " ".join(capsys.readouterr().err.split())


def tree(folder):
    return sorted((str(p), p.stat().st_mtime_ns) for p in folder.rglob("*"))


@pytest.mark.parametrize("command", ["check", "study"])
@pytest.mark.parametrize("what", CATALOGUE)
def test_catalogue(what, command, tmp_path, monkeypatch, capsys):
    text, parts = CATALOGUE[what]
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "bad.toml"
    file.write_text(text)
    before = tree(tmp_path)
    assert main([command, "bad.toml"]) == 2
    message = said(capsys)
    for part in parts:
        assert part in message
    assert "Traceback" not in message
    assert tree(tmp_path) == before
    if not any(word in what for word in ("no load", "no cutout")):
        assert "line " in message


@pytest.mark.parametrize(
    ("name", "data", "part"),
    [
        ("not there", None, "there is no such file"),
        ("folder", "folder", "is a folder, not a study file"),
        ("empty", b"", "is empty"),
        ("blank", b" \n\n", "is empty"),
        ("picture", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is not a text file"),
        ("latin1", 'title = "Häcksler"\n'.encode("latin-1"), "is not UTF-8 text"),
        ("utf16", PLATE.encode("utf-16"), "is not UTF-8 text"),
        ("prose", b"Dear all,\nplease find\n", "not valid TOML"),
        ("deep", b"a = " + b"[" * 5000 + b"]" * 5000, "nested too deeply"),
        ("large", b"#" * 5_000_000, "larger than 4 MB"),
    ],
)
def test_files_that_are_no_study(name, data, part, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    file = tmp_path / f"{name}.toml"
    if data == "folder":
        file.mkdir()
    elif data is not None:
        file.write_bytes(data)
    before = tree(tmp_path)
    assert main(["study", file.name]) == 2
    message = said(capsys)
    assert part in message
    assert name in message
    assert tree(tmp_path) == before


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path, capsys):
    file = tmp_path / "windows.toml"
    file.write_bytes(b"\xef\xbb\xbf" + PLATE.replace("\n", "\r\n").encode())
    assert main(["check", str(file)]) == 0


def test_a_name_that_is_nearly_right(tmp_path, capsys):
    (tmp_path / "corner_radius.toml").write_text(RING)
    assert main(["check", str(tmp_path / "corner-radius.toml")]) == 2
    assert "corner_radius.toml" in said(capsys).split("did you mean")[1]


def test_all_faults_at_once_each_with_its_line(tmp_path, capsys):
    text = with_(RING, wall_mm="-1", rows='"zigzag"', corner_radius_mm='"round"', grade='"S999"')
    (tmp_path / "bad.toml").write_text(text)
    assert main(["check", str(tmp_path / "bad.toml"), "--json"]) == 2
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert [(f["line"], f["field"], f["value"]) for f in faults] == [
        (6, "part.wall_mm", -1),
        (9, "part.rows", "zigzag"),
        (15, "part.cutout.corner_radius_mm", "round"),
        (18, "material.grade", "S999"),
    ]


def test_folders_that_cannot_take_the_results(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plate.toml").write_text(PLATE)
    (tmp_path / "foreign").mkdir()
    (tmp_path / "foreign" / "letter.txt").write_text("dear")
    (tmp_path / "another").mkdir()
    (tmp_path / "another" / "study.json").write_text('{"name": "ring", "title": "A ring"}')
    (tmp_path / "damaged").mkdir()
    (tmp_path / "damaged" / "study.json").write_text("{")
    before = tree(tmp_path)
    for out, part in {
        "foreign": "holds no results of this study",
        "another": "belongs to another study: 'A ring' (ring.toml)",
        "damaged": "is damaged",
        "plate.toml": "is a file, not a folder",
        "plate.toml/below": "is a file",
        "/proc/none/results": "cannot be",
        "nul\0": "cannot be used",
    }.items():
        assert main(["study", "plate.toml", "--out", out]) == 2, out
        assert part in said(capsys)
    assert tree(tmp_path) == before


@pytest.mark.parametrize(
    ("flags", "parts"),
    [
        (["cirle"], ["SHAPE = 'cirle'", "did you mean 'circle'?"]),
        (["circle", "--diameter-mm", "300", "--width-mm", "200"], ["--width-mm = 200", "300 mm"]),
        (["circle", "--diameter-mm", "-3"], ["--diameter-mm = -3", "above 0", "--width-mm: is missing"]),
        (["circle", "--diameter-mm", "forty", "--width-mm", "nan"], ["--diameter-mm = 'forty'", "--width-mm = nan"]),
        (["slot", "--size-x-mm", "40", "--size-y-mm", "40", "--width-mm", "200", "--corner-radius-mm", "21"], ["--corner-radius-mm = 21", "at most 20"]),
        (["circle", "--diameter-mm", "4", "--width-mm", "9", "--load", "pull"], ["--load = 'pull'", "tension, biaxial, shear"]),
        (["circle", "--diameter-mm", "4", "--width-mm", "9", "--load", "shear", "--direction", "x"], ["--direction = 'x'", "--load shear"]),
        (["circle", "--diameter-mm", "4", "--width-mm", "9", "--length-mm", "3", "--pitch-mm", "7"], ["--length-mm = 3", "--pitch-mm"]),
        (["circle", "--diameter-mm", "4", "--width-mm", "9", "--error", "2"], ["error = 2", "at most 0.2"]),
    ],
)  # fmt: skip
def test_kt(flags, parts, capsys):
    assert main(["kt", *flags]) == 2
    message = said(capsys)
    for part in parts:
        assert part in message


@pytest.mark.parametrize(
    "arguments", [[], ["stduy", "x"], ["study"], ["study", "x", "--workers", "0"], ["study", "x", "--wrokers", "1"], ["new", "x", "--for", "drum"]]
)  # fmt: skip
def test_command_lines_that_make_no_sense(arguments, capsys):
    with pytest.raises(SystemExit) as left:
        main(arguments)
    assert left.value.code == 2
    assert "usage: femdrum" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["report", "figure"])
def test_results_that_are_not_there(command, tmp_path, capsys):
    assert main([command, str(tmp_path)]) == 2
    assert "holds no results.json" in said(capsys)
    assert list(tmp_path.iterdir()) == []
