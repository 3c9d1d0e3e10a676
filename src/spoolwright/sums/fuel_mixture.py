"""One mixture in every form: lambda, air-fuel ratio, what a gauge shows, and the fuel that corrects it. Definitions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.alternatives import one_of
from spoolwright.sums.mixtures import FUEL, STOICHIOMETRIC, stoichiometric_of
from spoolwright.sums.registry import Input, Output, register


@register(
    "fuel",
    "Lambda, equivalence ratio and air-fuel ratio of one mixture",
    inputs={
        "mixture": Input("mixture", "the mixture", "0.5 lambda", "2 lambda", ""),
        "air_fuel_ratio": Input("ratio", "or its true air-fuel ratio by mass", "3", "25", ""),
        "fuel": FUEL,
        "stoichiometric_ratio": STOICHIOMETRIC,
    },
    outputs={
        "lambda": Output("number", "1", "air over stoichiometric air"),
        "phi": Output("number", "1", "fuel-air equivalence ratio, 1 / lambda"),
        "afr": Output("ratio", ":1", "true air-fuel ratio by mass with this fuel"),
        "fuel_air_ratio": Output("number", "1", "fuel over air by mass"),
        "rich_by": Output("share", "%", "fuel more (+) or less (-) than stoichiometric"),
        "stoichiometric_ratio": Output("ratio", ":1", "of the fuel"),
    },
    formula="""
    lambda = afr / stoichiometric_ratio
    phi = 1 / lambda
    afr = lambda * stoichiometric_ratio
    rich_by = phi - 1
    """,
    source="definition",
    slips=("an AFR compared between fuels", "richness taken as lambda: it is 1 / lambda"),
    question=lambda given, results: _lambda_question(results["lambda"]),
    example='--mixture "0.78 lambda" --fuel E10',
)
def mixture_conversion(
    mixture: float | None, air_fuel_ratio: float | None, fuel: str | None, stoichiometric_ratio: float | None
) -> dict[str, float]:
    """Mixture in every form from lambda or a true air-fuel ratio [1] and the fuel."""
    stoich = stoichiometric_of(fuel, stoichiometric_ratio)
    if one_of(mixture=mixture, air_fuel_ratio=air_fuel_ratio) == "mixture":
        assert mixture is not None
        lam = mixture
    else:
        assert air_fuel_ratio is not None
        lam = air_fuel_ratio / stoich
    return {
        "lambda": lam,
        "phi": 1.0 / lam,
        "afr": lam * stoich,
        "fuel_air_ratio": 1.0 / (lam * stoich),
        "rich_by": 1.0 / lam - 1.0,
        "stoichiometric_ratio": stoich,
    }


def _lambda_question(lam: float) -> list[str]:
    if 0.55 <= lam <= 1.6:
        return []
    side = "rich" if lam < 1.0 else "lean"
    return [f"lambda {lam:.2f} is too {side} to burn in an engine; does the air-fuel ratio belong to this fuel?"]


def _gauge_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = _lambda_question(results["lambda"])
    if abs(results["difference"]) > 0.2:
        questions.append(
            f"the gauge shows {results['gauge_afr']:.2f} and the fuel runs {results['true_afr']:.2f}: "
            "which of the two is the target written in? Lambda is the same on both"
        )
    if given["gauge_reading"] is not None and given["gauge_reading"] > 20.5:
        questions.append("20.9 on a gauge is free air or a sensor not ready: is the sensor hot and in the exhaust?")
    return questions


@register(
    "fuel",
    "A mixture gauge scaled for another fuel: what it shows, what is true",
    inputs={
        "mixture": Input("mixture", "lambda the sensor reads; or give gauge_reading", "0.5 lambda", "2 lambda", ""),
        "gauge_reading": Input("ratio", "air-fuel ratio the gauge shows; or give mixture", "4", "22", ""),
        "fuel": FUEL,
        "stoichiometric_ratio": STOICHIOMETRIC,
        "gauge_scale": Input("ratio", "stoichiometric ratio the gauge is scaled for", "6", "16", "14.7"),
    },
    outputs={
        "lambda": Output("number", "1", "what the sensor measures, whatever the fuel"),
        "gauge_afr": Output("ratio", ":1", "air-fuel ratio the gauge shows"),
        "true_afr": Output("ratio", ":1", "air-fuel ratio the engine runs"),
        "difference": Output("number", "1", "gauge less true"),
        "stoichiometric_ratio": Output("ratio", ":1", "of the fuel"),
    },
    formula="""
    gauge_afr = lambda * gauge_scale
    true_afr = lambda * stoichiometric_ratio
    difference = gauge_afr - true_afr
    """,
    source="definition; a wide-band sensor measures lambda",
    slips=("gauge reading on petrol scale taken as the true ratio of a fuel with alcohol",),
    question=_gauge_question,
    example='--mixture "0.78 lambda" --stoichiometric-ratio 14.1 --gauge-scale 14.7',
)
def gauge_afr(
    mixture: float | None,
    gauge_reading: float | None,
    fuel: str | None,
    stoichiometric_ratio: float | None,
    gauge_scale: float,
) -> dict[str, float]:
    """Gauge and true air-fuel ratio [1] from lambda or from the gauge."""
    stoich = stoichiometric_of(fuel, stoichiometric_ratio)
    if gauge_scale <= 0.0:
        raise ValueError("the gauge scale is above zero, for example 14.7")
    if one_of(mixture=mixture, gauge_reading=gauge_reading) == "mixture":
        assert mixture is not None
        lam = mixture
    else:
        assert gauge_reading is not None
        lam = gauge_reading / gauge_scale
    return {
        "lambda": lam,
        "gauge_afr": lam * gauge_scale,
        "true_afr": lam * stoich,
        "difference": lam * (gauge_scale - stoich),
        "stoichiometric_ratio": stoich,
    }


def _correction_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if abs(results["fuel_change"]) > 0.25:
        return [
            "more than 25 % at once: are both values of the same fuel and gauge, and was the engine firing cleanly?"
        ]
    return []


@register(
    "fuel",
    "Fuel change from measured to wanted mixture",
    inputs={
        "measured": Input("ratio", "measured mixture: lambda or air-fuel ratio, both of one kind", "0.5", "22"),
        "wanted": Input("ratio", "wanted mixture, of the same kind", "0.5", "22"),
    },
    outputs={
        "fuel_change": Output("share", "%", "fuel to add (+) or take out (-)"),
        "factor": Output("number", "1", "multiply pulse width or fuel table by this"),
    },
    formula="""
    factor = measured / wanted
    fuel_change = factor - 1
    """,
    source="definition, same air flow",
    slips=("lambda in one place and air-fuel ratio in the other", "mixture trusted while misfiring: it reads lean"),
    question=_correction_question,
    example="--measured 12.7:1 --wanted 11.6:1",
)
def mixture_correction(measured: float, wanted: float) -> dict[str, float]:
    """Change of fuel [1] at equal air. Raises ValueError when the two are of different kinds."""
    if min(measured, wanted) <= 0.0:
        raise ValueError("a mixture is above zero")
    if (measured < 2.0) != (wanted < 2.0):
        raise ValueError("one value is lambda and the other an air-fuel ratio; give both of one kind")
    return {"fuel_change": measured / wanted - 1.0, "factor": measured / wanted}
