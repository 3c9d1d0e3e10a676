"""The same pull written in many ways must give the same table. One clean table, many messers."""

from __future__ import annotations

import pytest
from dyno_messers import NAMES, ROWS, cells, header, line, style, truth, write

from spoolwright.dyno.readers.reading import read_bytes

WANT = truth()


def read(text: str | bytes, encoding: str = "utf-8"):
    return read_bytes(text if isinstance(text, bytes) else text.encode(encoding), "pull.csv")


def same(log, skip=(), rows=range(ROWS), tol=None):
    """The log's table equals the truth within half a unit of the last place written."""
    assert log.rows == len(rows)
    for role, values in WANT.items():
        if role in skip:
            continue
        got = log.table[role].to_list()
        allowed = (tol or {}).get(role, 1e-9)
        for have, at in zip(got, rows, strict=True):
            assert have is not None, role
            assert abs(have - values[at]) <= allowed, (role, at, have, values[at])


GERMAN = ("Zeit", "Drehzahl", "Ladedruck", "Lambda", "Öltemperatur", "Zylinderkopf 1", "Zylinderkopf 2")
FRENCH = (
    "Temps",
    "Régime moteur",
    "Pression de suralimentation",
    "Lambda",
    "Température huile",
    "Culasse 1",
    "Culasse 2",
)
ITALIAN = ("Tempo", "Giri motore", "Pressione turbo", "Lambda", "Temperatura olio", "Testa cil. 1", "Testa cil. 2")
SPANISH = ("Tiempo", "Revoluciones", "Presión turbo", "Lambda", "Temperatura aceite", "Culata 1", "Culata 2")

WRITTEN = {
    "plain": style(),
    "semicolon and comma": style(
        delimiter=";", decimal=",", names=GERMAN, units=("s", "1/min", "kPa", "-", "°C", "°C", "°C")
    ),
    "tab": style(delimiter="\t", unit_row="brackets"),
    "tab and comma": style(delimiter="\t", decimal=",", end="\r\n"),
    "bar": style(delimiter="|", unit_row="above"),
    "blanks": style(delimiter="   ", names=tuple(n.replace(" ", "_") for n in NAMES), unit_row="none"),
    "blanks with names of two words": style(delimiter="   ", unit_row="none"),
    "all quoted": style(quote=True, end="\r\n"),
    "carriage return only": style(end="\r"),
    "units above": style(unit_row="above"),
    "bracketed units": style(unit_row="brackets"),
    "no last line end": style(last_end=False),
    "trailing separator": style(trailing=True),
    "thousands comma, quoted": style(thousands=","),
    "thousands point": style(delimiter=";", decimal=",", thousands="."),
    "thousands apostrophe": style(delimiter=";", thousands="'"),
    "thousands blank": style(delimiter=";", decimal=",", thousands="\u202f"),
    "comma and blank": style(delimiter=", "),
    "decimal comma, quoted, comma between": style(decimal=","),
    "french": style(delimiter=";", decimal=",", names=FRENCH, units=("s", "tr/min", "kPa", "-", "°C", "°C", "°C")),
    "italian": style(delimiter=";", decimal=",", names=ITALIAN, units=("s", "giri/min", "kPa", "-", "°C", "°C", "°C")),
    "spanish": style(delimiter=";", decimal=",", names=SPANISH, units=("s", "rpm", "kPa", "-", "°C", "°C", "°C")),
    "preamble with colons": style(
        preamble="Session: third\nDate: 14.03.2031\nBarometer: 987 mbar\nAir temp: 22.5 C\n\n"
    ),
    "preamble commented": style(preamble="# bench log\n# operator; someone\n"),
    "preamble of the same width": style(preamble="bench,one,two,three,four,five,six\n\n"),
    "footer": style(footer="samples: 60\nEND OF LOG\n"),
}
assert len(WRITTEN) >= 24


@pytest.mark.parametrize("how", WRITTEN)
def test_written_in_another_way(how):
    log = read(write(WRITTEN[how]))
    same(log, skip=() if "blanks" not in how and "none" not in how else ("oil_temp", "head_temp_1", "head_temp_2"))
    assert log.missing_cells == 0
    assert len(log.segments) == 1
    assert [c.role for c in log.columns] == list(WANT)


@pytest.mark.parametrize(
    ("encoding", "mark", "shown"),
    [
        ("utf-16-le", b"\xff\xfe", "utf-16-le"),
        ("utf-16-be", b"\xfe\xff", "utf-16-be"),
        ("utf-16-le", b"", "utf-16-le"),
        ("utf-16-be", b"", "utf-16-be"),
        ("utf-8", b"\xef\xbb\xbf", "utf-8"),
        ("cp1252", b"", "cp1252"),
        ("mac_roman", b"", "mac_roman"),
        ("cp850", b"", "cp850"),
    ],
)
def test_encoding(encoding, mark, shown):
    text = write(style(delimiter=";", decimal=",", names=GERMAN, units=("s", "U/min", "kPa", "-", "°C", "°C", "°C")))
    log = read(mark + text.encode(encoding))
    same(log)
    assert log.dialect.encoding == shown
    assert log.dialect.byte_order_mark == bool(mark)
    assert log.columns[4].name == "Öltemperatur"
    assert ("not_utf8" in log.flag_names) == (not shown.startswith("utf-8"))


def test_zero_bytes_are_taken_out_and_listed():
    data = write(style()).encode().replace(b"2600", b"26\x0000", 1)
    log = read(data)
    same(log)
    assert "zero_bytes" in log.flag_names


def test_cut_off_last_line_is_dropped_with_reason():
    text = write(style()).rstrip("\n")
    log = read(text[:-14])
    same(log, rows=range(ROWS - 1))
    assert log.dropped == [(62, "cut off: the last line is not complete")]
    assert "cut_off_line" in log.flag_names


def test_short_line_in_the_middle_keeps_what_is_sure():
    rows = cells(style())
    lines = write(style()).split("\n")
    lines[2 + 20] = ",".join(rows[20][:4]) + "," + rows[20][4][:1]
    log = read("\n".join(lines))
    assert log.rows == ROWS
    assert log.table["lambda"][20] == WANT["lambda"][20]
    assert log.table["oil_temp"][20] is None
    assert log.table["head_temp_2"][20] is None
    assert "ragged_lines" in log.flag_names


def test_line_that_lost_a_middle_cell_is_dropped_not_shifted():
    rows = cells(style())
    lines = write(style()).split("\n")
    lines[2 + 30] = ",".join(rows[30][:1] + rows[30][2:])
    log = read("\n".join(lines))
    assert log.rows == ROWS - 1
    assert log.dropped[0][0] == 33


def test_header_again_in_another_order():
    s = style()
    rows, names, units = cells(s), list(s.names), list(s.units)
    order = [0, 4, 1, 6, 5, 3, 2]
    text = write(s, rows[:30]) + "\n".join(line([x[i] for i in order], s) for x in [names, units, *rows[30:]]) + "\n"
    log = read(text)
    same(log)
    assert {"repeated_header", "columns_reordered"} <= set(log.flag_names)


def test_header_again_with_another_unit():
    s = style()
    rows = cells(s)
    second = [[*r[:2], f"{float(r[2]) / 100.0:.4f}", *r[3:]] for r in rows[30:]]
    units = ["s", "rpm", "bar", "-", "C", "C", "C"]
    text = write(s, rows[:30]) + "\n".join(line(x, s) for x in [list(s.names), units, *second]) + "\n"
    same(read(text))


def test_restart_is_a_second_segment_and_never_sorted():
    s = style()
    text = write(s) + write(s).split("\n", 2)[2]
    log = read(text)
    assert [x.rows for x in log.segments] == [ROWS, ROWS]
    assert log.table["time"].to_list() == WANT["time"] * 2
    assert "time_restarts" in log.flag_names


def test_short_first_segment_then_restart():
    rows = cells(style())
    log = read(write(style(), rows[:5] + rows))
    assert [x.rows for x in log.segments] == [5, ROWS]


def test_two_rows_swapped_are_put_back():
    rows = cells(style())
    rows[20], rows[21] = rows[21], rows[20]
    log = read(write(style(), rows))
    same(log)
    assert log.flag_names == ["time_not_monotonic"]


def test_one_wrong_time_stamp_loses_its_time_not_its_row():
    rows = cells(style())
    rows[20][0] = "0.0"
    rows[40][0] = "99999.0"
    log = read(write(style(), rows))
    assert log.rows == ROWS
    assert len(log.segments) == 1
    assert log.table["time"][20] is None
    assert log.table["time"][40] is None
    assert log.table["engine_speed"].to_list() == WANT["engine_speed"]


def test_hole_is_a_gap():
    rows = cells(style())
    log = read(write(style(), rows[:20] + rows[27:]))
    assert [(g.after, g.before, g.samples_lost) for g in log.gaps] == [(1.9, 2.7, 7)]


TIMES = {
    "ms": ("Time (ms)", lambda t: f"{1000 * t:.0f}", 0.0),
    "ms without unit": ("Elapsed", lambda t: f"{1000 * t:.0f}", 0.0),
    "us": ("Time [us]", lambda t: f"{1e6 * t:.0f}", 0.0),
    "minutes": ("Time min", lambda t: f"{t / 60:.6f}", 0.0),
    "m:s": ("Time", lambda t: f"3:{52 + t:04.1f}" if t < 8 else "", 232.0),
    "h:m:s": ("Time", lambda t: f"01:02:{t:06.3f}", 3720.0),
    "h:m:s comma": ("Time", lambda t: f'"00:00:{t:06.3f}"'.replace(".", ","), 0.0),
    "h:m:s:ms": ("Time", lambda t: f"00:00:0{int(t)}:{round(1000 * (t - int(t))):03d}", 0.0),
    "time of day": ("Time of day", lambda t: f"1:05:{t:06.3f} PM", 13 * 3600 + 300.0),
    "iso": ("Timestamp", lambda t: f"2031-03-14T10:00:{t:06.3f}", 36000.0),
    "iso zone": ("Timestamp", lambda t: f"2031-03-14 10:00:{t:06.3f}Z", 36000.0),
    "german date": ("Datum/Zeit", lambda t: f"14.03.2031 10:00:{t:06.3f}", 36000.0),
    "epoch s": ("Time", lambda t: f"{1931234567 + t:.1f}", 1931234567.0),
    "epoch ms": ("timestamp", lambda t: f"{1931234567000 + 1000 * t:.0f}", 1931234567.0),
}


@pytest.mark.parametrize("how", TIMES)
def test_time_in_any_notation(how):
    name, show, start = TIMES[how]
    rows = [[show(t), *r[1:]] for t, r in zip(WANT["time"], cells(style()), strict=True)]
    s = style(names=(name, *NAMES[1:]), units=("", "rpm", "kPa", "-", "C", "C", "C"))
    text = "\n".join(",".join(r) for r in [list(s.names), list(s.units), *rows]) + "\n"
    log = read(text)
    assert log.columns[0].role == "time"
    assert log.rows == ROWS
    for have, want in zip(log.table["time"], WANT["time"], strict=True):
        assert have == pytest.approx(start + want, abs=2e-4 if how == "minutes" else 1e-6 * max(1.0, start / 1e6))
    same(log, skip=("time",))


def test_clock_over_midnight_goes_on():
    def show(t):
        x = 23 * 3600 + 59 * 60 + 57 + t
        x -= 86400 if x >= 86400 - 1e-9 else 0
        x = round(max(x, 0.0), 3)
        return f"{int(x // 3600):02d}:{int(x % 3600 // 60):02d}:{x % 60:06.3f}"

    rows = [[show(t), *r[1:]] for t, r in zip(WANT["time"], cells(style()), strict=True)]
    log = read(write(style(), rows))
    assert len(log.segments) == 1
    assert log.table["time"][59] - log.table["time"][0] == pytest.approx(5.9)
    assert any(r.what == "clock carried on" for r in log.repairs)


MISSING = [
    "",
    "NaN",
    "nan",
    "-nan(ind)",
    "1.#QNAN",
    "1.#INF",
    "inf",
    "-Infinity",
    "n/a",
    "#N/A",
    "NULL",
    "None",
    "-",
    "--",
    "---",
    "****",
    "-9999",
    "-999",
    "1e30",
    "OFF",
    "ERR",
    "LOW",
    "over",
    "#DIV/0!",
    "?",
    "k.A.",
    "sensor fault",
]


@pytest.mark.parametrize("word", MISSING)
def test_word_for_missing(word):
    rows = cells(style())
    rows[10][3] = rows[44][5] = word
    log = read(write(style(), rows))
    assert log.missing_cells == 2
    assert log.table["lambda"][10] is None
    assert log.table["head_temp_1"][44] is None
    assert log.table["lambda"][11] == WANT["lambda"][11]
    listed = [(r.line, r.column) for r in log.repairs if r.what == "no value"]
    assert (13, "Lambda") in listed
    assert (47, "CHT 1") in listed


def test_code_too_high_for_the_role_is_missing():
    rows = cells(style())
    rows[10][4], rows[11][4] = "9999", "65535"
    log = read(write(style(), rows))
    assert log.missing_cells == 2
    assert log.table["oil_temp"][10] is None


def test_sign_behind_and_brackets():
    rows = cells(style())
    for i in range(5):
        rows[i][2] = f"{5.0 + i:.1f}-"
    rows[5][2] = "(3.0)"
    rows[6][2] = "−2.5"
    log = read(write(style(), rows))
    assert log.table["boost_gauge"].to_list()[:7] == [-5.0, -6.0, -7.0, -8.0, -9.0, -3.0, -2.5]
    assert "trailing_sign" in log.flag_names


def test_unit_behind_the_number():
    rows = [[f"{r[0]} s", f"{r[1]} rpm", f"{r[2]}kPa", r[3], f"{r[4]} °C", r[5], r[6]] for r in cells(style())]
    log = read(write(style(unit_row="none"), rows))
    same(log, skip=("head_temp_1", "head_temp_2"))
    assert [c.unit_in_file for c in log.columns][1:3] == ["rpm", "kPa"]


@pytest.mark.parametrize("unit", ["x1000 rpm", "rpm x1000", "1000/min", "krpm"])
def test_speed_in_thousands(unit):
    rows = [[r[0], f"{float(r[1]) / 1000:.3f}", *r[2:]] for r in cells(style())]
    log = read(write(style(units=("s", unit, "kPa", "-", "C", "C", "C")), rows))
    same(log)
    assert "scaled_speed" in log.flag_names
    named = style(names=("Time", "RPM x1000", *NAMES[2:]), units=("s", "", "kPa", "-", "C", "C", "C"))
    same(read(write(named, rows)))


def test_psi_above_and_mercury_below_zero():
    rows = cells(style())
    for i in range(6):
        rows[i][2] = "-10.0"
    for i in range(6, ROWS):
        rows[i][2] = f"{WANT['boost_gauge'][i] / 6.894757:.4f}"
    for unit in ("psi/-inHg", "psi or -inHg", "PSI/inHg"):
        log = read(write(style(units=("s", "rpm", unit, "-", "C", "C", "C")), rows))
        # 1 inHg = 3.386389 kPa (conventional, NIST SP 811, table B.8).
        assert log.table["boost_gauge"][0] == pytest.approx(-33.86389)
        assert log.table["boost_gauge"][59] == pytest.approx(WANT["boost_gauge"][59], abs=1e-3)
        assert log.columns[2].unit_in_file == "psi above 0, inHg below 0"


UNITS = [
    ("psi", 1 / 6.894757),
    ("bar", 0.01),
    ("mbar", 10.0),
    ("kgf/cm2", 1 / 98.0665),
    ("inHg", 1 / 3.386389),
    ("psig", 1 / 6.894757),
    ("kPa g", 1.0),
]


@pytest.mark.parametrize(("unit", "factor"), UNITS)
def test_pressure_units(unit, factor):
    rows = [[*r[:2], f"{float(r[2]) * factor:.5f}", *r[3:]] for r in cells(style())]
    log = read(write(style(units=("s", "rpm", unit, "-", "C", "C", "C")), rows))
    same(log, tol={"boost_gauge": 2e-3})
    assert log.columns[2].role == "boost_gauge"


def test_fahrenheit_by_row_name_and_range():
    rows = [[*r[:4], *(f"{float(x) * 1.8 + 32:.2f}" for x in r[4:])] for r in cells(style())]
    loose = {"oil_temp": 0.01, "head_temp_1": 0.01, "head_temp_2": 0.01}
    same(read(write(style(units=("s", "rpm", "kPa", "-", "°F", "F", "deg F")), rows)), tol=loose)
    named = style(
        names=("Time", "RPM", "Boost kPa", "Lambda", "Oil Temp F", "CHT 1 (F)", "CHT 2 degF"), unit_row="none"
    )
    same(read(write(named, rows)), tol=loose)
    guessed = read(write(style(unit_row="none"), rows))
    same(guessed, tol=loose)
    assert "units_missing" in guessed.flag_names
    assert guessed.columns[5].guessed_unit == "degF"
    assert guessed.columns[5].question


def test_absolute_pressure_under_a_boost_name():
    rows = [[*r[:2], f"{10 * (float(r[2]) + 98.7):.0f}", *r[3:]] for r in cells(style())]
    log = read(write(style(units=("s", "rpm", "mbar", "-", "C", "C", "C")), rows))
    assert log.columns[2].role == "manifold_abs"
    assert log.table["manifold_abs"][0] == pytest.approx(98.7 + WANT["boost_gauge"][0], abs=0.051)


def test_remarks_between_rows_and_markers():
    lines = write(style()).split("\n")
    lines.insert(30, "// backed off 2 degrees")
    lines.insert(12, "*** MARK 1 ***")
    lines.insert(50, "pinging heard, number 3")
    log = read("\n".join(lines))
    same(log)
    assert [r.line for r in log.remarks] == [13, 32, 51]
    assert "remarks_kept" in log.flag_names


def test_quoted_remark_over_two_lines_and_separator_inside():
    s = style(names=(*NAMES, "Notes"), units=("s", "rpm", "kPa", "-", "C", "C", "C", ""))
    rows = [[*r, ""] for r in cells(style())]
    lines = [line(r, s) for r in [*header(s), *rows]]
    lines[12] = ",".join(rows[10][:7]) + ',"first\nsecond, third"'
    lines[22] = ",".join(rows[20][:7]) + ",back off, then again"
    log = read("\n".join(lines) + "\n")
    same(log)
    assert log.table["remark"][10] == "first second, third"
    assert log.table["remark"][20] == "back off, then again"


def test_long_form():
    roles = ("RPM", "Boost", "Lambda", "Oil Temp", "CHT 1", "CHT 2")
    units = ("rpm", "kPa", "", "C", "C", "C")
    out = ["Time;Channel;Value;Unit"]
    for r in cells(style(decimal=",")):
        out += [f"{r[0]};{name};{value};{unit}" for name, value, unit in zip(roles, r[1:], units, strict=True)]
    log = read("\n".join(out) + "\n")
    same(log)
    assert "long_form" in log.flag_names
    assert log.dialect.long_form


def test_long_form_one_channel_after_the_other():
    out = ["channel,time,value"]
    for name, column in (("Engine RPM", 1), ("Boost [kPa]", 2), ("Lambda", 3)):
        out += [f"{name},{r[0]},{r[column]}" for r in cells(style())]
    log = read("\n".join(out) + "\n")
    same(log, skip=("oil_temp", "head_temp_1", "head_temp_2"))
    assert len(log.segments) == 1


def test_group_names_above_numbers():
    top = ["", "Engine", "Boost", "Mixture", "Oil", "Heads", ""]
    low = ["Time", "RPM", "kPa", "Lambda", "Temp C", "1", "2"]
    rows = cells(style())
    log = read("\n".join(",".join(r) for r in [top, low, ["s", "rpm", "kPa", "-", "C", "C", "C"], *rows]) + "\n")
    same(log)


def test_no_header_keeps_columns_without_roles():
    log = read(write(style(), None).split("\n", 2)[2])
    assert "no_header" in log.flag_names
    assert log.columns[0].role == "time"
    assert {c.role for c in log.columns[1:]} == {None}
    assert log.rows == ROWS


def test_fixed_width_with_blank_cells():
    rows = cells(style())
    rows[10][3] = ""
    widths = (8, 8, 8, 8, 10, 8, 8)
    names = ("Time_s", "RPM", "Boost", "Lambda", "Oil_Temp", "CHT_1", "CHT_2")
    out = ["".join(c.rjust(w) for c, w in zip(r, widths, strict=True)) for r in [list(names), *rows]]
    log = read("\n".join(out) + "\n")
    assert log.rows == ROWS
    assert log.table["lambda"][10] is None
    assert log.table["lambda"][11] == WANT["lambda"][11]
    assert log.missing_cells == 1


def test_counts_are_kept_as_counts():
    rows = [[*r[:2], str(200 + 10 * i), *r[3:]] for i, r in enumerate(cells(style()))]
    log = read(
        write(style(names=("Time", "RPM", "TPS", *NAMES[3:]), units=("s", "rpm", "counts", "-", "C", "C", "C")), rows)
    )
    assert "counts_not_units" in log.flag_names
    assert log.columns[2].role == "throttle"
    assert log.columns[2].unit == "counts"
    assert log.table["throttle"][5] == 250.0


def test_two_clocks_target_and_unknown_columns_have_no_role():
    s = style(
        names=(*NAMES, "Time of day", "Boost target", "Foo 7"),
        units=("s", "rpm", "kPa", "-", "C", "C", "C", "", "kPa", ""),
    )
    rows = [
        [*r, f"10:00:{t:06.3f}", "85", f"{i % 7}"]
        for i, (t, r) in enumerate(zip(WANT["time"], cells(style()), strict=True))
    ]
    log = read(write(s, rows))
    same(log)
    assert [c.role for c in log.columns[7:]] == [None, None, None]


def test_dashes_under_the_header_and_bar_frame():
    rows = cells(style())
    out = ["| " + " | ".join(NAMES) + " |", "|" + "|".join(["-----"] * 7) + "|"]
    out += ["| " + " | ".join(r) + " |" for r in rows]
    same(read("\n".join(out) + "\n"), skip=("oil_temp", "head_temp_1", "head_temp_2"))


def test_coarse_clock_keeps_every_row():
    rows = [[f"10:00:{int(t):02d}", *r[1:]] for t, r in zip(WANT["time"], cells(style()), strict=True)]
    log = read(write(style(), rows))
    assert log.rows == ROWS
    assert "coarse_time" in log.flag_names
    assert not log.dropped


def test_row_of_column_numbers_above_the_names():
    same(read("1,2,3,4,5,6,7\n" + write(style())))


def test_column_named_by_a_hash_is_no_comment():
    rows = [[str(i + 1), *r] for i, r in enumerate(cells(style()))]
    log = read(write(style(names=("#", *NAMES), units=("", "s", "rpm", "kPa", "-", "C", "C", "C")), rows))
    same(log)
    assert log.columns[0].role is None
    assert log.columns[0].name == "#"


def test_commented_header():
    same(read("# bench log\n# " + write(style())))


def test_marker_column_with_stars_only_is_no_missing_sensor():
    rows = [[*r, "*" if i == 20 else ""] for i, r in enumerate(cells(style()))]
    log = read(write(style(names=(*NAMES, "Marker"), units=("s", "rpm", "kPa", "-", "C", "C", "C", "")), rows))
    same(log)
    assert log.table["marker"][20] == "*"
    assert log.missing_cells == 0


def test_spreadsheet_days_and_separator_line():
    rows = [[f"{45000.4 + t / 86400:.10f}", *r[1:]] for t, r in zip(WANT["time"], cells(style()), strict=True)]
    text = write(style(delimiter=";", units=("", "rpm", "kPa", "-", "C", "C", "C")), rows)
    log = read("sep=;\n" + text)
    same(log, skip=("time",))
    assert log.table["time"][0] == pytest.approx(0.4 * 86400, abs=1e-4)
    assert log.table["time"][59] - log.table["time"][0] == pytest.approx(5.9, abs=1e-4)
    assert any(r.what == "whole days taken off" for r in log.repairs)


def test_two_byte_text_cut_inside_its_last_character():
    data = write(style(last_end=False)).encode("utf-16-le")[:-1]
    log = read(data)
    assert log.rows == ROWS
    assert log.table["head_temp_2"][59] is None
    assert log.table["head_temp_2"][58] == WANT["head_temp_2"][58]


def test_file_that_stops_inside_its_last_number():
    log = read(write(style(last_end=False))[:-2])
    assert log.rows == ROWS
    assert log.table["head_temp_2"][59] is None
    assert "cut_off_line" in log.flag_names


def test_clock_that_is_not_the_first_column():
    rows = [[*r[1:3], r[0], *r[3:]] for r in cells(style())]
    same(
        read(
            write(
                style(names=("RPM", "Boost", "Time", *NAMES[3:]), units=("rpm", "kPa", "s", "-", "C", "C", "C")), rows
            )
        )
    )


def test_late_block_of_rows_is_put_back():
    rows = cells(style())
    rows = rows[:20] + rows[25:30] + rows[20:25] + rows[30:]
    log = read(write(style(), rows))
    same(log)
    assert "time_not_monotonic" in log.flag_names


def test_three_runs_without_a_header_between():
    rows = cells(style())
    log = read(write(style(), rows + rows[:30] + rows[:45]))
    assert [s.rows for s in log.segments] == [60, 30, 45]


def test_header_again_while_the_clock_goes_on_is_one_segment():
    rows = cells(style())
    text = write(style(), rows[:30]) + write(style(), rows[30:])
    log = read(text)
    same(log)
    assert len(log.segments) == 1
    assert log.flag_names == ["repeated_header"]


def test_every_repair_says_what_and_why():
    rows = cells(style())
    rows[10][3] = "ERR"
    for repair in read(write(style(footer="END\n"), rows)).repairs:
        assert repair.what
        assert repair.why


def test_zero_padding_at_the_end_is_no_binary_file():
    data = write(style()).encode() + b"\x00" * 5000
    log = read(data)
    same(log)
    assert "zero_bytes" in log.flag_names


def test_counts_without_a_unit_are_guessed_and_said():
    rows = [[*r[:2], str(200 + 10 * i), *r[3:]] for i, r in enumerate(cells(style()))]
    s = style(names=("Time", "RPM", "TPS", *NAMES[3:]), units=("s", "rpm", "", "-", "C", "C", "C"))
    log = read(write(s, rows))
    assert {"counts_not_units", "units_missing"} <= set(log.flag_names)
    assert log.table["throttle"][5] == 250.0
