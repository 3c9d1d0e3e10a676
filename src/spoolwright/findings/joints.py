"""Findings of the bolted joints: rod bolts at top speed, head studs at peak pressure, cold and hot."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright import units
from spoolwright.findings.asking import Given, altitude, ask, at, boost, carried, quantity, taken, told
from spoolwright.findings.blueprint import ratios
from spoolwright.findings.judging import Question, item, judge, missing, nature, own, practice, unit_at
from spoolwright.findings.model import Finding
from spoolwright.findings.motion import MASSES
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer

ROD = "A rod bolt that lets go destroys the engine and can hurt. New bolts, maker's stretch, written down."
HEAD = "A head that lifts cuts its joint in seconds and throws flame. Stop the pull at the first hiss."
HEAT = "100 K"  # studs, barrels and heads above the temperature they were tightened at


def _clamp(sheet: Sheet, here: str) -> tuple[Given, list[Answer]] | None:
    """Clamp load of one bolt: as given, from its stretch, or the low end of its torque. None where nothing says."""
    if sheet.has(f"{here}.preload"):
        return at(sheet, f"{here}.preload"), []
    if sheet.has(f"{here}.stretch"):
        answer = _stretched(sheet, here, at(sheet, f"{here}.stretch"))
        return carried(answer, "clamp_load"), [answer]
    if sheet.has(f"{here}.torque"):
        factor = at(sheet, f"{here}.torque_factor") if sheet.has(f"{here}.torque_factor") else None
        answer = ask(
            sheet,
            "bolt_torque",
            nominal_diameter=at(sheet, f"{here}.diameter"),
            torque=at(sheet, f"{here}.torque"),
            nut_factor=factor,
        )
        return carried(answer, "clamp_low"), [answer]
    return None


def _stretched(sheet: Sheet, here: str, stretch: Given) -> Answer:
    shank = f"{here}.shank_diameter" if sheet.has(f"{here}.shank_diameter") else f"{here}.diameter"
    strength = at(sheet, f"{here}.yield_strength") if sheet.has(f"{here}.yield_strength") else None
    return ask(
        sheet,
        "bolt_stretch_clamp",
        stretch=stretch,
        waist_diameter=at(sheet, shank),
        waist_length=at(sheet, f"{here}.length"),
        elastic_modulus=at(sheet, f"{here}.modulus"),
        yield_strength=strength,
    )


def rod_bolts(sheet: Sheet) -> Iterator[Finding]:
    """Clamp of the rod bolts over their load at `limits.max_speed`: below 1 the joint parts; 1.5 is usual."""
    here = "strength.rod_bolts"
    lacking = [path for path in (*MASSES, "strength.rod_mass") if not sheet.has(path)]
    clamp = _clamp(sheet, here) if sheet.has(here) else None
    if clamp is None or lacking:
        need = [*lacking, *([] if clamp else [f"{here} with stretch, torque or preload"])]
        yield missing("rod bolts", f"Their load and clamp need {', '.join(need)}.", need[0].split()[0], caution=ROD)
        return
    force, steps = clamp
    heaviest = max(range(1, sheet.cylinder_count + 1), key=lambda i: sheet.value(f"strength.piston_mass[{i}]"))
    answer = ask(sheet, "rod_bolt_load", heaviest, clamp_load=force, big_end_mass=_big_end(sheet, heaviest))
    parts = answer.results["margin"] <= 1.0
    question = Question(
        "rod bolts",
        "ratio",
        "1",
        nature("1", "ratio", "the cap parts from the rod") if parts else practice("1.5", "ratio"),
        digits=3,
        caution=ROD,
        change_first="Better bolts at their maker's stretch, lighter pistons, or a lower top speed.",
        note=f"Clamp {force.value} a bolt over {told(answer, 'bolt_load', 3)} of load at the highest speed; "
        f"the cap would part at {told(answer, 'parting_speed', 4)}.",
    )
    yield from judge(question, [item(answer, "margin", where=here)], *steps, answer)
    yield from _yield_share(sheet, "rod bolt", steps, here)


def _big_end(sheet: Sheet, cylinder: int) -> Given:
    """Whole rod less its small end, the cap counted too: a little too heavy, which is the safe side."""
    whole, small = (sheet.value(f"strength.{part}[{cylinder}]") for part in ("rod_mass", "rod_small_end_mass"))
    return Given(quantity(whole - small, "mass", "g"), "rod_mass less rod_small_end_mass, cap counted")


def _yield_share(sheet: Sheet, subject: str, steps: list[Answer], here: str) -> Iterator[Finding]:
    for answer in steps:
        if answer.sum.name == "bolt_stretch_clamp" and answer.results.get("share_of_yield") is not None:
            past = answer.results["share_of_yield"] > 1.0
            question = Question(
                f"{subject} stress",
                "share",
                "%",
                practice("40 %", "share"),
                nature("100 %", "share", "past yield: the bolt has stretched for good")
                if past
                else practice("90 %", "share"),
                digits=3,
                caution=ROD if "rod" in subject else HEAD,
                note="Share of yield at the stretch given.",
                change_first="The bolt maker's stretch; measure it with a stretch gauge, not by torque.",
            )
            yield from judge(question, [item(answer, "share_of_yield", where=f"{here}.stretch")], answer)


def _peak(sheet: Sheet) -> tuple[Given, list[Answer]]:
    """Peak pressure as gauge: the builder's limit, else the high side of the band for the highest boost."""
    if sheet.has("limits.max_cylinder_pressure"):
        answer = ask(
            sheet, "gauge_pressure", absolute=at(sheet, "limits.max_cylinder_pressure"), altitude=altitude(sheet)
        )
        return carried(answer, "gauge"), [answer]
    manifold = ask(sheet, "absolute_pressure", gauge=boost(sheet), altitude=altitude(sheet))
    band = ask(
        sheet,
        "peak_pressure_band",
        manifold_pressure=carried(manifold, "absolute"),
        compression_ratio=carried(ratios(sheet), "highest"),
    )
    gauge = ask(sheet, "gauge_pressure", absolute=carried(band, "high"), altitude=altitude(sheet))
    return carried(gauge, "gauge"), [manifold, band, gauge]


def _altitude(sheet: Sheet) -> Given | None:
    known = sheet.has("site.barometer") or sheet.has("site.altitude")
    return None if known else taken("0 m", "neither barometer nor altitude is given")


def head_studs(sheet: Sheet) -> Iterator[Finding]:
    """Clamp of the head studs over the gas load at the highest cylinder pressure against `limits.joint_safety`."""
    here = "strength.studs"
    clamp = _clamp(sheet, here) if sheet.has(here) else None
    if clamp is None:
        yield missing(
            "head studs",
            f"Whether the head stays down needs {here} with stretch, torque or preload.",
            here,
            caution=HEAD,
        )
        return
    force, steps = clamp
    pressure, before = _peak(sheet)
    sealing = at(sheet, f"{here}.sealing_diameter") if sheet.has(f"{here}.sealing_diameter") else None
    answer = ask(sheet, "head_clamp", 1, clamp_per_stud=force, peak_pressure=pressure, bore=sealing)
    lifts = answer.results["margin"] <= 1.0
    limit = (
        nature("1", "ratio", "the head lifts")
        if lifts
        else own(sheet, "limits.joint_safety") or practice("1.3", "ratio")
    )
    shown = units.show(pressure.value.value, "pressure_gauge", unit_at(sheet, "limits.max_cylinder_pressure", "bar"), 3)
    note = "Torque counts at its worst friction. " if any(s.sum.name == "bolt_torque" for s in steps) else ""
    question = Question(
        "head studs",
        "ratio",
        "1",
        limit,
        digits=3,
        caution=HEAD,
        note=f"{note}Clamp {told(answer, 'clamp_total', 3)} over {told(answer, 'gas_force', 3)} of gas load at "
        f"{shown} above outside air.",
        change_first="More clamp (stretch, not torque), stronger studs, or less peak pressure.",
    )
    yield from judge(question, [item(answer, "margin", where=here)], *steps, *before, answer)
    yield from _yield_share(sheet, "head stud", steps, here)
    yield from _studs_hot(sheet, here, force)


def _studs_hot(sheet: Sheet, here: str, force: Given) -> Iterator[Finding]:
    lacking = [
        f"{here}.{x}"
        for x in ("clamped_expansion", "clamped_stiffness", "yield_strength")
        if not sheet.has(f"{here}.{x}")
    ]
    if lacking:
        yield missing(
            "head studs, hot", f"How heat changes their clamp needs {', '.join(lacking)}.", lacking[0], caution=HEAD
        )
        return
    shape = _stretched(sheet, here, taken("0.1 mm", "any stretch gives the stiffness"))
    hot = ask(
        sheet,
        "clamp_hot",
        preload=force,
        length=at(sheet, f"{here}.length"),
        bolt_stiffness=carried(shape, "stiffness"),
        joint_stiffness=at(sheet, f"{here}.clamped_stiffness"),
        stud=at(sheet, f"{here}.expansion"),
        parts=at(sheet, f"{here}.clamped_expansion"),
        stud_rise=taken(HEAT),
        parts_rise=taken(HEAT),
    )
    loaded = ask(
        sheet,
        "bolt_stretch_for_clamp",
        clamp_load=carried(hot, "preload_hot"),
        waist_diameter=_shank(sheet, here),
        waist_length=at(sheet, f"{here}.length"),
        elastic_modulus=at(sheet, f"{here}.modulus"),
    )
    share = _stretched(sheet, here, carried(loaded, "stretch"))
    question = Question(
        "head studs, hot",
        "share",
        "%",
        high=practice("90 %", "share"),
        digits=3,
        caution=HEAD,
        note=f"Share of yield with all parts {HEAT} warmer: clamp goes from {force.value} to "
        f"{told(hot, 'preload_hot', 3)} a stud.",
        change_first="Longer or waisted studs give way to growth; check with the maker's figure.",
    )
    yield from judge(question, [item(share, "share_of_yield", where=here)], shape, hot, loaded, share)


def _shank(sheet: Sheet, here: str) -> Given:
    return at(sheet, f"{here}.shank_diameter" if sheet.has(f"{here}.shank_diameter") else f"{here}.diameter")


JUDGES = {"rod bolts": rod_bolts, "head studs": head_studs}
