"""The build book: one description of its content, set by Typst into PDF and written as one HTML file."""
