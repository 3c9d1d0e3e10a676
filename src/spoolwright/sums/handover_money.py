"""Money: an amount and a currency code, changed by the rate a user stated; totals and the price of work.

Amounts of two currencies never meet without a rate that the user stated.
"""

from __future__ import annotations

import re
from typing import Any

from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import read_number

Money = tuple[float, str]


def code_of(text: str) -> str:
    """The currency code that ``text`` writes, in capitals; raises ValueError unless it has three letters."""
    code = text.strip().upper()
    if not re.fullmatch(r"[A-Z]{3}", code):
        raise ValueError(f'"{text}" is no currency code; write three letters, for example GBP')
    return code


class Purse:
    """Changes money into one currency by the one rate the user stated."""

    def __init__(self, source: str, pay: str, rate: float | None) -> None:
        if source != pay and rate is None:
            raise ValueError(f"amounts in {source} are paid in {pay}: give exchange_rate, {pay} for one {source}")
        if rate is not None and rate <= 0.0:
            raise ValueError("an exchange rate is above zero")
        self.source, self.pay, self.rate = source, pay, rate if source != pay else 1.0

    def into(self, money: Money | None) -> float:
        """``money`` as an amount in the currency to pay; raises ValueError for a third currency."""
        if money is None:
            return 0.0
        amount, currency = money
        if currency == self.pay:
            return amount
        if currency == self.source:
            assert self.rate is not None
            return amount * self.rate
        raise ValueError(f"{currency} is neither {self.source} nor {self.pay}; change it first with `money_total`")


def pay_currency_of(pay_currency: str | None, source: str, *others: Money | None) -> str:
    """The code to pay in: as named, else the one of ``others`` beside ``source``; raises ValueError for two."""
    if pay_currency:
        return code_of(pay_currency)
    found = {money[1] for money in others if money is not None} - {source}
    if len(found) > 1:
        raise ValueError(f"{' and '.join(sorted(found))} both appear; give pay_currency")
    return found.pop() if found else source


# ----------------------------------------------------------------------------- money and work
@register(
    "handover",
    "Money into another currency",
    inputs={
        "amount": Input("money", "amount to change"),
        "exchange_rate": Input("exchange_rate", "how much of the new currency one unit is", "0.0001", "10000"),
        "into": Input("text", "currency wanted", unit="GBP"),
        "fee_rate": Input("share", "bank's or card's share", "0 %", "6 %", "0 %"),
        "fee": Input("money", "fixed fee in the new currency", default=""),
    },
    outputs={
        "changed": Output("money", "", "amount at the rate"),
        "cost": Output("money", "", "with the fees: what it costs"),
        "inverse_rate": Output("exchange_rate", "1", "how much of the old currency one of the new is"),
    },
    formula="""
    changed = amount * exchange_rate
    cost = changed * (1 + fee_rate) + fee
    """,
    source="definition",
    slips=("rate the wrong way round: look at the inverse",),
    example='--amount "4850 EUR" --exchange-rate 0.858 --into GBP',
)
def currency_conversion(
    amount: Money, exchange_rate: float, into: str, fee_rate: float, fee: Money | None
) -> dict[str, Any]:
    """Money in another currency with fees."""
    if exchange_rate <= 0.0:
        raise ValueError("an exchange rate is above zero")
    code = code_of(into)
    changed = amount[0] * exchange_rate
    fixed = 0.0
    if fee is not None:
        if fee[1] != code:
            raise ValueError(f"the fixed fee is in {fee[1]}, not in {code}")
        fixed = fee[0]
    return {
        "changed": (changed, code),
        "cost": (changed * (1.0 + fee_rate) + fixed, code),
        "inverse_rate": 1.0 / exchange_rate,
    }


def _rates(rates: list[str] | None) -> dict[str, float]:
    known = {}
    for text in rates or []:
        found = re.fullmatch(r"\s*(?:1\s*)?([A-Za-z]{3})\s*[=:]?\s*([\d.,]+)\s*[A-Za-z]{0,3}\s*", text)
        if not found:
            raise ValueError(f'"{text}" is no rate; write for example "EUR = 0.858; USD = 0.79"')
        known[found[1].upper()] = read_number(found[2])
    return known


@register(
    "handover",
    "Total of amounts in several currencies",
    inputs={
        "amounts": Input("money", "amounts, each with its currency", many=True),
        "pay_currency": Input("text", "currency of the total", unit="GBP"),
        "rates": Input(
            "text", 'what one unit of each other currency is in it: "EUR = 0.858; USD = 0.79"', default="", many=True
        ),
        "tax_rate": Input("share", "tax on the total", "0 %", "30 %", "0 %"),
    },
    outputs={
        "total": Output("money", "", "sum"),
        "with_tax": Output("money", "", "sum with tax"),
        "each": Output("number", "1", "each amount in that currency"),
    },
    formula="total = sum(amount * rate of its currency)",
    source="definition",
    example='--amounts "4850 EUR; 310 EUR; 420 USD; 95 GBP" --pay-currency GBP --rates "EUR = 0.858; USD = 0.79"',
)
def money_total(amounts: list[Money], pay_currency: str, rates: list[str] | None, tax_rate: float) -> dict[str, Any]:
    """Sum of money in one currency."""
    pay, known = code_of(pay_currency), _rates(rates)
    known[pay] = 1.0
    missing = sorted({currency for _, currency in amounts} - set(known))
    if missing:
        raise ValueError(f'no rate for {", ".join(missing)}; write rates "{missing[0]} = ..." in {pay}')
    each = [amount * known[currency] for amount, currency in amounts]
    return {"total": (sum(each), pay), "with_tax": (sum(each) * (1.0 + tax_rate), pay), "each": each}


@register(
    "handover",
    "Price of a build: hours, parts, margin, tax",
    inputs={
        "hours": Input("time", "hours of work, one or more items", "0.1 h", "2000 h", many=True),
        "rate": Input("money", "price of an hour"),
        "parts": Input("money", "parts, one or more, in the same currency", many=True, default=""),
        "margin": Input("share", "added on parts", "0 %", "60 %", "0 %"),
        "tax_rate": Input("share", "tax on all of it", "0 %", "30 %", "0 %"),
        "paid": Input("money", "paid already", default=""),
    },
    outputs={
        "work": Output("money", "", "hours times rate"),
        "parts_total": Output("money", "", "parts with the margin"),
        "net": Output("money", "", "work and parts"),
        "tax": Output("money", "", "tax"),
        "total": Output("money", "", "to pay in all"),
        "left_to_pay": Output("money", "", "after what is paid"),
        "total_hours": Output("time", "h", "hours"),
    },
    formula="""
    work = total_hours * rate
    net = work + parts_total
    total = net * (1 + tax_rate)
    """,
    source="definition",
    example='--hours "38 h" --rate "55 EUR" --parts "1200 EUR; 640 EUR" --margin "10 %" --tax-rate "19 %"',
)
def build_price(
    hours: list[float], rate: Money, parts: list[Money] | None, margin: float, tax_rate: float, paid: Money | None
) -> dict[str, Any]:
    """Money for work [s times rate an hour] and parts."""
    currency = rate[1]
    for amount, code in [*(parts or []), *([paid] if paid else [])]:
        if code != currency:
            raise ValueError(f"{amount:g} {code} is not in {currency}; change it first with `money_total`")
    total_hours = sum(hours)
    work = total_hours / 3600.0 * rate[0]
    pieces = sum(amount for amount, _ in parts or []) * (1.0 + margin)
    net = work + pieces
    total = net * (1.0 + tax_rate)
    return {
        "work": (work, currency),
        "parts_total": (pieces, currency),
        "net": (net, currency),
        "tax": (net * tax_rate, currency),
        "total": (total, currency),
        "left_to_pay": (total - (paid[0] if paid else 0.0), currency),
        "total_hours": total_hours,
    }
