"""Sums of the handover: landed cost with its tax base stated, freight weight, crate, currency, work.

Money is an amount and a currency code; amounts of two currencies never meet without a rate that the user stated. Which
base an office uses for duty and tax is the user's to look up; nothing here knows a tariff.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import read_number

Money = tuple[float, str]
_RATE = Input("exchange_rate", "how much of pay_currency one unit of the goods' currency is", "0.0001", "10000", "")
_PAY = Input("text", "currency to pay in; found from the fees when not given", default="", unit="GBP")


def _code(text: str) -> str:
    code = text.strip().upper()
    if not re.fullmatch(r"[A-Z]{3}", code):
        raise ValueError(f'"{text}" is no currency code; write three letters, for example GBP')
    return code


def _nothing_negative(**amounts: Money | None) -> None:
    for name, money in amounts.items():
        if money is not None and money[0] < 0.0:
            raise ValueError(f"{name} cannot be below zero")


class _Purse:
    """Changes money into one currency by the one rate the user stated."""

    def __init__(self, source: str, pay: str, rate: float | None) -> None:
        if source != pay and rate is None:
            raise ValueError(f"amounts in {source} are paid in {pay}: give exchange_rate, {pay} for one {source}")
        if rate is not None and rate <= 0.0:
            raise ValueError("an exchange rate is above zero")
        self.source, self.pay, self.rate = source, pay, rate if source != pay else 1.0

    def into(self, money: Money | None) -> float:
        if money is None:
            return 0.0
        amount, currency = money
        if currency == self.pay:
            return amount
        if currency == self.source:
            assert self.rate is not None
            return amount * self.rate
        raise ValueError(f"{currency} is neither {self.source} nor {self.pay}; change it first with `money_total`")


def _pay_currency(pay_currency: str | None, source: str, *others: Money | None) -> str:
    if pay_currency:
        return _code(pay_currency)
    found = {money[1] for money in others if money is not None} - {source}
    if len(found) > 1:
        raise ValueError(f"{' and '.join(sorted(found))} both appear; give pay_currency")
    return found.pop() if found else source


# ----------------------------------------------------------------------------- landed cost
def _landed_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    total, wrong = results["landed_cost"], results["landed_if_tax_beside_duty"]
    questions = []
    if abs(total[0] - wrong[0]) > 0.005 * max(1.0, abs(total[0])) * 0.1:
        questions.append(
            f"the tax here is taken on {given['tax_base']}; duty and tax added side by side would give {wrong[0]:.2f} "
            f"{wrong[1]}: which one does the office bill?"
        )
    if given["duty_base"] == "goods only":
        questions.append("duty is taken on the goods alone (FOB): does that office not count freight and insurance?")
    if given["exchange_rate"] is not None and total[1] == given["goods"][1]:
        questions.append(
            f"the exchange rate was not used: goods and total are both in {total[1]}; name the money you pay in as "
            "pay_currency"
        )
    for name, high in (("duty_rate", 0.3), ("tax_rate", 0.3), ("insurance_rate", 0.05)):
        if given[name] is not None and given[name] > high:
            questions.append(f"{name} of {100 * given[name]:.4g} %: was {given[name]:.4g} % meant?")
    return questions


@register(
    "handover",
    "Landed cost: goods, freight, insurance, duty, tax, fees",
    inputs={
        "goods": Input("money", "price of the goods", sheet="handover.goods"),
        "freight": Input(
            "money", "freight to the border or door, in either currency", default="", sheet="handover.freight"
        ),
        "insurance": Input(
            "money", "insurance as an amount; or give insurance_rate", default="", sheet="handover.insurance"
        ),
        "insurance_rate": Input(
            "share", "insurance as a share of insurance_base", "0 %", "5 %", "", sheet="handover.insurance_rate"
        ),
        "insurance_base": Input(
            "choice",
            "what the insurance share is of",
            choices=("goods and freight", "goods only", "110 % of goods and freight"),
            default="goods and freight",
            sheet="handover.insurance_base",
        ),
        "exchange_rate": replace(_RATE, sheet="handover.exchange_rate"),
        "pay_currency": replace(_PAY, sheet="handover.pay_currency"),
        "duty_rate": Input("share", "duty", "0 %", "30 %", "0 %", sheet="handover.duty_rate"),
        "duty_base": Input(
            "choice",
            "customs value: goods, freight and insurance (CIF), or goods only (FOB)",
            choices=("goods freight insurance", "goods only"),
            default="goods freight insurance",
            sheet="handover.duty_base",
        ),
        "tax_rate": Input("share", "VAT or import sales tax", "0 %", "30 %", "0 %", sheet="handover.tax_rate"),
        "tax_base": Input(
            "choice",
            "what the tax is of",
            choices=(
                "customs value and duty",
                "goods freight insurance and duty",
                "goods freight insurance duty and fees",
                "customs value",
                "goods only",
            ),
            default="customs value and duty",
            sheet="handover.tax_base",
        ),
        "fees": Input(
            "money", "broker, handling, storage: one or more, untaxed", many=True, default="", sheet="handover.fees"
        ),
        "taxed_fees": Input(
            "money", "fees that carry the same tax on top", many=True, default="", sheet="handover.taxed_fees"
        ),
    },
    outputs={
        "goods_paid": Output("money", "", "goods in the currency to pay"),
        "freight_paid": Output("money", "", "freight in that currency"),
        "customs_value": Output("money", "", "base of the duty"),
        "duty": Output("money", "", "duty"),
        "tax_base_amount": Output("money", "", "base of the tax"),
        "tax": Output("money", "", "VAT or sales tax"),
        "fees_total": Output("money", "", "fees, with tax where they carry it"),
        "landed_cost": Output("money", "", "price at the door"),
        "insurance_amount": Output("money", "", "insurance"),
        "goods_freight_insurance": Output("money", "", "goods, freight and insurance (CIF)"),
        "without_tax": Output("money", "", "landed cost for one who gets the tax back"),
        "landed_if_tax_beside_duty": Output(
            "money", "", "with tax taken beside duty instead of on top (usually wrong)"
        ),
        "on_top": Output("share", "%", "landed cost over goods, less one"),
    },
    formula="""
    goods_paid = goods * exchange_rate
    goods_freight_insurance = goods_paid + freight_paid + insurance_amount
    customs_value = goods_freight_insurance (CIF), else goods_paid (FOB)
    duty = duty_rate * customs_value
    tax = tax_rate * tax_base_amount
    landed_cost = goods_freight_insurance + duty + tax + fees_total
    """,
    source="CIF or FOB method as customs offices publish it; rates and bases are the user's to look up",
    validity="no tariff is known here; duty by weight, excise and anti-dumping duty are not counted",
    slips=(
        "tax added beside duty instead of on top",
        "duty on goods only where the office counts freight",
        "exchange rate the wrong way round",
        "the office's monthly rate differs from the bank's",
    ),
    question=_landed_question,
    example='--goods "4850 EUR" --freight "310 EUR" --insurance-rate "1.2 %" --exchange-rate 0.858 --duty-rate "3.0 %" '
    '--tax-rate "20 %" --fees "95 GBP"',
)
def landed_cost(
    goods: Money,
    freight: Money | None,
    insurance: Money | None,
    insurance_rate: float | None,
    insurance_base: str,
    exchange_rate: float | None,
    pay_currency: str | None,
    duty_rate: float,
    duty_base: str,
    tax_rate: float,
    tax_base: str,
    fees: list[Money] | None,
    taxed_fees: list[Money] | None,
) -> dict[str, Any]:
    """Money at the door, each step of it, in the currency to pay in."""
    fees, taxed_fees = fees or [], taxed_fees or []
    if insurance is not None and insurance_rate is not None:
        raise ValueError("give insurance or insurance_rate, not both")
    if min(duty_rate, tax_rate, insurance_rate or 0.0) < 0.0:
        raise ValueError("rates cannot be below zero")
    _nothing_negative(goods=goods, freight=freight, insurance=insurance)
    pay = _pay_currency(pay_currency, goods[1], freight, insurance, *fees, *taxed_fees)
    purse = _Purse(goods[1], pay, exchange_rate)
    wares, way = purse.into(goods), purse.into(freight)
    insured = {"goods only": wares, "goods and freight": wares + way}.get(insurance_base, 1.1 * (wares + way))
    cover = purse.into(insurance) if insurance_rate is None else insurance_rate * insured
    cif = wares + way + cover
    customs = cif if duty_base == "goods freight insurance" else wares
    duty = duty_rate * customs
    plain, taxed = sum(purse.into(fee) for fee in fees), sum(purse.into(fee) for fee in taxed_fees)
    base = {
        "customs value and duty": customs + duty,
        "goods freight insurance and duty": cif + duty,
        "goods freight insurance duty and fees": cif + duty + plain,
        "customs value": customs,
        "goods only": wares,
    }[tax_base]
    tax = tax_rate * base
    fees_total = plain + taxed * (1.0 + tax_rate)
    total = cif + duty + tax + fees_total
    beside = cif + duty + tax_rate * customs + fees_total
    amounts = {
        "goods_paid": wares,
        "freight_paid": way,
        "customs_value": customs,
        "duty": duty,
        "tax_base_amount": base,
        "tax": tax,
        "fees_total": fees_total,
        "landed_cost": total,
        "insurance_amount": cover,
        "goods_freight_insurance": cif,
        "without_tax": total - tax - taxed * tax_rate,
        "landed_if_tax_beside_duty": beside,
    }
    return {
        **{name: (amount, pay) for name, amount in amounts.items()},
        "on_top": total / wares - 1.0 if wares else 0.0,
    }


# ----------------------------------------------------------------------------- freight weight


def _each(values: list[float], n: int, name: str) -> list[float]:
    if len(values) == n:
        return values
    if len(values) == 1:
        return values * n
    raise ValueError(f"{name} has {len(values)} values where {n} are needed: one for each parcel")


@register(
    "handover",
    "Chargeable weight: real or by volume",
    inputs={
        "length": Input("length", "outside length of each parcel", "5 cm", "600 cm", many=True),
        "width": Input("length", "outside width of each", "5 cm", "300 cm", many=True),
        "height": Input("length", "outside height of each", "5 cm", "300 cm", many=True),
        "mass": Input("mass", "gross weight of each", "0.1 kg", "3000 kg", many=True),
        "count": Input("count", "how many of each", "1", "1000", "1", many=True),
        "divisor": Input(
            "volume_per_mass",
            "volume that counts as one unit of weight",
            "1000 cm3/kg",
            "10000 cm3/kg",
            "6000 cm3/kg",
            sheet="handover.divisor",
        ),
        "price": Input("money", "price for each kilogram charged", default=""),
    },
    outputs={
        "chargeable_weight": Output("mass", "kg", "the larger one, over the whole consignment", ("lb",)),
        "volumetric_weight": Output("mass", "kg", "volume over divisor", ("lb",)),
        "gross_weight": Output("mass", "kg", "real weight", ("lb",)),
        "volume": Output("volume", "m3", "outside volume", ("ft3", "L")),
        "chargeable_each": Output("mass", "kg", "where each parcel is charged by itself"),
        "chargeable_by_parcel": Output("mass", "kg", "sum of those"),
        "freight": Output("money", "", "price times chargeable weight (where a price is given)"),
    },
    formula="""
    volumetric_weight = length * width * height / divisor
    chargeable_weight = max(gross_weight, volumetric_weight)
    """,
    source="carriers' rule; 6000 cm3/kg air, 5000 express, 3000 road, 1 m3 = 1 t sea: common practice, no source",
    slips=("inside dimensions taken", "divisor of another service"),
    question=lambda given, results: (
        ["the volume decides: would a smaller crate be cheaper?"]
        if results["volumetric_weight"] > results["gross_weight"]
        else []
    ),
    caution="Drain fuel and oil, close every opening, fix the engine at its mountings; lift by the marked points only.",
    example='--length "95 cm" --width "80 cm" --height "70 cm" --mass "118 kg"',
)
def chargeable_weight(
    length: list[float],
    width: list[float],
    height: list[float],
    mass: list[float],
    count: list[float],
    divisor: float,
    price: Money | None,
) -> dict[str, Any]:
    """Weights [kg] of a consignment from outside dimensions [m]."""
    n = max(len(length), len(width), len(height), len(mass), len(count))
    sides = [_each(v, n, name) for v, name in ((length, "length"), (width, "width"), (height, "height"))]
    masses, counts = _each(mass, n, "mass"), _each(count, n, "count")
    if divisor <= 0.0 or min(*sides[0], *sides[1], *sides[2], *masses, *counts) < 0.0:
        raise ValueError("dimensions, weights and divisor must be above zero")
    volumes = [a * b * c for a, b, c in zip(*sides, strict=True)]
    volume = sum(v * k for v, k in zip(volumes, counts, strict=True))
    gross = sum(m * k for m, k in zip(masses, counts, strict=True))
    each = [max(m, v / divisor) for m, v in zip(masses, volumes, strict=True)]
    charged = max(gross, volume / divisor)
    return {
        "chargeable_weight": charged,
        "volumetric_weight": volume / divisor,
        "gross_weight": gross,
        "volume": volume,
        "chargeable_each": each,
        "chargeable_by_parcel": sum(e * k for e, k in zip(each, counts, strict=True)),
        "freight": None if price is None else (price[0] * charged, price[1]),
    }


@register(
    "handover",
    "Crate around an engine: outside size, volume, weight",
    inputs={
        "length": Input("length", "engine length", "10 cm", "300 cm", sheet="handover.length"),
        "width": Input("length", "engine width", "10 cm", "200 cm", sheet="handover.width"),
        "height": Input("length", "engine height", "10 cm", "200 cm", sheet="handover.height"),
        "mass": Input("mass", "engine as packed, dry", "5 kg", "800 kg", sheet="handover.mass"),
        "clearance": Input("length", "room on each side", "1 cm", "15 cm", "5 cm"),
        "wall": Input("length", "board thickness", "6 mm", "40 mm", "12 mm"),
        "base_height": Input("length", "skids and pallet under it", "0 mm", "250 mm", "120 mm"),
        "board_density": Input("density", "plywood 600, pine 500", "350 kg/m3", "900 kg/m3", "600 kg/m3"),
        "extra": Input("mass", "frame, bolts, parts packed along", "0 kg", "200 kg", "10 kg"),
    },
    outputs={
        "outside_length": Output("length", "cm", "outside", ("in",)),
        "outside_width": Output("length", "cm", "outside", ("in",)),
        "outside_height": Output("length", "cm", "outside, skids counted", ("in",)),
        "volume": Output("volume", "m3", "outside volume", ("ft3",)),
        "gross_weight": Output("mass", "kg", "engine, boards and extras", ("lb",)),
        "boards": Output("mass", "kg", "boards", ("lb",)),
    },
    formula="""
    outside_length = length + 2 * (clearance + wall)
    outside_height = height + 2 * (clearance + wall) + base_height
    gross_weight = mass + boards + extra
    """,
    source="plain geometry",
    slips=("wood across borders must be heat-treated and stamped (ISPM 15)",),
    caution="Lift by the marked points only; write weight and centre of gravity on the crate.",
    example='--length "82 cm" --width "66 cm" --height "48 cm" --mass "92 kg"',
)
def crate_size(
    length: float,
    width: float,
    height: float,
    mass: float,
    clearance: float,
    wall: float,
    base_height: float,
    board_density: float,
    extra: float,
) -> dict[str, float]:
    """Outside dimensions [m], volume [m3] and weight [kg] of a crate."""
    if min(length, width, height) <= 0.0 or min(clearance, wall, base_height) < 0.0:
        raise ValueError("dimensions must be above zero")
    inside = [side + 2.0 * clearance for side in (length, width, height)]
    box = [side + 2.0 * wall for side in inside]
    shell = box[0] * box[1] * box[2] - inside[0] * inside[1] * inside[2]
    boards = shell * board_density
    tall = box[2] + base_height
    return {
        "outside_length": box[0],
        "outside_width": box[1],
        "outside_height": tall,
        "volume": box[0] * box[1] * tall,
        "gross_weight": mass + boards + extra,
        "boards": boards,
    }


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
    code = _code(into)
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
    pay, known = _code(pay_currency), _rates(rates)
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
