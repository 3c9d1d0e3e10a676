"""Columns by name in several languages. Which word means what is common practice, no source."""

from __future__ import annotations

import pytest

from spoolwright.dyno.readers.names import Evidence
from spoolwright.dyno.readers.settle import understand

# name, unit in its own row, (low, high) of the numbers -> role
NAMES = """
Time | s | 0 5 | time
t | | 0 5 | time
Zeit [s] | | 0 5 | time
Temps | s | 0 5 | time
Tempo (s) | | 0 5 | time
Tiempo | s | 0 5 | time
Elapsed Time | ms | 0 5000 | time
timestamp_ms | | 0 5000 | time
RPM | | 2600 6000 | engine_speed
Engine Speed | rpm | 2600 6000 | engine_speed
EngineRPM | | 2600 6000 | engine_speed
eng_speed_rpm | | 2600 6000 | engine_speed
n_mot | 1/min | 2600 6000 | engine_speed
nMot | | 2600 6000 | engine_speed
Drehzahl | U/min | 2600 6000 | engine_speed
Motordrehzahl [1/min] | | 2600 6000 | engine_speed
Régime moteur (tr/min) | | 2600 6000 | engine_speed
régime | tr/min | 2600 6000 | engine_speed
Giri motore | giri/min | 2600 6000 | engine_speed
Giri | | 2600 6000 | engine_speed
Régimen del motor | rpm | 2600 6000 | engine_speed
Revoluciones | | 2600 6000 | engine_speed
Toerental | omw/min | 2600 6000 | engine_speed
Varvtal | varv/min | 2600 6000 | engine_speed
TPS | % | 0 100 | throttle
Throttle Position (%) | | 0 100 | throttle
Drosselklappenwinkel | % | 0 100 | throttle
Gaspedal | % | 0 100 | throttle
Papillon | % | 0 100 | throttle
Farfalla | % | 0 100 | throttle
Mariposa | % | 0 100 | throttle
Boost | psi | 0 12 | boost_gauge
Boost Pressure kPa | | 0 85 | boost_gauge
Ladedruck | bar | 0 0.85 | boost_gauge
p_Lade | bar | 0 0.85 | boost_gauge
Pression de suralimentation (bar) | | 0 0.85 | boost_gauge
Pression turbo | bar | 0 0.85 | boost_gauge
Pressione di sovralimentazione | bar | 0 0.85 | boost_gauge
Presión del turbo [bar] | | 0 0.85 | boost_gauge
Laddtryck | bar | 0 0.85 | boost_gauge
MAP | kPa | 98 185 | manifold_abs
Manifold Absolute Pressure (kPa) | | 98 185 | manifold_abs
Ladedruck abs. | mbar | 980 1850 | manifold_abs
Saugrohrdruck | mbar | 980 1850 | manifold_abs
Pression collecteur | kPa | 98 185 | manifold_abs
Baro | kPa | 98.6 98.8 | barometer
Luftdruck | hPa | 986 988 | barometer
Pression atmosphérique | mbar | 986 988 | barometer
Pressione atmosferica | mbar | 986 988 | barometer
Presión atmosférica | mbar | 986 988 | barometer
Ambient Pressure | kPa | 98.6 98.8 | barometer
Lambda | | 0.78 0.98 | lambda
λ | | 0.78 0.98 | lambda
Wideband | | 0.78 0.98 | lambda
Wideband O2 | | 11.5 14.5 | afr
AFR | | 11.5 14.5 | afr
Air/Fuel Ratio | | 11.5 14.5 | afr
A/F | | 11.5 14.5 | afr
Richesse | | 1.02 1.28 | equivalence_ratio
phi | | 1.02 1.28 | equivalence_ratio
Fuel Pressure | psi | 40 55 | fuel_pressure
FuelPress | psi | 40 55 | fuel_pressure
Benzindruck | bar | 2.9 3.9 | fuel_pressure
Kraftstoffdruck [bar] | | 2.9 3.9 | fuel_pressure
Pression essence | bar | 2.9 3.9 | fuel_pressure
Pressione benzina | bar | 2.9 3.9 | fuel_pressure
Presión combustible | bar | 2.9 3.9 | fuel_pressure
Fuel Flow | kg/h | 5 60 | fuel_flow
Kraftstoffverbrauch | kg/h | 5 60 | fuel_flow
Débit carburant | kg/h | 5 60 | fuel_flow
Ambient Temp | C | 21 22 | air_temp
Lufttemperatur | °C | 21 22 | air_temp
Température air | °C | 21 22 | air_temp
Charge Air Temp | C | 30 70 | charge_temp
Ladelufttemperatur | °C | 30 70 | charge_temp
Intercooler out temp C | | 30 70 | charge_temp
CHT 2 | F | 300 400 | head_temp_2
Cyl 3 Head Temp (C) | | 150 200 | head_temp_3
Zylinderkopftemperatur 4 | °C | 150 200 | head_temp_4
T_Kopf_1 | °C | 150 200 | head_temp_1
Kopf 3 | °C | 150 200 | head_temp_3
Température culasse n° 2 | °C | 150 200 | head_temp_2
Testa 1 | °C | 150 200 | head_temp_1
Temp. culata 2 | °C | 150 200 | head_temp_2
EGT1 | C | 600 850 | exhaust_temp_1
EGT #2 (F) | | 1200 1500 | exhaust_temp_2
Exhaust Gas Temperature 3 | C | 600 850 | exhaust_temp_3
Abgastemperatur Zyl. 2 | °C | 600 850 | exhaust_temp_2
Temp. échappement 1 | °C | 600 850 | exhaust_temp_1
Temperatura gas di scarico 1 | °C | 600 850 | exhaust_temp_1
Temperatura de escape 2 | °C | 600 850 | exhaust_temp_2
Turbine Inlet Temp | C | 600 850 | exhaust_temp_1
Exhaust Back Pressure | kPa | 5 90 | exhaust_pressure
EMAP | psi | 1 15 | exhaust_pressure
Abgasgegendruck | mbar | 10 900 | exhaust_pressure
Contre-pression échappement | kPa | 5 90 | exhaust_pressure
Oil Temp | C | 90 95 | oil_temp
OilTempF | | 190 210 | oil_temp
Öltemperatur | °C | 90 95 | oil_temp
T_Oel | °C | 90 95 | oil_temp
Température d'huile | °C | 90 95 | oil_temp
Temperatura olio | °C | 90 95 | oil_temp
Temperatura aceite | °C | 90 95 | oil_temp
Oil P | psi | 48 60 | oil_pressure
Öldruck | bar | 3 5 | oil_pressure
Pression d'huile (bar) | | 3 5 | oil_pressure
Pressione olio | bar | 3 5 | oil_pressure
Presión de aceite | bar | 3 5 | oil_pressure
Coolant Temp | C | 80 95 | water_temp
CLT | C | 80 95 | water_temp
Kühlwassertemperatur | °C | 80 95 | water_temp
Température eau | °C | 80 95 | water_temp
Temperatura acqua | °C | 80 95 | water_temp
Temperatura agua | °C | 80 95 | water_temp
Ignition Timing | deg | 20 30 | spark_advance
Spark Advance (deg BTDC) | | 20 30 | spark_advance
Zündwinkel | °KW | 20 30 | spark_advance
Zündzeitpunkt | ° v.OT | 20 30 | spark_advance
Avance à l'allumage | ° | 20 30 | spark_advance
Anticipo | ° | 20 30 | spark_advance
Avance encendido | ° | 20 30 | spark_advance
Knock Level | | 0 50 | knock
Klopfsensor | | 0 50 | knock
Cliquetis | | 0 50 | knock
Battery | V | 13 14 | battery_voltage
VBatt | | 13 14 | battery_voltage
Batteriespannung | V | 13 14 | battery_voltage
Tension batterie | V | 13 14 | battery_voltage
Tensione batteria | V | 13 14 | battery_voltage
Fuel Pump Voltage | V | 12 13 | pump_voltage
Pumpenspannung | V | 12 13 | pump_voltage
Crankcase Pressure | kPa | -1 3 | crankcase_pressure
Kurbelgehäusedruck | mbar | -10 30 | crankcase_pressure
Pression carter | mbar | -10 30 | crankcase_pressure
Roller RPM | | 300 1600 | roller_speed
Drum Speed | rpm | 300 1600 | roller_speed
Rollendrehzahl | 1/min | 300 1600 | roller_speed
Torque | Nm | 100 300 | torque
Drehmoment | Nm | 100 300 | torque
Couple | Nm | 100 300 | torque
Coppia | Nm | 100 300 | torque
Par motor | Nm | 100 300 | torque
Roller Torque | Nm | 500 1500 | roller_torque
Power | kW | 20 180 | power
Leistung | PS | 20 250 | power
Puissance | ch | 20 250 | power
Potenza | CV | 20 250 | power
Potencia | CV | 20 250 | power
HP | | 20 250 | power
Turbo Speed | rpm | 20000 120000 | turbo_speed
Turboladerdrehzahl | 1/min | 20000 120000 | turbo_speed
Gear | | 3 4 | gear
Gang | | 3 4 | gear
Engine Load | % | 20 90 | load
Marker | | 0 1 | marker
Lambda Target | | 0.8 1 | -
Soll-Ladedruck | bar | 0 1 | -
Boost Duty | % | 0 100 | -
Injector Duty | % | 0 100 | -
Vehicle Speed | km/h | 20 120 | -
Gearbox Oil Temp | C | 60 80 | -
AN 5 | V | 0 5 | -
Foo | | 0 1 | -
Humidity | % | 40 50 | -
Fan Speed | rpm | 3000 8000 | -
GPS Speed | km/h | 20 120 | -
"""
ROWS = [[p.strip() for p in row.split("|")] for row in NAMES.strip().splitlines()]


@pytest.mark.parametrize(("name", "unit", "span", "role"), ROWS, ids=[r[0] for r in ROWS])
def test_role_by_name(name, unit, span, role):
    low, high = map(float, span.split())
    meaning = understand([Evidence(name, unit, True, low, high, low, rising=role == "time")])[0]
    assert meaning.role == (None if role == "-" else role)
    if unit and role != "-":
        assert meaning.unit is not None
