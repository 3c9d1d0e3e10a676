"""Spark: angle, retard, latency, scatter, coil, plug."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Section, assume, choice, may, must, table

_TABLE = {
    "speed": Column("rotational_speed", "engine speed"),
    "manifold_pressure": Column("pressure_absolute", "in the intake manifold"),
    "advance": Column("angle", "before top dead centre"),
}
SPARK = Section(
    "when the mixture is lit, how surely, and with what",
    {
        "timing": choice("what sets the angle", "locked", "table", "searched", safety=True),
        "advance": may("event_angle", "locked angle", "26 deg BTDC", "0 deg BTDC..50 deg BTDC", "-60 deg BTDC..90 deg BTDC", event="advance", safety=True),
        "advance_table": table("angle over speed and manifold pressure", "tables/spark.csv", _TABLE),
        "knock_limit": may("number", "highest knock integral a searched angle may reach", "0.85", "0.5..1", "0.05..3", safety=True),
        "boost_retard": may("angle_per_pressure", "taken out for boost", "0.8 deg/psi", "0 deg/psi..3 deg/psi", "0 deg/psi..20 deg/psi"),
        "retard_from": may("pressure_gauge", "boost from which it is taken out", "3 psi", "0 psi..15 psi", "0 psi..100 psi"),
        "retard_limit": may("angle", "most that is taken out", "12 deg", "0 deg..20 deg", "0 deg..60 deg"),
        "latency": assume("time", "fixed time between trigger and spark", "40 us", "an electronic module; measure it with the strobe at two speeds", "0 us..150 us", "0 us..5 ms"),
        "strobe_latency": may("time", "delay of the timing light itself", "15 us", "0 us..100 us", "0 us..5 ms"),
        "scatter": Section(
            "what makes sparks differ, each as one standard deviation in crank degrees",
            {
                "trigger": may("angle", "crank wheel and pickup", "0.15 deg", "0 deg..2 deg", "0 deg..20 deg"),
                "shaft": may("angle", "play of the distributor shaft", "0.5 deg", "0 deg..4 deg", "0 deg..40 deg"),
                "gear": may("angle", "lash of its gear", "0.8 deg", "0 deg..5 deg", "0 deg..40 deg"),
                "weights": may("angle", "advance weights", "0.6 deg", "0 deg..4 deg", "0 deg..40 deg"),
                "module": may("angle", "electronics", "0.1 deg", "0 deg..2 deg", "0 deg..20 deg"),
            },
        ),
        "coil": Section(
            "coil and its drive",
            {
                "arrangement": choice("how coils serve plugs", "single", "wasted", "per_plug"),
                "inductance": may("inductance", "primary", "4.5 mH", "0.5 mH..12 mH", "0.01 mH..1 H"),
                "resistance": may("resistance", "primary, with leads and ballast", "0.9 ohm", "0.2 ohm..4 ohm", "0.01 ohm..100 ohm"),
                "supply_voltage": may("voltage", "at the coil, engine running", "13.5 V", "10 V..15 V", "3 V..400 V"),
                "current_limit": may("current", "of the module", "7 A", "2 A..20 A", "0.1 A..200 A"),
                "dwell": may("time", "charging time aimed at", "3.5 ms", "1 ms..8 ms", "0.05 ms..100 ms"),
                "burn_time": may("time", "spark duration before the coil may charge again", "1.2 ms", "0.3 ms..3 ms", "0.01 ms..50 ms"),
                "peak_voltage": may("voltage", "highest the coil can give into the leads", "36 kV", "15 kV..60 kV", "1 kV..200 kV"),
                "secondary_capacitance": may("capacitance", "of coil, lead and plug", "60 pF", "20 pF..200 pF", "1 pF..10 nF"),
            },
        ),
        "plug": Section(
            "spark plug",
            {
                "gap": must("length", "electrode gap", "0.65 mm", "0.4 mm..1.2 mm", "0.05 mm..5 mm"),
                "heat_range": may("text", "in the maker's own scale", "two steps colder than the plain engine's"),
            },
        ),
    },
    must=True,
)  # fmt: skip
