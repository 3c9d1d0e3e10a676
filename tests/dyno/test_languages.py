"""Heads of logs in many languages: every column gets its role. Words are common practice, no source."""

# ruff: noqa: E501  (word lists read better wide)

from __future__ import annotations

import pytest

from spoolwright.dyno.readers.reading import read_bytes

# Lowest and highest reading of a pull, in kPa, degC, rpm, V, N m, kW.
SPAN = {
    "time": (0.0, 7.9), "engine_speed": (2500, 6700), "throttle": (15, 100), "boost_gauge": (-40, 90), "manifold_abs": (60, 190),
    "barometer": (98.1, 98.3), "lambda": (0.8, 1.0), "afr": (11.5, 14.7), "equivalence_ratio": (1.0, 1.25),
    "fuel_pressure": (300, 430), "fuel_flow": (8, 58), "air_temp": (24, 26), "charge_temp": (35, 75), "head_temp": (150, 200),
    "exhaust_temp": (620, 870), "exhaust_pressure": (10, 190), "oil_temp": (90, 100), "oil_pressure": (250, 450),
    "water_temp": (84, 88), "spark_advance": (12, 28), "knock": (0.2, 0.7), "battery_voltage": (13.6, 13.8), "torque": (120, 240),
    "power": (40, 140), "roller_speed": (600, 1600), "roller_torque": (400, 1100), "turbo_speed": (30000, 120000),
    "crankcase_pressure": (1.0, 3.5), None: (5, 8),
}  # fmt: skip
HEADS = {
    "German": """Zeit [s]=time; Motordrehzahl [1/min]=engine_speed; Drosselklappe [%]=throttle; Ladedruck rel. [kPa]=boost_gauge;
        Ladelufttemperatur [°C]=charge_temp; Abgastemperatur [°C]=exhaust_temp_1; Öldruck [kPa]=oil_pressure; Verbrauch [kg/h]=fuel_flow;
        Zündwinkel [°KW]=spark_advance; Kurbelgehäusedruck [kPa]=crankcase_pressure; Leistung [kW]=power; Zugkraft N=None""",
    "German, by formula letters": """t [s]=time; n [1/min]=engine_speed; M [Nm]=torque; P [kW]=power; pLade [kPa]=boost_gauge;
        T_Oel [°C]=oil_temp; Tamb [°C]=air_temp; pamb [kPa]=barometer; U_Batt [V]=battery_voltage""",
    "French": """Temps=time; Régime (tr/min)=engine_speed; Papillon (%)=throttle; Pression de suralimentation (kPa)=boost_gauge;
        Température ambiante (°C)=air_temp; Température culasse 1 (°C)=head_temp_1; Richesse=equivalence_ratio; Cliquetis=knock;
        Avance à l'allumage (°)=spark_advance; Contre-pression échappement (kPa)=exhaust_pressure; Couple (Nm)=torque""",
    "Spanish": """Tiempo=time; Régimen (rpm)=engine_speed; Mariposa (%)=throttle; Presión de soplado (kPa)=boost_gauge;
        Temperatura de escape (°C)=exhaust_temp_1; Temperatura de culata 1 (°C)=head_temp_1; Par motor (Nm)=torque; Potencia (kW)=power""",
    "Italian": """Tempo=time; Giri motore [giri/min]=engine_speed; Farfalla [%]=throttle; Pressione sovralimentazione [kPa]=boost_gauge;
        Temp. testa 1 [°C]=head_temp_1; Pressione olio [kPa]=oil_pressure; Anticipo [°]=spark_advance; Coppia [Nm]=torque""",
    "Portuguese": """Tempo=time; Rotação (rpm)=engine_speed; Borboleta (%)=throttle; Pressão de turbo (kPa)=boost_gauge;
        Temperatura do cabeçote 1 (°C)=head_temp_1; Temperatura do óleo (°C)=oil_temp; Sonda lambda=lambda""",
    "Dutch": """Tijd=time; Toerental [tpm]=engine_speed; Gasklep [%]=throttle; Laaddruk [kPa]=boost_gauge; Oliedruk [kPa]=oil_pressure;
        Uitlaattemperatuur [°C]=exhaust_temp_1; Brandstofdruk [kPa]=fuel_pressure; Koppel [Nm]=torque; Vermogen [kW]=power""",
    "Swedish": """Tid=time; Varvtal [r/min]=engine_speed; Gasspjäll [%]=throttle; Laddtryck [kPa]=boost_gauge; Oljetemp [°C]=oil_temp;
        Bränsletryck [kPa]=fuel_pressure; Tändning [°]=spark_advance; Vridmoment [Nm]=torque; Effekt [kW]=power""",
    "Polish": """Czas=time; Obroty [obr/min]=engine_speed; Przepustnica [%]=throttle; Ciśnienie doładowania [kPa]=boost_gauge;
        Ciśnienie oleju [kPa]=oil_pressure; Temperatura spalin [°C]=exhaust_temp_1; Kąt zapłonu [°]=spark_advance; Moc [KM]=power""",
    "Czech": """Čas=time; Otáčky [ot/min]=engine_speed; Plnicí tlak [kPa]=boost_gauge; Teplota oleje [°C]=oil_temp; Tlak oleje [kPa]=oil_pressure;
        Teplota výfuku [°C]=exhaust_temp_1; Točivý moment [Nm]=torque; Výkon [kW]=power""",
    "Russian": """Время [с]=time; Обороты [об/мин]=engine_speed; Дроссель [%]=throttle; Давление наддува [кПа]=boost_gauge;
        Температура масла [°C]=oil_temp; Давление масла [кПа]=oil_pressure; Температура выхлопа [°C]=exhaust_temp_1;
        Крутящий момент [Нм]=torque; Мощность [кВт]=power; Лямбда=lambda; Атмосферное давление [кПа]=barometer""",
    "Japanese": """時間 [s]=time; エンジン回転数 [rpm]=engine_speed; スロットル開度 [%]=throttle; ブースト圧 [kPa]=boost_gauge; 吸気温度 [℃]=charge_temp;
        水温 [℃]=water_temp; 油温 [℃]=oil_temp; 油圧 [kPa]=oil_pressure; 排気温度 [℃]=exhaust_temp_1; 空燃比=afr; 点火時期 [deg]=spark_advance;
        燃圧 [kPa]=fuel_pressure; 電圧 [V]=battery_voltage; シリンダヘッド温度1 [℃]=head_temp_1; 大気圧 [kPa]=barometer; 目標ブースト [kPa]=None""",
    "English, by formula letters": """Time (s)=time; Speed_rpm=engine_speed; Toil degC=oil_temp; Tcharge degC=charge_temp; Drive Pressure kPa=exhaust_pressure;
        FF kg/h=fuel_flow; Torque N-m=torque; CO2 %=None; O2 %=None; CO %=None""",
}  # fmt: skip


def _pairs(head: str) -> list[tuple[str, str | None]]:
    pairs = [part.rpartition("=") for part in head.split(";")]
    return [(name.strip(), None if role.strip() == "None" else role.strip()) for name, _, role in pairs]


def _log(head: str) -> str:
    pairs = _pairs(head)
    lines = [";".join(name for name, _ in pairs)]
    for i in range(80):
        cells = []
        for _, role in pairs:
            low, high = SPAN[role.removesuffix("_1") if role else None]
            cells.append(f"{low + (high - low) * (i + 0.3 * (i % 2)) / 80:.3f}")
        lines.append(";".join(cells))
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("language", HEADS)
def test_heads__every_column_gets_its_role(language: str) -> None:
    log = read_bytes(_log(HEADS[language]).encode(), "pull.csv")
    got = [(c.name, c.role) for c in log.columns]
    assert got == _pairs(HEADS[language])
    assert all(c.converted for c in log.columns if c.role), [(c.name, c.unit) for c in log.columns]


@pytest.mark.parametrize("page", ["cp932", "euc_jp"])
def test_japanese_page__is_recognised(page: str) -> None:
    log = read_bytes(_log(HEADS["Japanese"].replace("℃", "C")).encode(page), "pull.csv")
    assert log.dialect.encoding == page
    assert [(c.name, c.role) for c in log.columns] == _pairs(HEADS["Japanese"].replace("℃", "C"))


def test_russian_page__is_recognised() -> None:
    log = read_bytes(_log(HEADS["Russian"]).encode("cp1251"), "pull.csv")
    assert log.dialect.encoding == "cp1251"
    assert [(c.name, c.role) for c in log.columns] == _pairs(HEADS["Russian"])


def _table(names: list[str], rows: list[list[float]]) -> bytes:
    return "\n".join([",".join(names), *(",".join(f"{x:g}" for x in row) for row in rows)]).encode() + b"\n"


def test_observed_column__comes_before_a_corrected_one() -> None:
    rows = [[0.1 * i, 2500 + 50 * i, 110 + i, 100 + i] for i in range(40)]
    log = read_bytes(_table(["Time [s]", "RPM", "Corrected Power [kW]", "Power [kW]"], rows), "pull.csv")
    assert [c.role for c in log.columns] == ["time", "engine_speed", None, "power"]
    log = read_bytes(_table(["Time [s]", "RPM", "Corrected Power [kW]"], [r[:3] for r in rows]), "pull.csv")
    assert "by which code" in log.columns[2].question


def test_boost_that_never_falls_near_zero__is_asked_about() -> None:
    rows = [[0.1 * i, 2500 + 50 * i, 62 + 2 * i] for i in range(40)]
    log = read_bytes(_table(["Time [s]", "RPM", "Boost [kPa]"], rows), "pull.csv")
    assert "vacuum" in log.columns[2].question


def test_guess_of_a_pressure_unit__stays_above_vacuum() -> None:
    """-40 psi, -40 inHg and -40 bar do not exist; -40 kPa does."""
    rows = [[0.1 * i, 2500 + 50 * i, -40 + 1.5 * i] for i in range(40)]
    log = read_bytes(_table(["Time [s]", "RPM", "Boost"], rows), "pull.csv")
    assert log.columns[2].guessed_unit == "kPa"


def test_one_scale_of_temperature__for_what_is_not_written() -> None:
    """Heads at 390 can only be degF, so an intake at 167 beside them is no charge of 167 degC."""
    rows = [[0.1 * i, 2500 + 50 * i, 300 + 2.5 * i, 95 + 1.8 * i] for i in range(40)]
    log = read_bytes(_table(["Time [s]", "RPM", "CHT1", "IAT"], rows), "pull.csv")
    assert [c.guessed_unit for c in log.columns[2:]] == ["degF", "degF"]
