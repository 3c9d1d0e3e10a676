"""Pieces of SVG as text: a path from letters and numbers, a text, a rectangle."""

from __future__ import annotations

from html import escape


def d(*steps: str | float) -> str:
    """Path data: letters as they are, numbers to a tenth of a pixel."""
    return " ".join(one if isinstance(one, str) else f"{one:.1f}" for one in steps)


def _attributes(given: dict[str, str | float]) -> str:
    said = ""
    for name, value in given.items():
        text = value if isinstance(value, str) else f"{value:.1f}"
        said += f' {name.strip("_").replace("_", "-")}="{escape(text, quote=True)}"'
    return said


def path(look: str, *steps: str | float, **more: str | float) -> str:
    """A path with these classes; further attributes by name, "_" for "-"."""
    classes = f' class="{look}"' if look else ""
    return f'<path{classes} d="{d(*steps)}"{_attributes(more)}/>'


def text(look: str, x: float, y: float, words: str, anchor: str = "start", **more: str | float) -> str:
    """Words at a place; they are escaped."""
    end = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return f'<text class="{look}" x="{x:.1f}" y="{y:.1f}"{end}{_attributes(more)}>{escape(words)}</text>'


def rect(x: float, y: float, width: float, height: float, fill: str) -> str:
    """A filled rectangle without an outline."""
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{fill}"/>'


def circle(x: float, y: float, r: float, **more: str | float) -> str:
    """A circle; fill and stroke by name."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}"{_attributes(more)}/>'
