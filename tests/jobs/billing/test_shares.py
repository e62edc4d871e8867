"""Tax and retainage on the parts of a contract: by hand, and for any parts."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.billing import shares


def test_the_tax_of_three_invoices_by_hand():
    """A contract of 100.01 with 7.62 of tax in thirds: the last one takes the odd cent.

    By hand: 7.62 x 33.34 / 100.01 = 2.5403, so 2.54; 7.62 x 66.68 / 100.01 = 5.0806, so 5.08 - 2.54 = 2.54;
    the rest is 7.62 - 5.08 = 2.54.
    """
    taxes, invoiced = [], 0
    for part in (3_334, 3_334, 3_333):
        tax = shares.tax_of_part(
            contract_cents=10_001,
            contract_tax_cents=762,
            invoiced_cents=invoiced,
            invoiced_tax_cents=sum(taxes),
            part_cents=part,
        )
        taxes.append(tax)
        invoiced += part
    assert taxes == [254, 254, 254]
    assert sum(taxes) == 762


@pytest.mark.parametrize(
    ("contract_tax", "part", "expected"),
    [
        # By hand: of 200.00 half is invoiced, with 4.00 of tax. Then a change brings the contract's tax to
        # 20.00: 16.00 on the 100.00 that are left, so 0.16 on 1.00 and not the 6.10 that catch up at once.
        (2_000, 100, 16),
        # A change took taxed work away: 1.00 of tax is left on 100.00.
        (500, 100, 1),
        # More was carried than the contract has now: nothing, until the last invoice settles it.
        (300, 100, 0),
        (300, 10_000, -100),
        (2_000, 10_000, 1_600),
    ],
)
def test_after_a_change_no_small_invoice_makes_up_for_all_those_before_it(contract_tax, part, expected):
    tax = shares.tax_of_part(
        contract_cents=20_000,
        contract_tax_cents=contract_tax,
        invoiced_cents=10_000,
        invoiced_tax_cents=400,
        part_cents=part,
    )
    assert tax == expected


@given(
    st.lists(st.integers(1, 10**7), min_size=1, max_size=8),
    st.integers(0, 5000),
)
def test_whatever_the_parts_the_tax_sums_to_the_contract_s(parts, basis_points):
    total = sum(parts)
    tax_of_all = total * basis_points // (10_000 + basis_points)
    invoiced = carried = 0
    for part in parts:
        tax = shares.tax_of_part(
            contract_cents=total,
            contract_tax_cents=tax_of_all,
            invoiced_cents=invoiced,
            invoiced_tax_cents=carried,
            part_cents=part,
        )
        # At most a cent off the part's own exact share.
        assert abs(tax * total - tax_of_all * part) <= total
        invoiced, carried = invoiced + part, carried + tax
    assert carried == tax_of_all


@pytest.mark.parametrize(
    ("part", "basis_points", "expected"),
    [
        # Common practice, no source: 10 % of each progress payment held until the end.
        (300_000, 1000, 30_000),
        # By hand: 5 % of 1,234.50 is 61.725, half up 61.73.
        (123_450, 500, 6_173),
        (300_000, 0, 0),
    ],
)
def test_what_is_held_back(part, basis_points, expected):
    assert shares.held_back(part_cents=part, basis_points=basis_points) == expected
