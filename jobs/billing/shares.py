"""How the contract's sales tax and the retainage fall on its invoices. Pure: whole cents in and out.

The contract's tax was worked out once, by the site's rule. An invoice for a part of the contract carries
what the tax on all that has been invoiced by then comes to, less what earlier invoices carried; so whatever
the parts, the last one takes the odd cent and the sum is the contract's tax exactly. Where a signed change
has moved the share of tax since, what is still to be invoiced is taxed evenly instead: the next invoice,
which may be a small one, does not make up for all those before it.
"""

from __future__ import annotations

from decimal import Decimal

from contracting.money import half_up


def tax_of_part(
    *,
    contract_cents: int,
    contract_tax_cents: int,
    invoiced_cents: int,
    invoiced_tax_cents: int,
    part_cents: int,
) -> int:
    """Return the sales tax in *part_cents* (tax included) of a contract; negative for a credit.

    >>> tax_of_part(contract_cents=10_001, contract_tax_cents=762, invoiced_cents=0, invoiced_tax_cents=0,
    ...     part_cents=3_000)
    229
    """
    if not contract_cents:
        return -invoiced_tax_cents
    reached = Decimal(contract_tax_cents) * (invoiced_cents + part_cents) / contract_cents
    tax = half_up(reached) - invoiced_tax_cents
    rest_cents = contract_cents - invoiced_cents
    if not 0 < part_cents < rest_cents:
        return tax
    even = half_up(Decimal(contract_tax_cents - invoiced_tax_cents) * part_cents / rest_cents)
    # By rounding alone the two differ by a cent at most.
    return tax if abs(tax - even) <= 1 else max(0, even)


def held_back(*, part_cents: int, basis_points: int) -> int:
    """Return what is retained of *part_cents*, rounded half up once (common practice, no source).

    >>> held_back(part_cents=333_335, basis_points=1000)
    33334
    """
    return half_up(Decimal(part_cents) * basis_points / 10_000)


def share_of(*, whole_cents: int, part_cents: int, of_cents: int) -> int:
    """Return *whole_cents* times part over of, rounded once; all of it for the whole part."""
    return half_up(Decimal(whole_cents) * part_cents / of_cents) if of_cents else 0
