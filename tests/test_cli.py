"""The command line as its user meets it: what it prints, its exit status, one sentence instead of a traceback."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command

from spoolwright import cli
from spoolwright.findings.model import ORDER
from spoolwright.sheet.demo import demo_folder

WREN = str(demo_folder("wren"))


# ----------------------------------------------------------------------------- check
def test_check__prints_worst_first_with_the_count(run) -> None:  # type: ignore[no-untyped-def]
    done = run("check", WREN, "--set", "limits.max_speed=7000 rpm")
    assert done.code == 0
    lines = done.out.splitlines()
    assert lines[0] == "wren, with limits.max_speed=7000 rpm"
    verdicts = [
        v for line in lines for v in ORDER if line.startswith(("■ ", "▲ ", "○ ", "● ")) and line[2:].startswith(v)
    ]
    ranks = [ORDER.index(v) for v in verdicts]
    assert ranks[0] == 0
    assert ranks == sorted(ranks)
    assert "Assumed, because the sheet does not say it" in done.out
    assert "stop, ▲" in lines[-2]


def test_check__words_carry_the_verdict_without_colour(run) -> None:  # type: ignore[no-untyped-def]
    assert "\x1b[" not in run("check", WREN).out


def test_check_variant__says_so(run) -> None:  # type: ignore[no-untyped-def]
    assert run("check", WREN, "--variant", "hill").out.startswith("wren, variant hill")


def test_check_working__opens_into_formula_and_source(run) -> None:  # type: ignore[no-untyped-def]
    out = run("check", WREN, "--working").out
    for text in ("mean_piston_speed = 2 * stroke * speed", "(69.0 mm)", "your own limit, build.toml:", "Source: "):
        assert text in out


@pytest.mark.parametrize(("sets", "code"), [((), 0), (("--set", "limits.max_speed=7000 rpm"), 1)])
def test_check_strict__fails_on_a_stop(run, sets: tuple[str, ...], code: int) -> None:  # type: ignore[no-untyped-def]
    assert run("check", WREN, "--strict", *sets).code == code


def test_check_json__has_the_promised_keys(run) -> None:  # type: ignore[no-untyped-def]
    data = json.loads(run("check", WREN, "--variant", "hill", "--json").out)
    assert (data["build"], data["variant"]) == ("wren", "hill")
    assert {"path", "value", "reason"} == set(data["assumed"][0])
    speed = next(f for f in data["findings"] if f["subject"] == "mean piston speed")
    assert speed["value"] == pytest.approx(13.8)
    assert speed["limit"] == pytest.approx(15.0)
    assert {f["verdict"] for f in data["findings"]} <= set(ORDER)


def test_check__all_faults_at_once_on_stderr(run) -> None:  # type: ignore[no-untyped-def]
    done = run("check", WREN, "--set", "cylinders.bor=3 mm", "--set", "site.humidity=wet")
    assert (done.code, done.out) == (2, "")
    assert 'did you mean "bore"' in done.err
    assert "site.humidity" in done.err
    assert "Traceback" not in done.err


def test_check_json__faults_are_data_too(run) -> None:  # type: ignore[no-untyped-def]
    done = run("check", WREN, "--set", "cylinders.bor=3 mm", "--json")
    assert done.code == 2
    assert "cylinders.bor" in json.loads(done.out)["faults"][0]


def test_check__folder_that_is_not_there(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    done = run("check", str(tmp_path / "nowhere"))
    assert done.code == 2
    assert "there is no such folder" in done.err
    assert len(done.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("check", WREN, "--frob"), "No such option"),
        (("check",), "Missing argument"),
        (("chekc", WREN), "No such command"),
        (("check", WREN, "--variant", "hil"), "hill"),
        (("check", WREN, "--set", "bore"), "="),
        (("new",), "Missing argument"),
    ],
)
def test_bad_options__exit_2_with_a_sentence(run, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    done = run(*words)
    assert done.code == 2
    assert said in done.err
    assert "Traceback" not in done.err


# ----------------------------------------------------------------------------- new, demo
def test_demo__copies_wren_and_checks_it(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    made = tmp_path / "there"
    done = run("demo", str(made), "--no-pull")
    assert done.code == 0
    assert (made / "build.toml").read_text() == (demo_folder("wren") / "build.toml").read_text()
    assert (made / "tables" / "pump.csv").exists()
    assert "invented" in done.out
    assert "compression ratio" in done.out


def test_demo__will_not_write_over_a_build(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / "build.toml").write_text("mine")
    done = run("demo", str(tmp_path))
    assert done.code == 2
    assert len(done.err.splitlines()) == 1
    assert "a build is there already" in done.err
    assert (tmp_path / "build.toml").read_text() == "mine"


def test_demo_json__is_that_of_check(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    assert json.loads(run("demo", str(tmp_path / "d"), "--no-pull", "--json").out)["build"] == "wren"


def test_new_like__is_a_build_that_checks(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    made = str(tmp_path / "mine")
    assert run("new", made, "--like", "plover").code == 0
    assert run("check", made).code == 0


def test_new__starts_from_a_commented_sheet(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    data = json.loads(run("new", str(tmp_path / "mine"), "--json").out)
    text = (Path(data["folder"]) / "build.toml").read_text()
    assert text.startswith("#")
    assert 'name = "mine"' in text


def test_new_like_a_stranger__names_the_demos(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    done = run("new", str(tmp_path / "mine"), "--like", "wern")
    assert done.code == 2
    assert 'did you mean "wren"' in done.err


# ----------------------------------------------------------------------------- sum
def test_sum__lists_all(run) -> None:  # type: ignore[no-untyped-def]
    done = run("sum")
    assert done.code == 0
    assert "compression_ratio" in done.out
    assert len(json.loads(run("sum", "--json").out)) > 250


def test_sum__gives_result_and_working(run) -> None:  # type: ignore[no-untyped-def]
    done = run("sum", "mean_piston_speed", "--stroke", "90 mm", "speed=6000 rpm")
    assert done.code == 0
    assert "18 m/s" in done.out
    assert "Working" in done.out


def test_sum_json__has_the_promised_keys(run) -> None:  # type: ignore[no-untyped-def]
    data = json.loads(run("sum", "mean_piston_speed", "--stroke", "90 mm", "--speed", "6000 rpm", "--json").out)
    assert {"sum", "inputs", "results", "working", "source", "questions"} <= set(data)
    assert data["results"]["mean_piston_speed"]["value"] == pytest.approx(18.0)
    assert data["results"]["mean_piston_speed"]["unit"] == "m/s"


def test_sum_from_a_build__says_where_each_value_stands(run) -> None:  # type: ignore[no-untyped-def]
    done = run("sum", "compression_ratio", "--from", WREN, "--cylinder", "2")
    assert done.code == 0
    assert "7.514:1" in done.out
    assert "(wren, build.toml:" in " ".join(done.out.split())


def test_sum_from_a_build__what_is_written_wins(run) -> None:  # type: ignore[no-untyped-def]
    words = ("sum", "mean_piston_speed", "--from", WREN, "--json")
    assert json.loads(run(*words, "--speed", "3000 rpm").out)["results"]["mean_piston_speed"]["value"] == pytest.approx(
        6.9
    )


def test_sum_from_a_build__one_input_can_be_left_out(run) -> None:  # type: ignore[no-untyped-def]
    words = ("sum", "wastegate_crack", "--from", WREN, "--label", "8 psi")
    assert run(*words).code == 2
    left_out = ("--spring_rate", "none", "--free_length", "none", "--installed_length", "none")
    assert run(*words, *left_out).code == 0


def test_sum_from_a_variant(run) -> None:  # type: ignore[no-untyped-def]
    words = ("sum", "wastegate_crack", "--from", WREN, "--exhaust_ratio", "1.5", "--json")
    plain, hill = (json.loads(run(*words, *more).out) for more in ((), ("--variant", "hill")))
    assert hill["results"]["cracking_boost"]["value"] > plain["results"]["cracking_boost"]["value"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("sum", "compresion_ratio"), "compression_ratio"),
        (("sum", "mean_piston_speed", "--stroke", "90"), "90 mm"),
        (("sum", "mean_piston_speed", "--strok", "90 mm", "--speed", "1 rpm"), "stroke"),
        (("sum", "compression_ratio", "--from", WREN), "--cylinder"),
        (("sum", "mean_piston_speed", "--stroke"), "is not an input"),
    ],
)
def test_sum__bad_input_is_one_sentence(run, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    done = run(*words)
    assert done.code == 2
    assert said in done.err
    assert "Traceback" not in done.err


# ----------------------------------------------------------------------------- the installed program
def test_installed_program__exit_status_and_streams(tmp_path: Path) -> None:
    program = str(Path(sys.executable).with_name("spoolwright"))
    bad = subprocess.run([program, "check", str(tmp_path)], capture_output=True, text=True, check=False)
    assert bad.returncode == 2
    assert bad.stdout == ""
    assert "build.toml" in bad.stderr
    assert subprocess.run([program, "--version"], capture_output=True, text=True, check=True).stdout.startswith(
        "spoolwright "
    )


def test_pipe_that_closes__is_no_trouble() -> None:
    program = str(Path(sys.executable).with_name("spoolwright"))
    done = subprocess.run(f"{program} sum | head -1", shell=True, capture_output=True, text=True, check=True)
    assert "Traceback" not in done.stderr


def test_every_command__has_json_and_an_example() -> None:
    commands = dict(get_command(cli.app).commands)  # type: ignore[attr-defined]
    commands |= {f"dyno {name}": inner for name, inner in commands.pop("dyno").commands.items()}
    for name, command in commands.items():
        options = {word for option in command.params for word in option.opts}
        assert "--json" in options or name == "bench", name  # a server runs until it is stopped and has no result
        assert "Example: spoolwright " in command.help, name
