"""Fuel, its supply, and how it is metered: carburettor or injection."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Section, assume, choice, may, must, table

_MIXTURE = {
    "speed": Column("rotational_speed", "engine speed"),
    "manifold_pressure": Column("pressure_absolute", "in the intake manifold"),
    "lambda": Column("number", "lambda aimed at"),
}
_PUMP = {
    "pressure": Column("pressure_difference", "pressure the pump works against"),
    "flow": Column("volume_flow", "delivered at the stated voltage"),
}
FUEL = Section(
    "what is burned, how rich, and how it reaches the engine",
    {
        "grade": may("text", "a grade known by name; or give your own `figures`", "petrol 95 RON", safety=True),
        "figures": Section(
            "a fuel by its own figures, in place of a grade",
            {
                "hydrogen_to_carbon": must("number", "atoms of hydrogen for each of carbon", "1.87", "1.2..4", "0.5..4"),
                "oxygen_to_carbon": assume("number", "atoms of oxygen for each of carbon", "0", "a fuel without oxygen", "0..1", "0..2"),
                "molar_mass": must("number", "mean molar mass in kg/kmol", "105", "30..120", "16..250"),
                "lower_heating_value": must("energy_per_mass", "of the liquid", "42.6 MJ/kg", "19 MJ/kg..46 MJ/kg", "5 MJ/kg..60 MJ/kg"),
                "latent_heat": must("energy_per_mass", "heat of vaporisation", "350 kJ/kg", "250 kJ/kg..1200 kJ/kg", "0 kJ/kg..2000 kJ/kg"),
                "density": must("density", "of the liquid at 15 degC", "0.745 kg/L", "0.68 kg/L..0.82 kg/L", "0.5 kg/L..1.3 kg/L"),
                "stoichiometric_ratio": may("ratio", "air over fuel by mass; computed from the atoms when not given and compared when given", "14.6", "6..15.5", "2..36"),
                "ron": must("number", "research octane number", "98", "80..120", "0..150", safety=True),
                "mon": must("number", "motor octane number", "88", "75..110", "0..150", safety=True),
                "family": choice("whose flame speed and vapour stand for it", "gasoline", "isooctane", "ethanol", "methanol"),
            },
        ),
        "ethanol": may("share", "ethanol mixed into the grade, by volume", "10 %", "0 %..85 %", "0 %..100 %"),
        "ron": may("number", "research octane number as declared, in place of the grade's", "97", "85..120", "0..150"),
        "mon": may("number", "motor octane number as declared, in place of the grade's", "86", "78..110", "0..150"),
        "mixture": may("mixture", "mixture aimed at, at full load", "0.80 lambda", "0.70 lambda..1.05 lambda", "0.3 lambda..3 lambda"),
        "mixture_table": table("mixture aimed at over speed and manifold pressure, in place of one value", "tables/mixture.csv", _MIXTURE),
        "distribution": may("number", "lambda of each cylinder over the mean, where measured; 1 for all when not given", '["0.99", "1.01", "1.02", "0.98"]', "0.85..1.15", "0.3..3", per="cylinder"),
        "evaporated": assume("share", "share of the fuel that is vapour before it reaches the cylinder", "40 %", "not measured; between port injection and a warm blow-through manifold", "5 %..90 %", "0 %..100 %"),
        "temperature": assume("temperature", "fuel at the carburettor or rail", "30 degC", "warmed in the engine bay; not measured", "-10 degC..60 degC", "-60 degC..120 degC"),
        "supply": Section(
            "pump, lines, regulator",
            {
                "base_pressure": must("pressure_difference", "regulated fuel pressure over its reference", "3.0 bar", "20 kPa..600 kPa", "5 kPa..3 MPa", safety=True),
                "reference": choice("what the regulator is referenced to", "hat", "manifold", "plenum", "open_air", safety=True),
                "pump_curve": table("one pump's flow against pressure", "tables/pump.csv", _PUMP, rising="pressure"),
                "pump_voltage": may("voltage", "at which the pump curve was measured", "13.5 V", "11 V..15 V", "3 V..60 V"),
                "supply_voltage": may("voltage", "really there at the pump under load", "12.8 V", "10 V..15 V", "3 V..60 V"),
                "pumps": assume("count", "equal pumps side by side", "1", "one was named", "1..3", "1..8"),
                "line_loss": may("pressure_difference", "loss of lines and filter at a stated fuel flow", "12 kPa @ 1.5 L/min", "1 kPa..60 kPa", "0 kPa..1 MPa", condition="volume_flow"),
                "return_line": may("flag", "whether unused fuel flows back to the tank", "true"),
                "tank_volume": may("volume", "usable fuel", "20 L", "1 L..90 L", "0.05 L..2000 L"),
            },
        ),
    },
    must=True,
)  # fmt: skip

CARBURETTOR = Section(
    "carburettor, one or several alike",
    {
        "count": assume("count", "equal carburettors", "1", "one was named", "1..6", "1..16"),
        "serves": choice("what each feeds", "plenum", "each_runner", need="may"),
        "position": choice("where it stands on the air's way", "after_compressor", "before_compressor", "unboosted"),
        "rated_flow": must("volume_flow", "air flow of one at a stated depression", "350 cfm @ 1.5 inHg", "30 cfm..1200 cfm", "1 cfm..5000 cfm", condition="pressure_difference"),
        "barrels": assume("count", "throttle bores of one", "1", "one was named", "1..4", "1..4"),
        "throttle_diameter": must("length", "throttle bore", "38 mm", "15 mm..60 mm", "5 mm..200 mm"),
        "venturi_diameter": must("length", "narrowest bore (choke)", "30 mm", "10 mm..50 mm", "3 mm..180 mm"),
        "opening": assume("share", "throttle opening, share of the bore's area", "100 %", "full load", "1 %..100 %", "0 %..100 %"),
        "main_jet": may("length", "bore of the main jet", "1.45 mm", "0.6 mm..3 mm", "0.1 mm..10 mm"),
        "air_bleed": may("length", "bore of the air bleed", "1.8 mm", "0.5 mm..4 mm", "0.1 mm..10 mm"),
        "jetted_mixture": may("mixture", "mixture measured at full load with these jets", "0.82 lambda", "0.7 lambda..1 lambda", "0.3 lambda..3 lambda"),
        "jetted_density": may("density", "air density at the carburettor when that was measured", "1.15 kg/m3", "0.8 kg/m3..2.5 kg/m3", "0.2 kg/m3..10 kg/m3"),
        "bowl_volume": must("volume", "fuel in one bowl above the main jet", "55 cc", "15 cc..200 cc", "1 cc..5 L"),
        "bowl_reference": choice("pressure the air above the bowl's fuel sees", "hat", "venturi_inlet", "manifold", "open_air", safety=True),
        "needle_seat": must("length", "hole of the float valve", "2.3 mm", "1.2 mm..4 mm", "0.3 mm..15 mm", safety=True),
        "needle_seats": assume("count", "float valves of one carburettor", "1", "one was named", "1..2", "1..8"),
        "float": choice("what the float is made of; hollow ones are crushed by boost", "solid", "foam", "hollow", safety=True),
        "power_valve_reference": choice("what the power valve sees", "manifold", "hat", "blocked", need="may"),
        "shaft_sealed": may("flag", "whether the throttle shaft is sealed against boost", "true", safety=True),
    },
)  # fmt: skip

INJECTION = Section(
    "injectors",
    {
        "injectors_per_cylinder": assume("count", "injectors for each cylinder", "1", "one was named", "1..2", "1..4"),
        "rated_flow": may("volume_flow", "of one injector, fully open, at a stated pressure difference", "850 cc/min @ 3 bar", "100 cc/min..2500 cc/min", "1 cc/min..20000 cc/min", condition="pressure_difference"),
        "rated_mass_flow": may("mass_flow", "the same by mass, in place of `rated_flow`", "60 lb/h @ 43.5 psi", "6 lb/h..250 lb/h", "0.1 lb/h..2000 lb/h", condition="pressure_difference"),
        "test_density": assume("density", "density of the fluid the rating was measured with", "0.75 kg/L", "petrol-like test fluid; the maker's sheet says which", "0.65 kg/L..0.85 kg/L", "0.5 kg/L..1.3 kg/L"),
        "position": choice("where they spray", "port", "runner", "plenum", "throttle"),
        "dead_time": may("time", "opening delay at a stated voltage", "0.9 ms @ 14 V", "0.2 ms..2 ms", "0 ms..20 ms"),
        "duty_limit": must("share", "highest share of the cycle they may stay open", "85 %", "70 %..90 %", "5 %..100 %", safety=True),
    },
)  # fmt: skip
