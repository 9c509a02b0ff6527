import pytest
import texts


@pytest.fixture
def plates(tmp_path):
    """A study file of four plate widths."""
    path = tmp_path / "plates.toml"
    path.write_text(texts.with_(texts.PLATE, width_mm="[100, 200, 300, 400]"))
    return path
