"""How the contract's sales tax and the retainage fall on its invoices. Pure: whole cents in and out.

The contract's tax was worked out once, by the site's rule. An invoice for a part of the contract carries
what the tax on all that has been invoiced by then comes to, less what earlier invoices carried; so whatever
the parts, the last one takes the odd cent and the sum is the contract's tax exactly.
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
    return half_up(reached) - invoiced_tax_cents


def held_back(*, part_cents: int, basis_points: int) -> int:
    """Return what is retained of *part_cents*, rounded half up once (common practice, no source).

    >>> held_back(part_cents=333_335, basis_points=1000)
    33334
    """
    return half_up(Decimal(part_cents) * basis_points / 10_000)


def share_of(*, whole_cents: int, part_cents: int, of_cents: int) -> int:
    """Return *whole_cents* times part over of, rounded once; all of it for the whole part."""
    return half_up(Decimal(whole_cents) * part_cents / of_cents) if of_cents else 0
