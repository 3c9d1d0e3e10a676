"""Reading logs as they come, one dialect problem a file.

``source`` (is it text at all), ``encoding``, ``delimiter``, ``cells`` (numbers and words for missing), ``layout``
(preamble, headers, data, remarks, footer), ``longform``, ``names`` and ``quantities`` (which column is what, in which
unit), ``clock``, ``order`` (rows, segments, gaps), ``sensors`` (dead ones), ``particulars``, ``memory`` (what the user
confirmed), ``fast`` (clean big files), ``reading`` (all of it in order), ``report``.

General dialect libraries were tried for this and are not used: they guess a separator and a quote sign, which is the small
part; they know nothing of units rows, restarts or footers, take a tidy table for granted, and cost about as
much as the whole reading here.
"""
