"""Heights survive the way to the page."""

from __future__ import annotations

import base64
import zlib

import numpy as np
from hypothesis import given, strategies as st
from hypothesis.extra.numpy import arrays
from live_yards import opened_frame

from viewer.web.live.frames import frame
from viewer.web.packed import LARGEST, as_text, pack

HEIGHTS = arrays(float, st.tuples(st.integers(2, 9), st.integers(2, 9)), elements=st.floats(-50.0, 50.0))


@given(HEIGHTS)
def test_packing_is_true_to_half_a_step(values: np.ndarray) -> None:
    packed = pack(values)
    assert np.abs(packed.values - values).max() <= 0.5 * packed.step * (1 + 1e-9) + 1e-12
    assert packed.step <= max(np.ptp(values) / LARGEST, 1.0)


@given(HEIGHTS)
def test_no_fill_stays_exactly_none(values: np.ndarray) -> None:
    change = np.maximum(values, 0.0)
    change[0, 0] = 0.0
    assert (pack(change).values[change == 0.0] == 0.0).all()


def from_text(text: str, shape: tuple[int, int]) -> np.ndarray:
    """The codes as the page's own script reads them."""
    planes = np.frombuffer(zlib.decompress(base64.b64decode(text)), dtype=np.uint8).reshape(2, *shape)
    return np.cumsum(planes[0] + (planes[1].astype(np.uint16) << 8), axis=0, dtype=np.uint16)


@given(HEIGHTS)
def test_codes_come_back_from_the_text_of_a_page(values: np.ndarray) -> None:
    packed = pack(values)
    assert (from_text(as_text(packed), values.shape) == packed.codes).all()


@given(HEIGHTS)
def test_a_message_carries_head_and_heights(values: np.ndarray) -> None:
    head = opened_frame(frame({"say": "shape", "name": "Ü"}, values))
    assert head["name"] == "Ü"
    assert np.abs(head["values"] - values).max() <= 0.5 * head["step"] * (1 + 1e-9) + 1e-12


def test_three_metres_of_relief_are_stepped_by_less_than_a_tenth_of_a_millimetre() -> None:
    assert pack(np.array([[0.0, 3.0]])).step < 1e-4
