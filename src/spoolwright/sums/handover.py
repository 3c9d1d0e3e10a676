"""Sums of the handover: landed cost with its tax base stated.

Freight weight, crate and money stand in files of their own, which register when this one is imported. Which base
an office uses for duty and tax is the user's to look up; nothing here knows a tariff.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums import handover_freight, handover_money  # noqa: F401 - they register the rest of this topic
from spoolwright.sums.handover_money import Money, Purse, pay_currency_of
from spoolwright.sums.registry import Input, Output, register

_RATE = Input("exchange_rate", "how much of pay_currency one unit of the goods' currency is", "0.0001", "10000", "")
_PAY = Input("text", "currency to pay in; found from the fees when not given", default="", unit="GBP")


def _nothing_negative(**amounts: Money | None) -> None:
    for name, money in amounts.items():
        if money is not None and money[0] < 0.0:
            raise ValueError(f"{name} cannot be below zero")


_WITH_DUTY = "customs value and duty"


# ----------------------------------------------------------------------------- landed cost
def _landed_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    total, wrong = results["landed_cost"], results["landed_if_tax_beside_duty"]
    questions = []
    if abs(total[0] - wrong[0]) > 0.005 * max(1.0, abs(total[0])) * 0.1:
        questions.append(
            f"the tax here is taken on {given['tax_base'] or _WITH_DUTY}; duty and tax added side by side would give "
            f"{wrong[0]:.2f} {wrong[1]}: which one does the office bill?"
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
            "what the tax is of; to be stated where duty is on goods only",
            choices=(
                _WITH_DUTY,
                "goods freight insurance and duty",
                "goods freight insurance duty and fees",
                "customs value",
                "goods only",
            ),
            default="",
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
        "tax on goods and duty only where the office counts freight: some take the duty FOB and the tax CIF",
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
    tax_base: str | None,
    fees: list[Money] | None,
    taxed_fees: list[Money] | None,
) -> dict[str, Any]:
    """Money at the door, each step of it, in the currency to pay in.

    Raises ValueError for a second way to state the insurance, a currency without a rate, or an open base of the tax.
    """
    fees, taxed_fees = fees or [], taxed_fees or []
    if insurance is not None and insurance_rate is not None:
        raise ValueError("give insurance or insurance_rate, not both")
    if min(duty_rate, tax_rate, insurance_rate or 0.0) < 0.0:
        raise ValueError("rates cannot be below zero")
    _nothing_negative(goods=goods, freight=freight, insurance=insurance)
    pay = pay_currency_of(pay_currency, goods[1], freight, insurance, *fees, *taxed_fees)
    purse = Purse(goods[1], pay, exchange_rate)
    wares, way = purse.into(goods), purse.into(freight)
    insured = {"goods only": wares, "goods and freight": wares + way}.get(insurance_base, 1.1 * (wares + way))
    cover = purse.into(insurance) if insurance_rate is None else insurance_rate * insured
    cif = wares + way + cover
    customs = cif if duty_base == "goods freight insurance" else wares
    duty = duty_rate * customs
    if tax_base is None and tax_rate > 0.0 and customs != cif:
        raise ValueError(
            "with duty on goods only it is open whether freight and insurance carry the tax: give tax_base, "
            '"goods freight insurance and duty" where they do, "customs value and duty" where they do not'
        )
    plain, taxed = sum(purse.into(fee) for fee in fees), sum(purse.into(fee) for fee in taxed_fees)
    base = {
        _WITH_DUTY: customs + duty,
        "goods freight insurance and duty": cif + duty,
        "goods freight insurance duty and fees": cif + duty + plain,
        "customs value": customs,
        "goods only": wares,
    }[tax_base or _WITH_DUTY]
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
