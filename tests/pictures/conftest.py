import os

import pytest
from picture_studies import PLATE, RING, ROW

from femdrum.study import run, study_from_text


@pytest.fixture(scope="session", autouse=True)
def _one_thread():
    before = os.environ.get("OMP_NUM_THREADS")
    os.environ["OMP_NUM_THREADS"] = "1"
    yield
    if before is None:
        del os.environ["OMP_NUM_THREADS"]
    else:
        os.environ["OMP_NUM_THREADS"] = before


@pytest.fixture(scope="session")
def plate(tmp_path_factory):
    return run(study_from_text(PLATE, name="plate"), tmp_path_factory.mktemp("plate") / "out", workers=1)


@pytest.fixture(scope="session")
def ring(tmp_path_factory):
    return run(study_from_text(RING, name="ring"), tmp_path_factory.mktemp("ring") / "out", workers=1)


@pytest.fixture(scope="session")
def row(tmp_path_factory):
    return run(study_from_text(ROW, name="row"), tmp_path_factory.mktemp("row") / "out", workers=1)
