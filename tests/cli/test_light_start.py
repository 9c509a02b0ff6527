"""What a command loads: one ring and one plate must not pay for what neither asks for."""

import os
import subprocess
import sys

import numpy as np
import pytest

RING = """
[part]
kind = "ring"
outer_diameter_mm = 900
wall_mm = 40
pitch_mm = 200
slots_around = 6
rows = "aligned"
[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 120
corner_radius_mm = 30
[material]
grade = "S355"
[[load]]
kind = "rotation"
speed_rpm = 1000
[accuracy]
error = 0.05
"""
COMMANDS = {
    "study": ["study", "ring.toml", "--no-report"],
    "kt": ["kt", "circle", "--diameter-mm", "40", "--width-mm", "200"],
}
# libraries and parts of our own that cost much to load
UNASKED = (
    *("meshio", "skfem", "gmsh", "rich", "matplotlib", "jinja2", "pyvista", "distributed", "scipy.optimize"),
    *("multiprocessing", "concurrent.futures", "email.parser", "numpy.f2py.crackfortran", "numpy.testing.overrides"),
    *("femdrum.report", "femdrum.rotor", "femdrum.strength", "femdrum.assess.contact", "femdrum.assess.life_words"),
    *("femdrum.loads.bar_factors", "femdrum.fem.file_mesh", "femdrum.model.machine", "femdrum.study.life_stage"),
    "femdrum.study.cluster",
)  # fmt: skip
# a ring is solved by dense blocks, a plate by the sparse solver
SOLVERS = {"study": {"scipy.linalg"}, "kt": {"scipy.sparse", "rslab"}}
OF_A_STUDY = ("femdrum.study.build", "femdrum.study.runner", "femdrum.fem.ring_level")


def loaded(command, folder):
    """Names of all modules of a fresh process at the end of a command."""
    (folder / "ring.toml").write_text(RING, encoding="utf-8")
    script = (
        "import sys; from femdrum.cli import main; code = main(sys.argv[1:]); "
        "print(*sys.modules, sep='\\n', file=sys.stderr); sys.exit(code)"
    )
    threads = {"OMP_NUM_THREADS": "1", "RAYON_NUM_THREADS": "1"}
    done = subprocess.run([sys.executable, "-c", script, *COMMANDS[command]], cwd=folder, env=os.environ | threads,
                          capture_output=True, text=True, check=True)  # fmt: skip
    return set(done.stderr.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_what_was_not_asked_for_is_not_loaded(command, tmp_path):
    modules = loaded(command, tmp_path)
    assert "femdrum.fem.system" in modules  # it was solved, in this process
    assert not modules.intersection(UNASKED)
    assert modules.intersection(set.union(*SOLVERS.values())) == SOLVERS[command]
    assert bool(modules.intersection(OF_A_STUDY)) == (command == "study")


def test_the_parts_of_numpy_that_wait_are_whole_when_they_are_used():
    script = (
        "from femdrum.fem.light_imports import load_lightly; load_lightly(); load_lightly(); import scipy.sparse, sys, numpy as np; "
        "assert 'numpy.f2py.crackfortran' not in sys.modules; from numpy.testing import assert_allclose; assert_allclose(1, 1); "
        "import numpy.f2py; print(np.f2py.get_include()); assert 'numpy.f2py.crackfortran' in sys.modules; np.testing.assert_equal(2, 2)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == np.f2py.get_include()
