"""The mixtures of a pull: one assembled model for each, made when a speed and its manifold pressure ask for it."""

from __future__ import annotations

from math import pi
from threading import Lock

from spoolwright.boost.rows import G_DIAPHRAGM, G_PRELOAD
from spoolwright.engine.assemble import Model, assemble
from spoolwright.engine.charge import mixture_at, site
from spoolwright.engine.turbo import Turbo, turbo
from spoolwright.sheet import Sheet

STEP = 0.005  # lambda; finer differences of a table are not followed: they move torque by less than 0.1 %
ALIKE = 0.75  # of a step; a mixture nearer than this is not changed, so that no point hunts between two


class Mixtures:
    """Models of one sheet by lambda. Threads may ask at the same time."""

    def __init__(self, sheet: Sheet, machines: Turbo | None = None) -> None:
        self.sheet, self.machines = sheet, machines
        self.p_outside = site(sheet).p
        self.p_first = self.p_outside
        boost = machines or turbo(sheet)
        if boost is not None and boost.gate is not None:
            self.p_first += float(boost.gate[G_PRELOAD] / boost.gate[G_DIAPHRAGM])
        self.varies = sheet.maybe_table("fuel.mixture_table") is not None and sheet.has("charge")
        self._models: dict[float, Model] = {}
        self._lock = Lock()

    def first(self, rpm: float) -> Model:
        """The model to begin a speed [rpm] with: outside pressure without a turbo, else what the spring lets come."""
        lam = self._lam(rpm, self.p_first)
        return self._model(round(lam / STEP) * STEP if self.varies else lam)

    def at(self, rpm: float, p_manifold: float, now: Model) -> Model:
        """The model a speed [rpm] wants at manifold pressure [Pa]; ``now`` while that is near enough."""
        if not self.varies:
            return now
        wanted = self._lam(rpm, p_manifold)
        return now if abs(wanted - now.lam) < ALIKE * STEP else self._model(round(wanted / STEP) * STEP)

    def with_lam(self, lam: float) -> Model:
        """The model of a mixture that was run already."""
        return self._model(lam)

    def _lam(self, rpm: float, p: float) -> float:
        return mixture_at(self.sheet, rpm * pi / 30.0, p)

    def _model(self, lam: float) -> Model:
        lam = round(lam, 6)
        with self._lock:
            if lam not in self._models:
                self._models[lam] = assemble(self.sheet, lam, machines=self.machines)
            return self._models[lam]
