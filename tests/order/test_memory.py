"""What a solution may take, what it is foreseen to take, and the refusal."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from femdrum.errors import OverBudget
from femdrum.fem import memory

FACTOR = """
import json
import numpy as np
import rslab
from scipy.sparse import diags_array, eye_array, kron, tril

n = 56
line = diags_array([np.full(n, 2.0), np.full(n - 1, -1.0), np.full(n - 1, -1.0)], offsets=[0, 1, -1])
one = eye_array(n)
block = kron(kron(line, one), one) + kron(kron(one, line), one) + kron(kron(one, one), line)
lower = tril(block).tocsc()

def now(name):
    with open("/proc/self/status") as status:
        return next(1024 * int(row.split()[1]) for row in status if row.startswith(name))

before = now("VmRSS")
symbolic = rslab.analyze(lower, path="ldlt")
need = symbolic.memory_plan()["peak_bytes"]
factor = symbolic.factor(lower.data)
factor.solve_many(np.ones((lower.shape[0], 1)))
print(json.dumps([need, now("VmHWM") - before]))
"""


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is measured by /proc")
def test_the_foreseen_memory_of_a_factor_is_what_it_takes() -> None:
    done = subprocess.run([sys.executable, "-c", FACTOR], capture_output=True, text=True, check=True)
    need, taken = json.loads(done.stdout)
    assert taken > 1e8
    assert taken / 1.5 <= need <= 1.5 * taken


def test_a_refusal_names_sizes_and_ways_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(memory, "available_bytes", lambda: 3.2e9)
    memory.require(10, 3.1e9, "a step")
    with pytest.raises(OverBudget) as refused:
        memory.require(1_234_567, 12.34e9, "the factor of a system")
    text = str(refused.value)
    for part in ("1234567 unknowns", "12.3 GB", "3.2 GB", "fewer workers", "error", "radius", "most_unknowns",
                 "aligned", "--cluster"):  # fmt: skip
        assert part in text


def test_the_container_and_the_fellows_count(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    most, used, stat = (tmp_path / name for name in ("max", "current", "stat"))
    monkeypatch.setattr(memory, "_machine", lambda: (64e9, 40e9))
    monkeypatch.setattr(memory, "_CGROUPS", ((str(most), str(used), str(stat)),))
    assert memory.available_bytes() == 40e9  # no such files
    most.write_text("max\n")
    assert memory.available_bytes() == 40e9
    most.write_text("10000000000\n")
    used.write_text("7000000000\n")
    stat.write_text("anon 1\ninactive_file 500000000\n")
    assert memory.available_bytes() == 3.5e9  # what the system only caches can be had
    monkeypatch.setattr(memory, "_workers", lambda: 4)
    monkeypatch.setattr(memory, "_own", lambda: 1e9)
    assert memory.available_bytes() == 1.5e9


def test_free_memory_of_this_machine_is_found() -> None:
    assert 1e7 < memory.available_bytes() < 1e15
