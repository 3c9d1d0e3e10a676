"""Photographs kept with a build: checked and written anew, named by their content, spoken of in the logbook."""

from __future__ import annotations

import hashlib
from pathlib import Path

from spoolwright.errors import BadInput
from spoolwright.sheet.pictures import read
from spoolwright.sheet.saving import replace_file

PHOTOS = "photos"


def keep(folder: Path, name: str, data: bytes) -> str:
    """Keep the photograph in ``data``; its path inside the build. Raises BadInput for what is no picture."""
    picture = read(name, data)
    digest = hashlib.sha256(picture.data).hexdigest()[:16]
    place = f"{PHOTOS}/{digest}.png"
    try:
        (folder / PHOTOS).mkdir(exist_ok=True)
        if not (folder / place).exists():
            replace_file(folder / place, picture.data, None)
    except OSError as trouble:
        raise BadInput(f"{place}: it cannot be written ({trouble.strerror or type(trouble).__name__})") from None
    return place
