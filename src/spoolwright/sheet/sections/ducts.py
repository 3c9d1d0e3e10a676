"""Fields every pipe has: length, bore, bends, roughness, wall."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Field, Per, assume, may, must, table

ROUGH_REASON = "drawn tube; a handbook figure, not a measurement"


def duct(per: Per = "", *, wall: str, wall_reason: str, length: str = "20 mm..2000 mm", example: str = "350 mm",
         bore: str = "15 mm..120 mm", bore_example: str = "40 mm") -> dict[str, Field]:  # fmt: skip
    """The fields of a pipe; ``per`` "cylinder" lets each cylinder have its own."""
    return {
        "length": must("length", "length along the middle of the pipe", example, length, "1 mm..30 m", per=per),
        "diameter": must("length", "inside diameter where the gas enters", bore_example, bore, "3 mm..500 mm", per=per),
        "diameter_end": may(
            "length", "inside diameter where the gas leaves; that of the entry when not given (no taper)",
            bore_example, bore, "3 mm..500 mm", per=per,
        ),
        "profile": table(
            "inside diameter along the pipe, in place of a straight taper", "tables/port.csv",
            {"distance": Column("length", "from the entry"), "diameter": Column("length", "inside diameter")},
            rising="distance",
        ),
        "bends": assume("angle", "sum of all bends", "0 deg", "no bend was named", "0 deg..720 deg", "0 deg..3600 deg", per=per),
        "bend_radius": may("length", "radius of the bends, to the middle of the pipe", "60 mm", "15 mm..500 mm", "1 mm..10 m"),
        "loss": assume(
            "number", "further loss in dynamic heads (steps, mesh, silencer)", "0", "no further loss was named", "0..20", "0..1000",
        ),
        "roughness": assume("length", "roughness of the wall", "0.02 mm", ROUGH_REASON, "0.001 mm..1 mm", "0 mm..5 mm"),
        "wall_temperature": assume("temperature", "mean wall temperature at full load", wall, wall_reason, per=per),
        "count": assume("count", "equal pipes side by side", "1", "one pipe was named", "1..4", "1..16"),
    }  # fmt: skip
