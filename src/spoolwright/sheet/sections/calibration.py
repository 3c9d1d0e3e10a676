"""What a fit to pulls found, stored with its date and the hash of its data."""

from __future__ import annotations

from spoolwright.sheet.fields import Field, Section, may


def _factor(meaning: str, example: str) -> Field:
    return may("number", meaning, example, "0.7..1.4", "0.2..5")


CALIBRATION = Section(
    "factors fitted to pulls, by which the model is laid on this engine; written by the fit, 1 where left out",
    {
        "use": may("flag", "false runs the model as it comes, without these factors", "true"),
        "date": may("text", "when the factors were fitted", "2024-05-04T21:10:00+02:00", remark=True),
        "pulls": may("text", "the pulls they were fitted to", "evening.csv#1, evening.csv#2", remark=True),
        "data": may("text", "hash of those pulls and of the settings they were made with", "3f9a0c12d4e8", remark=True),
        "flow": _factor("valve flow areas, over what bench or assumption gives", "0.97 ± 0.02"),
        "burn": _factor("rate of burning, over the flame's own", "1.05 ± 0.06"),
        "friction": _factor("rubbing friction, over the friction the sheet gives", "1.10 ± 0.08"),
        "wall_heat": _factor("heat from gas to cylinder walls, over the correlation", "0.95 ± 0.10"),
    },
)
