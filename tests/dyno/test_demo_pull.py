"""The demo build's own pulls: said to be invented, three alike at the flywheel, in the logbook under their hash."""

from __future__ import annotations

from spoolwright.dyno import read_log
from spoolwright.dyno.readers.memory import memory_path
from spoolwright.dyno.reduce import reduce_log
from spoolwright.dyno.settings import pull_time
from spoolwright.sheet import demo_folder


def test_demo_pull__is_said_to_be_invented_and_reduces_to_three_pulls() -> None:
    folder = demo_folder("wren")
    file = folder / "pulls" / "brake-2026-03-07.csv"
    assert "INVENTED" in file.read_text(encoding="utf-8").splitlines()[0]
    assert "INVENTED" in memory_path(file).read_text(encoding="utf-8").splitlines()[0]
    log = read_log(file)
    pulls = reduce_log(log).pulls
    assert [(one.place, one.corrected_by) for one in pulls] == [("flywheel", "observed")] * 3
    made = pull_time(folder, file.name, log.sha256)
    assert made is not None
    assert made.date().isoformat() == "2026-03-07"
    # The sensor of the mixture stands behind the flow by 0.3 s in the file; it is found and taken out.
    for one in pulls:
        late = next(delay for delay in one.delays if delay.role == "lambda")
        assert late.removed
        assert 0.2 < late.delay < 0.4
