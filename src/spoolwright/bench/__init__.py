"""The bench: the local web app. Pages read the sheet, call the functions of each job and show what they give.

Nothing here holds a formula, a unit conversion or a file format. One page a file, in ``pages``.
"""
