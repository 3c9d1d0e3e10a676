"""Hand over: what goes along, what it costs at the door, who does what first. None of it is part of the digest."""

from __future__ import annotations

from spoolwright.sheet.fields import Section, choice, may, must

_INSURED = ("goods and freight", "goods only", "110 % of goods and freight")
_DUTY = ("goods freight insurance", "goods only")
_TAXED = (
    "customs value and duty", "goods freight insurance and duty", "goods freight insurance duty and fees",
    "customs value", "goods only",
)  # fmt: skip

HANDOVER = Section(
    "the engine as it is handed over: size, spares, first service, packing, cost",
    {
        "receiver": may("text", "who receives it", "the owner of the cyclekart", remark=True),
        "length": may("length", "engine, along the crank", "62 cm", "20 cm..200 cm", "5 cm..5 m", remark=True),
        "width": may("length", "engine, across", "58 cm", "20 cm..150 cm", "5 cm..5 m", remark=True),
        "height": may("length", "engine, over all", "54 cm", "20 cm..150 cm", "5 cm..5 m", remark=True),
        "mass": may("mass", "engine as packed, dry", "92 kg", "10 kg..500 kg", "1 kg..5 t", remark=True),
        "divisor": may("volume_per_mass", "volume the carrier counts as one unit of weight", "6000 cm3/kg", "1000 cm3/kg..10000 cm3/kg", remark=True),
        "goods": may("money", "price of the goods", "4850 EUR", "", "0 EUR..1e12 EUR", remark=True),
        "freight": may("money", "freight to the border or door", "310 EUR", "", "0 EUR..1e12 EUR", remark=True),
        "insurance": may("money", "insurance as an amount", "62 EUR", "", "0 EUR..1e12 EUR", remark=True),
        "insurance_rate": may("share", "insurance as a share, in place of the amount", "1.2 %", "0 %..5 %", remark=True),
        "insurance_base": choice("what that share is of", *_INSURED, need="may", remark=True),
        "exchange_rate": may("exchange_rate", "how much of pay_currency one unit of the goods' currency is", "0.858", "0.0001..10000", "1e-9..1e9", remark=True),
        "pay_currency": may("text", "currency to pay in, three letters", "GBP", remark=True),
        "duty_rate": may("share", "duty; look it up", "3.0 %", "0 %..30 %", "0 %..500 %", remark=True),
        "duty_base": choice("what the duty is of", *_DUTY, need="may", remark=True),
        "tax_rate": may("share", "tax on import; look it up", "20 %", "0 %..30 %", "0 %..100 %", remark=True),
        "tax_base": choice("what the tax is of", *_TAXED, need="may", remark=True),
        "fees": may("money", "broker, handling, storage, untaxed", '["95 GBP", "30 GBP"]', "", "0 EUR..1e12 EUR", per="list", remark=True),
        "taxed_fees": may("money", "fees that carry the tax on top", '["40 GBP"]', "", "0 EUR..1e12 EUR", per="list", remark=True),
        "spares": Section("spares that go along, by name", {
            "part": must("text", "what it is, with size or number", "spark plug, two steps colder", remark=True),
            "count": must("count", "how many", "4", "1..100", "1..1000", remark=True),
            "why": may("text", "why it goes along", "the set in it has two hours", remark=True),
        }, named=True, name_example="plugs"),
        "service": Section("first service, step by step, by name", {
            "after": must("text", "when it is due", "2 h of running", remark=True),
            "work": must("text", "what is done", "oil and filter; head nuts again, cold", remark=True),
        }, named=True, name_example="first_oil"),
        "packing": Section("what else goes into the crate, by name", {
            "part": must("text", "what it is", "key and wiring plan", remark=True),
            "count": must("count", "how many", "1", "1..100", "1..1000", remark=True),
        }, named=True, name_example="papers"),
    },
)  # fmt: skip
