"""Sums of the handover: tax bases told apart, currencies, freight weight."""

from __future__ import annotations

import pytest
from asked import ask, questions, value

from spoolwright.errors import BadInput

CRATE = {
    "goods": "4850 EUR", "freight": "310 EUR", "insurance_rate": "1.2 %", "exchange_rate": "0.858",
    "duty_rate": "3.0 %", "tax_rate": "20 %", "fees": "95 GBP",
}  # fmt: skip


def money(answer: object, name: str) -> float:
    amount, _ = answer.results[name]  # type: ignore[attr-defined]
    return amount


def test_landed__tax_beside_duty_is_told_apart() -> None:
    answer = ask("landed_cost", **CRATE)
    assert money(answer, "landed_if_tax_beside_duty") == pytest.approx(5605.9, abs=0.5)  # the well-known wrong answer
    assert "side by side would give 5605.90 GBP" in questions(answer)
    assert answer.results["landed_cost"][1] == "GBP"


def test_landed__goods_only_base_takes_freight_out_of_the_duty() -> None:
    fob = ask("landed_cost", **CRATE, duty_base="goods only", tax_base="customs value and duty")
    assert money(fob, "customs_value") == pytest.approx(4850 * 0.858)
    assert money(fob, "duty") == pytest.approx(0.03 * 4850 * 0.858)
    assert money(fob, "tax") == pytest.approx(0.2 * 1.03 * 4850 * 0.858)
    assert "FOB" in questions(fob)


def test_landed__duty_on_goods_only_leaves_the_tax_base_open() -> None:
    """Offices that take the duty FOB differ in the tax: some take it on the delivered value. Nothing is assumed."""
    with pytest.raises(BadInput, match="whether freight and insurance carry the tax: give tax_base"):
        ask("landed_cost", **CRATE, duty_base="goods only")
    delivered = ask("landed_cost", **CRATE, duty_base="goods only", tax_base="goods freight insurance and duty")
    goods, carried = 4850 * 0.858, 5160 * 1.012 * 0.858
    assert money(delivered, "tax") == pytest.approx(0.2 * (carried + 0.03 * goods))
    without_tax = ask("landed_cost", **{**CRATE, "tax_rate": ""}, duty_base="goods only")
    assert money(without_tax, "tax") == 0.0
    at_the_door = {"goods": "4850 EUR", "duty_rate": "3 %", "tax_rate": "20 %"}  # nothing carried, nothing open
    assert money(ask("landed_cost", **at_the_door, duty_base="goods only"), "tax") == pytest.approx(0.2 * 1.03 * 4850)


@pytest.mark.parametrize(
    ("base", "expected"),
    [
        ("customs value and duty", 0.2 * (4480.41 + 134.41)),
        ("goods freight insurance duty and fees", 0.2 * (4480.41 + 134.41 + 95)),
        ("customs value", 0.2 * 4480.41),
        ("goods only", 0.2 * 4850 * 0.858),
    ],
)
def test_landed__each_tax_base(base: str, expected: float) -> None:
    assert money(ask("landed_cost", **CRATE, tax_base=base), "tax") == pytest.approx(expected, abs=0.02)


def test_landed__insurance_bases() -> None:
    assert money(ask("landed_cost", **CRATE), "insurance_amount") == pytest.approx(0.012 * 5160 * 0.858)
    goods = ask("landed_cost", **CRATE, insurance_base="goods only")
    assert money(goods, "insurance_amount") == pytest.approx(0.012 * 4850 * 0.858)
    more = ask("landed_cost", **CRATE, insurance_base="110 % of goods and freight")
    assert money(more, "insurance_amount") == pytest.approx(0.012 * 1.1 * 5160 * 0.858)
    amount = ask("landed_cost", **{**CRATE, "insurance_rate": "", "insurance": "61.92 EUR"})
    assert money(amount, "landed_cost") == pytest.approx(money(ask("landed_cost", **CRATE), "landed_cost"))


def test_landed__taxed_fees_carry_tax() -> None:
    answer = ask("landed_cost", **{**CRATE, "fees": "", "taxed_fees": "95 GBP"})
    assert money(answer, "fees_total") == pytest.approx(95 * 1.2)
    plain = money(ask("landed_cost", **CRATE), "landed_cost")
    assert money(answer, "landed_cost") == pytest.approx(plain + 19)
    assert money(answer, "without_tax") == pytest.approx(money(ask("landed_cost", **CRATE), "without_tax"))


def test_landed__freight_in_the_currency_to_pay() -> None:
    mixed = ask("landed_cost", **{**CRATE, "freight": f"{310 * 0.858} GBP"})
    assert money(mixed, "landed_cost") == pytest.approx(money(ask("landed_cost", **CRATE), "landed_cost"))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"exchange_rate": ""}, "give exchange_rate, GBP for one EUR"),
        ({"freight": "310 USD"}, "both appear; give pay_currency"),
        ({"freight": "310 USD", "pay_currency": "GBP"}, "USD is neither EUR nor GBP"),
        ({"insurance": "60 EUR"}, "not both"),
        ({"goods": "4850"}, "has no currency"),
        ({"goods": "4850 $"}, "could be several currencies"),
        ({"pay_currency": "pounds"}, "is no currency code"),
    ],
)
def test_landed__faults_in_words(change: dict[str, str], sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        ask("landed_cost", **{**CRATE, **change})


def test_landed__a_rate_without_per_cent_is_refused() -> None:
    with pytest.raises(BadInput, match=r'duty_rate: "3" without a unit is 300 %.*write "3 %"'):
        ask("landed_cost", **{**CRATE, "duty_rate": "3"})
    assert "was 0.35 % meant" in questions(ask("landed_cost", **{**CRATE, "duty_rate": "0.35"}))


# ----------------------------------------------------------------------------- freight
def test_weight__several_parcels() -> None:
    answer = ask(
        "chargeable_weight", length="95; 60 cm", width="80; 40 cm", height="70; 40 cm", mass="118; 12 kg",
        count="1; 2", price="4.20 EUR",
    )  # fmt: skip
    volume = 0.95 * 0.8 * 0.7 + 2 * 0.6 * 0.4 * 0.4
    assert value(answer, "volume") == pytest.approx(volume)
    assert value(answer, "gross_weight") == pytest.approx(142)
    assert value(answer, "chargeable_weight") == pytest.approx(142)
    assert value(answer, "chargeable_by_parcel") == pytest.approx(118 + 2 * 16)
    assert answer.results["freight"] == (pytest.approx(142 * 4.2), "EUR")


def test_weight__a_large_light_crate_goes_by_volume() -> None:
    answer = ask(
        "chargeable_weight", length="95 cm", width="80 cm", height="70 cm", mass="60 kg", divisor="5000 cm3/kg"
    )
    assert value(answer, "chargeable_weight") == pytest.approx(106.4)
    assert "smaller crate" in questions(answer)


def test_weight__rows_that_do_not_match_are_refused() -> None:
    with pytest.raises(BadInput, match="one for each parcel"):
        ask("chargeable_weight", length="95; 60; 50 cm", width="80; 40 cm", height="70 cm", mass="118 kg")


def test_crate__outside_size_and_boards() -> None:
    answer = ask(
        "crate_size", length="80 cm", width="60 cm", height="50 cm", mass="92 kg", clearance="5 cm", wall="12 mm",
        base_height="120 mm", extra="0 kg",
    )  # fmt: skip
    assert value(answer, "outside_length", "cm") == pytest.approx(92.4)
    assert value(answer, "outside_height", "cm") == pytest.approx(62.4 + 12)
    shell = 0.924 * 0.724 * 0.624 - 0.9 * 0.7 * 0.6
    assert value(answer, "gross_weight") == pytest.approx(92 + 600 * shell)


# ----------------------------------------------------------------------------- money
def test_currency__there_and_back() -> None:
    there = ask("currency_conversion", amount="4850 EUR", exchange_rate="0.858", into="GBP")
    assert there.results["changed"] == (pytest.approx(4161.3), "GBP")
    back = ask("currency_conversion", amount="4161.3 GBP", exchange_rate=f"{value(there, 'inverse_rate')}", into="EUR")
    assert money(back, "changed") == pytest.approx(4850)


def test_total__offers_in_three_currencies() -> None:
    answer = ask(
        "money_total", amounts="4850 EUR; 420 USD; 95 GBP", pay_currency="GBP", rates="EUR = 0.858; USD = 0.79"
    )
    assert money(answer, "total") == pytest.approx(4850 * 0.858 + 420 * 0.79 + 95)
    with pytest.raises(BadInput, match="no rate for USD"):
        ask("money_total", amounts="4850 EUR; 420 USD", pay_currency="GBP", rates="EUR = 0.858")


def test_build_price__hours_parts_tax() -> None:
    answer = ask(
        "build_price",
        hours="30 h; 480 min",
        rate="55 EUR",
        parts="1200 EUR; 640 EUR",
        margin="10 %",
        tax_rate="19 %",
        paid="500 EUR",
    )
    assert money(answer, "net") == pytest.approx(38 * 55 + 1840 * 1.1)
    assert money(answer, "left_to_pay") == pytest.approx((38 * 55 + 1840 * 1.1) * 1.19 - 500)
    with pytest.raises(BadInput, match="is not in EUR"):
        ask("build_price", hours="30 h", rate="55 EUR", parts="1200 USD")
