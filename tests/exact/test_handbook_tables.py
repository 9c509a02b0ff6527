"""Every tabulated exact plane value, to 1e-6.

Tolerance: half a unit of the sixth printed decimal, plus 1e-6 of the value (or the table's own error where larger).
"""

import pytest
from handbook_tables import TABLES, Tabulated, every

from femdrum.handbook.exact import exact_kt
from femdrum.model.cutout import Slot


@pytest.mark.parametrize("name", TABLES)
def test_a_table_is_whole(name):
    read, count = TABLES[name]
    assert len(read()) == count


@pytest.mark.parametrize("row", every(), ids=lambda r: r.name)
def test_tabulated_kt(row: Tabulated):
    x, y, shear = row.factors
    answer = exact_kt(row.cutout, row.domain, stress_x=x, stress_y=y, shear=shear)
    tolerance = 5e-7 + max(1e-6, row.error) * row.kt
    assert abs(answer.kt - row.kt) <= tolerance
    assert answer.est_rel_err <= 1e-6
    # the estimate is honest: it covers the true error, as far as six decimals show it
    assert abs(answer.kt - row.kt) <= 5.2e-7 + answer.est_rel_err * row.kt
    if row.signed is not None and shear == 0:
        assert answer.signed == pytest.approx(row.signed, abs=tolerance)
    uniform = isinstance(row.cutout, Slot) and row.cutout.radius_mm == row.cutout.half_x_mm == row.cutout.half_y_mm
    if row.place is not None and not (uniform and x == y):  # a circle under all-round pull has no place
        # where the maximum is flat its place is soft: 1e-6 of the value is about 1e-3 of the place
        assert (abs(answer.x_mm), answer.y_mm) == pytest.approx(row.place, abs=2e-3)
