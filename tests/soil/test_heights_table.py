"""The factors of the table of heights about an order's own."""

from __future__ import annotations

import itertools

from hypothesis import given, strategies as st

from terrain.soil.heights import SCALES, scales_beside


@given(st.floats(0.01, 3.0))
def test_ones_own_factor_is_in_the_table_and_no_other_reads_like_it(own: float) -> None:
    scales = sorted(scales_beside(own))
    assert own in scales
    assert min(high - low for low, high in itertools.pairwise(scales)) > 0.02
    assert len(SCALES) <= len(scales) <= len(SCALES) + 1
