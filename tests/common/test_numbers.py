"""Whole numbers as somebody sends them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teamroom.common.numbers import is_whole_number, whole_number


@given(st.integers(0, 999_999_999))
def test_a_number_in_plain_digits_is_read(number: int) -> None:
    assert whole_number(str(number)) == number


@given(st.one_of(st.none(), st.binary(), st.text()))
def test_whatever_is_sent_is_a_number_that_a_column_holds_or_none(written: object) -> None:
    assert 0 <= whole_number(written) < 2**31


@pytest.mark.parametrize("written", ["", "-1", "+1", "1.5", " 7", "7 ", "²", "٣", "1_000", "1" * 10, None, 7])
def test_anything_else_is_none_that_was_given_out(written: object) -> None:
    assert whole_number(written) == 0
    assert not is_whole_number(written)
